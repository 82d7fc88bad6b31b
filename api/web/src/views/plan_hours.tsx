// When else: the hours as a ribbon, those that are calmer, and the week.
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { showWeek, week } from "../address.ts";
import { RibbonBar, ribbonPX } from "../draw.tsx";
import { calmer, closed, firstHour, hourOf, hours, hoursFault, lastHour, tens, windowsAfter } from "../hours.ts";
import { zone } from "../mapinfo.ts";
import { plan, want, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { HourOutlook, Step } from "../types.ts";
import { capital, clock, dayOf, hoursWords, shortAnswer, shortClock, stepOfTen, stepWord, weekday } from "../words.ts";

/** Plans the same walk at another hour. */
const at = (h: HourOutlook): void => {
  want({ depart: new Date(h.depart).toISOString(), shape: closedOr(wish.value.shape) });
};

// A way, or a walk there and back, is asked for again at that hour as it was.
const closedOr = (shape: typeof wish.value.shape) =>
  shape === "way" || shape === "there_and_back" || shape === "longest_calm" ? shape : closed(shape);

const bare = (n: number): string => (n > 9 ? "9+" : n < 1 ? "<1" : String(n));

/** That another hour is being looked at. */
export function lookingAt(): string {
  const { depart } = wish.value;
  const time = depart ? shortClock(new Date(depart), zone(), settings.value.clock) : say("plan.time.now");
  return say("wait.at", { time });
}

/** The next much calmer hour and the best until tomorrow night; what is looked at, until that is there. */
export function Calmer(props: { depart: Date; n: number; weekly: boolean }) {
  const all = hours.value;
  const list = all ? calmer(all, props.depart, Math.floor(props.n)) : [];
  const today = dayOf(props.depart, zone());
  return (
    <div class="calmer">
      <p>
        {plan.value.is === "looking" ? (
          <b aria-hidden="true">{lookingAt()}</b>
        ) : !all ? (
          <span class="small">{say(hoursFault.value ? "hours.none" : "hours.loading")}</span>
        ) : list.length === 0 ? (
          say("hours.best")
        ) : (
          <>
            <b>{say("hours.calmer")}</b>{" "}
            {list.map((h, i) => {
              const t = new Date(h.depart);
              const day = dayOf(t, zone()) === today ? "" : `${weekday(t, zone())} `;
              const time = day + shortClock(t, zone(), settings.value.clock);
              return (
                <span key={h.depart}>
                  {i > 0 && " · "}
                  <button
                    class="link"
                    onClick={() => at(h)}
                    aria-label={say("hours.to", { time, answer: shortAnswer(h.calm_chance) })}
                  >
                    {i === 0
                      ? say("hours.then", { time, answer: shortAnswer(h.calm_chance) })
                      : `${time}, ${bare(tens(h))}`}
                  </button>
                </span>
              );
            })}
          </>
        )}
      </p>
      {props.weekly && (
        <button class="link strong" aria-expanded={week.value} onClick={() => showWeek(!week.value)}>
          {say("hours.week")}
        </button>
      )}
    </div>
  );
}

const baseWidth = 52;

/** The day as one ribbon: windows of equal number, the chosen hour first. */
export function HoursRow(props: { depart: Date; n: number }) {
  const row = useRef<HTMLUListElement>(null);
  const key = props.depart.toISOString();
  useLayoutEffect(() => row.current?.scrollTo({ left: 0 }), [key]);
  const all = hours.value;
  const windows = all ? windowsAfter(all, props.depart) : [];
  const kind = settings.value.clock;
  let day = dayOf(props.depart, zone());
  const chosenHour = hourOf(props.depart);
  return (
    <ul class="hours" ref={row} aria-label={say("hours.label")} tabIndex={0}>
      <li class="hour chosen" style={{ flexBasis: `${baseWidth}px` }}>
        <button aria-current="true" aria-label={hourLabel(props.depart, chosenHour, chosenHour, props.n)}>
          <b class="num">{bare(props.n)}</b>
          <span class="bar">
            <RibbonBar step={stepOfTen(props.n)} />
          </span>
          <span class="num">{hoursWords(chosenHour, chosenHour, kind)}</span>
        </button>
      </li>
      {windows.map((w) => {
        const fresh = w.day !== day;
        day = w.day;
        const t = new Date(w.best.depart);
        return [
          fresh && (
            <li key={w.day} class="dayname">
              {weekday(t, zone())}
            </li>
          ),
          <li key={w.best.depart} class="hour" style={{ flexBasis: `${baseWidth + 8 * (w.to - w.from)}px` }}>
            <button onClick={() => at(w.best)} aria-label={hourLabel(t, w.from, w.to, w.n)}>
              <b class="num">{bare(w.n)}</b>
              <span class="bar">
                <RibbonBar step={stepOfTen(w.n)} />
              </span>
              <span class="num">{hoursWords(w.from, w.to, kind)}</span>
            </button>
          </li>,
        ];
      })}
      {!all && <li class="hour waiting" aria-hidden="true" />}
    </ul>
  );
}

const hourLabel = (t: Date, from: number, to: number, n: number): string =>
  say("hours.cell", {
    day: weekday(t, zone(), "long"),
    hours: hoursWords(from, to, settings.value.clock),
    answer: n > 9 ? say("of.most") : n < 1 ? say("of.few") : say("of.some", { n }),
    level: stepWord(stepOfTen(n)),
  });

interface Day {
  day: string;
  word: string;
  long: string;
  at: Record<number, HourOutlook>;
}

/** Seven days from today; hours gone are empty. */
function dayRows(all: HourOutlook[]): Day[] {
  const days: Day[] = [];
  for (const h of all) {
    const t = new Date(h.depart);
    const day = dayOf(t, zone());
    let d = days[days.length - 1];
    if (d?.day !== day) {
      d = { day, word: weekday(t, zone()), long: weekday(t, zone(), "long"), at: {} };
      days.push(d);
    }
    d!.at[hourOf(t)] = h;
  }
  return days.slice(0, 7);
}

/** Row and column of the table. */
type Spot = readonly [number, number];

/** Where a key leads from a cell: over hours that are gone, to the next that can be planned. */
export function led(
  key: string,
  [r, c]: Spot,
  rows: number,
  columns: number,
  usable: (at: Spot) => boolean,
): Spot | undefined {
  const step: Spot | undefined = (
    { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1], Home: [0, 1], End: [0, -1] } as const
  )[key as "Home"];
  if (!step) return undefined;
  let to: Spot = key === "Home" ? [r, 0] : key === "End" ? [r, columns - 1] : [r + step[0], c + step[1]];
  while (to[0] >= 0 && to[0] < rows && to[1] >= 0 && to[1] < columns) {
    if (usable(to)) return to;
    to = [to[0] + step[0], to[1] + step[1]];
  }
  return undefined;
}

const columns = Array.from({ length: lastHour - firstHour + 1 }, (_, i) => firstHour + i);

/** The hours of the week: a day a row, in the same steps. */
export function WeekTable(props: { depart: Date; n: number }) {
  const table = useRef<HTMLTableElement>(null);
  const [focus, setFocus] = useState<Spot | undefined>();
  const all = hours.value;
  // That it is looked for stands above; the room is kept, so that nothing moves when it comes.
  if (!all) return hoursFault.value ? null : <div class="weekroom" />;
  const days = dayRows(all);
  const cellAt = ([r, c]: Spot) => days[r]?.at[columns[c]!];
  const usable = (s: Spot) => !!cellAt(s)?.found;
  const spots = days.flatMap((_, r) => columns.map((__, c): Spot => [r, c]));
  const isChosen = (s: Spot) =>
    days[s[0]]?.day === dayOf(props.depart, zone()) && columns[s[1]] === hourOf(props.depart);
  const stop = focus && usable(focus) ? focus : (spots.find((s) => usable(s) && isChosen(s)) ?? spots.find(usable));
  const keys = (e: KeyboardEvent, s: Spot) => {
    const to = led(e.key, s, days.length, columns.length, usable);
    if (!to) return;
    e.preventDefault();
    setFocus(to);
    table.current?.querySelector<HTMLElement>(`[data-at="${to[0]}-${to[1]}"]`)?.focus();
  };
  const told = focus && cellAt(focus);
  const today = dayOf(new Date(), zone());
  return (
    <div class="weekbox">
      <table class="week" ref={table}>
        <caption class="hidden">{say("hours.caption")}</caption>
        <thead>
          <tr>
            <th scope="col">
              <span class="hidden">{say("hours.day")}</span>
            </th>
            {columns.map((h) => (
              <th key={h} scope="col" class="num">
                {hoursWords(h, h, settings.value.clock).replace(/ .*$/, "")}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {days.map((d, r) => (
            <tr key={d.day}>
              <th scope="row">{d.day === today ? say("hours.today") : d.word}</th>
              {columns.map((h, c) => {
                const x = d.at[h];
                const s: Spot = [r, c];
                const chosen = isChosen(s);
                const n = chosen ? props.n : x ? tens(x) : 0;
                return (
                  <td key={h} class={chosen ? "chosen" : undefined}>
                    {x?.found ? (
                      <button
                        data-at={`${r}-${c}`}
                        tabIndex={stop && s[0] === stop[0] && s[1] === stop[1] ? 0 : -1}
                        aria-current={chosen ? "true" : undefined}
                        aria-label={cellWords(d, x, n)}
                        onClick={() => {
                          if (!matchMedia("(min-width: 1000px)").matches) showWeek(false);
                          at(x);
                        }}
                        onKeyDown={(e) => keys(e, s)}
                        onFocus={() => setFocus(s)}
                      >
                        <span class={`wk k${stepOfTen(n)}`} style={{ height: `${weekPX[stepOfTen(n)]}px` }}>
                          {bare(n)}
                        </span>
                      </button>
                    ) : null}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
      <p role="status" class="small hidden">
        {told && cellWords(days[focus![0]]!, told, tens(told))}
      </p>
    </div>
  );
}

/** Heights of the cells of a week, in px: 24 for calm hours. */
const weekPX: Record<Step, number> = { 1: ribbonPX[1] + 6, 2: 21, 3: 19, 4: 18 };

function cellWords(d: Day, h: HourOutlook, n: number): string {
  const line = say("hours.cell", {
    day: d.long,
    hours: clock(new Date(h.depart), zone(), settings.value.clock),
    answer: n > 9 ? say("of.most") : n < 1 ? say("of.few") : say("of.some", { n }),
    level: stepWord(stepOfTen(n)),
  });
  return h.most ? `${line} ${say("when.most", { what: h.most })}` : capital(line);
}

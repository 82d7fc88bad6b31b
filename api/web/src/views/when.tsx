import { useEffect, useRef, useState } from "preact/hooks";
import { ask, type Fault, faultOf } from "../api.ts";
import { dogNow } from "../dogs.ts";
import { fillOf } from "../draw.tsx";
import { mapInfo, zone } from "../mapinfo.ts";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { want, wish, wishBody } from "../plan.ts";
import { Sentence } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { HourOutlook, Week } from "../types.ts";
import { goTo } from "../view.ts";
import { capital, clock, dayOf, levelOfTen, levelWord, ofTen, shortAnswer, weekday } from "../words.ts";
import "./when.css";

const firstHour = 5;
const lastHour = 22;

/** Which hour this week is kind to us? */
export function When() {
  const [week, setWeek] = useState<Week | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  const [light, setLight] = useState(false);
  const [free, setFree] = useState(false);
  const [span, setSpan] = useState<[number, number]>([6, 21]);
  const [focus, setFocus] = useState<Spot>([0, 0]);
  const from = wish.value.from;
  const key = JSON.stringify([
    from?.at,
    wish.value.minutes,
    closedShape(),
    wish.value.strain,
    wish.value.limits,
    dogNow()?.needs,
    asked,
  ]);
  useEffect(() => {
    if (!from || !mapInfo.value) return;
    const stop = new AbortController();
    setFault(undefined);
    setWeek(undefined);
    // From the start of today, so that every day has its whole column.
    const today = new Date(Math.floor(Date.now() / 36e5) * 36e5);
    ask("post", "/v1/weeks", {
      body: {
        ...wishBody({ ...wish.value, shape: closedShape(), weather: undefined }),
        depart: today.toISOString(),
        hours: 7 * 24,
      },
      signal: stop.signal,
    })
      .then(setWeek)
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, mapInfo.value?.name]);
  const allowed: Allowed = (h, hour) => !!h && (!light || !h.dark) && (!free || (hour >= span[0] && hour < span[1]));
  const hours = Array.from({ length: lastHour - firstHour + 1 }, (_, i) => firstHour + i).filter(
    (h) => !free || (h >= span[0] && h < span[1]),
  );
  const best = week ? bestOf(week, allowed) : [];
  const go = (h: HourOutlook) => {
    want({ depart: new Date(h.depart).toISOString(), shape: closedShape() });
    goTo("plan");
  };
  return (
    <>
      <Head title={say("when.title")}>
        {mapInfo.value && <Sentence key_="when.ask" parts={["minutes", "dog", "from"]} mapless={true} />}
      </Head>
      <main id="answer" tabIndex={-1} class="whenview">
        <div class="panel stack">
          {!from && <p>{say("when.empty")}</p>}
          <Status>{from && !week && !fault && <p class="answer">{say("when.loading")}</p>}</Status>
          {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
          <Best best={best} go={go} />
          {week && (
            <div>
              <label class="line">
                <input type="checkbox" checked={light} onChange={(e) => setLight(e.currentTarget.checked)} />
                {say("when.light")}
              </label>
              <label class="line">
                <input type="checkbox" checked={free} onChange={(e) => setFree(e.currentTarget.checked)} />
                {say("when.free")}
              </label>
              {free && (
                <div class="row">
                  <label class="field">
                    <span>{say("when.free.from")}</span>
                    <HourPick value={span[0]} pick={(v) => setSpan([v, Math.max(v + 1, span[1])])} />
                  </label>
                  <label class="field">
                    <span>{say("when.free.to")}</span>
                    <HourPick value={span[1]} pick={(v) => setSpan([Math.min(span[0], v - 1), v])} />
                  </label>
                </div>
              )}
            </div>
          )}
        </div>
        {week && (
          <Table
            days={dayColumns(week.hours)}
            hours={hours}
            allowed={allowed}
            best={best}
            go={go}
            focus={focus}
            setFocus={setFocus}
          />
        )}
      </main>
    </>
  );
}

function Best(props: { best: HourOutlook[]; go: (h: HourOutlook) => void }) {
  const [top, ...next] = props.best;
  if (!top) return null;
  return (
    <>
      <p class="answer when">{say("when.best", { when: named(top) })}</p>
      <p>
        {thenWords(top.calm_chance)} {next.length > 0 && say("when.next", { list: next.map(shortNamed).join(", ") })}{" "}
        {say("answer.calm")}
      </p>
      <button class="main" onClick={() => props.go(top)}>
        {say("when.plan")}
      </button>
    </>
  );
}

type Allowed = (h: HourOutlook | undefined, hour: number) => boolean;
/** Row and column of the table. */
type Spot = [number, number];

/** Where a key leads from a cell: over hours that are past or not wanted, to the next that can be planned. */
function led(
  key: string,
  [r, c]: Spot,
  rows: number,
  columns: number,
  usable: (at: Spot) => boolean,
): Spot | undefined {
  const d = {
    ArrowDown: [1, 0],
    ArrowUp: [-1, 0],
    ArrowRight: [0, 1],
    ArrowLeft: [0, -1],
    Home: [0, -c],
    End: [0, columns - 1 - c],
  }[key];
  if (!d) return undefined;
  const clamp = (i: number, n: number) => Math.min(n - 1, Math.max(0, i));
  const step = [Math.sign(d[0]!), Math.sign(d[1]!)] as const;
  let to: Spot = [clamp(r + d[0]!, rows), clamp(c + d[1]!, columns)];
  if (key === "Home" || key === "End") while (!usable(to) && to[1] !== c) to = [r, to[1] - step[1]];
  else {
    const inside = ([y, x]: Spot) => y >= 0 && y < rows && x >= 0 && x < columns;
    for (let next = to; !usable(to) && inside(next); next = [to[0] + step[0], to[1] + step[1]]) to = next;
  }
  return to;
}

interface TableProps {
  days: Day[];
  hours: number[];
  allowed: Allowed;
  best: HourOutlook[];
  go: (h: HourOutlook) => void;
  focus: Spot;
  setFocus: (at: Spot) => void;
}

/** The hours of the week, as many days side by side as fit. */
function Table(props: TableProps) {
  const { days, hours, focus, setFocus } = props;
  const [page, setPage] = useState(0);
  const [width, setWidth] = useState(innerWidth);
  const table = useRef<HTMLTableElement>(null);
  useEffect(() => {
    const on = () => setWidth(innerWidth);
    addEventListener("resize", on);
    return () => removeEventListener("resize", on);
  }, []);
  const across = width < 386 ? 6 : 7;
  const shown = days.slice(page * across, page * across + across);
  const cell = shown[focus[1]]?.at[hours[focus[0]] ?? -1];
  const usable = ([r, c]: Spot) => {
    const h = shown[c]?.at[hours[r] ?? -1];
    return !!h?.found && props.allowed(h, hours[r]!);
  };
  /** The one cell that Tab comes to: the last one that had the focus, else the first that can be planned. */
  const tabStop = usable(focus)
    ? focus
    : (hours.flatMap((_, r) => shown.map((__, c): Spot => [r, c])).find(usable) ?? focus);
  const move = (e: KeyboardEvent, at: Spot) => {
    const to = led(e.key, at, hours.length, shown.length, usable);
    if (!to) return;
    e.preventDefault();
    if (!usable(to)) return;
    setFocus(to);
    table.current?.querySelector<HTMLElement>(`[data-at="${to[0]}-${to[1]}"]`)?.focus();
  };
  return (
    <div class="weekbox">
      <table class="week" ref={table}>
        <caption class="small">{say("when.caption")}</caption>
        <thead>
          <tr>
            <th scope="col">
              <span class="hidden">{say("when.hour")}</span>
            </th>
            {shown.map((d) => (
              <th key={d.day} scope="col">
                {d.word}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {hours.map((h, r) => (
            <tr key={h}>
              <th scope="row">{String(h).padStart(2, "0")}</th>
              {shown.map((d, c) => {
                const x = d.at[h];
                return (
                  <td key={d.day}>
                    {x && props.allowed(x, h) ? (
                      <Cell
                        h={x}
                        named={props.best.includes(x)}
                        at={`${r}-${c}`}
                        tab={r === tabStop[0] && c === tabStop[1]}
                        go={() => props.go(x)}
                        keys={(e) => move(e, [r, c])}
                        focus={() => setFocus([r, c])}
                        label={cellWords(d.long, h, x)}
                      />
                    ) : (
                      <span class="nocell" role="img" aria-label={say("when.none")}>
                        –
                      </span>
                    )}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
      <p role="status" class="small cellline">
        {cell && cellWords(shown[focus[1]]!.long, hours[focus[0]]!, cell)}
      </p>
      {days.length > across && (
        <div class="row">
          {page > 0 && <button onClick={() => setPage(page - 1)}>{say("when.prevday")}</button>}
          {(page + 1) * across < days.length && (
            <button onClick={() => setPage(page + 1)}>{say("when.nextday")}</button>
          )}
        </div>
      )}
    </div>
  );
}

function HourPick(props: { value: number; pick: (v: number) => void }) {
  return (
    <select value={props.value} onChange={(e) => props.pick(Number(e.currentTarget.value))}>
      {Array.from({ length: 19 }, (_, i) => i + 5).map((h) => (
        <option key={h} value={h}>
          {String(h).padStart(2, "0")}:00
        </option>
      ))}
    </select>
  );
}

function Cell(props: {
  h: HourOutlook;
  named: boolean;
  at: string;
  tab: boolean;
  go: () => void;
  keys: (e: KeyboardEvent) => void;
  focus: () => void;
  label: string;
}) {
  if (!props.h.found)
    return (
      <span class="nocell" role="img" aria-label={say("when.none")}>
        –
      </span>
    );
  const n = ofTen(props.h.calm_chance);
  const level = levelOfTen(n);
  return (
    <button
      class={(props.named ? "named " : "") + level}
      data-at={props.at}
      tabIndex={props.tab ? 0 : -1}
      aria-label={props.label}
      onClick={props.go}
      onKeyDown={props.keys}
      onFocus={props.focus}
    >
      {level !== "calm" && (
        <svg aria-hidden="true">
          <rect width="100%" height="100%" style={{ fill: fillOf(level) }} />
        </svg>
      )}
      <span>{n > 9 ? "9+" : n < 1 ? "<1" : n}</span>
    </button>
  );
}

interface Day {
  day: string;
  word: string;
  long: string;
  at: Record<number, HourOutlook>;
}

function dayColumns(hours: HourOutlook[]): Day[] {
  const days: Day[] = [];
  for (const h of hours) {
    const t = new Date(h.depart);
    const day = dayOf(t, zone());
    let d = days[days.length - 1];
    if (!d || d.day !== day) {
      d = { day, word: weekday(t, zone()), long: weekday(t, zone(), "long"), at: {} };
      days.push(d);
    }
    d.at[Number(clock(t, zone(), "h24").slice(0, 2))] = h;
  }
  return days.slice(0, 7);
}

/** Weeks are of closed walks: loops alone where they are wished, else of any shape. */
const closedShape = () => (wish.value.shape === "loop" ? "loop" : "calmest");

const both = (h: HourOutlook) => h.expected_reactions + h.strain;

/** The three best hours that are allowed and stand in the table, no two beside each other. */
function bestOf(w: Week, allowed: Allowed): HourOutlook[] {
  const hourOf = (h: HourOutlook) => Number(clock(new Date(h.depart), zone(), "h24").slice(0, 2));
  const list = w.hours
    .map((h, i) => ({ h, i }))
    .filter(
      ({ h }) =>
        h.found &&
        hourOf(h) >= firstHour &&
        hourOf(h) <= lastHour &&
        allowed(h, hourOf(h)) &&
        Date.parse(h.depart) > Date.now() - 36e5,
    )
    .sort((a, b) => both(a.h) - both(b.h) || a.i - b.i);
  const out: typeof list = [];
  for (const x of list) {
    if (out.length === 3) break;
    if (out.every((o) => Math.abs(o.i - x.i) > 1)) out.push(x);
  }
  return out.map((x) => x.h);
}

const named = (h: HourOutlook) =>
  `${weekday(new Date(h.depart), zone(), "long")} ${clock(new Date(h.depart), zone(), settings.value.clock)}`;
const shortNamed = (h: HourOutlook) =>
  `${weekday(new Date(h.depart), zone())} ${clock(new Date(h.depart), zone(), settings.value.clock)}`;

function thenWords(p: number): string {
  const n = ofTen(p);
  return n > 9 ? say("when.then.most") : n < 1 ? say("when.then.few") : say("when.then", { n });
}

function cellWords(day: string, hour: number, h: HourOutlook): string {
  const line = say("when.cell", {
    day,
    hour: String(hour).padStart(2, "0"),
    answer: shortAnswer(h.calm_chance),
    level: levelWord(levelOfTen(ofTen(h.calm_chance))),
  });
  return h.most ? `${line} ${say("when.most", { what: h.most })}` : capital(line);
}

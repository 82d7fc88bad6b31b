// Where to go: the door now, the door at a better hour, places by car, each with what it
// spares.
import { useEffect, useState } from "preact/hooks";
import { ask, type Fault, faultOf } from "../api.ts";
import { dogNow } from "../dogs.ts";
import { keep, kept } from "../kept.ts";
import { mapInfo, zone } from "../mapinfo.ts";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { want, wish, wishBody } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Where, WhereOption } from "../types.ts";
import { goTo } from "../view.ts";
import { answer, capital, minutes, shortClock, weekday } from "../words.ts";
import "./where.css";

const drives = [5, 10, 15, 20, 30] as const;
const usualDrive = 15;

/** An hour; with its day where that is not the day of the first. */
function hour(t: Date, from: Date): string {
  const day = weekday(t, zone()) === weekday(from, zone()) ? "" : `${weekday(t, zone())} `;
  return day + shortClock(t, zone(), settings.value.clock);
}

export function WhereToGo() {
  const [drive, setDrive] = useState<number>(() => kept<number>("drive") ?? usualDrive);
  const [there, setThere] = useState<Where | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  const [stopped, setStopped] = useState(false);
  const from = wish.value.from;
  const key = JSON.stringify([from?.at, wish.value.minutes, wish.value.depart, dogNow()?.needs, drive, asked]);
  useEffect(() => {
    if (!from || !mapInfo.value || !dogNow() || stopped) return;
    const stop = new AbortController();
    setThere(undefined);
    setFault(undefined);
    const { to: _, shape, max_expected_reactions: __, ...body } = wishBody(wish.value);
    const of = shape === "loop" || shape === "there_and_back" ? shape : "calmest";
    ask("post", "/v1/where", {
      body: { ...body, shape: of, ...(drive ? { drive_minutes: drive } : { on_foot: true }) },
      signal: stop.signal,
    })
      .then(setThere)
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, mapInfo.value?.name, stopped]);
  const choose = (n: number) => {
    keep("drive", n);
    setStopped(false);
    setDrive(n);
  };
  return (
    <>
      <Head title={say("where.title")} shown={true} />
      <main id="answer" tabIndex={-1} class="where">
        <section class="panel stack">
          <h2>{say("where.car")}</h2>
          <div class="row" role="group" aria-label={say("where.car")}>
            <button aria-pressed={drive === 0} onClick={() => choose(0)}>
              {say("where.foot")}
            </button>
            {drives.map((n) => (
              <button key={n} aria-pressed={n === drive} onClick={() => choose(n)}>
                {say("where.minutes", { n })}
              </button>
            ))}
          </div>
          <Status>
            {!there && !fault && !stopped && (
              <p class="row">
                <span class="grow">{say("where.wait")}</span>
                <button onClick={() => setStopped(true)}>{say("where.stop")}</button>
              </p>
            )}
          </Status>
          {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
        </section>
        {there && (
          <>
            <ol class="options">
              {there.options.map((o, i) => (
                <Choice key={o.name} option={o} best={i === 0 && there.options.length > 1} />
              ))}
            </ol>
            <section class="panel stack">
              {there.notes.map((n) => (
                <p key={n}>{n}</p>
              ))}
              <p class="small">{there.caution}</p>
            </section>
          </>
        )}
      </main>
    </>
  );
}

function Choice(props: { option: WhereOption; best: boolean }) {
  const o = props.option;
  const [leave, begin] = [new Date(o.leave), new Date(o.begin)];
  const now = new Date();
  const when = {
    door_now: () => say("where.now"),
    door_later: () => say("where.later", { begin: hour(begin, now) }),
    by_car: () => say("where.by_car", { leave: hour(leave, now), n: o.drive_minutes ?? 0, begin: hour(begin, leave) }),
  }[o.kind]();
  const spared = Math.round(100 * o.saves.share);
  const take = () => {
    const byCar = o.kind === "by_car";
    const place = byCar ? { name: o.name, at: { lat: o.at[1]!, lon: o.at[0]! } } : wish.value.from!;
    const shape = o.given?.wish.shape ?? "calmest";
    want({ from: place, to: undefined, depart: begin.toISOString(), away: byCar, shape });
    goTo("plan");
  };
  return (
    <li class="panel stack">
      <div>
        {props.best && <p class="kicker">{capital(say("where.best"))}</p>}
        <h2 dir="auto">{o.kind === "by_car" ? o.name : capital(when)}</h2>
        {o.kind === "by_car" && <p>{capital(when)}.</p>}
      </div>
      <p>
        <b>{answer(o.walk.calm_chance)}</b> · {say("unit.min", { n: minutes(o.walk.duration_s) })}
        {spared > 0 && <> · {say("where.saves", { n: spared })}</>}
      </p>
      {o.notes.length > 0 && <p class="small">{capital(o.notes.join("; "))}.</p>}
      <button class={props.best ? "main" : ""} onClick={take}>
        {say("where.take")}
      </button>
    </li>
  );
}

// One training visit: when, where, how far off, what is seen, and the way out.

import { useEffect, useState } from "preact/hooks";
import { toCalendar } from "../calendar.ts";
import { dogNow } from "../dogs.ts";
import { keep, kept } from "../kept.ts";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Visit, Walk } from "../types.ts";
import { dated, doseWords, undated, visitFacts } from "../visit_words.ts";
import { readyVisit } from "../visiting.ts";
import {
  banPlace,
  driveThere,
  earliest,
  inUnits,
  moveVisit,
  past,
  pinned,
  pinPlace,
  type VisitsDoc,
  visitOf,
  visits,
  visitZone,
  weekOn,
} from "../visits.ts";
import { capital, clock, cut, dayOf, distance, exact, instant } from "../words.ts";
import { Rule } from "./visits_rule.tsx";
import "./visits_card.css";

const nearTimes = 1.5; // nearer steps want the steps before to have gone well

const keptKey = "visits.kept"; // doses that somebody keeps knowingly, by place and hour

/** A visit that costs more than it should: why, and what else there is. */
function Dose(props: { doc: VisitsDoc; n: number; v: Visit; trains: boolean; move: () => void }) {
  const { doc, n, v } = props;
  const key = [doc.id, n, v.arrive].join();
  const [keptOnes, setKept] = useState<string[]>(() => kept<string[]>(keptKey) ?? []);
  const dose = doseWords(v);
  if (!dose) return null;
  return (
    <div class="caution stack dose">
      <p>
        <b>{dose.head}</b> {dose.text}
      </p>
      {!keptOnes.includes(key) && (
        <div class="row">
          {props.trains && visits.wish.value.drive === 0 && <button onClick={driveThere}>{say("dose.drive")}</button>}
          <button onClick={props.move}>{say("dose.hour")}</button>
          <button
            onClick={() => {
              const now = [...keptOnes, key].slice(-100);
              keep(keptKey, now);
              setKept(now);
            }}
          >
            {say("dose.keep")}
          </button>
        </div>
      )}
    </div>
  );
}

/** The next visit as a file for calendars; the same again when its hour was moved. */
function calendarVisit(doc: VisitsDoc, n: number, v: Visit): Promise<void> {
  const begins = new Date(v.arrive);
  const entry = {
    uid: `${doc.id}.${n}@wideberth`,
    title: say("calendar.visit.title", { dog: cut(dogNow()?.name ?? ""), watched: cut(v.watched.name) }),
    begins,
    ends: new Date(begins.getTime() + v.stay_minutes * 6e4),
    place: { name: cut(v.watched.name), lat: v.at[1]!, lon: v.at[0]! },
    url: location.href,
    remindMin: 60,
  };
  return toCalendar("visit", [entry]);
}

/** The card of a visit; buttons that change the plan only for who keeps it. */
export function VisitCard(props: { doc: VisitsDoc; n: number; trains: boolean; print: () => void }) {
  const { doc, n } = props;
  const [moving, setMoving] = useState(false);
  useEffect(() => setMoving(false), [doc.id, doc.version, n]);
  const v = visitOf(doc, n);
  const of = doc.body.sequence.visits.length;
  const next = n === doc.body.step;
  const p = visits.progress.value[doc.id];
  const zone = visitZone(doc);
  const bite = dogNow()?.caution && v.multiple < nearTimes;
  const late = next && past(v);
  const name = say(next ? "visits.next" : "visits.nth", { n, of });
  return (
    <section class="visitcard stack" aria-label={name}>
      <div>
        <h2 class="kicker">
          {next && doc.body.paused ? `${say("visits.nth", { n, of })}. ${say("visits.paused")}` : name}
        </h2>
        <p class="answer num">{next ? dated(new Date(v.arrive), zone) : undated(v, earliest(doc, n), zone)}</p>
        <p>
          <b>
            {say(v.meeting ? "visits.what.meeting" : "visits.what", {
              distance: exact(v.distance_m, settings.value.units),
              watched: cut(v.watched.name),
              n: Math.round(v.stay_minutes),
            })}
          </b>{" "}
          {say("visits.multiple", { n: tenth(v.multiple), dog: cut(dogNow()?.name ?? "") })}
        </p>
      </div>
      {late && <p class="caution">{say("visits.past")}</p>}
      {visits.mine.value[`${doc.id}/${n}`] && <p class="small">{say("visits.here")}</p>}
      <Dose doc={doc} n={n} v={v} trains={props.trains} move={() => setMoving(true)} />
      {v.meeting && <MeetingSteps v={v} zone={zone} />}
      <dl class="facts">
        {(v.meeting ? [] : visitFacts(v, zone, p?.rule ?? doc.body.rule)).map(([fact, text]) => (
          <div key={fact}>
            <dt>{say(`stay.row.${fact}`)}</dt>
            <dd dir="auto">{text}</dd>
          </div>
        ))}
      </dl>
      {bite ? (
        <p class="caution">
          {say("caution.visit")} {say("visits.near.caution")}
        </p>
      ) : (
        v.multiple < nearTimes && <p class="caution">{say("visits.near.caution")}</p>
      )}
      {v.kept && <p class="small">{say("visits.copied")}</p>}
      <div class="row">
        <button onClick={props.print}>{say("visits.print")}</button>
        {next && !doc.body.paused && !late && (
          <button onClick={() => void calendarVisit(doc, n, v)}>{say("calendar.walk")}</button>
        )}
        {next && !doc.body.paused && !late && !v.meeting && (
          <button class="main grow" onClick={() => void readyVisit(doc, n)}>
            {say("visits.ready")}
          </button>
        )}
        {(!next || late) && !v.meeting && (
          <button class={late ? "main grow" : "grow"} aria-expanded={moving} onClick={() => setMoving(!moving)}>
            {say("visits.move")}
          </button>
        )}
      </div>
      {next && !late && !v.meeting && (
        <button aria-expanded={moving} onClick={() => setMoving(!moving)}>
          {say("visits.later")}
        </button>
      )}
      {moving && <Move doc={doc} n={n} v={v} done={() => setMoving(false)} />}
      {next && p && props.trains && <Rule doc={doc} progress={p} />}
      {!v.meeting && (
        <details>
          <summary class="line">{say("visits.in.long")}</summary>
          <Legs title={say("visits.in.list")} walk={v.way_in} />
          <Legs title={say("visits.home.list")} walk={v.way_home} />
        </details>
      )}
      {props.trains && !v.meeting && (
        <div class="row">
          <button aria-pressed={pinned(v)} onClick={() => pinPlace(v)}>
            {say(pinned(v) ? "visits.unpin" : "visits.pin")}
          </button>
          <button onClick={() => banPlace(v)}>{say("visits.ban")}</button>
        </div>
      )}
      <p class="small">
        {say("visits.caution.stop")} {say("visits.caution.map")}
      </p>
    </section>
  );
}

/** A step with a helper: where the car is left, and both sides' minutes. */
function MeetingSteps(props: { v: Visit; zone: string }) {
  const { meeting } = props.v;
  if (!meeting) return null;
  const { setup } = meeting;
  return (
    <>
      <p>
        {say("visits.meeting.drive", {
          clock: clock(new Date(props.v.leave), props.zone, settings.value.clock),
          minutes: say("unit.min", { n: Math.round(setup.drive_minutes) }),
          place: cut(setup.place || say("setups.unnamed")),
        })}
      </p>
      {meeting.dark && <p class="caution">{meeting.dark}</p>}
      {(["dog", "helper"] as const).map((role) => (
        <section key={role}>
          <h3>{say(`setups.side.${role}`, { dog: cut(dogNow()?.name ?? "") })}</h3>
          <ol class="plainlist">
            {setup[role].map((e, i) => (
              <li key={i}>
                <span class="num">{e.not_before}</span> {inUnits(e.text)}
              </li>
            ))}
          </ol>
        </section>
      ))}
      <p>{setup.ground}</p>
    </>
  );
}

/** A multiple with one figure after the point at most. */
export const tenth = (n: number): string => String(Math.round(10 * n) / 10);

export function Legs(props: { title: string; walk: Walk }) {
  return (
    <>
      <h3>{props.title}</h3>
      <ol class="plainlist">
        {props.walk.legs.map((l, i) => (
          <li key={i}>
            {say("visits.leg", {
              turn: capital(say(`turn.${l.turn}` as Key)),
              name: l.name,
              distance: distance(l.length_m, settings.value.units),
            })}
          </li>
        ))}
      </ol>
    </>
  );
}

/** Another hour for a visit: a week on with one tap, any other by day and clock. */
function Move(props: { doc: VisitsDoc; n: number; v: Visit; done: () => void }) {
  const { doc, n, v } = props;
  const zone = visitZone(doc);
  const [day, setDay] = useState(dayOf(new Date(weekOn(v)), zone));
  const [time, setTime] = useState(clock(new Date(v.arrive), zone, "h24"));
  const good = /^\d{4}-\d\d-\d\d$/.test(day) && /^\d\d:\d\d$/.test(time);
  const move = async (arrive: string) => {
    if (await moveVisit(doc, n, { ...v, arrive })) props.done();
  };
  return (
    <form
      class="choice stack"
      aria-label={say("visits.move")}
      onSubmit={(e) => {
        e.preventDefault();
        if (good) void move(instant(day, time, zone).toISOString());
      }}
    >
      <p>{say("visits.move.ask")}</p>
      <button type="button" onClick={() => void move(weekOn(v))}>
        {say("visits.move.weekon")}: {dated(new Date(weekOn(v)), zone)}
      </button>
      <div class="row top">
        <label class="field grow">
          <span>{say("choice.time.date")}</span>
          <input type="date" value={day} min={dayOf(new Date(), zone)} onInput={(e) => setDay(e.currentTarget.value)} />
        </label>
        <label class="field grow">
          <span>{say("choice.time.clock")}</span>
          <input type="time" value={time} onInput={(e) => setTime(e.currentTarget.value)} />
        </label>
        <button class="main" disabled={!good || visits.doing.value === "changing"}>
          {say("visits.move.do")}
        </button>
      </div>
    </form>
  );
}

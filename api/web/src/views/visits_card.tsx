// One training visit: when, where, how far off, what is seen, and the way out.

import { useEffect, useRef, useState } from "preact/hooks";
import { dogNow } from "../dogs.ts";
import { settings, theme } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Visit, Walk } from "../types.ts";
import { readyVisit } from "../visiting.ts";
import {
  banPlace,
  moveVisit,
  past,
  pinned,
  pinPlace,
  placePicture,
  type VisitsDoc,
  visitOf,
  visits,
  visitZone,
  weekOn,
} from "../visits.ts";
import { capital, clock, cut, dayOf, distance, exact, instant, met, minutes, treats, weekday } from "../words.ts";
import { times } from "./visits_ask.tsx";
import { Rule } from "./visits_rule.tsx";
import "./visits_card.css";

const nearTimes = 1.5; // nearer steps want the steps before to have gone well

/** A day near at hand by its name, any other with its date. */
export function whenWords(d: VisitsDoc, v: { arrive: string }): string {
  const t = new Date(v.arrive);
  const zone = visitZone(d);
  const days = (t.getTime() - Date.now()) / 864e5;
  const date =
    days > 6 || days < -1
      ? ` ${new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: zone }).format(t)}`
      : "";
  return `${weekday(t, zone)}${date} ${clock(t, zone, settings.value.clock)}`;
}

/** What is watched, by the word that the counts use. */
const categoryOfDoc = (d: VisitsDoc): string => String(d.body.wish.kind ?? "dogs");

function outs(v: Visit): string {
  const n = v.ways_out.length;
  const names = (v.way_out_names ?? []).join(", ");
  if (n === 0) return say("visits.out.none");
  return names ? say("visits.out", { n, names }) : say("visits.out.bare", { n });
}

const costWords = (x: number): string => (x < 0.95 ? x.toFixed(1) : String(Math.round(x * 10) / 10));

/** The card of a visit; buttons that change the plan only for who keeps it. */
export function VisitCard(props: { doc: VisitsDoc; n: number; trains: boolean; print: () => void }) {
  const { doc, n } = props;
  const [moving, setMoving] = useState(false);
  useEffect(() => setMoving(false), [doc.id, doc.version, n]);
  const v = visitOf(doc, n);
  const u = settings.value.units;
  const of = doc.body.sequence.visits.length;
  const next = n === doc.body.step;
  const p = visits.progress.value[doc.id];
  const at = (t: string) => clock(new Date(t), visitZone(doc), settings.value.clock);
  const dog = cut(dogNow()?.name ?? "");
  const bite = dogNow()?.caution && v.multiple < nearTimes;
  const late = past(v);
  return (
    <section class="visitcard stack" aria-label={say(next ? "visits.next" : "visits.nth", { n, of })}>
      <h2>
        {next && doc.body.paused
          ? `${say("visits.nth", { n, of })}. ${say("visits.paused")}`
          : say(next ? "visits.next" : "visits.nth", { n, of })}
      </h2>
      <p class="answer">{say("visits.when", { when: whenWords(doc, v), distance: exact(v.distance_m, u) })}</p>
      <p>{say("visits.multiple", { n: times(v.multiple), dog })}</p>
      {late && <p class="caution">{say("visits.past")}</p>}
      {visits.mine.value[`${doc.id}/${n}`] && <p class="small">{say("visits.here")}</p>}
      <p>
        <b>
          {say("visits.where", { street: capital(v.street), watched: v.watched.name, n: Math.round(v.stay_minutes) })}
        </b>
      </p>
      <p>
        {say("visits.dose", {
          met: capital(met(categoryOfDoc(doc), v.number, v.low, v.high, true)),
          low: v.lasts_low_s,
          high: v.lasts_high_s,
        })}{" "}
        {say("sure.treats", { treats: treats(v.treats_low, v.treats_high) })}
      </p>
      <p>
        {say("visits.in", {
          time: at(v.leave),
          n: minutes(v.way_in.duration_s),
          calm: Math.round(v.calm_in_minutes),
          home: minutes(v.way_home.duration_s),
        })}{" "}
        {outs(v)}
      </p>
      <p>{say("visits.cost", { x: costWords(v.expected_reactions) })}</p>
      {bite ? (
        <p class="caution">
          {say("caution.visit")} {say("visits.near.caution")}
        </p>
      ) : (
        v.multiple < nearTimes && <p class="caution">{say("visits.near.caution")}</p>
      )}
      {next && p && <Rule doc={doc} progress={p} trains={props.trains} />}
      {v.kept && <p class="small">{say("visits.copied")}</p>}
      <div class="row">
        {next && !doc.body.paused && (
          <button class={late ? "grow" : "main grow"} disabled={late} onClick={() => void readyVisit(doc, n)}>
            {say("visits.ready")}
          </button>
        )}
        <button class={late ? "main grow" : "grow"} aria-expanded={moving} onClick={() => setMoving(!moving)}>
          {say(next && !late ? "visits.later" : "visits.move")}
        </button>
      </div>
      {moving && <Move doc={doc} n={n} v={v} done={() => setMoving(false)} />}
      <details>
        <summary class="line">{say("visits.in.long")}</summary>
        <Legs title={say("visits.in.list")} walk={v.way_in} />
        <Legs title={say("visits.home.list")} walk={v.way_home} />
      </details>
      <div class="row">
        <button onClick={props.print}>{say("visits.print")}</button>
        {props.trains && (
          <button aria-pressed={pinned(v)} onClick={() => pinPlace(v)}>
            {say(pinned(v) ? "visits.unpin" : "visits.pin")}
          </button>
        )}
        {props.trains && <button onClick={() => banPlace(v)}>{say("visits.ban")}</button>}
      </div>
      <p class="small">
        {say("visits.caution.stop")} {say("visits.caution.map")}
      </p>
    </section>
  );
}

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
        {say("visits.move.weekon")}: {whenWords(doc, { arrive: weekOn(v) })}
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

/** Puts a picture of the place into its box. */
export function fillPlace(box: HTMLElement, svg: SVGElement, dog: string): void {
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", say("visits.picture", { dog }));
  svg.setAttribute("width", "100%");
  svg.setAttribute("height", "100%");
  box.replaceChildren(svg);
}

/** The server's picture of the place, made for the room that there is. */
export function PlacePicture(props: { doc: VisitsDoc; n: number }) {
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState(false);
  const v = visitOf(props.doc, props.n);
  const key = JSON.stringify([props.doc.id, props.n, v.at, v.arrive, theme.value, settings.value.units]);
  useEffect(() => {
    const b = box.current;
    if (!b) return;
    let gone = false;
    placePicture(props.doc, props.n, {
      width_px: Math.max(300, Math.round(b.clientWidth)),
      height_px: Math.max(300, Math.round(b.clientHeight)),
    })
      .then((svg) => {
        if (gone) return;
        fillPlace(b, svg, dogNow()?.name ?? "");
        setFault(false);
      })
      .catch(() => {
        if (gone) return;
        b.replaceChildren();
        setFault(true);
      });
    return () => {
      gone = true;
    };
  }, [key]);
  return (
    <div class="placepicture">
      <div ref={box} class="holder" />
      {fault && <p class="onpage">{say("visits.picture.none")}</p>}
    </div>
  );
}

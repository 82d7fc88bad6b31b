import { useEffect, useMemo, useState } from "preact/hooks";
import { ask } from "../api.ts";
import { Discs, Key, SmallBand } from "../draw.tsx";
import { along, metres, offArea, walkLine } from "../geo.ts";
import { MapBox } from "../mapbox.tsx";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { Sentence } from "../sentence.tsx";
import {
  departure,
  dogName,
  dogNow,
  goTo,
  letter,
  plainDog,
  plan,
  set,
  setDogs,
  state,
  stopPlanning,
  useAppState,
  wish,
  zone,
} from "../state.ts";
import { say, type Key as TextKey } from "../strings.ts";
import { roomWords, Strip, sameScale } from "../strip.tsx";
import type { Drawing, Leg, Offer, Plan as PlanAnswer, Position, Problem, Walk, WatchPoint } from "../types.ts";
import { needFor, ready } from "../walking.ts";
import {
  answer,
  between,
  capital,
  clock,
  compare,
  dateWords,
  distance,
  exact,
  far,
  inside as insideWords,
  into,
  joined,
  levels,
  levelWord,
  met,
  metOf,
  minutes,
  minutesSpelt,
  ofTen,
  range,
  shortAnswer,
  treats,
  walkName,
} from "../words.ts";
import "./plan.css";

export function Plan() {
  const s = useAppState();
  const w = s.wish;
  const key: TextKey =
    w.shape === "way" ? "plan.ask.way" : w.shape === "longest_calm" ? "plan.ask.calm" : "plan.ask.loop";
  return (
    <>
      <Head title={say("plan.title")}>
        {s.map && <Sentence key_={key} parts={["minutes", "shape", "dog", "from", "to", "time", "limits"]} />}
      </Head>
      <main id="answer" tabIndex={-1}>
        <Answer />
      </main>
    </>
  );
}

/** The answer, or what stands in its place, about one map that stays through all of it. */
function Answer() {
  const s = useAppState();
  const [pxPerM, setScale] = useState(0.5);
  const p = s.plan;
  const at = s.wish.from?.at;
  const there = p.is === "there" ? p : undefined;
  const walk = there && (there.plan.walks[s.chosen] ?? there.plan.walks[0]!);
  const drawing = there && (there.drawings[s.chosen] ?? there.drawings[0]!);
  const shown = useMemo(
    () =>
      there
        ? {
            walks: there.plan.walks,
            drawings: there.drawings,
            chosen: s.chosen,
            letters: there.plan.walks.map((_, i) => letter(i)),
          }
        : at
          ? { start: [at.lon, at.lat] as [number, number] }
          : {},
    [there?.plan, s.chosen, at?.lat, at?.lon],
  );
  const line = useMemo(() => walk && walkLine(walk), [walk]);
  const L = letter(s.chosen);
  return (
    <>
      {there ? <Top plan={there.plan} drawings={there.drawings} walk={walk!} drawing={drawing!} /> : <Unanswered />}
      <div class={there ? "two" : "one"}>
        {s.map && <MapBox shown={shown} line={line} need={drawing?.need} scale={setScale} />}
        {there && (
          <section
            class="panel only-wide"
            style={{ padding: "12px 16px" }}
            aria-label={say("strip.title", { letter: L })}
          >
            <p>
              <b>{say("strip.title", { letter: L })}</b>{" "}
              <span class="small">
                {say(sameScale(walk!, drawing!, pxPerM, 388, 510) ? "strip.how" : "strip.how.small")}
              </span>
            </p>
            <Strip walk={walk!} drawing={drawing!} letter={L} pxPerM={pxPerM} height={388} width={510} />
          </section>
        )}
      </div>
      {there && <Rest plan={there.plan} drawings={there.drawings} walk={walk!} drawing={drawing!} />}
    </>
  );
}

function Unanswered() {
  const s = useAppState();
  const p = s.plan;
  const demo = s.map?.demo;
  return (
    <div class="panel stack">
      {p.is === "idle" && demo && (
        <>
          <p>{say("demo.text")}</p>
          <div class="row">
            <button
              class="main tall grow"
              onClick={() => {
                if (!dogNow()) setDogs([{ ...demo.dog }], 0);
                wish({});
              }}
            >
              {say("demo.go")}
            </button>
            <button class="tall grow" onClick={() => goTo("dog")}>
              {say("demo.own")}
            </button>
          </div>
          <p class="small">{say("sure.caution")}</p>
        </>
      )}
      {p.is === "idle" && s.map && !demo && (
        <>
          <p>{say("first.text", { map: s.map.name })}</p>
          <button class="main tall wide" disabled={!s.wish.from} onClick={() => wish({})}>
            {say("first.plan")}
          </button>
          <p class="small">{say("sure.caution")}</p>
        </>
      )}
      <Status>
        {p.is === "looking" && (
          <p class="answer">{say(s.wish.shape === "way" ? "wait.looking.way" : "wait.looking")}</p>
        )}
      </Status>
      {p.is === "looking" && <button onClick={stopPlanning}>{say("wait.stop")}</button>}
      {p.is === "fault" &&
        (p.fault.problem?.reason ? (
          <NoWalk problem={p.fault.problem} />
        ) : (
          <FaultPanel fault={p.fault} again={() => void plan()} />
        ))}
    </div>
  );
}

/** Why there is no such walk, and what would help. */
function NoWalk(props: { problem: Problem }) {
  const p = props.problem;
  const short = distance(p.short ?? 0, state.settings.units);
  const text: Record<string, string> = {
    off_the_map: say("none.off", { distance: far(p.short ?? 0, state.settings.units) }),
    no_street_near: say("none.far", { distance: short }),
    no_loop: say("none.loop", { minutes: state.wish.minutes }),
    no_stand: say("none.stand"),
    no_way_in: say("none.way_in"),
    nobody_then: say("none.nobody"),
    limits_forbid: say("none.limits", { minutes: state.wish.minutes, limit: p.limit ?? "" }),
    too_short: say("none.short", { minutes: minutesSpelt(60 * Math.ceil((p.short ?? 0) / 60)) }),
    not_connected: say("none.connected"),
    map_too_small: say("none.small", { distance: short }),
    nothing_in_range: say("none.range", { distance: short }),
  };
  return (
    <div class="caution stack" role="alert">
      <h2>{say("none.title")}</h2>
      <p>{text[p.reason!] ?? p.detail}</p>
      <div class="row">
        {(p.offers ?? []).map((o, i) => (
          <button key={i} onClick={() => take(o)}>
            {offerWords(o)}
          </button>
        ))}
      </div>
      {p.reason === "no_loop" && !p.offers?.some((o) => o.what === "shape") && (
        <button onClick={() => wish({ shape: "there_and_back" })}>{say("plan.choose.there_and_back")}</button>
      )}
    </div>
  );
}

function offerWords(o: Offer): string {
  const a = shortAnswer(o.calm_chance);
  switch (o.what) {
    case "leave_at":
      return say("none.leave", { time: clock(new Date(o.depart!), zone(), state.settings.clock), answer: a });
    case "start_at":
      return say("none.start", { name: o.name ?? "", answer: a });
    case "shape":
      return say("none.shape", { shape: say(`plan.choose.${o.shape!}`), answer: a });
    case "minutes":
      return say("none.minutes", { n: Math.round(o.minutes ?? 0), answer: a });
    case "without_limit":
      return say("none.limit", { name: o.name ?? "", answer: a });
  }
}

function take(o: Offer): void {
  if (o.what === "leave_at" && o.depart) wish({ depart: new Date(o.depart).toISOString() });
  else if (o.what === "shape" && o.shape) wish({ shape: o.shape });
  else if (o.what === "minutes" && o.minutes) wish({ minutes: Math.round(o.minutes) });
  else if (o.what === "without_limit") wish({ limits: {} });
  else goTo("plan");
}

interface Picked {
  plan: PlanAnswer;
  drawings: Drawing[];
  walk: Walk;
  drawing: Drawing;
}

/** What the first screen of a phone holds. */
function Top(props: Picked) {
  const { plan: p, drawings, walk, drawing } = props;
  return (
    <div class="only-narrow">
      <section class="panel" aria-label={say("plan.title")}>
        <Big walk={walk} />
      </section>
      <Rows plan={p} drawings={drawings} />
      <div class="sticky">
        <button class="main wide tall" onClick={() => void ready(walk, drawing, p)}>
          {say("walk.ready", { letter: letter(state.chosen) })}
        </button>
      </div>
    </div>
  );
}

function Rest(props: Picked) {
  const { plan: p, drawings, walk, drawing } = props;
  const i = state.chosen;
  const L = letter(i);
  return (
    <>
      <div class="only-wide">
        <TableOfWalks plan={p} drawings={drawings} />
        <div class="onpage row" style={{ justifyContent: "space-between", alignItems: "flex-start" }}>
          <div style={{ flex: "1 1 600px" }} class="stack">
            <InALine walk={walk} />
            <Key dog={dogName()} />
          </div>
          <div class="row">
            <button onClick={() => goTo("handout")}>{say("walk.print")}</button>
            <button class="main" onClick={() => void ready(walk, drawing, p)}>
              {say("walk.ready", { letter: L })}
            </button>
          </div>
        </div>
      </div>
      <div class="onpage only-narrow">
        <Key dog={dogName()} />
      </div>
      <div class="columns wide-pad">
        <Why plan={p} i={i} />
        <section class="panel stack">
          <h2>{say("watch.title")}</h2>
          <Watch walk={walk} />
        </section>
        <Sure plan={p} walk={walk} />
      </div>
      <section class="panel only-narrow stack">
        <h2>{say("strip.title", { letter: L })}</h2>
        <p class="small">{say("strip.how.phone")}</p>
        <Strip
          walk={walk}
          drawing={drawing}
          letter={L}
          pxPerM={0.6}
          height={Math.max(300, walk.length_m * 0.6 + 60)}
          width={300}
        />
        <button class="wide" onClick={() => goTo("handout")}>
          {say("walk.print")}
        </button>
      </section>
      <section class="panel stack">
        <h2>{say("text.title")}</h2>
        <AsText walk={walk} drawing={drawing} />
      </section>
    </>
  );
}

function Big(props: { walk: Walk }) {
  const w = props.walk;
  return (
    <div class="stack">
      <Status>
        <p class="answer">{answer(w.calm_chance)}</p>
      </Status>
      <Discs p={w.calm_chance} low={w.calm_low} high={w.calm_high} bracket={true} />
      <p class="small">
        {capital(range(w.calm_low, w.calm_high))}. {say("answer.calm")}
      </p>
      <Remarks walk={w} />
    </div>
  );
}

/** The answer of wide screens, where the table says the number. */
function InALine(props: { walk: Walk }) {
  const w = props.walk;
  return (
    <>
      <p role="status">
        <b>{answer(w.calm_chance)}.</b> {capital(range(w.calm_low, w.calm_high))}. {say("answer.calm")}
      </p>
      <Remarks walk={w} />
    </>
  );
}

function Remarks(props: { walk: Walk }) {
  const w = props.walk;
  return (
    <>
      {w.laps > 1 && <p>{say("walk.laps", { n: w.laps })}</p>}
      {ofTen(w.calm_chance) <= 2 && <p class="caution">{say("none.hour", { answer: shortAnswer(w.calm_chance) })}</p>}
      <VeryFar />
      <StartInside walk={w} />
    </>
  );
}

/** A door that lies nearer to a source than the dog can bear: said before the first step. */
function StartInside(props: { walk: Walk }) {
  const [near, setNear] = useState<
    { name: string; off: number; active: number; from: (p: Position) => number } | undefined
  >();
  const line = walkLine(props.walk);
  const door = line[0]!;
  const depart = departure(state.wish);
  useEffect(() => {
    const stop = new AbortController();
    const needs = dogNow()?.needs ?? {};
    const most = Math.min(
      400,
      Math.max(0, ...Object.values(needs).map((n) => n?.reaction_m ?? (n ? n.working_m / 2 : 0))),
    );
    setNear(undefined);
    if (most === 0) return;
    const dLat = most / 111320;
    const dLon = dLat / Math.cos((door[1] * Math.PI) / 180);
    ask("post", "/v1/sources", {
      body: { bbox: [door[0] - dLon, door[1] - dLat, door[0] + dLon, door[1] + dLat], depart, dog: plainDog(dogNow()) },
      signal: stop.signal,
    })
      .then(({ sources }) => {
        const found = sources
          .filter((s) => s.active >= 0.5)
          .map((s) => {
            const from = (p: Position) => (s.outline?.length ? offArea(p, s.outline) : Math.hypot(...metres(p, s.at)));
            const reach = Math.max(
              0,
              ...s.kinds.map((k) => {
                const n = needFor({ needs: needs as Record<string, { working_m: number; reaction_m?: number }> }, k);
                return n ? (n.reaction_m ?? n.working_m / 2) : 0;
              }),
            );
            return { name: s.name || s.what, off: from(door), active: s.active, from, reach };
          })
          .filter((s) => s.off < s.reach)
          .sort((a, b) => a.off - b.off);
        setNear(found[0]);
      })
      .catch(() => undefined); // one more word on the walks; the walks stand without it
    return () => stop.abort();
  }, [door[0], door[1], depart]);
  if (!near) return null;
  const away = near.from(along(line, 30).at) > near.off;
  return (
    <p class="caution" role="status">
      {say(away ? "inside.away" : "inside.past", {
        name: capital(near.name),
        distance: distance(near.off, state.settings.units),
        answer: shortAnswer(near.active),
        street: props.walk.legs[0]!.name,
      })}
    </p>
  );
}

/** A distance that no place offers is answered with what there is. */
function VeryFar() {
  const most = Math.max(0, ...Object.values(dogNow()?.needs ?? {}).map((n) => n?.working_m ?? 0));
  return most >= 1000 ? (
    <p class="caution">{say("none.distance", { distance: exact(most, state.settings.units) })}</p>
  ) : null;
}

function facts(w: Walk): string {
  const d = metOf(w, leadingCategory(w));
  const n = leadingCategory(w);
  return say("walk.facts", {
    minutes: minutes(w.duration_s),
    length: far(w.length_m, state.settings.units),
    dogs: d.expected > 0.05 ? met(n, d.expected, d.low, d.high, false) : say("met.none", { dog: dogName() }),
  });
}

const leadingCategory = (w: Walk): string => w.encounters[0]?.category ?? "dogs";

/** Picks another walk with the arrow keys. */
function arrows(e: KeyboardEvent, n: number): void {
  const by = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[e.key];
  if (!by) return;
  e.preventDefault();
  set({ chosen: (state.chosen + by + n) % n });
  const group = (e.currentTarget as HTMLElement).closest("[role=radiogroup]");
  setTimeout(() => group?.querySelector<HTMLElement>('[aria-checked="true"]')?.focus());
}

function Rows(props: { plan: PlanAnswer; drawings: Drawing[] }) {
  const s = useAppState();
  return (
    <div role="radiogroup" aria-label={say("walk.radio")} class="walks">
      {props.plan.walks.map((w, i) => (
        <button
          key={i}
          role="radio"
          aria-checked={i === s.chosen}
          tabIndex={i === s.chosen ? 0 : -1}
          class="walk"
          onClick={() => set({ chosen: i })}
          onKeyDown={(e) => arrows(e, props.plan.walks.length)}
        >
          <span class="letter">{letter(i)}</span>
          <span>
            <span class="title" dir="auto" style={{ display: "block" }}>
              {walkName(w)}
            </span>
            <span class="facts" style={{ display: "block" }}>
              {facts(w)}
            </span>
            <SmallBand drawing={props.drawings[i]!} width={300} height={34} times={3} />
            <span class="discrow">
              <Discs p={w.calm_chance} low={w.calm_low} high={w.calm_high} size={13} />{" "}
              <span>
                <b class="num">{shortAnswer(w.calm_chance)}</b> {say("answer.stay")}
              </span>
            </span>
          </span>
        </button>
      ))}
    </div>
  );
}

function most(w: Walk): { name: string; minute: number } {
  const worst = w.legs.reduce((a, b) => (b.expected_reactions > a.expected_reactions ? b : a), w.legs[0]!);
  return { name: worst.name, minute: Math.round(worst.start_s / 60) };
}

function TableOfWalks(props: { plan: PlanAnswer; drawings: Drawing[] }) {
  const s = useAppState();
  const first = props.drawings[0]!;
  const cat = leadingCategory(props.plan.walks[0]!);
  return (
    <div role="radiogroup" aria-label={say("walk.radio")}>
      <div class="walktable head-row" aria-hidden="true">
        <span />
        <span>{say("walk.col.walk")}</span>
        <span>{say("walk.col.calm")}</span>
        <span>{say("walk.col.minutes")}</span>
        <span>{say("walk.col.dogs", { distance: exact(first.need.working_m, state.settings.units) })}</span>
        <span>{say("walk.col.most")}</span>
        <span>{say("walk.col.whole")}</span>
      </div>
      {props.plan.walks.map((w, i) => {
        const m = metOf(w, cat);
        const b = between(w.calm_low, w.calm_high);
        const worst = most(w);
        return (
          <button
            key={i}
            role="radio"
            aria-checked={i === s.chosen}
            tabIndex={i === s.chosen ? 0 : -1}
            class="walktable"
            onClick={() => set({ chosen: i })}
            onKeyDown={(e) => arrows(e, props.plan.walks.length)}
          >
            <span class="letter">{letter(i)}</span>
            <span class="title" dir="auto">
              {walkName(w)}
            </span>
            <span class="discrow">
              <Discs p={w.calm_chance} low={w.calm_low} high={w.calm_high} size={13} />
              <b class="num">{shortAnswer(w.calm_chance)}</b>
              <span class="small num">{b.low === b.high ? "" : say("range.bare", b)}</span>
            </span>
            <span class="num">{minutes(w.duration_s)}</span>
            <span class="num">{say("walk.dogs.of", { n: countWord(m.expected), near: countWord(m.inside) })}</span>
            <span dir="auto">{say("walk.most", { name: worst.name, n: worst.minute })}</span>
            <span>
              <SmallBand drawing={props.drawings[i]!} width={220} height={40} times={3} />
            </span>
          </button>
        );
      })}
    </div>
  );
}

const countWord = (n: number) =>
  n >= 0.75 ? String(Math.round(n)) : n < 0.05 ? "0" : say("walk.oneIn", { n: Math.round(1 / n) });

function Why(props: { plan: PlanAnswer; i: number }) {
  const w = props.plan.walks[props.i]!;
  const L = letter(props.i);
  const list = w.movers.filter((m) => m.reactions > 0.05 * w.expected_reactions).map((m) => m.name);
  const o = props.i === 0 ? 1 : 0;
  const other = props.plan.walks[o];
  const diff = other ? minutes(w.duration_s) - minutes(other.duration_s) : 0;
  return (
    <section class="panel stack">
      <h2>{say("why.title", { letter: L })}</h2>
      <p>
        {list.length > 0 ? say("why.movers", { list: joined(list) }) : say("why.nothing")}{" "}
        {w.longest_calm_s >= 60 && say("why.calm", { minutes: minutes(w.longest_calm_s) })}
      </p>
      {other && (
        <p>
          {say("why.against", {
            other: letter(o),
            compare:
              compare(w.expected_reactions, other.expected_reactions, w.calm_chance, other.calm_chance, letter(o)) ||
              shortAnswer(w.calm_chance),
            minutes:
              diff > 0
                ? say("why.longer", { n: diff })
                : diff < 0
                  ? say("why.shorter", { n: -diff })
                  : say("why.equal"),
          })}
        </p>
      )}
      <ul class="plainlist">
        {topMet(w).map((t) => (
          <li key={t}>{t}</li>
        ))}
      </ul>
      {state.settings.role === "trainer" && (
        <p class="small num">{say("why.x", { x: w.expected_reactions.toFixed(2) })}</p>
      )}
    </section>
  );
}

/** What is met, by category, with how near. */
function topMet(w: Walk): string[] {
  const cats = [...new Set(w.encounters.filter((e) => e.reactions > 0.002).map((e) => e.category))].slice(0, 3);
  return cats.map((c) => {
    const m = metOf(w, c);
    const near = nearWords(c, m.inside);
    return `${capital(met(c, m.expected, Math.round(m.low), Math.round(m.high), true)) + (near ? `, ${near}` : "")}.`;
  });
}

function nearWords(category: string, inside: number): string {
  const need =
    dogNow()?.needs[category] ??
    Object.entries(dogNow()?.needs ?? {}).find(
      ([k]) =>
        state.plan.is === "there" &&
        state.plan.plan.walks[state.chosen]?.encounters.some((e) => e.kind === k && e.category === category),
    )?.[1];
  if (!need || inside < 0.05) return "";
  const d = exact(need.working_m, state.settings.units);
  return insideWords(inside, d);
}

export function watchWords(p: WatchPoint): string {
  const u = state.settings.units;
  switch (p.what) {
    case "source":
      return p.side && p.distance_m
        ? say("watch.source", {
            name: p.name,
            distance: distance(p.distance_m, u),
            side: say(`side.on.${p.side}`),
          })
        : say("watch.source.bare", { name: p.name });
    case "blind_corner":
      return say("watch.blind", { name: p.name, sight: distance(p.sight_m ?? 0, u) });
    case "pinch":
      return say("watch.pinch", { name: p.name, room: distance(p.room_m ?? 0, u) });
    case "crossing":
      return say("watch.crossing", { name: p.name });
    case "school_bell":
      return say("watch.school_bell", { name: p.name });
    case "hold":
      return say("watch.hold", {
        name: p.name,
        time: clock(new Date(p.not_before ?? ""), zone(), state.settings.clock),
      });
    case "stand":
      return p.name;
  }
}

export function Watch(props: { walk: Walk }) {
  if (props.walk.watch_points.length === 0) return <p>{say("watch.none")}</p>;
  return (
    <ol class="plainlist">
      {props.walk.watch_points.map((p, i) => (
        <li key={i}>
          <b class="num">{i + 1}</b> {into(p.at_s)} · {capital(watchWords(p))}
        </li>
      ))}
    </ol>
  );
}

function Sure(props: { plan: PlanAnswer; walk: Walk }) {
  const { plan: p, walk: w } = props;
  const best = p.walks[0]!;
  const q = best.quality;
  const checking = state.plan.is === "there" && state.plan.checking;
  const told = q.proved
    ? say(best.shape === "loop" ? "sure.proved" : "sure.proved.walk")
    : checking
      ? say("sure.checking")
      : q.within_percent >= 0
        ? say("sure.near", { n: Math.ceil(Math.max(1, q.within_percent)) })
        : say("sure.open");
  const proof = w === best ? told : say("sure.of", { letter: letter(0), proof: told });
  return (
    <section class="panel stack">
      <h2>{say("sure.title")}</h2>
      <p role="status">{proof}</p>
      <p>
        {say("sure.map")} {p.map_time && say("sure.mapdate", { date: dateWords(new Date(p.map_time), p.time_zone) })}
      </p>
      {w.default_room_share > 0.005 && <p>{say("sure.room", { n: Math.round(100 * (1 - w.default_room_share)) })}</p>}
      {p.notes.map((n) => (
        <p key={n}>{capital(n)}.</p>
      ))}
      <ul class="plainlist">
        {p.assumed.slice(0, 3).map((a) => (
          <li key={a}>{say("sure.assumed", { what: a })}</li>
        ))}
        {p.assumed.length > 3 && (
          <li>
            <details>
              <summary>{say("sure.more", { n: p.assumed.length - 3 })}</summary>
              <ul>
                {p.assumed.slice(3).map((a) => (
                  <li key={a}>{say("sure.assumed", { what: a })}</li>
                ))}
              </ul>
            </details>
          </li>
        )}
      </ul>
      <p>{say("sure.treats", { treats: treats(w.treats_low, w.treats_high) })}</p>
      <p class="small">{say("sure.caution")}</p>
    </section>
  );
}

export function legWords(l: Leg, d: Drawing): string {
  const u = state.settings.units;
  const need = d.need.working_m;
  const m = Math.max(l.room_left_m, l.room_right_m); // of the better side, as on paper
  const room =
    m >= need
      ? capital(roomWords(need, need))
      : l.keep
        ? capital(say("text.keep", { room: distance(m, u), side: l.keep }))
        : capital(say("text.even", { room: distance(m, u) }));
  return say("text.leg", {
    name: capital(l.name),
    turn: say(`turn.${l.turn}`),
    length: distance(l.length_m, u),
    from: Math.round(l.start_s / 60),
    to: Math.round((l.start_s + l.duration_s) / 60),
    level: say("level.brief", { level: capital(levelWord(l.level)), n: levels.indexOf(l.level) + 1 }),
    room,
    out:
      l.way_out_s === 0 && l.way_out_side
        ? `${say("text.out.now", { side: say(`side.${l.way_out_side}`) })}.`
        : l.way_out_s >= 0 && l.way_out_side
          ? `${say("text.out.home", { side: say(`side.${l.way_out_side}`), seconds: l.way_out_s })}.`
          : `${say("text.out.none")}.`,
  });
}

export function AsText(props: { walk: Walk; drawing: Drawing }) {
  let gone = 0;
  return (
    <ol class="plainlist legs">
      {props.walk.legs.map((l, i) => {
        const from = gone;
        gone += l.length_m;
        const watch = props.walk.watch_points
          .map((p, n) => ({ p, n }))
          .filter(({ p }) => p.from_m >= from && p.from_m < gone);
        return (
          <li key={i} dir="auto">
            {i + 1}. {legWords(l, props.drawing)}
            {watch.length > 0 && (
              <ul>
                {watch.map(({ p, n }) => (
                  <li key={n} class="small">
                    <b>{n + 1}</b> {capital(watchWords(p))}
                  </li>
                ))}
              </ul>
            )}
          </li>
        );
      })}
    </ol>
  );
}

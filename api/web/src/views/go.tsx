import { useEffect, useRef, useState } from "preact/hooks";
import { Discs, Edge, fillOf, Glyph, LevelLine, runs } from "../draw.tsx";
import { meetingWords } from "../meeting.ts";
import { moveWords, type Out, outWords, type Side, storedOut } from "../out.ts";
import { newID, outbox } from "../outbox.ts";
import { Head } from "../parts.tsx";
import { goTo, state, useAppState } from "../state.ts";
import { type Key, say } from "../strings.ts";
import { metresAt, Square, sampleAt, secondsAt } from "../strip.tsx";
import type { Leg, Walk, WatchPoint } from "../types.ts";
import {
  type Band,
  categoryOf,
  endWalk,
  homeFromHere,
  type Meeting,
  meet,
  type Outcome,
  place,
  putAt,
  type Saved,
  startWalk,
  unmeet,
  walking,
  whereNow,
  wrongClock,
} from "../walking.ts";
import { capital, clock, cut, distance, exact, far, shortAnswer, treats } from "../words.ts";
import { PadRows } from "./pad.tsx";
import { watchWords } from "./plan.tsx";
import "./go.css";

export function Go() {
  useAppState();
  const w = walking.value;
  if (w.is === "none") {
    return (
      <>
        <Head title={say("go.title")} shown={true} />
        <main class="panel stack" id="answer" tabIndex={-1}>
          <p>{say("go.none")}</p>
          <button class="main" onClick={() => goTo("plan")}>
            {say("go.plan")}
          </button>
        </main>
      </>
    );
  }
  return w.is === "ready" ? (
    <Door saved={w.saved} />
  ) : (
    <div class="gowide">
      <Walking saved={w.saved} />
      <section class="only-wide" aria-label={say("map.title")}>
        <SavedMap saved={w.saved} />
      </section>
      <section class="only-wide panel stack" aria-label={say("go.met")}>
        <h2>{say("go.met")}</h2>
        {w.saved.meetings.length === 0 && <p class="small">{say("go.met.none")}</p>}
        <ul class="plainlist">
          {w.saved.meetings.map((m) => (
            <li key={m.id}>
              <span class="num">{clock(new Date(m.at), w.saved.zone, state.settings.clock)}</span>{" "}
              {meetingWords(w.saved, m)}
            </li>
          ))}
        </ul>
      </section>
    </div>
  );
}

/** At the door: nothing here needs typing. */
function Door(props: { saved: Saved }) {
  const s = props.saved;
  const w = s.walk;
  const first = w.legs[0]!;
  const u = state.settings.units;
  const watch = w.watch_points[0];
  return (
    <>
      <Head title={say("go.ready", { time: clock(new Date(s.depart), s.zone, state.settings.clock) })} shown={true} />
      <div class="doorwide">
        <main id="answer" tabIndex={-1} class="panel stack">
          <p class="answer">{say("go.still", { answer: capital(shortAnswer(w.calm_chance)) })}</p>
          <Discs p={w.calm_chance} low={w.calm_low} high={w.calm_high} bracket={true} />
          <p class="small">{say("answer.calm")}</p>
          <ul class="plainlist">
            <li>{say("go.take", { treats: treats(w.treats_low, w.treats_high) })}</li>
            <li>
              {say("go.first", {
                text: first.keep
                  ? say("go.first.keep", {
                      name: first.name,
                      side: first.keep,
                      room: distance(Math.max(first.room_left_m, first.room_right_m), u),
                    })
                  : say("go.first.plain", { name: first.name }),
              })}
            </li>
            <li>
              {watch
                ? say("go.watch", { what: watchWords(watch), minutes: Math.round(watch.at_s / 60) })
                : say("go.watch.none")}
            </li>
            <li>{say("go.out", { text: say("go.out.first") })}</li>
            <li>{say("go.saved")}</li>
          </ul>
          <p class="small">{say("sure.caution")}</p>
          <button class="main wide tall" onClick={startWalk}>
            {say("go.start")}
          </button>
        </main>
        <section class="only-wide" aria-label={say("map.title")}>
          <SavedMap saved={s} />
        </section>
      </div>
    </>
  );
}

type Screen =
  | { is: "walking" }
  | { is: "out"; side: Side; draft: string }
  | { is: "log"; what: string }
  | { is: "kinds"; page: number }
  | { is: "end" };

function Walking(props: { saved: Saved }) {
  const s = props.saved;
  const [screen, setScreen] = useState<Screen>({ is: "walking" });
  const [done, setDone] = useState<Meeting | undefined>();
  const [showMap, setShowMap] = useState(false);
  const last = useRef(0);
  const m = whereNow(s);
  useEffect(() => {
    const t = setInterval(() => place.known || document.dispatchEvent(new Event("dressed")), 5000);
    return () => clearInterval(t);
  }, []);
  /** Two taps within 400 ms count once: the second would fall on whatever came up under the thumb. */
  const once = (f: () => void) => () => {
    const now = Date.now();
    if (now - last.current < 400) return;
    last.current = now;
    f();
  };
  const at = (): Partial<Meeting> => (place.at ? { lat: place.at[1], lon: place.at[0], walkedM: whereNow(s) } : {});
  const out = once(() => {
    const draft: Meeting = { id: newID(), at: new Date().toISOString(), sent: false, ...at() };
    void meet(s, draft);
    setScreen({ is: "out", side: "ahead", draft: draft.id });
  });
  const log = (what: string, band: Band, outcome: Outcome) => {
    const draft = s.meetings.find((x) => !x.category && Date.now() - Date.parse(x.at) < 180000);
    if (draft) s.meetings = s.meetings.filter((x) => x !== draft);
    const entry: Meeting = {
      id: newID(),
      at: draft?.at ?? new Date().toISOString(),
      ...whatOf(what),
      band,
      outcome,
      sent: false,
      ...at(),
    };
    void meet(s, entry);
    setDone(entry);
    setScreen({ is: "walking" });
  };
  if (screen.is === "out")
    return (
      <WayOut
        saved={s}
        m={m}
        side={screen.side}
        pick={(side) => setScreen({ ...screen, side })}
        clear={() => setScreen({ is: "walking" })}
      />
    );
  if (screen.is === "log")
    return (
      <Pad
        saved={s}
        what={screen.what}
        log={(b, o) => once(() => log(screen.what, b, o))()}
        not={() => setScreen({ is: "kinds", page: 0 })}
        out={out}
      />
    );
  if (screen.is === "kinds")
    return (
      <div class="go">
        <header class="top">
          <h1 class="call">{say("go.else")}</h1>
        </header>
        <main class="foot" style={{ marginTop: "auto" }}>
          <div class="four" style={{ gridTemplateColumns: "repeat(2, minmax(0, 1fr))" }}>
            {kinds.slice(6 * screen.page, 6 * screen.page + 6).map((k) => (
              <button key={k} onClick={once(() => setScreen({ is: "log", what: k }))}>
                <Glyph of={categoryOf[k]!} />
                {say(`go.kind.${k}` as Key)}
              </button>
            ))}
            <button onClick={once(() => setScreen({ is: "walking" }))}>
              <Glyph of="undo" />
              {say("go.nothing")}
            </button>
            <button
              onClick={once(() => setScreen({ is: "kinds", page: (screen.page + 1) % Math.ceil(kinds.length / 6) }))}
            >
              {say("go.kinds.more")}
            </button>
          </div>
          <button class="main way" onClick={out}>
            {say("go.wayout")}
          </button>
        </main>
      </div>
    );
  const ahead = outOf(s, m, "ahead");
  const lost = place.known && place.offM > 35;
  const hard = s.meetings.filter((x) => x.outcome === "over").length >= 2;
  const toGo = Math.max(0, Math.round((s.walk.duration_s - secondsAt(s.walk, m)) / 60));
  const waiting = outbox.waiting > 0 ? say("go.waiting", { n: outbox.waiting }) : say("go.offline");
  return (
    <div class="go walking">
      <header class="top">
        <div class="line">
          <span class="num">
            {say("go.togo", { n: toGo })} · {outbox.sent ? say("go.sent", { n: outbox.sent }) : waiting}
          </span>
          <button class="plain" onClick={() => setScreen({ is: "end" })}>
            {say("go.end")}
          </button>
        </div>
        <h1 class="hidden">{say("go.title")}</h1>
        <Call saved={s} m={m} />
        {!place.known && (
          <p class="small">
            {Number.isFinite(place.accuracyM)
              ? say("go.position", { distance: distance(place.accuracyM, state.settings.units) })
              : say("go.position.none")}
          </p>
        )}
        {lost && (
          <p>
            <b>{say("go.lost", { distance: far(place.offM, state.settings.units) })}</b>
          </p>
        )}
        {wrongClock(new Date().toISOString()) && (
          <p class="small">{say("go.clock", { year: new Date().getFullYear() })}</p>
        )}
        {place.dark && place.known && !lost && <p class="small">{say("go.dark")}</p>}
      </header>
      <div class="picture">
        {showMap ? <SavedMap saved={s} /> : <AheadPicture saved={s} m={m} />}
        <button class="corner only-narrow" aria-pressed={showMap} onClick={() => setShowMap(!showMap)}>
          {say(showMap ? "go.strip" : "go.map")}
        </button>
      </div>
      <main class="foot">
        {screen.is === "end" ? (
          <>
            <p class="call">{say("go.end.ask")}</p>
            <div class="four" style={{ gridTemplateColumns: "1fr 1fr" }}>
              <button onClick={() => setScreen({ is: "walking" })}>{say("go.end.no")}</button>
              <button class="main" onClick={endWalk}>
                {say("go.end.yes")}
              </button>
            </div>
          </>
        ) : (
          <>
            <div role="status">
              {done && (
                <p class="undo">
                  <span>{say("go.saved.entry", { what: meetingWords(s, done) })}</span>
                  <button
                    class="plain"
                    onClick={() => {
                      void unmeet(s, done.id);
                      setDone(undefined);
                    }}
                  >
                    {say("go.undo")}
                  </button>
                </p>
              )}
            </div>
            {(lost || hard) && (
              <button
                class="home"
                disabled={!navigator.onLine}
                onClick={once(() => void homeFromHere(s).catch(() => undefined))}
              >
                {hard ? say("go.hard") : say("go.new", { n: Math.max(1, toGo) })}
              </button>
            )}
            <div class="four">
              {likely(s.walk).map((c) => (
                <button key={c} onClick={once(() => setScreen({ is: "log", what: c }))}>
                  <Glyph of={c} />
                  {say(`go.kind.${c}` as Key)}
                </button>
              ))}
              <button onClick={once(() => setScreen({ is: "kinds", page: 0 }))}>
                <Glyph of="other" />
                {say("go.kind.other")}
              </button>
            </div>
            <button class="main way" onClick={out}>
              {say("go.wayout")}
              <small>
                {ahead.shout} {ahead.second}
              </small>
            </button>
          </>
        )}
      </main>
    </div>
  );
}

/** The whole table of kinds, six a screen. */
const kinds = Object.keys(categoryOf);
const whatOf = (what: string): Pick<Meeting, "category" | "kind"> =>
  categoryOf[what] ? { category: categoryOf[what]!, kind: what } : { category: what };

const categories = ["dogs", "people", "wheels", "traffic", "sounds"];

/** The three categories expected most on the walk. */
function likely(w: Walk): string[] {
  const sum = new Map<string, number>();
  for (const e of w.encounters) sum.set(e.category, (sum.get(e.category) ?? 0) + e.reactions + 1e-6 * e.expected);
  const list = [...sum].sort((a, b) => b[1] - a[1]).map(([c]) => c);
  return [...list, ...categories.filter((c) => !list.includes(c))].slice(0, 3);
}

export function legAt(w: Walk, m: number): Leg {
  let gone = 0;
  for (const l of w.legs) {
    gone += l.length_m;
    if (m < gone) return l;
  }
  return w.legs[w.legs.length - 1]!;
}

/** The next thing only: how far, what, what to do. */
function Call(props: { saved: Saved; m: number }) {
  const { saved: s, m } = props;
  const w = s.walk;
  const u = state.settings.units;
  const next = nextThing(w, m);
  const key = next ? `${next.kind}${next.m}` : "calm";
  // Spoken when the thing changes and at 90, 40 and 0 m, not at every metre.
  const off = next ? next.m - m : 0;
  const stage = off > 90 ? 3 : off > 40 ? 2 : off > 5 ? 1 : 0;
  const spoken = useRef("");
  const [line, setLine] = useState("");
  const inWords = off < 8 ? say("go.now") : say("go.in", { distance: distance(off, u) });
  const text = next
    ? `${inWords} ${next.words}`
    : w.length_m - m < 20
      ? say("go.home")
      : say("go.calm", {
          n: Math.max(1, Math.round((secondsAt(w, Math.min(w.length_m, m + 200)) - secondsAt(w, m)) / 60)),
        });
  useEffect(() => {
    const k = key + stage;
    if (k === spoken.current) return;
    spoken.current = k;
    setLine(text);
    if (state.settings.buzz && stage === 1 && "vibrate" in navigator) navigator.vibrate([120, 120, 120]);
    if (state.settings.aloud && "speechSynthesis" in window) speechSynthesis.speak(new SpeechSynthesisUtterance(text));
  });
  return (
    <>
      <p class="call" aria-hidden="true">
        {next ? (
          <>
            <strong class="num">{inWords}</strong> {next.words}
          </>
        ) : (
          text
        )}
      </p>
      <p class="hidden" role="status">
        {line}
      </p>
    </>
  );
}

interface Thing {
  m: number;
  kind: string;
  words: string;
}

function nextThing(w: Walk, m: number): Thing | undefined {
  const things: Thing[] = w.watch_points
    .filter((p) => p.from_m > m - 5 && p.from_m < m + 200)
    .map((p) => ({ m: p.from_m, kind: p.what, words: callWords(p) }));
  let gone = 0;
  for (const l of w.legs) {
    if (gone > m - 5 && gone > 5 && gone < m + 200)
      things.push({
        m: gone,
        kind: "turn",
        words: say("go.in.turn", { turn: say(`turn.${l.turn}`), name: l.name }),
      });
    gone += l.length_m;
  }
  return things.sort((a, b) => a.m - b.m)[0];
}

function callWords(p: WatchPoint): string {
  const u = state.settings.units;
  const name = p.name.split(/\s+/).slice(0, 4).join(" ");
  switch (p.what) {
    case "source":
      return p.side
        ? say("go.in.source", {
            name,
            side: say(`side.on.${p.side}`),
            other: say(`side.on.${p.side === "left" ? "right" : "left"}`),
          })
        : say("go.in.bare", { name });
    case "blind_corner":
      return say("go.in.blind", { sight: distance(p.sight_m ?? 0, u) });
    case "pinch":
      return say("go.in.pinch", { name, room: distance(p.room_m ?? 0, u) });
    case "crossing":
      return say("go.in.crossing", { name });
    case "school_bell":
      return say("go.in.bell", { name });
    case "hold":
      return say("go.in.hold", {
        time: clock(new Date(p.not_before ?? ""), state.map?.time_zone ?? "UTC", state.settings.clock),
      });
    case "stand":
      return name;
  }
}

/** The strip ahead, at true scale: the same scale on short phones, fewer metres. */
function AheadPicture(props: { saved: Saved; m: number }) {
  const { saved: s, m } = props;
  const box = useRef<SVGSVGElement>(null);
  const [size, setSize] = useState({ w: 390, h: 420 });
  useEffect(() => {
    const parent = box.current?.parentElement;
    if (!parent) return;
    const seen = new ResizeObserver(() => setSize({ w: parent.clientWidth, h: parent.clientHeight }));
    seen.observe(parent);
    return () => seen.disconnect();
  }, []);
  const d = s.drawing;
  const p = d.profile;
  const need = d.need.working_m;
  const k = Math.min(2.1, (size.w / 2 - 90) / Math.max(20, Math.min(need, 70)));
  const x = size.w / 2;
  const behind = 24;
  const y = (at: number) => size.h - behind * k - (at - m) * k;
  const i0 = sampleAt(d, m - behind - 4);
  const i1 = sampleAt(d, m + size.h / k);
  const least = 7;
  const left = (i: number) => x - Math.max(least, p.left_m[i]! * k);
  const right = (i: number) => x + Math.max(least, p.right_m[i]! * k);
  const yi = (i: number) => y(i * p.step_m);
  const parts = runs(p.level.slice(i0, i1 + 1)).map((r) => ({ ...r, from: r.from + i0, to: r.to + i0 }));
  const end = y(s.walk.length_m);
  const g = need * k;
  let gone = 0;
  const turns = s.walk.legs
    .map((l) => {
      const start = gone;
      gone += l.length_m;
      return { start, l };
    })
    .filter((t) => t.start > m - behind && t.start > 1);
  const uncertain = place.known ? Math.max(26, Math.min(120, place.accuracyM * k)) : 120;
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: the list under the map has a button for each street
    <svg
      ref={box}
      width={size.w}
      height={size.h}
      viewBox={`0 0 ${size.w} ${size.h}`}
      role="img"
      aria-label={say("go.strip")}
      onClick={(e) => !place.known && putAt(Math.max(0, m + (size.h - behind * k - e.offsetY) / k))}
    >
      {parts.map((r, j) => {
        const at = Array.from({ length: r.to - r.from + 1 }, (_, q) => r.from + q);
        const dd =
          "M" +
          at.map((i) => `${left(i).toFixed(1)} ${yi(i).toFixed(1)}`).join("L") +
          "L" +
          at
            .reverse()
            .map((i) => `${right(i).toFixed(1)} ${yi(i).toFixed(1)}`)
            .join("L") +
          "Z";
        return <path key={j} d={dd} style={{ fill: fillOf(r.level) }} />;
      })}
      <Edge
        at={(i) => [left(i), yi(i)]}
        room={p.left_m}
        need={need}
        width={2.6}
        assumed={p.assumed_left}
        from={i0}
        to={i1}
      />
      <Edge
        at={(i) => [right(i), yi(i)]}
        room={p.right_m}
        need={need}
        width={2.6}
        assumed={p.assumed_right}
        from={i0}
        to={i1}
      />
      <path
        class="need"
        stroke-width="3"
        d={`M${x - g} ${Math.max(0, end)}V${size.h}M${x + g} ${Math.max(0, end)}V${size.h}`}
      />
      {parts.map((r, j) => (
        <LevelLine key={j} level={r.level} x1={x} y1={yi(r.from)} x2={x} y2={yi(r.to)} scale={1.3} />
      ))}
      {d.beside
        .filter((b) => b.to_m > m - behind && b.from_m < m + size.h / k)
        .map((b, j) => {
          const w = Math.max(30, (b.far_m - b.near_m) * k);
          const h = Math.max(30, (b.to_m - b.from_m) * k);
          const bx = b.right ? x + b.near_m * k : x - b.near_m * k - w;
          return (
            <g key={j}>
              <rect
                x={bx}
                y={y(b.to_m)}
                width={w}
                height={h}
                class="ink"
                stroke-width="2.5"
                style={{ fill: "url(#tex-source)" }}
              />
              <text
                class="inkf plate"
                x={b.right ? Math.min(size.w - 8, bx + w) : Math.max(8, bx)}
                y={Math.max(44, y(b.to_m) + h / 2)}
                text-anchor={b.right ? "end" : "start"}
                font-size="16"
                font-weight="700"
              >
                {cut(b.name).slice(0, 18)}
              </text>
              <text
                class="inkf plate"
                x={b.right ? Math.min(size.w - 8, bx + w) : Math.max(8, bx)}
                y={Math.max(64, y(b.to_m) + h / 2 + 20)}
                text-anchor={b.right ? "end" : "start"}
                font-size="16"
              >
                {say("around.off", { distance: distance(b.near_m, state.settings.units) })}
              </text>
            </g>
          );
        })}
      {turns
        .filter(({ start }) => y(start) > 50)
        .map(({ start, l }, j) => (
          <g key={j}>
            <path class="ink" stroke-width="2.5" d={`M${x - g - 6} ${y(start)}H${x + g + 6}`} />
            <text class="inkf plate" x={x - g - 10} y={y(start) - 8} text-anchor="end" font-size="16" font-weight="700">
              {capital(say(`turn.${l.turn}`))}
            </text>
            <text class="inkf plate" x={x - g - 10} y={y(start) + 12} text-anchor="end" font-size="16">
              {l.name.length > 11 ? `${l.name.slice(0, 10)}…` : l.name}
            </text>
          </g>
        ))}
      {s.walk.watch_points.map(
        (wp, n) =>
          wp.from_m > m - behind && (
            <Square key={n} n={n + 1} x={Math.abs(wp.from_m - m) * k < 24 ? x - 44 : x} y={y(wp.from_m)} size={30} />
          ),
      )}
      <text class="inkf plate" x="10" y="24" font-size="16" font-weight="600">
        {say("strip.left")}
      </text>
      <text class="inkf plate" x={size.w - 10} y="24" text-anchor="end" font-size="16" font-weight="600">
        {say("strip.right")}
      </text>
      <text class="needf plate" x={x + g + 8} y={54} font-size="16" font-weight="700">
        {exact(need, state.settings.units)}
      </text>
      {end > 0 && <path class="ink" stroke-width="4" d={`M${x - 14} ${end + 16}V${end}H${x + 14}V${end + 16}`} />}
      <rect
        x={x - uncertain / 2}
        y={y(m) - 6}
        width={uncertain}
        height="12"
        rx="6"
        class="casing"
        stroke-width="3"
        style={{ fill: "var(--ink)" }}
      />
      <text class="inkf plate" x={x + uncertain / 2 + 6} y={y(m) + 6} font-size="16" font-weight="600">
        {say("go.you")}
      </text>
    </svg>
  );
}

/** The drawn map that was saved with the walk, for those who are lost. */
function SavedMap(props: { saved: Saved }) {
  const box = useRef<HTMLDivElement>(null);
  const text = props.saved.picture;
  useEffect(() => {
    if (!text || !box.current) return;
    const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    // As wide as the screen and to be scrolled: made smaller, its names could not be read.
    svg.setAttribute("width", "100%");
    svg.removeAttribute("height");
    box.current.replaceChildren(document.importNode(svg, true));
  }, [text]);
  return (
    <div style={{ height: "100%", overflow: "auto" }} tabIndex={0} role="region" aria-label={say("map.title")}>
      {text && <div ref={box} role="img" aria-label={say("map.picture")} />}
      <ul class="list">
        {props.saved.walk.legs.map((l, i) => (
          <li key={i} class="row">
            <span style={{ flex: 1 }}>
              {capital(say(`turn.${l.turn}`))}, {l.name}
            </span>
            <button onClick={() => putAt(metresAt(props.saved.walk, l.start_s + 1))}>{say("go.here")}</button>
          </li>
        ))}
      </ul>
    </div>
  );
}

/** The way out that was stored with the walk; without one, that of the leg. */
function outOf(s: Saved, m: number, side: Side): Out {
  const o = storedOut(s.outs, m, side);
  return o ? moveWords(o, s.dog) : outWords(legAt(s.walk, m), side);
}

function WayOut(props: { saved: Saved; m: number; side: Side; pick: (s: Side) => void; clear: () => void }) {
  const { saved: s, m, side } = props;
  const words = outOf(s, m, side);
  return (
    <div class="go">
      <header class="out">
        <div role="status">
          <h1 class="shout">{words.shout}</h1>
          {words.second && <p class="second">{words.second}</p>}
          <p class="call">{words.detail}</p>
        </div>
      </header>
      <div class="picture">
        <OutPicture saved={s} side={side} words={words} />
      </div>
      <main class="foot">
        <p class="call">{say("go.wayout.where")}</p>
        <div class="four sides">
          {(["ahead", "left", "right", "behind"] as const).map((v) => (
            <button key={v} aria-pressed={v === side} onClick={() => props.pick(v)}>
              {say(`go.${v}`)}
            </button>
          ))}
        </div>
        <button style={{ minHeight: "80px" }} class="call" onClick={props.clear}>
          {say("go.clear")}
        </button>
      </main>
    </div>
  );
}

/** Where it is and which way to go, turned as one stands then. */
function OutPicture(props: { saved: Saved; side: Side; words: Out }) {
  const { turned, arrow, next } = props.words;
  const box = useRef<SVGSVGElement>(null);
  const [size, setSize] = useState({ w: 390, h: 300 });
  useEffect(() => {
    const parent = box.current?.parentElement;
    if (!parent) return;
    const seen = new ResizeObserver(() => setSize({ w: parent.clientWidth, h: parent.clientHeight }));
    seen.observe(parent);
    return () => seen.disconnect();
  }, []);
  const x = size.w / 2;
  const y = size.h * 0.55;
  const need = props.saved.drawing.need.working_m;
  const r = Math.min(size.h * 0.36, size.w * 0.3);
  const where = { ahead: 90, behind: -90, left: 180, right: 0 }[props.side] + (turned ? 180 : 0);
  const a = (where * Math.PI) / 180;
  const tx = x + Math.cos(a) * r;
  const ty = y - Math.sin(a) * r;
  const level = props.side === "left" || props.side === "right"; // its words stand under it there
  const up = Math.max(30, y - size.h * 0.36);
  const path = arrow === "none" ? "" : outPath(x, y, up, arrow, next);
  return (
    <svg ref={box} width={size.w} height={size.h} viewBox={`0 0 ${size.w} ${size.h}`} aria-hidden="true">
      <path class="need" stroke-width="3" d={arcPath(tx, ty, r * 0.8, x, y)} />
      <text
        class="needf plate"
        x={level ? Math.min(size.w - 60, Math.max(60, tx)) : tx + 20}
        y={level ? ty + 36 : Math.min(size.h - 8, Math.max(20, ty + 4))}
        text-anchor={level ? "middle" : "start"}
        font-size="16"
        font-weight="700"
      >
        {say("go.fromit", { distance: exact(need, state.settings.units) })}
      </text>
      <circle cx={tx} cy={ty} r="10" class="inkf" />
      <path class="ink" stroke-width="12" stroke-linecap="round" stroke-linejoin="round" d={path} />
      <rect x={x - 28} y={y - 6} width="56" height="12" rx="6" class="inkf" />
      <text class="inkf plate" x={x + 36} y={y + 6} font-size="16" font-weight="600">
        {say("go.you")}
      </text>
      {turned && props.side === "ahead" && (
        <text class="inkf plate" x={tx - 20} y={ty + 6} text-anchor="end" font-size="16" font-weight="600">
          {say("go.you.then")}
        </text>
      )}
    </svg>
  );
}

/** A bent arrow: at once to a side, or ahead and then to a side. */
function outPath(
  x: number,
  y: number,
  up: number,
  arrow: "up" | "left" | "right",
  then: "left" | "right" | undefined,
): string {
  const to = arrow === "up" ? then : arrow;
  if (!to) return `M${x} ${y}V${up - 20}M${x - 18} ${up - 2}L${x} ${up - 20}L${x + 18} ${up - 2}`;
  const s = to === "left" ? -1 : 1;
  const level = arrow === "up" ? up : y - 14;
  const tip = x + s * 100;
  return `M${x} ${y}V${level}H${tip}M${tip - s * 18} ${level - 18}L${tip} ${level}L${tip - s * 18} ${level + 18}`;
}

function arcPath(cx: number, cy: number, r: number, towardX: number, towardY: number): string {
  const a = Math.atan2(towardY - cy, towardX - cx);
  const p = (t: number) => `${(cx + r * Math.cos(t)).toFixed(1)} ${(cy + r * Math.sin(t)).toFixed(1)}`;
  return `M${p(a - 0.7)}A${r} ${r} 0 0 1 ${p(a + 0.7)}`;
}

/** A log is two taps: the kind, then one cell of distance and outcome. */
function Pad(props: {
  saved: Saved;
  what: string;
  log: (b: Band, o: Outcome) => void;
  not: () => void;
  out: () => void;
}) {
  const { saved: s, what } = props;
  return (
    <div class="go">
      <header class="top row" style={{ flexWrap: "nowrap" }}>
        <Glyph of={categoryOf[what] ?? what} />
        <h1 class="call">{say("go.log.ask", { kind: say(`go.kind.${what}` as Key), dog: s.dog })}</h1>
      </header>
      <main class="pad" style={{ marginTop: "auto" }}>
        <PadRows log={s} what={what} tap={props.log} />
        <div class="foot" style={{ gridTemplateColumns: "minmax(0, 3fr) minmax(0, 7fr)" }}>
          <button style={{ minHeight: "72px" }} onClick={props.not}>
            {say("go.not")}
          </button>
          <button class="main way" style={{ minHeight: "72px" }} onClick={props.out}>
            {say("go.wayout")}
          </button>
        </div>
      </main>
    </div>
  );
}

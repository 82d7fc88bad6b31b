import { useEffect, useRef, useState } from "preact/hooks";
import { goesDark } from "../awake.ts";
import { secondsAt } from "../course.ts";
import { Glyph } from "../draw.tsx";
import { categories, categoryOf } from "../kinds.ts";
import { type Band, type Meeting, meet, type Outcome, unmeet, wentOver } from "../log.ts";
import { meetingWords } from "../meeting.ts";
import type { Side } from "../out.ts";
import { newID, outbox, wrongClock } from "../outbox.ts";
import { Choose, Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import { useTick } from "../tick.ts";
import type { Walk } from "../types.ts";
import { goTo, online, wide } from "../view.ts";
import {
  countAnew,
  endWalk,
  homeFromHere,
  isOld,
  offTheWalkM,
  phase,
  place,
  type Saved,
  startWalk,
  walk,
  walkBook,
  whereNow,
} from "../walking.ts";
import { capital, clock, distance, far, shortAnswer, treats } from "../words.ts";
import { AheadPicture, Call, SavedMap, Streets } from "./go_ahead.tsx";
import { GoMap } from "./go_map.tsx";
import { outOf, WayOut } from "./go_out.tsx";
import { PadRows } from "./pad.tsx";
import { watchWords } from "./plan_text.tsx";
import "./go.css";

export function Go() {
  const s = walk.value;
  if (!s || phase() === "none" || phase() === "ended") {
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
  return phase() === "ready" ? (
    <Door saved={s} />
  ) : (
    <div class="gowide">
      <Walking saved={s} />
      <section class="only-wide wideground" aria-label={say("map.title")}>
        {wide.value && <GoMap saved={s} m={whereNow(s)} />}
      </section>
      <section class="only-wide panel stack" aria-label={say("go.met")}>
        <h2>{say("go.met")}</h2>
        {s.meetings.length === 0 && <p class="small">{say("go.met.none")}</p>}
        <ul class="plainlist">
          {s.meetings.map((m) => (
            <li key={m.id}>
              <span class="num">{clock(new Date(m.at), s.zone, settings.value.clock)}</span> {meetingWords(s, m)}
            </li>
          ))}
        </ul>
      </section>
    </div>
  );
}

/** How often the number is counted anew while somebody is at the door. */
const countMS = 60000;

/** The number for the hour that it is: a walk made for another is told anew. */
function NumberNow(props: { saved: Saved }) {
  const s = props.saved;
  const [failed, setFailed] = useState(false);
  const tick = useTick(countMS);
  useEffect(() => {
    if (isOld(s)) void countAnew(s).then((done) => setFailed(!done));
  }, [s.id, tick, online.value]);
  const time = (t: string) => clock(new Date(t), s.zone, settings.value.clock);
  const now = say("go.it_is", { time: clock(new Date(), s.zone, settings.value.clock) });
  const n = (p: number) => capital(shortAnswer(p));
  if (!isOld(s) && !s.told) return <p class="answer">{say("go.still", { answer: n(s.walk.calm_chance) })}</p>;
  if (s.told && !isOld(s))
    return (
      <>
        <p class="answer" role="status">
          {now} <span class="whole">{say("go.now.of", { answer: n(s.walk.calm_chance) })}</span>
        </p>
        <p class="small">{say("go.planned", { time: time(s.depart), answer: n(s.first!.calm) })}</p>
      </>
    );
  return (
    <>
      <p class="answer" role="status">
        {now} {!failed && s.given && say("go.counting")}
      </p>
      <p>
        {say("go.planned", { time: time(s.told ?? s.depart), answer: n(s.walk.calm_chance) })}{" "}
        {(failed || !s.given) && say("go.uncounted")}
      </p>
    </>
  );
}

/** At the door: nothing here needs typing. */
function Door(props: { saved: Saved }) {
  const s = props.saved;
  const w = s.walk;
  const first = w.legs[0]!;
  const u = settings.value.units;
  const watch = w.watch_points[0];
  return (
    <>
      <Head title={say("go.ready", { time: clock(new Date(s.depart), s.zone, settings.value.clock) })} shown={true} />
      <div class="doorwide">
        <main id="answer" tabIndex={-1} class="panel stack">
          <NumberNow saved={s} />
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

const switchPX = 76; // what the switch takes of the strip's upper end

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
  const [picture, setPicture] = useState<"strip" | "map" | "streets">("strip");
  const last = useRef(0);
  const m = whereNow(s);
  const stand = place.value;
  useTick(5000, () => place.peek().known); // where the position is not known, it follows from the hour
  /** Two taps within 400 ms count once: the second would fall on whatever came up under the thumb. */
  const once = (f: () => void) => () => {
    const now = Date.now();
    if (now - last.current < 400) return;
    last.current = now;
    f();
  };
  const at = (): Partial<Meeting> => {
    const p = place.value.at;
    return p ? { lat: p[1], lon: p[0], walkedM: whereNow(s) } : {};
  };
  const out = once(() => {
    const draft: Meeting = { id: newID(), at: new Date().toISOString(), sent: false, ...at() };
    void meet(walkBook, draft);
    setScreen({ is: "out", side: "ahead", draft: draft.id });
  });
  const log = (what: string, band: Band, outcome: Outcome) => {
    const draft = s.meetings.find((x) => !x.category && Date.now() - Date.parse(x.at) < 180000);
    const entry: Meeting = {
      id: newID(),
      at: draft?.at ?? new Date().toISOString(),
      ...whatOf(what),
      band,
      outcome,
      sent: false,
      ...at(),
    };
    void meet(walkBook, entry, draft?.id);
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
  if (screen.is === "kinds") return allKinds(screen.page, out, (next) => once(() => setScreen(next)));
  const lost = stand.known && stand.offM > offTheWalkM;
  const shown = stand.known && picture === "streets" ? "strip" : wide.value && picture === "map" ? "strip" : picture;
  const hard = s.meetings.filter((x) => wentOver(x.outcome)).length >= 2;
  const toGo = Math.max(0, Math.round((s.walk.duration_s - secondsAt(s.walk, m)) / 60));
  return (
    <div class="go walking">
      <header class="top">
        <div class="line">
          <span class="num">
            {say("go.togo", { n: toGo })} · {sendingWords()}
          </span>
          <button class="plain" onClick={() => setScreen({ is: "end" })}>
            {say("go.end")}
          </button>
        </div>
        <h1 class="hidden">{say("go.title")}</h1>
        <Call saved={s} m={m} />
        {standWords(lost)}
      </header>
      <section class="picture" aria-label={say("go.picture")}>
        {shown === "streets" ? (
          <Streets saved={s} chosen={() => setPicture(wide.value ? "strip" : "map")} />
        ) : shown === "map" ? (
          <GoMap saved={s} m={m} />
        ) : (
          <AheadPicture saved={s} m={m} under={wide.value ? 0 : switchPX} />
        )}
        {shown !== "streets" && !wide.value && (
          <div class="atop">
            <Choose
              label={say("map.mode")}
              of={
                [
                  ["strip", say("go.strip")],
                  ["map", say("go.map")],
                ] as const
              }
              is={shown}
              pick={setPicture}
            />
          </div>
        )}
        {!stand.known && (
          <button class="corner" onClick={() => setPicture(shown === "streets" ? "strip" : "streets")}>
            {say(shown === "streets" ? "go.strip" : "go.streets")}
          </button>
        )}
      </section>
      <main class="foot">
        {screen.is === "end"
          ? sureToEnd(() => setScreen({ is: "walking" }))
          : foot({
              s,
              m,
              done,
              undone: () => setDone(undefined),
              home: lost || hard ? (hard ? say("go.hard") : say("go.new", { n: Math.max(1, toGo) })) : "",
              out,
              once,
              show: setScreen,
            })}
      </main>
    </div>
  );
}

/** How the log stands: what waits, what was sent just now. */
function sendingWords(): string {
  const sent = outbox.sent.value;
  const n = outbox.waiting.value;
  return sent ? say("go.sent", { n: sent }) : n > 0 ? say("go.waiting", { n }) : say("go.offline");
}

/** What is not as it should be: the position, the clock, the screen. */
function standWords(lost: boolean) {
  const stand = place.value;
  return (
    <>
      {!stand.known && (
        <p class="small">
          {Number.isFinite(stand.accuracyM)
            ? say("go.position", { distance: distance(stand.accuracyM, settings.value.units) })
            : say("go.position.none")}
        </p>
      )}
      {lost && (
        <p>
          <b>{say("go.lost", { distance: far(stand.offM, settings.value.units) })}</b>
        </p>
      )}
      {wrongClock(new Date().toISOString()) && (
        <p class="small">{say("go.clock", { year: new Date().getFullYear() })}</p>
      )}
      {goesDark.value && stand.known && !lost && <p class="small">{say("go.dark")}</p>}
    </>
  );
}

function sureToEnd(no: () => void) {
  return (
    <>
      <p class="call">{say("go.end.ask")}</p>
      <div class="four" style={{ gridTemplateColumns: "1fr 1fr" }}>
        <button onClick={no}>{say("go.end.no")}</button>
        <button class="main" onClick={endWalk}>
          {say("go.end.yes")}
        </button>
      </div>
    </>
  );
}

/** What is under the thumb: the last entry to take back, the way home where it is needed, kinds, the way out. */
function foot(o: {
  s: Saved;
  m: number;
  done: Meeting | undefined;
  undone: () => void;
  home: string;
  out: () => void;
  once: (f: () => void) => () => void;
  show: (next: Screen) => void;
}) {
  const { s, done } = o;
  const ahead = outOf(s, o.m, "ahead");
  return (
    <>
      <div role="status">
        {done && (
          <p class="undo">
            <span>{say("go.saved.entry", { what: meetingWords(s, done) })}</span>
            <button
              class="plain"
              onClick={() => {
                void unmeet(walkBook, done.id);
                o.undone();
              }}
            >
              {say("go.undo")}
            </button>
          </p>
        )}
      </div>
      {o.home && (
        <button
          class="home"
          disabled={!online.value}
          onClick={o.once(() => void homeFromHere(s).catch(() => undefined))}
        >
          {o.home}
        </button>
      )}
      <div class="four">
        {likely(s.walk).map((c) => (
          <button key={c} onClick={o.once(() => o.show({ is: "log", what: c }))}>
            <Glyph of={c} />
            {say(`go.kind.${c}` as Key)}
          </button>
        ))}
        <button onClick={o.once(() => o.show({ is: "kinds", page: 0 }))}>
          <Glyph of="other" />
          {say("go.kind.other")}
        </button>
      </div>
      <button class="main way" onClick={o.out}>
        {say("go.wayout")}
        <small>
          {ahead.shout} {ahead.second}
        </small>
      </button>
    </>
  );
}

/** The whole table of kinds, six a screen. */
const kinds = Object.keys(categoryOf);

function allKinds(page: number, out: () => void, to: (next: Screen) => () => void) {
  return (
    <div class="go">
      <header class="top">
        <h1 class="call">{say("go.else")}</h1>
      </header>
      <main class="foot" style={{ marginTop: "auto" }}>
        <div class="four" style={{ gridTemplateColumns: "repeat(2, minmax(0, 1fr))" }}>
          {kinds.slice(6 * page, 6 * page + 6).map((k) => (
            <button key={k} onClick={to({ is: "log", what: k })}>
              <Glyph of={categoryOf[k]!} />
              {say(`go.kind.${k}` as Key)}
            </button>
          ))}
          <button onClick={to({ is: "walking" })}>
            <Glyph of="undo" />
            {say("go.nothing")}
          </button>
          <button onClick={to({ is: "kinds", page: (page + 1) % Math.ceil(kinds.length / 6) })}>
            {say("go.kinds.more")}
          </button>
        </div>
        <button class="main way" onClick={out}>
          {say("go.wayout")}
        </button>
      </main>
    </div>
  );
}

const whatOf = (what: string): Pick<Meeting, "category" | "kind"> =>
  categoryOf[what] ? { category: categoryOf[what]!, kind: what } : { category: what };

/** The three categories expected most on the walk. */
function likely(w: Walk): string[] {
  const sum = new Map<string, number>();
  for (const e of w.encounters) sum.set(e.category, (sum.get(e.category) ?? 0) + e.reactions + 1e-6 * e.expected);
  const list = [...sum].sort((a, b) => b[1] - a[1]).map(([c]) => c);
  return [...list, ...categories.filter((c) => !list.includes(c))].slice(0, 3);
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

import { useTick } from "../tick.ts";
// The visit itself, one hand: the way there, the pad that stays open, the way home.

import { useRef, useState } from "preact/hooks";
import { Glyph } from "../draw.tsx";
import { categoryOf } from "../kinds.ts";
import { type Band, type Meeting, meet, type Outcome, unmeet, wentOver } from "../log.ts";
import { meetingWords } from "../meeting.ts";
import { newID, outbox } from "../outbox.ts";
import { Choose, Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import { goTo, wide } from "../view.ts";
import { aboutTreats, dated } from "../visit_words.ts";
import {
  endVisit,
  finishVisit,
  leaveVisit,
  type SavedVisit,
  setOut,
  standHere,
  visitBook,
  visiting,
} from "../visiting.ts";

import { capital, clock, cut, exact, minutes } from "../words.ts";
import { PadRows } from "./pad.tsx";
import { Legs } from "./visits_card.tsx";
import { hasGround, VisitMap } from "./visits_map.tsx";
import "./go.css";
import "./visits_go.css";

export function VisitGo() {
  const s = visiting.value;
  if (!s) {
    return (
      <>
        <Head title={say("visit.title")} shown={true} />
        <main id="answer" tabIndex={-1} class="panel stack">
          <p>{say("visit.none")}</p>
          <button class="main" onClick={() => goTo(home())}>
            {say("nav.visits")}
          </button>
        </main>
      </>
    );
  }
  return !s.started ? <Door s={s} /> : s.ended ? <Done s={s} /> : <Under s={s} />;
}

/** What is asked and told, and on a desktop the ground beside it. */
function Under(props: { s: SavedVisit }) {
  const { s } = props;
  const [home, setHome] = useState(false);
  return (
    <div class="visitwide">
      <On s={s} home={home} setHome={setHome} />
      {wide.value && (
        <section class="wideground" aria-label={say("map.title")}>
          <VisitMap s={s} home={home} />
        </section>
      )}
    </div>
  );
}

const home = (): string => (settings.value.role === "handler" ? "dog" : "visits");
const counted = (s: SavedVisit) => s.meetings.filter((m) => m.category);
const handled = (s: SavedVisit): number =>
  counted(s).filter((m) => m.outcome === "turned_back" || m.outcome === "took_food").length;

/** Before setting out: what to take, when, and what it is for. */
function Door(props: { s: SavedVisit }) {
  const { s } = props;
  const v = s.visit.stand;
  return (
    <>
      <Head title={say("visits.nth", { n: s.visit.number, of: s.visit.of })} shown={true} />
      <main id="answer" tabIndex={-1} class="panel stack">
        <p class="answer">{dated(new Date(v.arrive), s.zone)}</p>
        <p>
          {say("visits.what", {
            distance: exact(v.distance_m, settings.value.units),
            watched: cut(v.watched.name),
            n: Math.round(v.stay_minutes),
          })}
        </p>
        <ul class="plainlist">
          <li>{say("go.take", { treats: aboutTreats(v) })}</li>
          <li>
            {say("visits.in", {
              time: clock(new Date(v.leave), s.zone, settings.value.clock),
              n: minutes(v.way_in.duration_s),
              calm: Math.round(v.calm_in_minutes),
              home: minutes(v.way_home.duration_s),
            })}
          </li>
          <li>{say("go.saved")}</li>
        </ul>
        <Legs title={say("visits.in.list")} walk={v.way_in} />
        <p class="small">{say("visits.caution.stop")}</p>
        <div class="row">
          <button class="main tall grow" onClick={setOut}>
            {say("visit.start")}
          </button>
          <button
            class="tall"
            onClick={() => {
              void leaveVisit();
              goTo(home());
            }}
          >
            {say("visit.leave")}
          </button>
        </div>
      </main>
    </>
  );
}

type Screen = { is: "pad"; what: string } | { is: "kinds"; page: number } | { is: "out" } | { is: "end" };
const allKinds = Object.keys(categoryOf);

function On(props: { s: SavedVisit; home: boolean; setHome: (on: boolean) => void }) {
  const { s, home } = props;
  const [screen, setScreen] = useState<Screen>({ is: "pad", what: s.visit.kind });
  const [done, setDone] = useState<Meeting | undefined>();
  const tick = useTick(5000);
  const last = useRef(0);
  /** Two taps within 400 ms count once. */
  const once = (f: () => void) => {
    const now = Date.now();
    if (now - last.current < 400) return;
    last.current = now;
    f();
  };
  const pad: Screen = { is: "pad", what: s.visit.kind };
  const log = (what: string, band: Band, outcome: Outcome) => {
    const m: Meeting = {
      id: newID(),
      at: new Date().toISOString(),
      category: categoryOf[what] ?? what,
      ...(categoryOf[what] ? { kind: what } : {}),
      band,
      outcome,
      sent: false,
      ...(s.arrived ? { lon: s.visit.stand.at[0], lat: s.visit.stand.at[1] } : {}),
    };
    void meet(visitBook, m);
    setDone(m);
    setScreen(pad);
  };
  if (screen.is === "out") return <WayOut s={s} clear={() => setScreen(pad)} />;
  const own = !home && screen.is === "pad" && screen.what === s.visit.kind;
  const onWay = !s.arrived && own;
  const onPad = screen.is === "pad" && !onWay && !home;
  const back = () => {
    setScreen(pad);
    props.setHome(false);
  };
  const waiting = outbox.waiting.value > 0 ? say("go.waiting", { n: outbox.waiting.value }) : "";
  return (
    <div class="go visiton">
      <header class="top">
        <div class="line">
          <span class="num grow">
            {timeWords(s)}
            {waiting && ` · ${waiting}`}
          </span>
          {s.arrived && !home && (
            <button class="plain" onClick={() => props.setHome(true)}>
              {say("visits.home.list")}
            </button>
          )}
          <button class="plain" onClick={() => setScreen({ is: "end" })}>
            {say("visit.end")}
          </button>
        </div>
        <h1 class="hidden">{say("visit.title")}</h1>
        <Where s={s} tick={tick} />
      </header>
      {(onWay || (home && screen.is === "pad")) && <Way s={s} home={home} />}
      <main class="pad">
        <div role="status">
          {done && screen.is === "pad" && (
            <p class="undo">
              <span>{say("go.saved.entry", { what: meetingWords(s, done) })}</span>
              <button
                class="plain"
                onClick={() => {
                  void unmeet(visitBook, done.id);
                  setDone(undefined);
                }}
              >
                {say("go.undo")}
              </button>
            </p>
          )}
        </div>
        {screen.is === "end" && (
          <div class="foot">
            <p class="call">{say("visit.end.ask")}</p>
            <div class="four two-wide">
              <button onClick={() => setScreen(pad)}>{say("visit.end.no")}</button>
              <button class="main" onClick={endVisit}>
                {say("visit.end")}
              </button>
            </div>
          </div>
        )}
        {screen.is === "kinds" && (
          <div class="four two-wide">
            {allKinds.slice(6 * screen.page, 6 * screen.page + 6).map((k) => (
              <button key={k} onClick={() => once(() => setScreen({ is: "pad", what: k }))}>
                <Glyph of={categoryOf[k]!} />
                {say(`go.kind.${k}` as Key)}
              </button>
            ))}
            <button onClick={() => once(() => setScreen(pad))}>
              <Glyph of="undo" />
              {say("go.nothing")}
            </button>
            <button
              onClick={() =>
                once(() => setScreen({ is: "kinds", page: (screen.page + 1) % Math.ceil(allKinds.length / 6) }))
              }
            >
              {say("go.kinds.more")}
            </button>
          </div>
        )}
        {onWay && (
          <div class="foot">
            <button class="main tall" onClick={() => once(standHere)}>
              {say("visit.stand")}
            </button>
          </div>
        )}
        {onPad && (
          <>
            <h2 class="padname">{say("visit.log", { kind: say(`go.kind.${screen.what}` as Key) })}</h2>
            <PadRows log={s} what={screen.what} tap={(b, o) => once(() => log(screen.what, b, o))} />
          </>
        )}
        <div class="foot padfoot">
          <button onClick={() => once(own ? () => setScreen({ is: "kinds", page: 0 }) : back)}>
            {say(own ? "go.kind.other" : "intake.back")}
          </button>
          <button class="main way" onClick={() => once(() => setScreen({ is: "out" }))}>
            {say("go.wayout")}
            {s.arrived && <small>{capital(s.visit.stand.way_out_names?.[0] ?? "")}</small>}
          </button>
        </div>
      </main>
    </div>
  );
}

/** The way there or home: on the ground or street by street, on a desktop beside each other. */
function Way(props: { s: SavedVisit; home: boolean }) {
  const { s, home } = props;
  const [as, setAs] = useState<"map" | "streets">("map");
  const v = s.visit.stand;
  const drawn = !wide.value && hasGround(s);
  const list = <Legs title={say(home ? "visits.home.list" : "visits.in.list")} walk={home ? v.way_home : v.way_in} />;
  return drawn && as === "map" ? (
    <section class="picture" aria-label={say("map.title")}>
      <VisitMap s={s} home={home} />
      <MapOr is={as} pick={setAs} />
    </section>
  ) : (
    <div class="picture wayroom">
      <div class="panel waylist">{list}</div>
      {drawn && <MapOr is={as} pick={setAs} />}
    </div>
  );
}

function MapOr(props: { is: "map" | "streets"; pick: (is: "map" | "streets") => void }) {
  return (
    <div class="atop">
      <Choose
        label={say("map.mode")}
        of={
          [
            ["map", say("go.map")],
            ["streets", say("go.streets")],
          ] as const
        }
        {...props}
      />
    </div>
  );
}

const minutesThere = (s: SavedVisit): number =>
  s.arrived ? Math.floor((Date.now() - Date.parse(s.arrived)) / 60000) : 0;
const isOver = (s: SavedVisit): boolean => minutesThere(s) >= Math.round(s.visit.stand.stay_minutes);

function timeWords(s: SavedVisit): string {
  return s.arrived
    ? say("visit.at", { n: minutesThere(s), of: Math.round(s.visit.stand.stay_minutes) })
    : say("visits.nth", { n: s.visit.number, of: s.visit.of });
}

/** Where it stands: on the way, or how many were seen, and when it is enough. */
function Where(props: { s: SavedVisit /** whether it is enough goes by the minute */; tick: number }) {
  const { s } = props;
  const v = s.visit.stand;
  return (
    <div role="status">
      {!s.arrived && <p class="call">{say("visit.way", { street: v.street, n: minutes(v.way_in.duration_s) })}</p>}
      {s.arrived && (
        <p class="call num">
          <strong>{say("visit.seen", { n: counted(s).length })}</strong> {say("visit.seen.handled", { n: handled(s) })}
        </p>
      )}
      {s.arrived && isOver(s) && (
        <p>
          <b>{say("visit.over", { of: Math.round(v.stay_minutes) })}</b>
        </p>
      )}
      {counted(s).some((m) => wentOver(m.outcome)) && (
        <p>
          <b>{say("visit.went")}</b>
        </p>
      )}
    </div>
  );
}

/** At once: the way out by its name, else back the way one came. */
function WayOut(props: { s: SavedVisit; clear: () => void }) {
  const { s } = props;
  const v = s.visit.stand;
  const names = (s.arrived && v.way_out_names) || []; // they lead from the place
  return (
    <div class="go">
      <header class="out">
        <div role="status">
          <h1 class="shout">{names[0] ? `${capital(names[0])}.` : say("visit.out.back")}</h1>
          {names[1] && names[1] !== names[0] && <p class="second">{say("visit.out.or", { name: names[1] })}</p>}
          <p class="call">
            {say("visit.out.far", { watched: cut(v.watched.name) })} {say("visit.out.then")}
          </p>
        </div>
      </header>
      {s.arrived && !wide.value && hasGround(s) && (
        <section class="picture" aria-label={say("map.title")}>
          <VisitMap s={s} home={false} />
        </section>
      )}
      <main class="foot" style={{ marginTop: "auto" }}>
        <button style={{ minHeight: "80px" }} class="call" onClick={props.clear}>
          {say("go.clear")}
        </button>
      </main>
    </div>
  );
}

/** What the log says, and whether all of it was told. */
function Done(props: { s: SavedVisit }) {
  const { s } = props;
  const met = counted(s);
  const end = (all: boolean) => void finishVisit(all).then(() => goTo(home()));
  return (
    <>
      <Head title={say("visit.done")} shown={true} />
      <main id="answer" tabIndex={-1} class="panel stack">
        <p class="answer">
          {say("visit.done.head", {
            n: met.length,
            handled: handled(s),
            over: met.filter((m) => wentOver(m.outcome)).length,
          })}
        </p>
        <ul class="plainlist">
          {met.map((m) => (
            <li key={m.id} class="row">
              <span class="grow">
                <span class="num">{clock(new Date(m.at), s.zone, settings.value.clock)}</span> {meetingWords(s, m)}
              </span>
              <button
                onClick={() => void unmeet(visitBook, m.id)}
                aria-label={`${say("after.remove")}: ${meetingWords(s, m)}`}
              >
                {say("after.remove")}
              </button>
            </li>
          ))}
        </ul>
        <p>{say("visit.done.ask")}</p>
        <div class="row">
          <button class="grow" onClick={() => end(true)}>
            {say("visit.done.all")}
          </button>
          <button class="grow" onClick={() => end(false)}>
            {say("visit.done.not")}
          </button>
        </div>
      </main>
    </>
  );
}

import { useEffect, useLayoutEffect, useMemo, useState } from "preact/hooks";
import { mode, showMode, week } from "../address.ts";
import { toCalendar } from "../calendar.ts";
import { dogName, dogNow, setDogs } from "../dogs.ts";
import { Key } from "../draw.tsx";
import { AskStart, named } from "../finding.tsx";
import { walkLine } from "../geo.ts";
import { calmer, findHours, hours } from "../hours.ts";
import { MapBox } from "../mapbox.tsx";
import { mapInfo, zone } from "../mapinfo.ts";
import { Words } from "../nav.tsx";
import { Choose, FaultPanel, Status } from "../parts.tsx";
import {
  about,
  answered,
  chosen,
  letter,
  lookAbout,
  plan,
  planWalks,
  stopPlanning,
  type There,
  want,
  wish,
} from "../plan.ts";
import { Sentence } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say, type Key as TextKey } from "../strings.ts";
import { Strip } from "../strip.tsx";
import type { LatLon, Offer, Problem, StreetFacts } from "../types.ts";
import { goTo, wide } from "../view.ts";
import { ready } from "../walking.ts";
import {
  capital,
  carM,
  clock,
  cut,
  distance,
  far,
  minutes,
  minutesSpelt,
  ofTen,
  placeName,
  range,
  shortAnswer,
  shortClock,
  weekday,
} from "../words.ts";
import { PrintedHandOut } from "./handout.tsx";
import { Near, StreetCard } from "./near.tsx";
import { Calmer, HoursRow, lookingAt, WeekTable } from "./plan_hours.tsx";
import { Recent } from "./plan_recent.tsx";
import { AsText, Sure, Watch, Why } from "./plan_text.tsx";
import { Remarks, TableOfWalks, Tabs } from "./plan_walks.tsx";
import "./plan.css";

/** Will it stay calm, when else, where does it go: one screen. */
export function Plan() {
  const there = answered.value;
  const [asking, setAsking] = useState(false);
  const [larger, setLarger] = useState(false);
  const at = wish.value.from?.at;
  // The answer folds the sentence, unless somebody is still choosing.
  useEffect(() => {
    if (!document.querySelector(".planhead .choice")) setAsking(false);
  }, [there]);
  // At once, so that the next key goes there.
  useLayoutEffect(() => {
    if (asking) document.querySelector<HTMLElement>(".planhead .sentence button")?.focus();
  }, [asking]);
  useEffect(() => {
    if (!there) void lookAbout();
  }, [!there, at?.lat, at?.lon, dogNow()?.needs, mapInfo.value?.name]);
  useEffect(() => {
    if (there) void findHours();
  });
  const w = wish.value;
  const key: TextKey =
    w.shape === "way" ? "plan.ask.way" : w.shape === "longest_calm" ? "plan.ask.calm" : "plan.ask.loop";
  const folded = !!there && !asking && !wide.value;
  return (
    <>
      <header class={folded ? "head planhead folded" : "head planhead"}>
        <div class="ask">
          <h1 class="hidden">{say("plan.title")}</h1>
          {folded ? (
            <Folded there={there} open={() => setAsking(true)} />
          ) : (
            mapInfo.value && (
              // biome-ignore lint/a11y/noStaticElementInteractions: Escape folds the sentence, whichever of its words has the focus
              <div onKeyDown={(e) => e.key === "Escape" && there && setAsking(false)}>
                <Sentence key_={key} parts={["minutes", "shape", "dog", "from", "to", "time", "limits"]} />
              </div>
            )
          )}
        </div>
        <div class="only-wide">
          <Words />
        </div>
      </header>
      <div class="only-narrow foot-words">
        <Words />
      </div>
      <main id="answer" tabIndex={-1} class={there ? "planview" : "planview bare"}>
        <Screen there={there} larger={larger && !!there && !wide.value} setLarger={setLarger} />
        {there && mode.value === "walks" ? <Below there={there} /> : !there && <Recent />}
        <PrintedHandOut />
      </main>
    </>
  );
}

/** The sentence as one line: hour, length, dog, place. */
function Folded(props: { there: There; open: () => void }) {
  const w = wish.value;
  const t = new Date(props.there.plan.depart);
  const parts = [
    `${weekday(t, zone())} ${clock(t, zone(), settings.value.clock)}`,
    say("plan.short", { minutes: w.minutes, shape: say(`plan.shape.${w.shape}`) }),
    cut(dogName() || say("choice.dog.none")),
    w.from ? cut(w.from.name) : "",
  ];
  return (
    <button class="folded" onClick={props.open}>
      <span dir="auto">{parts.filter(Boolean).join(" · ")}</span>
      <b>{say("plan.change")}</b>
    </button>
  );
}

interface ScreenProps {
  there: There | undefined;
  larger: boolean;
  setLarger: (on: boolean) => void;
}

/** What is seen without scrolling, about one map that stays through all of it. */
function Screen(props: ScreenProps) {
  const { there } = props;
  const [tapped, setTapped] = useState<{ street: StreetFacts; at: LatLon } | undefined>();
  const at = wish.value.from?.at;
  const i = Math.min(chosen.value, (there?.plan.walks.length ?? 1) - 1);
  const walk = there?.plan.walks[i];
  const drawing = there?.drawings[i];
  const streets = there ? there.streets : about.value;
  const walks = mode.value === "walks";
  const shown = useMemo(
    () => ({
      streets,
      ...(there && walks
        ? {
            walks: there.plan.walks,
            drawings: there.drawings,
            chosen: i,
            letters: there.plan.walks.map((_, k) => letter(k)),
          }
        : at
          ? { start: [at.lon, at.lat] as [number, number] }
          : {}),
    }),
    [there?.drawings, streets, i, walks, at?.lat, at?.lon], // a certificate changes nothing that is drawn
  );
  const line = useMemo(() => walk && walkLine(walk), [walk]);
  useEffect(() => setTapped(undefined), [there?.drawings, walks]);
  const depart = there && new Date(there.plan.depart);
  const n = there ? ofTen(there.plan.walks[0]!.calm_chance) : 0;
  const rank = streets?.rank ?? there?.plan.rank;
  const time = clock(depart ?? new Date(wish.value.depart || Date.now()), zone(), settings.value.clock);
  return (
    <div
      class={props.larger ? "screen1 larger" : "screen1"}
      data-looking={plan.value.is === "looking" ? "" : undefined}
    >
      <div class="says">
        {!there ? <Unanswered /> : (walks || wide.value) && <HowMany there={there} i={i} />}
        {there && <Looking there={there} />}
        {there && depart && (
          <div class="when">
            <h2 class="only-wide">{say("hours.title")}</h2>
            <Calmer depart={depart} n={n} weekly={!wide.value} />
            {wide.value ? (
              <WeekTable depart={depart} n={n} />
            ) : (
              <>
                <HoursRow depart={depart} n={n} />
                {week.value && <WeekTable depart={depart} n={n} />}
              </>
            )}
          </div>
        )}
      </div>
      <div class="mapside">
        {mapInfo.value && (
          <MapBox
            shown={shown}
            line={line}
            need={drawing?.need}
            larger={props.larger}
            about={streets && at}
            startHere={(place) => void named(place).then((from) => want({ from }))}
            tapStreet={(street, where) => setTapped({ street, at: where })}
          >
            {there && (
              <Choose
                label={say("map.mode")}
                of={
                  [
                    ["walks", say("map.walks")],
                    ["streets", say("map.streets")],
                  ] as const
                }
                is={mode.value}
                pick={showMode}
              />
            )}
            {there && !wide.value && (
              <button class="larger" aria-pressed={props.larger} onClick={() => props.setLarger(!props.larger)}>
                {say(props.larger ? "map.smaller" : "map.larger")}
              </button>
            )}
          </MapBox>
        )}
        {tapped && (
          <div class="tapped">
            <StreetCard street={tapped.street} at={tapped.at} close={() => setTapped(undefined)} />
          </div>
        )}
        {rank && (
          <div class={tapped ? "keyside open" : "keyside"}>
            <Key rank={rank} time={time} />
          </div>
        )}
      </div>
      <div class="does">
        {there && walks && <Choices there={there} i={i} />}
        {there && !walks && <Near />}
      </div>
    </div>
  );
}

/** What is being looked for while the old answer still stands, and what went wrong with that.
 * It is read aloud from here; what one sees of it stands where the calmer hours stood. */
function Looking(props: { there: There }) {
  const p = plan.value;
  return (
    <>
      <Status>
        {p.is === "looking" && <p class="hidden">{lookingAt()}</p>}
        {props.there.answered && p.is === "there" && (
          <p class="small">{say("recent.answered", { when: moment(new Date(props.there.answered)) })}</p>
        )}
      </Status>
      {p.is === "fault" && (
        <div class="caution" role="alert">
          <p>
            {say("fault.old", {
              time: clock(new Date(props.there.plan.depart), zone(), settings.value.clock),
            })}
          </p>
          <button class="link" onClick={() => void planWalks()}>
            {say("fault.again")}
          </button>
        </div>
      )}
    </>
  );
}

const moment = (t: Date): string => `${weekday(t, zone())} ${clock(t, zone(), settings.value.clock)}`;

/** The number of the walk that is looked at. */
function HowMany(props: { there: There; i: number }) {
  const w = props.there.plan.walks[props.i]!;
  const n = ofTen(w.calm_chance);
  const given = dogNow()?.cars;
  return (
    <div class="number">
      <Status>
        <p class="answer">
          {n > 9 ? say("answer.most.short") : n < 1 ? say("answer.few.short") : say("answer.short", { n })}
        </p>
      </Status>
      <p class={n <= 2 ? "could caution" : "could"}>
        <b>{capital(range(w.calm_low, w.calm_high))}.</b>{" "}
        {n <= 2 ? say("none.hour") : given !== undefined && !wide.value ? <Nobodys cars={given} /> : <CalmMeans />}
      </p>
      {wide.value && <OldMap there={props.there} />}
      {wide.value && given !== undefined && (
        <p>
          <Nobodys cars={given} />
        </p>
      )}
    </div>
  );
}

const CalmMeans = () => <span>{say("answer.means")}</span>;

/** Whose number it is while there is no dog yet. */
const Nobodys = (props: { cars: number }) => (
  <>
    {say("nodog.for", { cars: props.cars })}{" "}
    <button class="link strong" onClick={() => goTo("dog")}>
      {say("nodog.add")}
    </button>
  </>
);

/** What a phone has no room for beside the number of nobody's dog. */
function NobodysRest(props: { walk: There["plan"]["walks"][number] }) {
  const cars = dogNow()?.cars;
  if (cars === undefined || wide.value) return null;
  return <p>{ofTen(props.walk.calm_chance) <= 2 ? <Nobodys cars={cars} /> : <CalmMeans />}</p>;
}

/** A map of long ago, said under the number. */
function OldMap(props: { there: There }) {
  const at = props.there.plan.map_time;
  if (!at || Date.now() - Date.parse(at) < 2 * 365.25 * 864e5) return null;
  const form = { month: "long", year: "numeric", timeZone: zone() } as const;
  return <p class="small">{say("map.old", { month: new Intl.DateTimeFormat("en-GB", form).format(new Date(at)) })}</p>;
}

/** The walks, and what one does with the chosen one: the one black block of the screen. */
function Choices(props: { there: There; i: number }) {
  const { plan: p, drawings } = props.there;
  const walk = p.walks[props.i]!;
  const drawing = drawings[props.i]!;
  const L = letter(props.i);
  const n = ofTen(walk.calm_chance);
  const bad = n <= 2;
  const better = bad && hours.value ? calmer(hours.value, new Date(p.depart), Math.floor(n)) : [];
  return (
    <>
      {wide.value ? (
        <section class="which">
          <h2>{say("walk.which")}</h2>
          <TableOfWalks plan={p} drawings={drawings} />
          <div class="watchwide">
            <h2>{say("watch.title")}</h2>
            <Watch walk={walk} />
          </div>
        </section>
      ) : (
        <Tabs plan={p} />
      )}
      <div class="action">
        {better[0] && (
          <button
            class="main grow"
            onClick={() => want({ depart: new Date(better[better.length - 1]!.depart).toISOString() })}
          >
            {say("hours.to", {
              time: shortClock(new Date(better[better.length - 1]!.depart), zone(), settings.value.clock),
              answer: shortAnswer(better[better.length - 1]!.calm_chance),
            })}
          </button>
        )}
        <button class="only-wide" onClick={() => goTo("handout")}>
          {say("walk.print")}
        </button>
        <button class={better[0] ? "grow" : "main grow"} onClick={() => void ready(walk, drawing, p)}>
          {say(better[0] ? "walk.ready.anyway" : "walk.ready", { letter: L })}
        </button>
      </div>
    </>
  );
}

/** The chosen hour and walk as a file for calendars, with the address of the plan. */
function calendarWalk(p: There["plan"], walk: There["plan"]["walks"][number]): Promise<void> {
  const from = wish.value.from!;
  const begins = new Date(p.depart);
  const place = from.name || say("plan.map.point");
  const entry = {
    uid: `${p.given?.id ?? p.depart}@wideberth`,
    title: say("calendar.walk.title", { dog: dogName() || say("choice.dog.none") }),
    begins,
    ends: new Date(begins.getTime() + walk.duration_s * 1000),
    place: { name: place, ...from.at },
    text: say("calendar.walk.text", {
      minutes: minutes(walk.duration_s),
      place,
      answer: shortAnswer(walk.calm_chance),
    }),
    url: location.href,
    remindMin: 15,
  };
  return toCalendar("walk", [entry]);
}

/** What can wait: the walk unrolled, why it, how sure, in words. */
function Below(props: { there: There }) {
  const { plan: p, drawings } = props.there;
  const i = Math.min(chosen.value, p.walks.length - 1);
  const walk = p.walks[i]!;
  const drawing = drawings[i]!;
  const L = letter(i);
  return (
    <div class="below">
      <div class="panel stack">
        {!wide.value && <OldMap there={props.there} />}
        <NobodysRest walk={walk} />
        <Remarks walk={walk} />
        <button class="wide short" onClick={() => goTo("where")}>
          {say("where.title")}
        </button>
        <button class="only-narrow wide" onClick={() => goTo("handout")}>
          {say("walk.print")}
        </button>
        <button class="wide short" onClick={() => void calendarWalk(p, walk)}>
          {say("calendar.walk")}
        </button>
      </div>
      <div class="columns wide-pad">
        <Why plan={p} i={i} />
        <section class="panel stack watchlow">
          <h2>{say("watch.title")}</h2>
          <Watch walk={walk} />
        </section>
        <Sure plan={p} walk={walk} />
      </div>
      <section class="panel stack">
        <h2>{say("strip.title", { letter: L })}</h2>
        <p class="small">{say(wide.value ? "strip.how.small" : "strip.how.phone")}</p>
        {wide.value ? (
          <Strip
            walk={walk}
            drawing={drawing}
            letter={L}
            pxPerM={0.6}
            height={420}
            width={Math.min(innerWidth - 48, 1500)}
          />
        ) : (
          <Strip
            walk={walk}
            drawing={drawing}
            letter={L}
            pxPerM={0.6}
            height={Math.max(300, walk.length_m * 0.6 + 60)}
            width={300}
          />
        )}
      </section>
      <section class="panel stack">
        <h2>{say("text.title")}</h2>
        <AsText walk={walk} drawing={drawing} rank={p.rank!} />
      </section>
      <Recent />
    </div>
  );
}

/** How far off a dog still takes food, in parked cars; asked before a number is told for nobody's dog. */
const carsAsked = [2, 3, 5, 8, 12] as const;

function AskCars() {
  return (
    <div class="stack">
      <p class="answer">{say("nodog.ask")}</p>
      <div class="row cars" role="group" aria-label={say("nodog.ask")}>
        {carsAsked.map((n) => (
          <button
            key={n}
            onClick={() => {
              const m = n * carM;
              setDogs([{ name: say("nodog.name"), cars: n, needs: { dogs: { working_m: m, reaction_m: m / 2 } } }], 0);
              want({});
            }}
          >
            {n}
          </button>
        ))}
      </div>
      <p class="small">{say("nodog.cars", { distance: distance(carM, settings.value.units) })}</p>
    </div>
  );
}

function Unanswered() {
  const p = plan.value;
  const demo = mapInfo.value?.demo;
  return (
    <div class="panel stack">
      {p.is === "idle" && demo && dogNow() && (
        <>
          <p>{say("demo.text")}</p>
          <div class="row">
            <button class="main tall grow" onClick={() => want({})}>
              {say("demo.go")}
            </button>
            <button class="tall grow" onClick={() => goTo("dog")}>
              {say("demo.own")}
            </button>
          </div>
          <p class="small">{say("sure.caution")}</p>
        </>
      )}
      {p.is === "idle" && mapInfo.value && !(demo && dogNow()) && (
        <>
          {!wish.value.from ? (
            <>
              <AskStart use={(from) => want({ from })} mapless={false} />
              <p class="small">{say("first.map", { map: placeName(mapInfo.value.name) })}</p>
            </>
          ) : !dogNow() ? (
            <AskCars />
          ) : (
            <button class="main tall wide" onClick={() => want({})}>
              {say("first.plan")}
            </button>
          )}
          <p class="small">{say("sure.caution")}</p>
        </>
      )}
      <Status>
        {p.is === "looking" && (
          <p class="answer">{say(wish.value.shape === "way" ? "wait.looking.way" : "wait.looking")}</p>
        )}
      </Status>
      {p.is === "looking" && <button onClick={stopPlanning}>{say("wait.stop")}</button>}
      {p.is === "fault" &&
        (p.fault.problem?.reason ? (
          <NoWalk problem={p.fault.problem} />
        ) : (
          <FaultPanel fault={p.fault} again={() => void planWalks()} />
        ))}
    </div>
  );
}

/** Why there is no such walk, and what would help. */
function NoWalk(props: { problem: Problem }) {
  const p = props.problem;
  const short = distance(p.short ?? 0, settings.value.units);
  const text: Record<string, string> = {
    off_the_map: say("none.off", { distance: far(p.short ?? 0, settings.value.units) }),
    no_street_near: say("none.far", { distance: short }),
    no_loop: say("none.loop", { minutes: wish.value.minutes }),
    no_stand: say("none.stand"),
    no_way_in: say("none.way_in"),
    nobody_then: say("none.nobody"),
    limits_forbid: say("none.limits", { minutes: wish.value.minutes, limit: p.limit ?? "" }),
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
        <button onClick={() => want({ shape: "there_and_back" })}>{say("plan.choose.there_and_back")}</button>
      )}
    </div>
  );
}

function offerWords(o: Offer): string {
  const a = shortAnswer(o.calm_chance);
  switch (o.what) {
    case "leave_at":
      return say("none.leave", { time: clock(new Date(o.depart!), zone(), settings.value.clock), answer: a });
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
  if (o.what === "leave_at" && o.depart) want({ depart: new Date(o.depart).toISOString() });
  else if (o.what === "shape" && o.shape) want({ shape: o.shape });
  else if (o.what === "minutes" && o.minutes) want({ minutes: Math.round(o.minutes) });
  else if (o.what === "without_limit") want({ limits: {} });
  else goTo("plan");
}

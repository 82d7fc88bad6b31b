import { useMemo, useState } from "preact/hooks";
import { dogName, dogNow, setDogs } from "../dogs.ts";
import { Key } from "../draw.tsx";
import { walkLine } from "../geo.ts";
import { MapBox } from "../mapbox.tsx";
import { mapInfo, zone } from "../mapinfo.ts";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { chosen, letter, plan, planWalks, stopPlanning, want, wish } from "../plan.ts";
import { Sentence } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say, type Key as TextKey } from "../strings.ts";
import { Strip, sameScale } from "../strip.tsx";
import type { Drawing, Offer, Plan as PlanAnswer, Problem, Walk } from "../types.ts";
import { goTo } from "../view.ts";
import { ready } from "../walking.ts";
import { clock, distance, far, minutesSpelt, shortAnswer } from "../words.ts";
import { AsText, Sure, Watch, Why } from "./plan_text.tsx";
import { Big, InALine, Rows, TableOfWalks } from "./plan_walks.tsx";
import "./plan.css";

export function Plan() {
  const w = wish.value;
  const key: TextKey =
    w.shape === "way" ? "plan.ask.way" : w.shape === "longest_calm" ? "plan.ask.calm" : "plan.ask.loop";
  return (
    <>
      <Head title={say("plan.title")}>
        {mapInfo.value && <Sentence key_={key} parts={["minutes", "shape", "dog", "from", "to", "time", "limits"]} />}
      </Head>
      <main id="answer" tabIndex={-1}>
        <Answer />
      </main>
    </>
  );
}

/** The answer, or what stands in its place, about one map that stays through all of it. */
function Answer() {
  const [pxPerM, setScale] = useState(0.5);
  const p = plan.value;
  const at = wish.value.from?.at;
  const there = p.is === "there" ? p : undefined;
  const walk = there && (there.plan.walks[chosen.value] ?? there.plan.walks[0]!);
  const drawing = there && (there.drawings[chosen.value] ?? there.drawings[0]!);
  const shown = useMemo(
    () =>
      there
        ? {
            walks: there.plan.walks,
            drawings: there.drawings,
            chosen: chosen.value,
            letters: there.plan.walks.map((_, i) => letter(i)),
          }
        : at
          ? { start: [at.lon, at.lat] as [number, number] }
          : {},
    [there?.drawings, chosen.value, at?.lat, at?.lon], // a certificate changes nothing that is drawn
  );
  const line = useMemo(() => walk && walkLine(walk), [walk]);
  const L = letter(chosen.value);
  return (
    <>
      {there ? <Top plan={there.plan} drawings={there.drawings} walk={walk!} drawing={drawing!} /> : <Unanswered />}
      <div class={there ? "two" : "one"}>
        {mapInfo.value && <MapBox shown={shown} line={line} need={drawing?.need} scale={setScale} />}
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
  const p = plan.value;
  const demo = mapInfo.value?.demo;
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
                want({});
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
      {p.is === "idle" && mapInfo.value && !demo && (
        <>
          <p>{say("first.text", { map: mapInfo.value.name })}</p>
          <button class="main tall wide" disabled={!wish.value.from} onClick={() => want({})}>
            {say("first.plan")}
          </button>
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
          {say("walk.ready", { letter: letter(chosen.value) })}
        </button>
      </div>
    </div>
  );
}

function Rest(props: Picked) {
  const { plan: p, drawings, walk, drawing } = props;
  const i = chosen.value;
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

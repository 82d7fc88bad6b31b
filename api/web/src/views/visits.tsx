import { useEffect, useState } from "preact/hooks";
import { dogNow, dogs, serverKeeps } from "../dogs.ts";
import { AskStart } from "../finding.tsx";
import { mapInfo, zone } from "../mapinfo.ts";
import { outbox } from "../outbox.ts";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Sequence } from "../types.ts";
import { goTo } from "../view.ts";
import {
  answersWish,
  beginVisits,
  copyTo,
  decide,
  dropSequence,
  inUnits,
  loadVisits,
  ofDog,
  openSequence,
  planVisits,
  setVisitsWish,
  shown,
  stopVisits,
  type VisitsDoc,
  visits,
} from "../visits.ts";
import { cut, dateWords, exact } from "../words.ts";
import { multiples, times, VisitsSentence } from "./visits_ask.tsx";
import { VisitCard } from "./visits_card.tsx";
import { PrintedVisit, VisitSheet } from "./visits_paper.tsx";
import { VisitPlace } from "./visits_place.tsx";
import { Steps } from "./visits_steps.tsx";
import "./visits.css";

/** One step nearer at a time, each with a place, an hour, a dose and a way out. */
export function Visits() {
  const trains = settings.value.role !== "handler";
  useEffect(() => void beginVisits(), [mapInfo.value?.name, serverKeeps.value]);
  useEffect(() => {
    if (outbox.waiting.value === 0) void loadVisits(); // what was just logged counts
  }, [outbox.waiting.value]);
  const doc = shown();
  return (
    <>
      <Head title={say("visits.title")}>{trains && <VisitsSentence />}</Head>
      <main id="answer" tabIndex={-1} class="visits">
        <Doing />
        {visits.fault.value && (
          <div class="panel screen">
            <FaultPanel fault={visits.fault.value} again={() => void (doc ? loadVisits() : planVisits())} />
          </div>
        )}
        {visits.old.value && <p class="onpage small screen">{say("visits.offline")}</p>}
        {visits.none.value && (
          <div class="screen">
            <p class="onpage">
              <b>{say("visits.lack.none")}</b>
            </p>
            <div class="panel">
              <Lacks sequence={visits.none.value} />
            </div>
          </div>
        )}
        {doc ? <Kept doc={doc} trains={trains} /> : !visits.none.value && <Empty />}
        {doc && <PrintedVisit doc={doc} />}
      </main>
    </>
  );
}

/** The next visit of the dog in view, and only that: for who walks it. */
export function NextVisit() {
  const [sheet, setSheet] = useState(0);
  useEffect(() => void beginVisits(), [mapInfo.value?.name, serverKeeps.value, dogNow()?.id]);
  const doc = shown();
  if (!doc) return null;
  return (
    <div class="visits">
      <div class="visitgrid next screen">
        <div class="cardside panel">
          <VisitCard doc={doc} n={doc.body.step} trains={false} print={() => setSheet(doc.body.step)} />
        </div>
        <div class="pictureside">
          <VisitPlace doc={doc} n={doc.body.step} />
        </div>
      </div>
      {sheet > 0 && <VisitSheet doc={doc} n={sheet} close={() => setSheet(0)} />}
    </div>
  );
}

function Doing() {
  return (
    <Status>
      {visits.doing.value !== "nothing" && (
        <div class="panel row screen">
          <p class="grow">{say(visits.doing.value === "looking" ? "visits.looking" : "visits.changing")}</p>
          {visits.doing.value === "looking" && <button onClick={stopVisits}>{say("visits.stop")}</button>}
        </div>
      )}
    </Status>
  );
}

function Empty() {
  if (visits.doing.value !== "nothing" || !mapInfo.value) return null;
  if (!visits.loaded.value) return <p class="onpage">{say("visits.loading")}</p>;
  const dog = dogNow();
  return (
    <div class="onpage stack">
      <p class="answer">{say("visits.first")}</p>
      {!dog ? (
        <>
          <p>{say("visits.lacks.dog")}</p>
          <button class="main tall firstgo" onClick={() => goTo("dog")}>
            {say("dogs.add")}
          </button>
        </>
      ) : !visits.wish.value.from ? (
        <AskStart use={(from) => setVisitsWish({ from })} mapless={true} />
      ) : (
        <>
          {mapInfo.value.demo && <p>{say("visits.demo")}</p>}
          <button class="main tall firstgo" onClick={() => void planVisits()}>
            {say("visits.demo.go", { dog: cut(dog.name) })}
          </button>
          <p>
            <button onClick={() => goTo("setups")}>{say("visits.setups")}</button>
          </p>
        </>
      )}
      <p class="small">
        {say("visits.caution.stop")} {say("visits.caution.map")}
      </p>
    </div>
  );
}

/** A kept sequence: what is next, all steps, what cannot be had. */
function Kept(props: { doc: VisitsDoc; trains: boolean }) {
  const { doc, trains } = props;
  const of = doc.body.sequence.visits.length;
  const [at, setAt] = useState(0);
  const [sheet, setSheet] = useState(0);
  useEffect(() => {
    setAt(0);
    setSheet(0);
  }, [doc.id, doc.body.step]);
  const n = trains && at >= 1 && at <= of ? at : doc.body.step;
  const show = (k: number) => {
    setAt(k);
    document.querySelector(".visitcard")?.scrollIntoView({ block: "nearest" });
  };
  return (
    <>
      <div class="screen">
        {trains && visits.doing.value === "nothing" && !answersWish(doc) && (
          <div class="needwash row">
            <p class="grow">
              {say("visits.stale")} {(visits.progress.value[doc.id]?.done.length ?? 0) > 0 && say("visits.again.new")}
            </p>
            <button class="main" onClick={() => void planVisits()}>
              {say("visits.again")}
            </button>
          </div>
        )}
        {trains && <Proposal doc={doc} />}
        <div class={trains ? "visitgrid" : "visitgrid next"}>
          <div class="cardside panel">
            <VisitCard doc={doc} n={n} trains={trains} print={() => setSheet(n)} />
            {trains && n !== doc.body.step && !doc.body.paused && (
              <p class="under">
                <button onClick={() => void decide(doc, { to: n })}>{say("visits.goto")}</button>
              </p>
            )}
          </div>
          <div class="pictureside">
            <VisitPlace doc={doc} n={n} />
          </div>
          {trains && <Steps doc={doc} shown={n} show={show} trains={trains} />}
        </div>
        {trains && (
          <>
            {doc.body.sequence.lacks.length > 0 && (
              <div class="panel">
                <Lacks sequence={doc.body.sequence} />
              </div>
            )}
            <Keeping doc={doc} />
          </>
        )}
        {!serverKeeps.value && mapInfo.value && <p class="onpage small">{say("visits.local")}</p>}
      </div>
      {sheet > 0 && <VisitSheet doc={doc} n={sheet} close={() => setSheet(0)} />}
    </>
  );
}

/** What the rule says, with its evidence; nothing changes unless a person says so. */
function Proposal(props: { doc: VisitsDoc }) {
  const { doc } = props;
  const p = visits.progress.value[doc.id];
  if (!p || p.visits === 0 || doc.body.paused) return null;
  const u = settings.value.units;
  const v = doc.body.sequence.visits[p.to - 1];
  if (!v) return null;
  const over = [
    p.went_over ? say("visits.proposal.over", { n: p.went_over }) : say("visits.proposal.none"),
    ...(p.refused_food ? [say("visits.proposal.refused", { n: p.refused_food })] : []),
  ].join(", ");
  const places = {
    visits: say("visits.visits", { n: p.visits }),
    handled: p.handled,
    of: p.triggers,
    over,
    times: times(v.multiple),
    distance: exact(v.distance_m, u),
  };
  const farther = multiples.findLast((n) => n > Math.max(visits.wish.value.farthest, v.multiple));
  const moves = p.proposal !== "stay" && p.to !== p.step;
  const text = moves
    ? say(`visits.proposal.${p.proposal as "on" | "back"}`, places)
    : p.proposal === "on"
      ? say("visits.proposal.end", places)
      : p.proposal === "back"
        ? say("visits.proposal.first", places)
        : say("visits.proposal.stay", places);
  return (
    <section class="needwash stack proposal" aria-label={say("visits.proposal")}>
      <h2>{text}</h2>
      {!moves && p.proposal === "back" && farther !== undefined && (
        <div class="row">
          <button
            disabled={visits.doing.value !== "nothing"}
            onClick={() => {
              setVisitsWish({ farthest: farther });
              void planVisits();
            }}
          >
            {say("visits.farther.plan", { n: times(farther) })}
          </button>
        </div>
      )}
      {moves && (
        <>
          <div class="row">
            <button
              class="grow"
              disabled={visits.doing.value !== "nothing"}
              onClick={() => void decide(doc, { to: p.to })}
            >
              {say(p.proposal === "on" ? "visits.on" : "visits.back")}
            </button>
            <button
              class="grow"
              disabled={visits.doing.value !== "nothing"}
              onClick={() => void decide(doc, { to: p.step })}
            >
              {say("visits.stay")}
            </button>
          </div>
          <p class="small">
            {say("visits.proposal")}{" "}
            {v.multiple < 1.5 &&
              (dogNow()?.caution ? say("caution.visit") : p.proposal === "on" && say("visits.near.caution"))}
          </p>
        </>
      )}
    </section>
  );
}

function Lacks(props: { sequence: Sequence }) {
  const list = props.sequence.lacks;
  if (list.length === 0) return null;
  const least = list.filter((l) => l.why === "reactions" && l.least_reactions).map((l) => l.least_reactions!);
  const allow = Math.ceil(Math.max(0, ...least) * 2) / 2;
  return (
    <section class="stack lacks">
      <h2>{say("visits.lack")}</h2>
      <ul class="plainlist">
        {list.map((l, i) => (
          <li key={i} class={l.why === "bite" ? "caution" : ""}>
            {inUnits(l.text)}
          </li>
        ))}
      </ul>
      {allow > visits.wish.value.most && allow <= 4 && (
        <button
          onClick={() => {
            setVisitsWish({ most: allow });
            void planVisits();
          }}
        >
          {say("visits.lack.allow", { n: times(allow) })}
        </button>
      )}
    </section>
  );
}

/** Pause, copy, delete, and the dog's other plans. */
function Keeping(props: { doc: VisitsDoc }) {
  const { doc } = props;
  const [sure, setSure] = useState(false);
  useEffect(() => setSure(false), [doc.id]);
  const busy = visits.doing.value !== "nothing";
  const list = ofDog().filter((d) => d.id !== doc.id);
  const others = dogs.value.filter((d) => d.name !== dogNow()?.name && d.needs);
  const need = (d: VisitsDoc, last: boolean) =>
    exact(d.body.sequence.visits[last ? d.body.sequence.visits.length - 1 : 0]!.distance_m, settings.value.units);
  return (
    <section class="panel stack">
      {doc.body.paused && (
        <p role="status">{say("visits.paused.text", { n: doc.body.step, of: doc.body.sequence.visits.length })}</p>
      )}
      <div class="row">
        <button onClick={() => goTo("setups")}>{say("visits.setups")}</button>
        <button disabled={busy} onClick={() => void decide(doc, { paused: !doc.body.paused })}>
          {say(doc.body.paused ? "visits.resume" : "visits.pause")}
        </button>
        <button disabled={busy} aria-expanded={sure} onClick={() => setSure(!sure)}>
          {say("visits.delete")}
        </button>
      </div>
      {sure && (
        <div class="row">
          <p class="grow">{say("visits.delete.sure")}</p>
          <button onClick={() => void dropSequence(doc)}>{say("visits.delete.yes")}</button>
          <button onClick={() => setSure(false)}>{say("visits.delete.no")}</button>
        </div>
      )}
      {doc.version > 0 && others.length > 0 && (
        <details>
          <summary class="line">
            <b>{say("visits.copy")}</b>
          </summary>
          <p>{say("visits.copy.text")}</p>
          <div class="row">
            {others.map((d) => (
              <button
                key={d.name}
                dir="auto"
                disabled={busy}
                onClick={() => void copyTo(doc, d.name).then((ok) => ok && scrollTo(0, 0))}
              >
                {say("visits.copy.do", { dog: cut(d.name) })}
              </button>
            ))}
          </div>
        </details>
      )}
      {list.length > 0 && (
        <div>
          <h2>{say("visits.others", { dog: cut(dogNow()?.name ?? "") })}</h2>
          <div class="row">
            {list.slice(0, 12).map((d) => (
              <button
                key={d.id}
                onClick={() => {
                  openSequence(d.id);
                  scrollTo(0, 0);
                }}
              >
                {say("visits.others.one", {
                  far: need(d, false),
                  near: need(d, true),
                  n: d.body.sequence.visits.length,
                  date: dateWords(new Date(d.updated), zone()),
                })}
              </button>
            ))}
          </div>
        </div>
      )}
      <details>
        <summary class="line">{say("visits.assumed")}</summary>
        <ul class="plainlist">
          {doc.body.sequence.assumed.map((a) => (
            <li key={a}>{inUnits(a)}</li>
          ))}
        </ul>
      </details>
    </section>
  );
}

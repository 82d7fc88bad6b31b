// All steps of a sequence: how far off, when, what is harder, how it went, what there is instead.

import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Progress, Stay, Visit } from "../types.ts";
import { dated, undated } from "../visit_words.ts";
import { earliest, moveVisit, type VisitsDoc, visitOf, visits, visitZone } from "../visits.ts";
import { capital, clock, cut, exact, weekday } from "../words.ts";
import { tenth } from "./visits_card.tsx";
import "./visits_steps.css";

const mostOthers = 3;

const harderWords = (v: Visit, n: number): string =>
  n === 1
    ? say("visits.harder.first")
    : [...(v.harder ?? []), ...(v.easier ?? [])].map((h) => say(`visits.${h.replace(/ /g, "_")}` as Key)).join(", ") ||
      say("visits.harder.same");

const visitsWord = (n: number): string => say("visits.visits", { n });

function resultWords(p: Progress | undefined, n: number): string {
  const list = (p?.done ?? []).filter((d) => d.visit === n);
  if (list.length === 0) return "";
  const sum = (f: (d: Progress["done"][number]) => number) => list.reduce((s, d) => s + f(d), 0);
  const over = sum((d) => d.went_over ?? 0);
  const places = { visits: visitsWord(list.length), handled: sum((d) => d.handled), of: sum((d) => d.triggers) };
  return over ? say("visits.result.over", { ...places, n: over }) : say("visits.result", places);
}

function others(d: VisitsDoc, n: number): Stay[] {
  return (d.body.sequence.visits[n - 1]!.alternatives ?? [])
    .map((i) => d.body.sequence.options[i])
    .filter((o): o is Stay => !!o && Date.parse(o.arrive) > Date.now())
    .slice(0, mostOthers);
}

/** What could be taken in place of a step, of about its hardness. */
function Others(props: { doc: VisitsDoc; n: number; trains: boolean }) {
  const zone = visitZone(props.doc);
  return (
    <ul class="others">
      {others(props.doc, props.n).map((o, i) => {
        const t = new Date(o.arrive);
        const when = `${weekday(t, zone)} ${clock(t, zone, settings.value.clock)}`;
        const words = say("visits.other", {
          when,
          street: cut(o.street),
          distance: exact(o.distance_m, settings.value.units),
        });
        return (
          <li key={i}>
            {props.trains ? (
              <button
                class="plain"
                aria-label={say("visits.other.take", { n: props.n, when, street: o.street })}
                onClick={() => void moveVisit(props.doc, props.n, o)}
              >
                {words}
              </button>
            ) : (
              words
            )}
          </li>
        );
      })}
    </ul>
  );
}

/** How long all of it takes at least, at one visit a week. */
function paceWords(d: VisitsDoc): string {
  const each = visits.progress.value[d.id]?.rule.visits_in_a_row ?? d.body.rule?.visits_in_a_row ?? 2;
  const steps = d.body.sequence.visits.length - d.body.step + 1;
  return say("visits.pace", { each, n: each * steps });
}

export function Steps(props: { doc: VisitsDoc; shown: number; show: (n: number) => void; trains: boolean }) {
  const { doc } = props;
  const u = settings.value.units;
  const p = visits.progress.value[doc.id];
  const zone = visitZone(doc);
  const list = doc.body.sequence.visits.map((_, i) => visitOf(doc, i + 1));
  const when = (v: Visit, n: number): string => {
    if (n < doc.body.step) return "";
    if (n > doc.body.step) return undated(v, earliest(doc, n), zone);
    return doc.body.paused ? say("visits.paused") : say("visits.next.on", { when: dated(new Date(v.arrive), zone) });
  };
  return (
    <section class="stepside panel stack">
      <h2>{say("visits.steps.n", { n: list.length })}</h2>
      <p class="small">{paceWords(doc)}</p>
      <ol class="list steps" aria-label={say("visits.steps")}>
        {list.map((v, i) => {
          const n = i + 1;
          const done = n < doc.body.step || (p?.done ?? []).some((d) => d.visit === n);
          const rest = [harderWords(v, n), resultWords(p, n)].filter(Boolean).map((t) => `${capital(t)}.`);
          return (
            <li key={i} class={props.shown === n ? "on" : ""}>
              <button
                class={done ? "stepno done" : "stepno"}
                aria-label={say("visits.show", { n })}
                aria-pressed={props.shown === n}
                onClick={() => props.show(n)}
              >
                {n}
              </button>
              <div class="grow">
                <p>
                  <b class="num">{exact(v.distance_m, u)}</b>, {say("visits.times.off", { n: tenth(v.multiple) })}
                </p>
                <p class="num">{when(v, n)}</p>
                <p class="small">
                  <span dir="auto">{cut(v.watched.name)}</span>. {rest.join(" ")}
                </p>
                {props.shown === n && others(doc, n).length > 0 && (
                  <details>
                    <summary class="line">{say("visits.col.other")}</summary>
                    <Others doc={doc} n={n} trains={props.trains} />
                  </details>
                )}
              </div>
            </li>
          );
        })}
      </ol>
    </section>
  );
}

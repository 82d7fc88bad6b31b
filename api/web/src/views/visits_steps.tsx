// All steps of a sequence: as arcs to scale, and as a table.

import { Glyph } from "../draw.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Progress, Stay, Visit } from "../types.ts";
import { moveVisit, type VisitsDoc, visitOf, visits, visitZone } from "../visits.ts";
import { capital, exact, weekday } from "../words.ts";
import { times } from "./visits_ask.tsx";
import { whenWords } from "./visits_card.tsx";
import "./visits_steps.css";

const halfAngle = (33 * Math.PI) / 180;
const labelPX = 12; // arcs nearer than this share one label
const mostOthers = 3;

const allVisits = (d: VisitsDoc): Visit[] => d.body.sequence.visits.map((_, i) => visitOf(d, i + 1));

/** Arcs of one source, the nearest inmost; each visit is a bar along its own. */
export function Fan(props: { doc: VisitsDoc; show: (n: number) => void }) {
  const list = allVisits(props.doc);
  const u = settings.value.units;
  const need = list[0]!.distance_m / list[0]!.multiple;
  const most = Math.max(...list.map((v) => v.distance_m));
  const W = 450;
  const H = 360;
  const x0 = 170;
  const y0 = H - 30;
  const k = (H - 70) / most;
  const on = (r: number, a: number): [number, number] => [x0 + r * k * Math.sin(a), y0 - r * k * Math.cos(a)];
  const arc = (r: number, a: number, b: number) => {
    const [ax, ay] = on(r, a);
    const [bx, by] = on(r, b);
    return `M${ax.toFixed(1)} ${ay.toFixed(1)}A${(r * k).toFixed(1)} ${(r * k).toFixed(1)} 0 0 1 ${bx.toFixed(1)} ${by.toFixed(1)}`;
  };
  // Bars stand side by side from the left, so that no number covers another.
  const angle = (i: number) => (list.length < 2 ? 0 : halfAngle * (-0.78 + (1.3 * i) / (list.length - 1)));
  const labels = labelled([...list.map((v) => v.distance_m), need], k);
  return (
    <figure class="fan">
      <svg
        viewBox={`0 0 ${W} ${H}`}
        width="100%"
        role="img"
        aria-label={say("visits.steps.label", {
          far: exact(most, u),
          near: exact(Math.min(...list.map((v) => v.distance_m)), u),
        })}
      >
        {list.map((v, i) => (
          <path key={i} class="need" stroke-width="1.4" d={arc(v.distance_m, -halfAngle, halfAngle)} />
        ))}
        <path class="need" stroke-width="4" d={arc(need, -halfAngle, halfAngle)} />
        <path
          class="rules"
          stroke-width="1.4"
          d={`M${on(most, -halfAngle).join(" ")}L${x0} ${y0}L${on(most, halfAngle).join(" ")}`}
        />
        <svg x={x0 - 17} y={y0 - 12} width="34" height="34" class="inks">
          <Glyph of={String(props.doc.body.wish.kind ?? "dogs")} />
        </svg>
        {labels.map((r) => {
          const [x, y] = on(r, halfAngle);
          return (
            <text key={r} class="needf plate" x={x + 8} y={y + 5} font-size="15" font-weight="600">
              {r === need
                ? say("visits.fan.need", { distance: exact(r, u) })
                : say("visits.fan.arc", { n: times(r / need), distance: exact(r, u) })}
            </text>
          );
        })}
        {list.map((v, i) => (
          <Bar key={i} doc={props.doc} v={v} n={i + 1} arc={arc} on={on} angle={angle(i)} k={k} show={props.show} />
        ))}
      </svg>
    </figure>
  );
}

/** The distances that get a label of their own, the room needed first. */
function labelled(list: number[], k: number): number[] {
  const out: number[] = [];
  for (const r of [...list].reverse()) if (out.every((x) => Math.abs(x - r) * k >= labelPX + 4)) out.push(r);
  return out;
}

function Bar(props: {
  doc: VisitsDoc;
  v: Visit;
  n: number;
  arc: (r: number, a: number, b: number) => string;
  on: (r: number, a: number) => [number, number];
  angle: number;
  k: number;
  show: (n: number) => void;
}) {
  const { v, n } = props;
  const next = n === props.doc.body.step;
  const done = n < props.doc.body.step || (visits.progress.value[props.doc.id]?.done ?? []).some((d) => d.visit === n);
  const r = v.distance_m * props.k;
  const [wide, frame] = next ? [28, 5] : [20, 2.5];
  const bar = (cut: number) => props.arc(v.distance_m, props.angle - (19 - cut) / r, props.angle + (19 - cut) / r);
  const [x, y] = props.on(v.distance_m, props.angle);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: the list of steps has a button for each
    <g class="fanbar" onClick={() => props.show(n)}>
      <path class="casing" stroke-width={wide + 6} d={bar(-3)} />
      <path class="ink" stroke-width={wide} d={bar(0)} />
      {!done && <path class="casing" stroke-width={wide - 2 * frame} d={bar(frame)} />}
      <text class={done ? "sheetf" : "inkf"} x={x} y={y + 5} text-anchor="middle" font-size="14" font-weight="800">
        {n}
      </text>
      {next && (
        <text class="inkf plate" x={x} y={y - 20} text-anchor="middle" font-size="15" font-weight="700">
          {weekday(new Date(v.arrive), visitZone(props.doc))}
        </text>
      )}
    </g>
  );
}

const harderWords = (v: Visit, n: number): string =>
  n === 1
    ? say("visits.harder.first")
    : [...(v.harder ?? []), ...(v.easier ?? [])].map((h) => say(`visits.${h.replace(/ /g, "_")}` as Key)).join(", ") ||
      say("visits.harder.same");

const visitsWord = (n: number): string => say("visits.visits", { n });

function resultWords(p: Progress | undefined, n: number): string {
  const list = (p?.done ?? []).filter((d) => d.visit === n);
  if (list.length === 0) return say("visits.result.none");
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

function Others(props: { doc: VisitsDoc; n: number; trains: boolean }) {
  const list = others(props.doc, props.n);
  if (list.length === 0) return <>{say("visits.other.none")}</>;
  const u = settings.value.units;
  return (
    <ul class="others">
      {list.map((o, i) => {
        const when = whenWords(props.doc, o);
        const words = say("visits.other", { when, street: o.street, distance: exact(o.distance_m, u) });
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

/** The steps as a table where there is room, else as a list of the same. */
export function Steps(props: { doc: VisitsDoc; shown: number; show: (n: number) => void; trains: boolean }) {
  const { doc } = props;
  const u = settings.value.units;
  const p = visits.progress.value[doc.id];
  const list = allVisits(doc);
  const where = (v: Visit) => `${capital(v.street)}, ${v.watched.name}`;
  const far = (v: Visit) => say("visits.times.n", { n: times(v.multiple), distance: exact(v.distance_m, u) });
  const mark = (n: number) =>
    n === doc.body.step && <span class="mark new">{say(doc.body.paused ? "visits.paused" : "visits.next.is")}</span>;
  return (
    <>
      <div class="only-wide scroll" tabIndex={0} role="region" aria-label={say("visits.steps")}>
        <table class="num steps">
          <caption class="hidden">{say("visits.steps.caption")}</caption>
          <thead>
            <tr>
              {(["step", "when", "where", "distance", "harder", "result", "other"] as const).map((c) => (
                <th key={c} scope="col">
                  {say(`visits.col.${c}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {list.map((v, i) => (
              <tr key={i} class={props.shown === i + 1 ? "on" : ""}>
                <th scope="row">
                  <button
                    aria-label={say("visits.show", { n: i + 1 })}
                    aria-pressed={props.shown === i + 1}
                    onClick={() => props.show(i + 1)}
                  >
                    {i + 1}
                  </button>{" "}
                  {mark(i + 1)}
                </th>
                <td>{whenWords(doc, v)}</td>
                <td dir="auto">{where(v)}</td>
                <td>{far(v)}</td>
                <td>{harderWords(v, i + 1)}</td>
                <td>{resultWords(p, i + 1)}</td>
                <td>
                  <Others doc={doc} n={i + 1} trains={props.trains} />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <ol class="only-narrow list steplist" aria-label={say("visits.steps")}>
        {list.map((v, i) => (
          <li key={i} class={props.shown === i + 1 ? "on" : ""}>
            <div class="row nowrap">
              <button
                aria-label={say("visits.show", { n: i + 1 })}
                aria-pressed={props.shown === i + 1}
                onClick={() => props.show(i + 1)}
              >
                {i + 1}
              </button>
              <p class="grow">
                <b>{far(v)}</b> {mark(i + 1)}
                <br />
                {whenWords(doc, v)}, <span dir="auto">{where(v)}</span>
                <br />
                <span class="small">
                  {harderWords(v, i + 1)}. {capital(resultWords(p, i + 1))}.
                </span>
              </p>
            </div>
            {others(doc, i + 1).length > 0 && (
              <details>
                <summary class="line">{say("visits.col.other")}</summary>
                <Others doc={doc} n={i + 1} trains={props.trains} />
              </details>
            )}
          </li>
        ))}
      </ol>
    </>
  );
}

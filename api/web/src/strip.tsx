// The walk unrolled: columns read upwards, so that your left is on the left.
import { useEffect } from "preact/hooks";
import { metresAt, secondsAt } from "./course.ts";
import { dogName } from "./dogs.ts";
import { halfOf, RibbonRun, RoomLines, runs } from "./draw.tsx";
import { point, pointed } from "./pointed.ts";
import { settings } from "./settings.ts";
import { type Key, say } from "./strings.ts";
import type { Drawing, Step, Walk } from "./types.ts";
import { distance, into, stepWord } from "./words.ts";

const legendW = 102;
const marksW = 32;

/** The sample of a profile at a distance into the walk. */
export const sampleAt = (d: Drawing, m: number): number =>
  Math.min(d.profile.step.length - 1, Math.max(0, Math.round(m / d.profile.step_m)));

export function roomWords(m: number, need: number): string {
  return m >= need - 0.5 ? say("strip.all", { dog: dogName() }) : distance(m, settings.value.units);
}

function placeWords(w: Walk, d: Drawing, m: number): string {
  const i = sampleAt(d, m);
  const p = d.profile;
  return say("strip.at", {
    minutes: into(secondsAt(w, m)),
    left: roomWords(p.left_m[i]!, d.need.working_m),
    right: roomWords(p.right_m[i]!, d.need.working_m),
    sight: distance(p.sight_m[i]!, settings.value.units),
    level: stepWord(p.step[i] as Step),
  });
}

/** Columns are filled from the first on, at the map's scale where as many as the walk needs fit, else smaller. */
function layout(
  total: number,
  need: number,
  pxPerM: number,
  height: number,
  width: number,
): { k: number; perColumn: number } {
  const high = height - 40;
  let k = pxPerM;
  for (;;) {
    const columns = Math.max(1, Math.floor(width / (marksW + 2 * need * k + legendW)));
    if (total * k <= columns * high || k < 0.02) return { k, perColumn: high / k };
    k *= 0.96;
  }
}

/** Whether the strip has the map's scale. */
export const sameScale = (w: Walk, d: Drawing, pxPerM: number, height: number, width: number): boolean =>
  layout(w.length_m, d.need.working_m, pxPerM, height, width).k === pxPerM;

export function Strip(props: {
  walk: Walk;
  drawing: Drawing;
  letter: string;
  pxPerM: number;
  height: number;
  width: number;
  met?: Mark[];
}) {
  const { walk: w, drawing: d } = props;
  const need = d.need.working_m;
  const total = w.length_m;
  const { k, perColumn } = layout(total, need, props.pxPerM, props.height, props.width);
  const gauge = need * k;
  const colW = marksW + 2 * gauge + legendW;
  const at = pointed.value;
  useEffect(() => () => point(undefined), []);
  const columns = Array.from({ length: Math.ceil(total / perColumn - 1e-6) }, (_, c) => ({
    from: c * perColumn,
    to: Math.min(total, (c + 1) * perColumn),
  }));
  const move = (m: number) => point(Math.min(total, Math.max(0, m)));
  const keys = (e: KeyboardEvent) => {
    const here = at ?? 0;
    const stops = [0, ...w.watch_points.map((p) => p.from_m), total];
    const next = {
      ArrowUp: here + 20,
      ArrowRight: here + 20,
      ArrowDown: here - 20,
      ArrowLeft: here - 20,
      PageUp: stops.find((s) => s > here + 1) ?? total,
      PageDown: [...stops].reverse().find((s) => s < here - 1) ?? 0,
      Home: 0,
      End: total,
    }[e.key];
    if (next === undefined) return;
    e.preventDefault();
    move(next);
  };
  return (
    <div>
      <div
        role="slider"
        tabIndex={0}
        aria-label={say("strip.label")}
        aria-orientation="vertical"
        aria-valuemin={0}
        aria-valuemax={Math.round(total)}
        aria-valuenow={Math.round(at ?? 0)}
        aria-valuetext={placeWords(w, d, at ?? 0)}
        onKeyDown={keys}
        class="scroll strip"
      >
        <svg
          width={columns.length * colW + 26}
          height={props.height}
          viewBox={`0 0 ${columns.length * colW + 26} ${props.height}`}
          aria-hidden="true"
        >
          {columns.map((c, i) => (
            <Column
              key={i}
              walk={w}
              drawing={d}
              from={c.from}
              to={c.to}
              k={k}
              x={i * colW + marksW + gauge}
              bottom={props.height - 18}
              at={at}
              move={move}
              met={props.met ?? []}
            />
          ))}
        </svg>
      </div>
      <p class="small" role="status">
        {at === undefined ? "" : placeWords(w, d, at)}
      </p>
    </div>
  );
}

/** What was met at a place of the walk, in a word. */
export interface Mark {
  m: number;
  word: string;
}

interface ColumnProps {
  met: Mark[];
  walk: Walk;
  drawing: Drawing;
  from: number;
  to: number;
  k: number;
  x: number;
  bottom: number;
  at: number | undefined;
  move: (m: number) => void;
}

function Column(props: ColumnProps) {
  const { walk: w, drawing: d, k, x, bottom } = props;
  const p = d.profile;
  const need = d.need.working_m;
  const i0 = sampleAt(d, props.from);
  const i1 = sampleAt(d, props.to);
  const y = (m: number) => bottom - (m - props.from) * k;
  const yi = (i: number) => y(Math.min(props.to, Math.max(props.from, i * p.step_m)));
  const least = (i: number) => halfOf(p.step[i] as Step) + 2;
  const left = (i: number) => x - Math.max(least(i), p.left_m[i]! * k);
  const right = (i: number) => x + Math.max(least(i), p.right_m[i]! * k);
  const parts = runs(p.step.slice(i0, i1 + 1)).map((r) => ({ ...r, from: r.from + i0, to: r.to + i0 }));
  const top = y(props.to);
  const g = need * k;
  const inside = (m: number) => m >= props.from - 0.01 && m < props.to;
  let gone = 0;
  const legs = w.legs.map((l) => {
    const start = gone;
    gone += l.length_m;
    return { ...l, start };
  });
  const marks: { m: number; n: number }[] = [];
  for (let n = 5; n * 60 < w.duration_s; n += 5) {
    const m = metresAt(w, n * 60);
    if (inside(m)) marks.push({ m, n });
  }
  let lastTop = Infinity;
  return (
    <g>
      <RoomLines
        profile={p}
        need={need}
        left={(i) => [left(i), yi(i)]}
        right={(i) => [right(i), yi(i)]}
        width={1.3}
        from={i0}
        to={i1}
      />
      <path class="need" stroke-width="1.6" d={`M${x - g} ${top}V${bottom}M${x + g} ${top}V${bottom}`} />
      {parts.map((r, j) => (
        <RibbonRun key={j} step={r.step} x={x} y1={yi(r.from)} y2={yi(r.to)} />
      ))}
      {marks.map(({ m, n }) => (
        <g key={n}>
          <path class="ink" stroke-width="1.6" d={`M${x - g - 10} ${y(m)}H${x - g}`} />
          <text class="inkf num" x={x - g - 13} y={y(m) + 4} text-anchor="end" font-size="13" font-weight="600">
            {n}
          </text>
        </g>
      ))}
      {legs
        .filter((l) => inside(l.start))
        .map((l, j, all) => {
          const ly = y(l.start);
          const roomFor = ly <= lastTop && ly > 30;
          // A name stands over its line: on two lines only where the next leg begins beyond it.
          const next = all[j + 1] ? y(all[j + 1]!.start) : 0;
          const name = ly - next > 50 && ly > 46 ? inTwo(l.name, legendLetters) : [cutTo(l.name, legendLetters)];
          if (roomFor) lastTop = ly - 19 - 15 * name.length;
          return (
            <g key={j}>
              <path class="ink" stroke-width="1.2" d={`M${x - g - 4} ${ly}H${x + g + (roomFor ? legendW - 24 : 4)}`} />
              {roomFor && (
                <>
                  <text class="ink2f" x={x + g + 6} y={ly - 5 - 15 * name.length} font-size="12.5">
                    {say(`turn.${l.turn}` as Key)}, {distance(l.length_m, settings.value.units)}
                  </text>
                  {name.map((line, n) => (
                    <text
                      key={n}
                      class="inkf"
                      x={x + g + 6}
                      y={ly - 5 - 15 * (name.length - 1 - n)}
                      font-size="13.5"
                      font-weight="700"
                    >
                      {line}
                    </text>
                  ))}
                </>
              )}
            </g>
          );
        })}
      {w.watch_points.map((wp, n) => inside(wp.from_m) && <Square key={n} n={n + 1} x={x} y={y(wp.from_m)} />)}
      {props.met
        .filter(({ m }) => inside(m))
        .map(({ m, word }, j) => (
          <g key={j}>
            <path class="ink" stroke-width="4" d={`M${x - g} ${y(m)}H${x + g}`} />
            <text class="inkf plate num" x={x + g + 6} y={y(m) + 5} font-size="13.5" font-weight="700">
              {word}
            </text>
          </g>
        ))}
      {props.at !== undefined && inside(props.at) && (
        <rect
          class="pagef ink"
          x={x - 16}
          y={y(props.at) - 4}
          width="32"
          height="8"
          rx="4"
          stroke-width="2"
          style={{ fill: "var(--sheet)" }}
        />
      )}
      {/* biome-ignore lint/a11y/noStaticElementInteractions: the slider about it takes the keys */}
      <rect
        x={x - g}
        y={top}
        width={2 * g}
        height={Math.max(0, bottom - top)}
        fill="transparent"
        onPointerMove={(e) => props.move(props.from + (bottom - e.offsetY) / k)}
        onClick={(e) => props.move(props.from + (bottom - e.offsetY) / k)}
      />
    </g>
  );
}

const legendLetters = 13; // what a legend holds of the name of a street

/** A name on one line, or on two where it is too long for one. */
function inTwo(s: string, n: number): string[] {
  const at = s.lastIndexOf(" ", n);
  return s.length <= n || at < 1 ? [cutTo(s, n)] : [s.slice(0, at), cutTo(s.slice(at + 1), n)];
}

const cutTo = (s: string, n: number) => ([...s].length > n ? `${[...s].slice(0, n - 1).join("")}…` : s);

export function Square(props: { n: number; x: number; y: number; size?: number }) {
  const s = props.size ?? 20;
  return (
    <g>
      <rect
        class="inkf casing"
        x={props.x - s / 2}
        y={props.y - s / 2}
        width={s}
        height={s}
        stroke-width="2"
        style={{ fill: "var(--ink)" }}
      />
      <text
        class="sheetf num"
        x={props.x}
        y={props.y + s * 0.27}
        text-anchor="middle"
        font-size={s * 0.75}
        font-weight="700"
      >
        {props.n}
      </text>
    </g>
  );
}

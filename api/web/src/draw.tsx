// The drawn signs: discs, level lines and textures, glyphs, bands, strips.
import type { ComponentChildren } from "preact";
import { say } from "./strings.ts";
import type { Drawing, Level } from "./types.ts";
import { between, carM, levels, levelWord, ofTen, range, shortAnswer } from "./words.ts";
import "./draw.css";

/** Ten walks like this one: open stays calm, filled does not; a bracket shows how far off that could be. */
export function Discs(props: { p: number; low: number; high: number; size?: number; bracket?: boolean }) {
  const d = props.size ?? 20;
  const gap = d * 0.3;
  const step = d + gap;
  const n = ofTen(props.p);
  const whole = Math.floor(n < 1 ? 0 : n);
  const { low, high } = between(props.low, props.high);
  const r = d / 2 - 1;
  const x = (k: number) => 1 + d / 2 + k * step;
  const height = props.bracket ? d + 12 : d;
  return (
    <svg
      class="discs"
      role="img"
      width={10 * step}
      height={height}
      viewBox={`0 0 ${10 * step} ${height}`}
      aria-label={say("discs.label", { answer: shortAnswer(props.p), range: range(props.low, props.high) })}
    >
      {Array.from({ length: 10 }, (_, k) => {
        const edge = (n > 9 && k === 9) || (n < 1 && k === 0);
        return (
          <circle
            key={k}
            cx={x(k)}
            cy={d / 2}
            r={r}
            class={k < whole || edge ? "disc-open" : "disc-full"}
            stroke-width={2}
            stroke-dasharray={edge ? "3 3" : undefined}
          />
        );
      })}
      {props.bracket && <path class="ink" stroke-width={2} d={`M${x(low - 1)} ${d + 3}v6H${x(high - 1)}v-6`} />}
    </svg>
  );
}

/** The patterns of the levels; drawn once a page, used by every SVG in it. */
export function Textures() {
  return (
    <svg width="0" height="0" aria-hidden="true" class="hidden">
      <defs>
        <pattern id="tex-some" width="7" height="7" patternUnits="userSpaceOnUse">
          <rect width="7" height="7" class="h2f" />
          <circle cx="3.5" cy="3.5" r="1.05" class="inkf" />
        </pattern>
        <pattern id="tex-tight" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="6" height="6" class="h1f" />
          <rect width="3.4" height="6" class="h3f" />
        </pattern>
        <pattern id="tex-hard" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="6" height="6" class="h4f" />
          <path class="casing" stroke-width="1.3" d="M0 0.65H6M0.65 0V6" />
        </pattern>
        <pattern id="tex-source" width="8" height="8" patternUnits="userSpaceOnUse">
          <path class="ink" stroke-width="1.1" d="M4 1.5v5M1.5 4h5" />
        </pattern>
      </defs>
    </svg>
  );
}

export const fillOf = (l: Level): string => (l === "calm" ? "var(--h1)" : `url(#tex-${l})`);

/** Width, step and amplitude of the line of each level, in px. */
const lineForm: Record<Level, { width: number; step: number; amplitude: number }> = {
  calm: { width: 2.2, step: 0, amplitude: 0 },
  some: { width: 4, step: 0, amplitude: 0 },
  tight: { width: 2.6, step: 4.5, amplitude: 3.4 },
  hard: { width: 3.4, step: 4, amplitude: 5.6 },
};

/** A straight run of line at a level from one point to another: still, or shaking. */
function levelPath(l: Level, x1: number, y1: number, x2: number, y2: number, scale = 1): string {
  const f = { step: lineForm[l].step * scale, amplitude: lineForm[l].amplitude * scale };
  const length = Math.hypot(x2 - x1, y2 - y1);
  if (f.step === 0 || length < f.step) return `M${x1.toFixed(1)} ${y1.toFixed(1)}L${x2.toFixed(1)} ${y2.toFixed(1)}`;
  const ux = (x2 - x1) / length;
  const uy = (y2 - y1) / length;
  let d = `M${x1.toFixed(1)} ${y1.toFixed(1)}`;
  for (let s = f.step / 2, side = 1; s < length; s += f.step, side = -side)
    d += `L${(x1 + ux * s - uy * f.amplitude * side).toFixed(1)} ${(y1 + uy * s + ux * f.amplitude * side).toFixed(1)}`;
  return `${d}L${x2.toFixed(1)} ${y2.toFixed(1)}`;
}

export function LevelLine(props: { level: Level; x1: number; y1: number; x2: number; y2: number; scale?: number }) {
  const k = props.scale ?? 1;
  const d = levelPath(props.level, props.x1, props.y1, props.x2, props.y2, k);
  const w = lineForm[props.level].width * k;
  return (
    <>
      <path class="casing" stroke-width={w + 3 * k} stroke-linejoin="round" d={d} />
      <path class="ink" stroke-width={w} stroke-linejoin="round" d={d} />
    </>
  );
}

/** What the four levels look like, line and fill. */
export function Key(props: { dog: string }) {
  return (
    <div>
      <p>
        <b>{say("key.head")}</b> {say("key.text")}
      </p>
      <ul class="key">
        {levels.map((l) => (
          <li key={l}>
            <svg width="48" height="20" viewBox="0 0 48 20" aria-hidden="true">
              <rect
                x="0.5"
                y="0.5"
                width="47"
                height="19"
                fill={fillOf(l)}
                class="ink"
                stroke-width="1"
                style={{ fill: fillOf(l) }}
              />
              <LevelLine level={l} x1={0} y1={10} x2={48} y2={10} />
            </svg>
            <span>
              <b>{levelWord(l)}</b>
              {say(`key.${l}`)}
            </span>
          </li>
        ))}
      </ul>
      <p class="small">{say("key.band", { dog: props.dog })}</p>
      <ul class="key" aria-label={say("key.lines")}>
        <li>
          <svg width="48" height="12" viewBox="0 0 48 12" aria-hidden="true">
            <path d="M2 6H46" stroke-width="2" style={{ stroke: "var(--blockEdge)" }} />
          </svg>
          <span>{say("key.wall")}</span>
        </li>
        <li>
          <svg width="48" height="12" viewBox="0 0 48 12" aria-hidden="true">
            <path d="M2 6H46M8 3v6M20 3v6M32 3v6M44 3v6" stroke-width="1.2" style={{ stroke: "var(--blockEdge)" }} />
          </svg>
          <span>{say("key.fence")}</span>
        </li>
        <li>
          <svg width="48" height="12" viewBox="0 0 48 12" aria-hidden="true">
            <path
              d="M2 8q4-8 8 0q4-8 8 0q4-8 8 0q4-8 8 0q4-8 8 0"
              fill="none"
              stroke-width="1.6"
              style={{ stroke: "var(--blockEdge)" }}
            />
          </svg>
          <span>{say("key.hedge")}</span>
        </li>
      </ul>
    </div>
  );
}

/** Runs of one level in a profile, as from and to sample. */
interface Run {
  level: Level;
  from: number;
  to: number;
}

export function runs(level: number[]): Run[] {
  const out: Run[] = [];
  level.forEach((l, i) => {
    const last = out[out.length - 1];
    if (last && last.level === levels[l]) last.to = i + 1;
    else out.push({ level: levels[l]!, from: i, to: i + 1 });
  });
  const end = out[out.length - 1];
  if (end) end.to = Math.max(end.from, level.length - 1);
  return out;
}

/** The whole walk as a small band that runs sideways; no side is read from it. */
export function SmallBand(props: { drawing: Drawing; width: number; height: number; times: number }) {
  const { profile: p, need } = props.drawing;
  const n = p.level.length;
  if (n < 2) return null;
  const sx = props.width / (n - 1);
  const sy = Math.min((props.height / 2 - 2) / need.working_m, (sx / p.step_m) * props.times);
  const mid = props.height / 2;
  const least = 4;
  const up = (i: number) => mid - Math.max(least, p.left_m[i]! * sy);
  const down = (i: number) => mid + Math.max(least, p.right_m[i]! * sy);
  const w = need.working_m * sy;
  const parts = runs(p.level);
  return (
    <svg width={props.width} height={props.height} viewBox={`0 0 ${props.width} ${props.height}`} aria-hidden="true">
      <Band
        parts={parts}
        profile={p}
        need={need.working_m}
        left={(i) => [i * sx, up(i)]}
        right={(i) => [i * sx, down(i)]}
        width={1}
        from={0}
        to={n - 1}
      />
      <path class="need" stroke-width="1.4" d={`M0 ${mid - w}H${props.width}M0 ${mid + w}H${props.width}`} />
      {parts.map((r, k) => (
        <LevelLine key={k} level={r.level} x1={r.from * sx} y1={mid} x2={r.to * sx} y2={mid} scale={0.8} />
      ))}
    </svg>
  );
}

/** Where a sample of a profile is drawn. */
type At = (i: number) => [number, number];

/** The band of usable room between its edges, in runs of one level. */
export function Band(props: {
  parts: Run[];
  profile: Drawing["profile"];
  need: number;
  left: At;
  right: At;
  /** of the edge lines */
  width: number;
  from: number;
  to: number;
}) {
  const { profile: p, need, width, from, to } = props;
  const points = (at: At, samples: number[]) =>
    samples
      .map((i) =>
        at(i)
          .map((v) => v.toFixed(1))
          .join(" "),
      )
      .join("L");
  return (
    <>
      {props.parts.map((r, k) => {
        const there = Array.from({ length: r.to - r.from + 1 }, (_, j) => r.from + j);
        const d = `M${points(props.left, there)}L${points(props.right, [...there].reverse())}Z`;
        return <path key={k} d={d} style={{ fill: fillOf(r.level) }} />;
      })}
      <Edge at={props.left} room={p.left_m} need={need} width={width} assumed={p.assumed_left} from={from} to={to} />
      <Edge at={props.right} room={p.right_m} need={need} width={width} assumed={p.assumed_right} from={from} to={to} />
    </>
  );
}

/** An edge line where the room is less than needed, broken where it is a default. */
function Edge(props: {
  at: (i: number) => [number, number];
  room: number[];
  need: number;
  width: number;
  assumed: boolean[];
  from?: number;
  to?: number;
}) {
  let solid = "";
  let broken = "";
  const to = props.to ?? props.room.length - 1;
  for (let i = (props.from ?? 0) + 1; i <= to; i++) {
    if (props.room[i]! >= props.need - 0.5 && props.room[i - 1]! >= props.need - 0.5) continue;
    const [x1, y1] = props.at(i - 1);
    const [x2, y2] = props.at(i);
    const d = `M${x1.toFixed(1)} ${y1.toFixed(1)}L${x2.toFixed(1)} ${y2.toFixed(1)}`;
    if (props.assumed[i]) broken += d;
    else solid += d;
  }
  return (
    <>
      <path class="ink" stroke-width={props.width} d={solid} />
      <path class="ink" stroke-width={props.width} stroke-dasharray="4 4" d={broken} />
    </>
  );
}

/** A dimensioned row of parked cars: the one ruler that stands on every street. */
export function Cars(props: { x: number; y: number; pxPerM: number; count: number }) {
  const w = carM * props.pxPerM;
  return (
    <g>
      {Array.from({ length: props.count }, (_, k) => (
        <rect
          key={k}
          x={props.x + k * w + 1}
          y={props.y}
          width={Math.max(2, w - 2)}
          height={Math.min(14, Math.max(5, w * 0.42))}
          rx="3"
          class="ink"
          stroke-width="1.8"
        />
      ))}
    </g>
  );
}

const glyphs: Record<string, ComponentChildren> = {
  dogs: <path d="M4 19v-6M14 19v-6M4 13q-1.500-2.500-2-4M4 13h10l3-5 5 1-2 3h-3" />,
  people: (
    <>
      <circle cx="12" cy="5" r="2.500" />
      <path d="M12 8v7M8 11h8M12 15l-3 6M12 15l3 6" />
    </>
  ),
  child: (
    <>
      <circle cx="12" cy="7" r="3" />
      <path d="M12 10v5M9 12h6M12 15l-2 5M12 15l2 5" />
    </>
  ),
  wheels: (
    <>
      <circle cx="6" cy="16" r="4" />
      <circle cx="18" cy="16" r="4" />
      <path d="M6 16l4-7h5l3 7" />
    </>
  ),
  traffic: (
    <>
      <path d="M3 17v-4l3-1 2-4h8l3 4 2 1v4z" />
      <circle cx="7.500" cy="18" r="1.500" />
      <circle cx="16.500" cy="18" r="1.500" />
    </>
  ),
  sounds: <path d="M2 12q2-6 4 0t4 0t3-3t3 6t3-3t3 0" />,
  other: <path d="M5 12h.01M12 12h.01M19 12h.01" />,
  wayout: <path d="M7 3v6M7 15v6M17 3v6M17 15v6M3 12h18M17 8l4 4-4 4" />,
  undo: <path d="M4 19h16M5 10h10q4 0 4 4M5 10l4-4M5 10l4 4" />,
  turned_back: (
    <>
      <circle cx="12" cy="12" r="9" />
      <path d="M9 10a4 4 0 1 1 0 5M9 6v4h4" />
    </>
  ),
  took_food: <circle cx="12" cy="12" r="9" />,
  no_food: (
    <>
      <circle cx="12" cy="12" r="9" />
      <path class="half" d="M12 3a9 9 0 0 1 0 18z" fill="currentColor" />
    </>
  ),
  over: <circle cx="12" cy="12" r="9" fill="currentColor" />,
};

/** A drawn sign; it never stands without its word. */
export function Glyph(props: { of: string }) {
  return (
    <svg class="glyph" viewBox="0 0 24 24" aria-hidden="true">
      {glyphs[props.of] ?? glyphs.other}
    </svg>
  );
}

// The drawn signs: discs, ribbons of the four steps, the key, glyphs, the lines of room.
import type { ComponentChildren } from "preact";
import { say } from "./strings.ts";
import type { Drawing, Rank, Step } from "./types.ts";
import { between, carM, ofTen, range, shortAnswer, stepMinutes } from "./words.ts";
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

/** The hatching of fixed sources; drawn once a page, used by every SVG in it. */
export function Textures() {
  return (
    <svg width="0" height="0" aria-hidden="true" class="hidden">
      <defs>
        <pattern id="tex-source" width="8" height="8" patternUnits="userSpaceOnUse">
          <path class="ink" stroke-width="1.1" d="M4 1.5v5M1.5 4h5" />
        </pattern>
      </defs>
    </svg>
  );
}

/** Heights of a ribbon that runs across, in px; calm ground has edges of 2 px in it. */
export const ribbonPX: Record<Step, number> = { 1: 18, 2: 12, 3: 9, 4: 7 };

/** A piece of ribbon that runs across, as high as its step. */
export function RibbonBar(props: { step: Step }) {
  return <span class={`ribbon k${props.step}`} style={{ height: `${ribbonPX[props.step]}px` }} aria-hidden="true" />;
}

/** Widths of a ribbon that runs up, and of its edge, in px. */
const upPX: Record<Step, number> = { 1: 12, 2: 9, 3: 7.5, 4: 6 };
const upEdgePX = 1.3;

export const halfOf = (step: Step, scale = 1): number => (upPX[step] / 2 + upEdgePX) * scale;

/** A straight run of ribbon from one point to another. */
export function RibbonRun(props: { step: Step; x: number; y1: number; y2: number; scale?: number }) {
  const { step, x, y1, y2, scale = 1 } = props;
  const d = `M${x.toFixed(1)} ${y1.toFixed(1)}V${y2.toFixed(1)}`;
  return (
    <>
      <path class={`k${step}e`} stroke-width={2 * halfOf(step, scale)} d={d} />
      <path class={`k${step}s`} stroke-width={upPX[step] * scale} d={d} />
    </>
  );
}

const steps: Step[] = [1, 2, 3, 4];

/** What the tones mean: a ribbon cut in the shares of the four steps, the minutes under it. */
export function Key(props: { rank: Rank; time: string }) {
  const { share } = props.rank;
  return (
    <figure class="key">
      <figcaption class="small">{say("key.at", { time: props.time })}</figcaption>
      <ul class="keybar" style={{ gridTemplateColumns: share.map((s) => `${Math.max(s, 0.001)}fr`).join(" ") }}>
        {steps.map((k) => (
          <li key={k} data-share={share[k - 1]}>
            {share[k - 1]! > 0 && <RibbonBar step={k} />}
            <b class="num whole">{stepMinutes(props.rank, k, false)}</b>
            <b class="num brief">{stepMinutes(props.rank, k, true)}</b>
          </li>
        ))}
      </ul>
      <p class="keyends">
        <b>{say("key.calmest")}</b>
        <b>{say("key.hardest")}</b>
      </p>
      {share[0] > 0.6 && <p class="small">{say("key.calm")}</p>}
      {share[0] < 0.1 && <p class="small">{say("key.hard")}</p>}
    </figure>
  );
}

/** Runs of one step in a profile, as from and to sample. */
interface Run {
  step: Step;
  from: number;
  to: number;
}

export function runs(profile: number[]): Run[] {
  const out: Run[] = [];
  profile.forEach((k, i) => {
    const last = out[out.length - 1];
    if (last && last.step === k) last.to = i + 1;
    else out.push({ step: k as Step, from: i, to: i + 1 });
  });
  const end = out[out.length - 1];
  if (end) end.to = Math.max(end.from, profile.length - 1);
  return out;
}

/** Where a sample of a profile is drawn. */
type At = (i: number) => [number, number];

/** The lines of usable room to either side. */
export function RoomLines(props: {
  profile: Drawing["profile"];
  need: number;
  left: At;
  right: At;
  width: number;
  from: number;
  to: number;
}) {
  const { profile: p, need, width, from, to } = props;
  return (
    <>
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

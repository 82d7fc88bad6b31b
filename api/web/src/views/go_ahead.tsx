// What lies ahead: the next thing in words, the strip at true scale, the saved map.
import { useEffect, useRef, useState } from "preact/hooks";
import { metresAt, secondsAt } from "../course.ts";
import { halfOf, RibbonRun, RoomLines, runs } from "../draw.tsx";
import { settings, theme } from "../settings.ts";
import { say } from "../strings.ts";
import { Square, sampleAt } from "../strip.tsx";
import type { Drawing, Leg, Step, Walk, WatchPoint } from "../types.ts";
import { place, putAt, type Saved } from "../walking.ts";
import { capital, cut, distance, exact } from "../words.ts";
import { spotName, spotText } from "./plan_text.tsx";

/** The next thing only: how far, what, what to do. */
export function Call(props: { saved: Saved; m: number }) {
  const { saved: s, m } = props;
  const w = s.walk;
  const u = settings.value.units;
  const next = nextThing(w, m);
  const key = next ? `${next.kind}${next.m}` : "calm";
  // Spoken when the thing changes and at 90, 40 and 0 m, not at every metre.
  const off = next ? next.m - m : 0;
  const stage = off > 90 ? 3 : off > 40 ? 2 : off > 5 ? 1 : 0;
  const spoken = useRef("");
  const [line, setLine] = useState("");
  const inWords = off < 8 ? say("go.now") : say("go.in", { distance: distance(off, u) });
  const text = next
    ? `${inWords}${next.n ? `, ${next.n}` : ""}. ${next.words}`
    : w.length_m - m < 20
      ? say("go.home")
      : say("go.calm", {
          n: Math.max(1, Math.round((secondsAt(w, Math.min(w.length_m, m + 200)) - secondsAt(w, m)) / 60)),
        });
  useEffect(() => {
    const k = key + stage;
    if (k === spoken.current) return;
    spoken.current = k;
    setLine(text);
    if (settings.value.buzz && stage === 1 && "vibrate" in navigator) navigator.vibrate([120, 120, 120]);
    if (settings.value.aloud && "speechSynthesis" in window) speechSynthesis.speak(new SpeechSynthesisUtterance(text));
  });
  return (
    <>
      <div aria-hidden="true">
        {next ? (
          <>
            <p class="call">
              <strong class="num">{inWords}</strong> {next.n && <b class="nplate num">{next.n}</b>}
            </p>
            <p class="deed" dir="auto">
              {next.words}
            </p>
          </>
        ) : (
          <p class="call">{text}</p>
        )}
      </div>
      <p class="hidden" role="status">
        {line}
      </p>
    </>
  );
}

interface Thing {
  m: number;
  kind: string;
  words: string;
  /** of a watch point */
  n?: number;
}

function nextThing(w: Walk, m: number): Thing | undefined {
  const things: Thing[] = w.watch_points
    .map((p, i) => ({ m: p.from_m, kind: p.what, words: callWords(p), n: i + 1 }))
    .filter((t) => t.m > m - 5 && t.m < m + 200);
  let gone = 0;
  for (const l of w.legs) {
    if (gone > m - 5 && gone > 5 && gone < m + 200)
      things.push({
        m: gone,
        kind: "turn",
        words: capital(say("go.in.turn", { turn: say(`turn.${l.turn}`), name: l.name })),
      });
    gone += l.length_m;
  }
  const [first, second] = things.sort((a, b) => a.m - b.m);
  // A turn into what is to be watched is both: neither may hide the other.
  if (first && second && second.m - first.m < togetherM && (first.kind === "turn") !== (second.kind === "turn")) {
    const [turn, spot] = first.kind === "turn" ? [first, second] : [second, first];
    return { ...spot, m: first.m, words: `${turn.words} ${spot.words}` };
  }
  return first;
}

/** How near to each other two things are one to whoever walks there. */
const togetherM = 5;

function callWords(p: WatchPoint): string {
  const name = p.name.split(/\s+/).slice(0, 4).join(" ");
  // That it is narrow is told by the room there is.
  return say("go.spot", { name: capital(p.what === "pinch" ? name : spotName({ ...p, name })), text: spotText(p) });
}

const ribbonScale = 1.8; // read at arm's length

/** The strip ahead, at true scale: the same scale on short phones, fewer metres. */
export function AheadPicture(props: {
  saved: Saved;
  m: number /** what at the top belongs to a switch, in px */;
  under: number;
}) {
  const { under } = props;
  const { saved: s, m } = props;
  const box = useRef<SVGSVGElement>(null);
  const stand = place.value;
  const [size, setSize] = useState({ w: 390, h: 420 });
  useEffect(() => {
    const parent = box.current?.parentElement;
    if (!parent) return;
    const seen = new ResizeObserver(() => setSize({ w: parent.clientWidth, h: parent.clientHeight }));
    seen.observe(parent);
    return () => seen.disconnect();
  }, []);
  const d = s.drawing;
  const p = d.profile;
  const need = d.need.working_m;
  const k = Math.min(2.1, (size.w / 2 - 90) / Math.max(20, Math.min(need, 70)));
  const x = size.w / 2;
  const behind = 24;
  const y = (at: number) => size.h - behind * k - (at - m) * k;
  const i0 = sampleAt(d, m - behind - 4);
  const i1 = sampleAt(d, m + size.h / k);
  const least = (i: number) => halfOf(p.step[i] as Step, ribbonScale) + 4;
  const left = (i: number) => x - Math.max(least(i), p.left_m[i]! * k);
  const right = (i: number) => x + Math.max(least(i), p.right_m[i]! * k);
  const yi = (i: number) => y(i * p.step_m);
  const parts = runs(p.step.slice(i0, i1 + 1)).map((r) => ({ ...r, from: r.from + i0, to: r.to + i0 }));
  const end = y(s.walk.length_m);
  const g = need * k;
  let gone = 0;
  const turns = s.walk.legs
    .map((l) => {
      const start = gone;
      gone += l.length_m;
      return { start, l };
    })
    .filter((t) => t.start > m - behind && t.start > 1);
  const uncertain = stand.known ? Math.max(26, Math.min(120, stand.accuracyM * k)) : 120;
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: the list under the map has a button for each street
    <svg
      ref={box}
      width={size.w}
      height={size.h}
      viewBox={`0 0 ${size.w} ${size.h}`}
      role="img"
      aria-label={say("go.strip")}
      onClick={(e) => !stand.known && putAt(Math.max(0, m + (size.h - behind * k - e.offsetY) / k))}
    >
      <RoomLines
        profile={p}
        need={need}
        left={(i) => [left(i), yi(i)]}
        right={(i) => [right(i), yi(i)]}
        width={2.6}
        from={i0}
        to={i1}
      />
      <path
        class="need"
        stroke-width="3"
        d={`M${x - g} ${Math.max(0, end)}V${size.h}M${x + g} ${Math.max(0, end)}V${size.h}`}
      />
      {parts.map((r, j) => (
        <RibbonRun key={j} step={r.step} x={x} y1={yi(r.from)} y2={yi(r.to)} scale={ribbonScale} />
      ))}
      {d.beside
        .filter((b) => b.to_m > m - behind && b.from_m < m + size.h / k)
        .map((b, j) => (
          <Beside key={j} source={b} x={x} top={y(b.to_m)} k={k} width={size.w} least={under} />
        ))}
      {turns
        .filter(({ start }) => y(start) > under + 44)
        .map(({ start, l }, j) => (
          <Turn key={j} leg={l} x={x} y={y(start)} half={g} />
        ))}
      {s.walk.watch_points.map(
        (wp, n) =>
          wp.from_m > m - behind && (
            <Square key={n} n={n + 1} x={Math.abs(wp.from_m - m) * k < 24 ? x - 44 : x} y={y(wp.from_m)} size={30} />
          ),
      )}
      <text class="inkf plate" x="10" y={under + 18} font-size="16" font-weight="600">
        {say("strip.left")}
      </text>
      <text class="inkf plate" x={size.w - 10} y={under + 18} text-anchor="end" font-size="16" font-weight="600">
        {say("strip.right")}
      </text>
      <text class="needf plate" x={x + g + 8} y={under + 46} font-size="16" font-weight="700">
        {exact(need, settings.value.units)}
      </text>
      {end > 0 && <path class="ink" stroke-width="4" d={`M${x - 14} ${end + 16}V${end}H${x + 14}V${end + 16}`} />}
      <rect
        x={x - uncertain / 2}
        y={y(m) - 6}
        width={uncertain}
        height="12"
        rx="6"
        class="casing"
        stroke-width="3"
        style={{ fill: "var(--ink)" }}
      />
      <text class="inkf plate" x={x + uncertain / 2 + 6} y={y(m) + 6} font-size="16" font-weight="600">
        {say("go.you")}
      </text>
    </svg>
  );
}

/** The drawn map that was saved with the walk, for those who are lost. */
export function SavedMap(props: { saved: Saved }) {
  const box = useRef<HTMLDivElement>(null);
  const text = props.saved.pictures?.[theme.value];
  useEffect(() => {
    if (!text || !box.current) return;
    const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    // As wide as the screen and to be scrolled: made smaller, its names could not be read.
    svg.setAttribute("width", "100%");
    svg.removeAttribute("height");
    box.current.replaceChildren(document.importNode(svg, true));
  }, [text]);
  return (
    <div class="rolls" tabIndex={0} role="region" aria-label={say("map.title")}>
      {text && <div ref={box} role="img" aria-label={say("map.picture")} />}
    </div>
  );
}

/** The legs of the walk, for who knows the street they are in: the tap's twin. */
export function Streets(props: { saved: Saved; chosen: () => void }) {
  return (
    <div class="rolls" tabIndex={0} role="region" aria-label={say("go.streets")}>
      <ul class="list">
        {props.saved.walk.legs.map((l, i) => (
          <li key={i} class="row">
            <span style={{ flex: 1 }}>
              {capital(say(`turn.${l.turn}`))}, {l.name}
            </span>
            <button
              onClick={() => {
                putAt(metresAt(props.saved.walk, l.start_s + 1));
                props.chosen();
              }}
            >
              {say("go.here")}
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

/** A source beside the way, with how far off it is. */
function Beside(props: {
  source: Drawing["beside"][number];
  x: number;
  top: number;
  k: number;
  width: number;
  least: number;
}) {
  const { source: b, x, top, k } = props;
  const w = Math.max(30, (b.far_m - b.near_m) * k);
  const h = Math.max(30, (b.to_m - b.from_m) * k);
  const left = b.right ? x + b.near_m * k : x - b.near_m * k - w;
  const words = b.right ? Math.min(props.width - 8, left + w) : Math.max(8, left);
  const anchor = b.right ? "end" : "start";
  return (
    <g>
      <rect x={left} y={top} width={w} height={h} class="ink" stroke-width="2.5" style={{ fill: "url(#tex-source)" }} />
      <text
        class="inkf plate"
        x={words}
        y={Math.max(props.least + 38, top + h / 2)}
        text-anchor={anchor}
        font-size="16"
        font-weight="700"
      >
        {cut(b.name).slice(0, 18)}
      </text>
      <text
        class="inkf plate"
        x={words}
        y={Math.max(props.least + 58, top + h / 2 + 20)}
        text-anchor={anchor}
        font-size="16"
      >
        {say("around.off", { distance: distance(b.near_m, settings.value.units) })}
      </text>
    </g>
  );
}

/** Where the next leg begins, and which way. */
function Turn(props: { leg: Leg; x: number; y: number; half: number }) {
  const { leg, x, y, half } = props;
  return (
    <g>
      <path class="ink" stroke-width="2.5" d={`M${x - half - 6} ${y}H${x + half + 6}`} />
      <text class="inkf plate" x={x - half - 10} y={y - 8} text-anchor="end" font-size="16" font-weight="700">
        {capital(say(`turn.${leg.turn}`))}
      </text>
      <text class="inkf plate" x={x - half - 10} y={y + 12} text-anchor="end" font-size="16">
        {leg.name.length > 11 ? `${leg.name.slice(0, 10)}…` : leg.name}
      </text>
    </g>
  );
}

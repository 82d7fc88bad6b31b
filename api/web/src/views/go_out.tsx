// Something is there now: where to, and how that looks.
import { useEffect, useRef, useState } from "preact/hooks";
import { legAt } from "../course.ts";
import { moveWords, type Out, outWords, type Side, storedOut, stretchAt } from "../out.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Saved } from "../walking.ts";
import { distance, exact } from "../words.ts";

/** The way out that was stored with the walk; without one, that of the leg. */
export function outOf(s: Saved, m: number, side: Side): Out {
  const o = storedOut(s.outs, m, side);
  return o ? moveWords(o, s.dog) : outWords(legAt(s.walk, m), side);
}

export function WayOut(props: { saved: Saved; m: number; side: Side; pick: (s: Side) => void; clear: () => void }) {
  const { saved: s, m, side } = props;
  const words = outOf(s, m, side);
  const cover = coverWords(s, m, side);
  return (
    <div class="go">
      <header class="out">
        <div role="status">
          <h1 class="shout">{words.shout}</h1>
          {words.second && <p class="second">{words.second}</p>}
          <p class="call">{words.detail}</p>
          {cover && <p class="call">{say("go.wayout.cover", { cover })}</p>}
        </div>
      </header>
      <div class="picture">
        <OutPicture saved={s} side={side} words={words} />
      </div>
      <main class="foot">
        <p class="call">{say("go.wayout.where")}</p>
        <div class="four sides">
          {(["ahead", "left", "right", "behind"] as const).map((v) => (
            <button key={v} aria-pressed={v === side} onClick={() => props.pick(v)}>
              {say(`go.${v}`)}
            </button>
          ))}
        </div>
        <button style={{ minHeight: "80px" }} class="call" onClick={props.clear}>
          {say("go.clear")}
        </button>
      </main>
    </div>
  );
}

/** What there is to step behind on this stretch, away from where the trigger is. */
function coverWords(s: Saved, m: number, side: Side): string {
  const toward = side === "behind" ? "back" : side;
  const c = stretchAt(s.outs, m)?.aid?.cover.find((x) => x.side !== toward);
  if (!c) return "";
  const what = c.name ? say("cover.of", { what: say(`cover.${c.what}`), name: c.name }) : say(`cover.${c.what}`);
  return say(`cover.at.${c.side}`, { what, distance: distance(c.distance_m, settings.value.units) });
}

/** Where it is and which way to go, turned as one stands then. */
function OutPicture(props: { saved: Saved; side: Side; words: Out }) {
  const { turned, arrow, next } = props.words;
  const box = useRef<SVGSVGElement>(null);
  const [size, setSize] = useState({ w: 390, h: 300 });
  useEffect(() => {
    const parent = box.current?.parentElement;
    if (!parent) return;
    const seen = new ResizeObserver(() => setSize({ w: parent.clientWidth, h: parent.clientHeight }));
    seen.observe(parent);
    return () => seen.disconnect();
  }, []);
  const x = size.w / 2;
  const y = size.h * 0.55;
  const need = props.saved.drawing.need.working_m;
  const r = Math.min(size.h * 0.36, size.w * 0.3);
  const where = { ahead: 90, behind: -90, left: 180, right: 0 }[props.side] + (turned ? 180 : 0);
  const a = (where * Math.PI) / 180;
  const tx = x + Math.cos(a) * r;
  const ty = y - Math.sin(a) * r;
  const level = props.side === "left" || props.side === "right"; // its words stand under it there
  const up = Math.max(30, y - size.h * 0.36);
  const path = arrow === "none" ? "" : outPath(x, y, up, arrow, next);
  return (
    <svg ref={box} width={size.w} height={size.h} viewBox={`0 0 ${size.w} ${size.h}`} aria-hidden="true">
      <path class="need" stroke-width="3" d={arcPath(tx, ty, r * 0.8, x, y)} />
      <text
        class="needf plate"
        x={level ? Math.min(size.w - 60, Math.max(60, tx)) : tx + 20}
        y={level ? ty + 36 : Math.min(size.h - 8, Math.max(20, ty + 4))}
        text-anchor={level ? "middle" : "start"}
        font-size="16"
        font-weight="700"
      >
        {say("go.fromit", { distance: exact(need, settings.value.units) })}
      </text>
      <circle cx={tx} cy={ty} r="10" class="inkf" />
      <path class="ink" stroke-width="12" stroke-linecap="round" stroke-linejoin="round" d={path} />
      <rect x={x - 28} y={y - 6} width="56" height="12" rx="6" class="inkf" />
      <text class="inkf plate" x={x + 36} y={y + 6} font-size="16" font-weight="600">
        {say("go.you")}
      </text>
      {turned && props.side === "ahead" && (
        <text class="inkf plate" x={tx - 20} y={ty + 6} text-anchor="end" font-size="16" font-weight="600">
          {say("go.you.then")}
        </text>
      )}
    </svg>
  );
}

/** A bent arrow: at once to a side, or ahead and then to a side. */
function outPath(
  x: number,
  y: number,
  up: number,
  arrow: "up" | "left" | "right",
  then: "left" | "right" | undefined,
): string {
  const to = arrow === "up" ? then : arrow;
  if (!to) return `M${x} ${y}V${up - 20}M${x - 18} ${up - 2}L${x} ${up - 20}L${x + 18} ${up - 2}`;
  const s = to === "left" ? -1 : 1;
  const level = arrow === "up" ? up : y - 14;
  const tip = x + s * 100;
  return `M${x} ${y}V${level}H${tip}M${tip - s * 18} ${level - 18}L${tip} ${level}L${tip - s * 18} ${level + 18}`;
}

function arcPath(cx: number, cy: number, r: number, towardX: number, towardY: number): string {
  const a = Math.atan2(towardY - cy, towardX - cx);
  const p = (t: number) => `${(cx + r * Math.cos(t)).toFixed(1)} ${(cy + r * Math.sin(t)).toFixed(1)}`;
  return `M${p(a - 0.7)}A${r} ${r} 0 0 1 ${p(a + 0.7)}`;
}

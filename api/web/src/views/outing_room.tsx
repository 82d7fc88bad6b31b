// Room between dogs over time, and where everybody is minute by minute.

import { useEffect, useRef, useState } from "preact/hooks";
import { bounds, metres } from "../geo.ts";
import type { PageMap } from "../map.ts";
import { Bars, hasWebGL2 } from "../mapbox.tsx";
import { mapInfo } from "../mapinfo.ts";
import { outing, showMinute } from "../outing.ts";
import { pick, setMapCentre } from "../pick.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { type Kept, worstPairs } from "../timetable.ts";
import type { Check, Frame, Pinch, Position } from "../types.ts";
import { cut, exact } from "../words.ts";
import { at } from "./outing_list.tsx";
import "./outing_room.css";

const high = 104; // px of the band
const capNeeds = 2.5; // room beyond so many times the largest need is plenty: the band grows no wider
export const least = (p: Pinch): string => exact(Math.floor(p.least_m), settings.value.units);
export const need = (p: Pinch): string => exact(p.need_m, settings.value.units);
const clockOf = (k: Kept, f: Frame): string => at(new Date(Date.parse(k.timetable.start) + f.minute * 60000));
const whenOf = (k: Kept, p: Pinch, c: Check): string => {
  const f = c.frames.find((x) => x.clock === p.at);
  return f ? clockOf(k, f) : p.at;
};
const pinchWords = (k: Kept, p: Pinch, c: Check): string =>
  say("outing.pinch", { time: whenOf(k, p, c), a: cut(p.dogs[0]), b: cut(p.dogs[1]), least: least(p), need: need(p) });

/** The band over time: white is the room they have, blue the room they need. */
export function Room(props: { kept: Kept; check: Check }) {
  const { frames } = props.check;
  const n = frames.length;
  const worst = worstPairs(props.check).slice(0, 3);
  if (n < 2 || worst.length === 0) return <p>{say("outing.room.none")}</p>;
  const cap = capNeeds * Math.max(...frames.map((f) => f.tightest?.need_m ?? 0), 20);
  const mid = high / 2;
  const half = (m: number) => (Math.min(m, cap) / cap) * (mid - 2);
  // What they have to spare over their need, the least of three minutes and then the mean: single minutes look like thorns.
  const spare = frames.map((f) => (f.tightest ? f.tightest.least_m - f.tightest.need_m : cap));
  const near = (list: number[], i: number) => list.slice(Math.max(0, i - 1), i + 2);
  const low = spare.map((_, i) => Math.min(...near(spare, i)));
  const even = low.map((_, i) => near(low, i).reduce((a, b) => a + b, 0) / near(low, i).length);
  const have = frames.map((f, i) => (f.tightest ? f.tightest.need_m + Math.min(even[i]!, spare[i]!) : cap));
  const room = have.map(half);
  const area =
    "M" +
    room.map((h, i) => `${i} ${mid - h}`).join("L") +
    "L" +
    room
      .map((h, i) => `${i} ${mid + h}`)
      .reverse()
      .join("L") +
    "Z";
  const runs = (side: number, of: (i: number) => number | undefined) => {
    let d = "";
    for (let i = 1; i < n; i++) {
      const a = of(i - 1);
      const b = of(i);
      if (a !== undefined && b !== undefined) d += `M${i - 1} ${mid + side * a}L${i} ${mid + side * b}`;
    }
    return d;
  };
  const edge = (i: number) => (have[i]! < cap ? room[i] : undefined);
  const gauge = (i: number) => (frames[i]!.tightest ? half(frames[i]!.tightest!.need_m) : undefined);
  const now = outing.minute.value / (n - 1);
  return (
    <div class="stack">
      <div class="roomband">
        <svg
          viewBox={`0 0 ${n - 1} ${high}`}
          preserveAspectRatio="none"
          width="100%"
          height={high}
          role="img"
          aria-label={say("outing.room.label", {
            from: clockOf(props.kept, frames[0]!),
            to: clockOf(props.kept, frames[n - 1]!),
          })}
        >
          <path d={area} class="sheetf" />
          {[-1, 1].map((s) => (
            <path key={s} vector-effect="non-scaling-stroke" class="ink" stroke-width="1.3" d={runs(s, edge)} />
          ))}
          {[-1, 1].map((s) => (
            <path key={s} vector-effect="non-scaling-stroke" class="casing" stroke-width="4" d={runs(s, gauge)} />
          ))}
          {[-1, 1].map((s) => (
            <path key={s} vector-effect="non-scaling-stroke" class="need" stroke-width="2" d={runs(s, gauge)} />
          ))}
          <path vector-effect="non-scaling-stroke" class="ink" stroke-width="2.2" d={`M0 ${mid}H${n - 1}`} />
          <path
            vector-effect="non-scaling-stroke"
            class="casing"
            stroke-width="6"
            d={`M${outing.minute.value} 0V${high}`}
          />
          <path
            vector-effect="non-scaling-stroke"
            class="ink"
            stroke-width="2"
            d={`M${outing.minute.value} 0V${high}`}
          />
        </svg>
        <span
          class="nowmark num"
          style={{ left: `${(100 * now).toFixed(2)}%`, transform: `translateX(${-100 * now}%)` }}
          aria-hidden="true"
        >
          {clockOf(props.kept, frames[outing.minute.value] ?? frames[0]!)}
        </span>
        <div class="ends num" aria-hidden="true">
          <span>{clockOf(props.kept, frames[0]!)}</span>
          <span>{clockOf(props.kept, frames[n - 1]!)}</span>
        </div>
      </div>
      <p class="small">{say("outing.room.text")}</p>
      <ul class="plainlist">
        {worst.map((p) => {
          const words = pinchWords(props.kept, p, props.check);
          const i = frames.findIndex((f) => f.clock === p.at);
          return (
            <li key={words} class="row">
              <span class="grow num">{words}</span>
              {i >= 0 && (
                <button
                  aria-label={say("outing.pinch.show", { pinch: words })}
                  onClick={() => {
                    showMinute(i);

                    document.getElementById("replay")?.scrollIntoView({ block: "nearest" });
                  }}
                >
                  {say("hand.show")}
                </button>
              )}
            </li>
          );
        })}
      </ul>
    </div>
  );
}

interface Gap {
  a: number;
  b: number;
  m: number;
  need: number;
}

const tellUnder = 1.5; // times the need: a gap under it is drawn

/** The pairs of a minute that are nearer than one and a half times their need. */
function gapsOf(k: Kept, f: Frame): Gap[] {
  const out: Gap[] = [];
  const need = (dog: string) => k.timetable.rows.find((r) => r.dog === dog)?.need_m ?? 0;
  for (const [a, x] of f.dogs.entries())
    for (const [b, y] of f.dogs.entries()) {
      if (b <= a || k.timetable.together.some((t) => t.includes(x.dog) && t.includes(y.dog))) continue;
      const m = Math.hypot(...metres(x.at, y.at));
      const n = Math.max(need(x.dog), need(y.dog));
      if (m < tellUnder * n) out.push({ a, b, m, need: n });
    }
  return out;
}

/** The map, minute by minute, and the same in words. */
export function Replay(props: { kept: Kept; check: Check | undefined }) {
  const frames = props.check?.frames ?? [];
  const [playing, setPlaying] = useState(false);
  const i = Math.min(outing.minute.value, Math.max(0, frames.length - 1));
  const f = frames[i];
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const step = (n: number) => {
    showMinute(Math.min(frames.length - 1, Math.max(0, i + n)));
  };
  useEffect(() => {
    if (!playing) return;
    if (i >= frames.length - 1) return setPlaying(false);
    const t = setTimeout(() => step(1), 700);
    return () => clearTimeout(t);
  }, [playing, i]);
  const gaps = f ? gapsOf(props.kept, f) : [];
  return (
    <section id="replay" aria-label={say("outing.map")}>
      <ReplayMap kept={props.kept} frame={f} gaps={gaps} />
      {f && (
        <div class="panel stack">
          <div class="row replaykeys">
            <button onClick={() => step(-1)} disabled={i === 0}>
              {say("outing.earlier")}
            </button>
            <b class="num bigclock">{clockOf(props.kept, f)}</b>
            <button onClick={() => step(1)} disabled={i >= frames.length - 1}>
              {say("outing.later")}
            </button>
            {!still && (
              <button
                aria-pressed={playing}
                onClick={() => {
                  if (!playing && i >= frames.length - 1) showMinute(0);
                  setPlaying(!playing);
                }}
              >
                {say(playing ? "outing.pause" : "outing.play")}
              </button>
            )}
          </div>
          <input
            class="range"
            type="range"
            min={0}
            max={frames.length - 1}
            value={i}
            aria-label={say("outing.minute")}
            aria-valuetext={clockOf(props.kept, f)}
            onInput={(e) => {
              showMinute(Number(e.currentTarget.value));
            }}
          />
          <p>
            {words(props.kept, f)}{" "}
            {gaps
              .map((g) =>
                say("outing.at.near", {
                  a: cut(f.dogs[g.a]!.dog),
                  b: cut(f.dogs[g.b]!.dog),
                  distance: exact(g.m, settings.value.units),
                  need: exact(g.need, settings.value.units),
                }),
              )
              .join(" ")}
          </p>
        </div>
      )}
    </section>
  );
}

function words(k: Kept, f: Frame): string {
  const names = f.dogs.map((d) => cut(d.dog)).join(", ");
  const time = clockOf(k, f);
  return f.dogs.length === 0 ? say("outing.at.none", { time }) : say("outing.at", { time, names, n: f.dogs.length });
}

type Project = (at: Position) => [number, number];

/** Walks fitted into a box where there is no map. */
function plain(line: Position[], w: number, h: number): Project {
  const [a, b] = bounds(line);
  const [mx, my] = metres(b, a);
  const pad = 40;
  const k = Math.min((w - 2 * pad) / Math.max(mx, 1), (h - 2 * pad) / Math.max(my, 1));
  return (p) => {
    const [x, y] = metres(p, a);
    return [w / 2 + (x - mx / 2) * k, h / 2 - (y - my / 2) * k];
  };
}

export function ReplayMap(props: { kept: Kept | undefined; frame: Frame | undefined; gaps: Gap[] }) {
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<PageMap>();
  const [, moved] = useState(0);
  const [size, setSize] = useState<[number, number]>([360, 392]);
  const [open, setOpen] = useState(false);
  const [bad, setBad] = useState(false);
  const [pxPerM, setScale] = useState(0);
  const gate =
    props.kept?.timetable.gate_position ??
    (outing.wish.value.gate ? ([outing.wish.value.gate.at.lon, outing.wish.value.gate.at.lat] as Position) : undefined);
  const rows = props.kept?.timetable.rows ?? [];
  const all = rows.length
    ? rows.flatMap((r) => r.geometry.coordinates)
    : gate
      ? [[gate[0] - 0.006, gate[1] - 0.004] as Position, [gate[0] + 0.006, gate[1] + 0.004] as Position]
      : [];
  const key = JSON.stringify([gate, all.length, all[7], all[all.length >> 1]]);
  const largest = Math.max(0, ...rows.map((r) => r.need_m));
  const drawn = hasWebGL2 && !bad;
  useEffect(() => {
    if (!mapInfo.value || !box.current || !drawn) return;
    let gone = false;
    const target = box.current;
    const info = mapInfo.value;
    void import("../map.ts")
      .then(({ PageMap }) => {
        if (gone) return;
        map.current = new PageMap(target, {
          bbox: info.bbox,
          ...(gate ? { centre: gate } : {}),
          label: say("outing.map.label"),
          tap: (at) => pick.value?.(at),
          scale: setScale,
          moving: () => moved((n) => n + 1),
        });
        map.current.show(gate ? { start: gate } : {});
        if (all.length) map.current.fit(all);
        setMapCentre(() => map.current!.centre());
        moved((n) => n + 1);
      })
      .catch(() => setBad(true));
    return () => {
      gone = true;
      if (map.current) setMapCentre(undefined);
      map.current?.remove();
      map.current = undefined;
    };
  }, [mapInfo.value?.name]);
  useEffect(() => {
    map.current?.show(gate ? { start: gate } : {});
    if (all.length) map.current?.fit(all);
  }, [key]);
  useEffect(() => map.current?.open(open), [open]);
  useEffect(() => {
    const b = box.current?.parentElement;
    if (!b) return;
    const seen = new ResizeObserver(() => setSize([b.clientWidth, b.clientHeight]));
    seen.observe(b);
    return () => seen.disconnect();
  }, []);
  const to: Project | undefined = drawn
    ? map.current
      ? (p) => map.current!.onScreen(p)
      : undefined
    : all.length
      ? plain(all, ...size)
      : undefined;
  return (
    <div class="mapbox replaymap">
      <div class="canvas" ref={box} />
      {to && (
        <Plates
          to={to}
          kept={props.kept}
          frame={props.frame}
          gaps={props.gaps}
          size={size}
          plainGate={drawn ? undefined : gate}
        />
      )}
      {drawn && pxPerM > 0 && (
        <Bars
          pxPerM={pxPerM}
          need={largest > 0 ? { kind: "dogs", working_m: largest, reaction_m: 0 } : undefined}
          said={say("outing.map.need", { distance: exact(largest, settings.value.units) })}
        />
      )}
      {drawn ? (
        <div class="tools only-narrow">
          <button aria-pressed={open} onClick={() => setOpen(!open)}>
            {say(open ? "map.close" : "map.open")}
          </button>
        </div>
      ) : (
        <p class="small onpage">{say("outing.map.plain")}</p>
      )}
    </div>
  );
}

const plateHigh = 28;

/** Names on plates where the dogs are, the ways they walk, and the gaps. */
function Plates(props: {
  to: Project;
  kept: Kept | undefined;
  frame: Frame | undefined;
  gaps: Gap[];
  size: [number, number];
  plainGate: Position | undefined;
}) {
  const dogs = props.frame?.dogs ?? [];
  const spots = dogs.map((d) => props.to(d.at));
  const path = (line: Position[]) =>
    "M" +
    line
      .map((p) =>
        props
          .to(p)
          .map((v) => v.toFixed(1))
          .join(" "),
      )
      .join("L");
  const plates: { x: number; y: number; w: number; name: string }[] = [];
  dogs.forEach((d, i) => {
    const name = cut(d.dog);
    const w = [...name].length * 9.4 + 18;
    const x = Math.min(Math.max(spots[i]![0], w / 2 + 4), Math.max(w / 2 + 4, props.size[0] - w / 2 - 4));
    let y = spots[i]![1] - plateHigh / 2 - 8;
    while (plates.some((q) => Math.abs(q.y - y) < plateHigh + 3 && Math.abs(q.x - x) < (q.w + w) / 2 + 3))
      y -= plateHigh + 4;
    plates.push({ x, y: Math.max(plateHigh / 2 + 2, y), w, name });
  });
  return (
    <svg class="plates" width={props.size[0]} height={props.size[1]} aria-hidden="true">
      {props.kept?.timetable.rows
        .filter((r) => dogs.some((d) => d.dog === r.dog))
        .map((r) => (
          <path
            key={r.dog}
            class="ink2s"
            stroke-width="2.4"
            stroke-linecap="round"
            stroke-dasharray="0.1 6"
            d={path(r.geometry.coordinates)}
          />
        ))}
      {props.plainGate && (
        <path
          class="ink"
          stroke-width="3"
          d={((x, y) => `M${x - 8} ${y + 8}V${y - 8}H${x + 8}V${y + 8}`)(...props.to(props.plainGate))}
        />
      )}
      {props.gaps.map((g) => {
        const [x1, y1] = spots[g.a]!;
        const [x2, y2] = spots[g.b]!;
        return (
          <g key={`${g.a} ${g.b}`}>
            <path class="casing" stroke-width="7" d={`M${x1} ${y1}L${x2} ${y2}`} />
            <path class="need" stroke-width="3" d={`M${x1} ${y1}L${x2} ${y2}`} />
            <text class="needf plate num" x={(x1 + x2) / 2 + 8} y={(y1 + y2) / 2 + 22} font-size="15" font-weight="700">
              {exact(g.m, settings.value.units)}
            </text>
          </g>
        );
      })}
      {plates.map((p, i) => (
        <g key={p.name}>
          <path class="casing" stroke-width="5" d={`M${spots[i]![0]} ${spots[i]![1]}L${p.x} ${p.y}`} />
          <path class="ink" stroke-width="2" d={`M${spots[i]![0]} ${spots[i]![1]}L${p.x} ${p.y}`} />
          <rect
            class="inkf"
            x={p.x - p.w / 2}
            y={p.y - plateHigh / 2}
            width={p.w}
            height={plateHigh}
            rx="3"
            style={{ stroke: "var(--sheet)", strokeWidth: 2 }}
          />
          <text
            class="sheetf"
            x={p.x}
            y={p.y + 5.5}
            text-anchor="middle"
            font-size="16"
            font-weight="700"
            direction="ltr"
          >
            {p.name}
          </text>
        </g>
      ))}
    </svg>
  );
}

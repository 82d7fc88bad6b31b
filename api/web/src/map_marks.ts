// Marks whose places depend on the scale: arrowheads along a walk and the plates of watch
// points beside it. In pixels of the map at a zoom, y down.

import type { Position } from "./types.ts";

type XY = readonly [number, number];

const tilePX = 512;

/** A place in pixels of the whole world's map at a zoom (Web Mercator). */
export function worldPX(p: Position, zoom: number): XY {
  const size = tilePX * 2 ** zoom;
  const s = Math.sin((p[1] * Math.PI) / 180);
  return [((p[0] + 180) / 360) * size, (0.5 - Math.log((1 + s) / (1 - s)) / (4 * Math.PI)) * size];
}

export function worldPlace([x, y]: XY, zoom: number): Position {
  const size = tilePX * 2 ** zoom;
  return [(x / size) * 360 - 180, (Math.atan(Math.sinh(Math.PI * (1 - (2 * y) / size))) * 180) / Math.PI];
}

/** Pixels in a metre. */
export const pxPerM = (lat: number, zoom: number): number =>
  (tilePX * 2 ** zoom) / (40075016.686 * Math.cos((lat * Math.PI) / 180));

/** The zoom at which a metre has so many pixels. */
export const zoomFor = (lat: number, px: number): number => Math.log2(px / pxPerM(lat, 0));

export interface Head {
  at: Position;
  /** degrees clockwise from right */
  turn: number;
}

const headEveryPX = 100;
const firstHeadPX = 50;
const firstHeadM = 50;
const leastHeads = 3;

/** Arrowheads: one near the door, then every hundred pixels, never fewer than three. */
export function heads(line: Position[], zoom: number, asidePX = 0): Head[] {
  const px = line.map((p) => worldPX(p, zoom));
  const total = px.reduce((n, p, i) => (i ? n + Math.hypot(p[0] - px[i - 1]![0], p[1] - px[i - 1]![1]) : 0), 0);
  const first = Math.min(firstHeadPX, firstHeadM * pxPerM(line[0]![1], zoom), total / (leastHeads + 1));
  const every = Math.min(headEveryPX, (total - first) / leastHeads);
  const out: Head[] = [];
  let next = first;
  let gone = 0;
  for (let i = 1; i < px.length && every > 0; i++) {
    const [a, b] = [px[i - 1]!, px[i]!];
    const n = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const [ux, uy] = [(b[0] - a[0]) / n, (b[1] - a[1]) / n];
    for (; n > 0 && next <= gone + n; next += every) {
      const d = next - gone;
      out.push({
        at: worldPlace([a[0] + ux * d - uy * asidePX, a[1] + uy * d + ux * asidePX], zoom),
        turn: (Math.atan2(uy, ux) * 180) / Math.PI,
      });
    }
    gone += n;
  }
  return out;
}

export interface Plate {
  /** "2", or "2–3" for two too near each other at this zoom */
  n: string;
  at: Position;
  /** on the walk */
  foot: Position;
}

const offsPX = [28, -28, 36, -36, 44, -44, 50, -50];
const clearPX = 8; // from the edge of a plate to any part of the walk

/** Plates of watch points beside the line, in walking order: none over the walk, no two in each other's way. */
export function plates(
  points: { at: Position; angle: number; n: number }[],
  line: Position[],
  zoom: number,
  sizePX: number,
): Plate[] {
  const px = line.map((p) => worldPX(p, zoom));
  const groups: { from: number; to: number; at: XY; angle: number }[] = [];
  for (const p of points) {
    const at = worldPX(p.at, zoom);
    const last = groups[groups.length - 1];
    if (last && Math.hypot(at[0] - last.at[0], at[1] - last.at[1]) < sizePX) last.to = p.n;
    else groups.push({ from: p.n, to: p.n, at, angle: p.angle });
  }
  const put: XY[] = [];
  return groups.map((g) => {
    // Round about, beside the way first: the nearest place that is free, else the freest.
    const tries: XY[] = offsPX.flatMap((off) =>
      [0, 35, -35, 70, -70].map((deg): XY => {
        const a = g.angle + Math.PI / 2 + (deg * Math.PI) / 180;
        return [g.at[0] + Math.cos(a) * off, g.at[1] - Math.sin(a) * off];
      }),
    );
    const room = (t: XY) =>
      Math.min(
        offLine(t, px) - sizePX / 2 - clearPX,
        ...put.map((o) => Math.hypot(t[0] - o[0], t[1] - o[1]) - sizePX - 8),
      );
    const spot = tries.find((t) => room(t) >= 0) ?? tries.reduce((a, b) => (room(b) > room(a) ? b : a));
    put.push(spot);
    const n = g.from === g.to ? String(g.from) : `${g.from}–${g.to}`;
    return { n, at: worldPlace(spot, zoom), foot: worldPlace(g.at, zoom) };
  });
}

function offLine(p: XY, line: XY[]): number {
  let best = Infinity;
  for (let i = 1; i < line.length; i++) {
    const [a, b] = [line[i - 1]!, line[i]!];
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const len2 = dx * dx + dy * dy;
    const t = len2 === 0 ? 0 : Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / len2));
    best = Math.min(best, Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy));
  }
  return best;
}

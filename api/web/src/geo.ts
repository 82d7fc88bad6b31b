// Small distances on a small piece of ground: degrees against metres about a place.
import type { Position, Walk } from "./types.ts";

const mPerDegLat = 111320; // along a meridian, to 0.7 per cent: for what is drawn and matched, not for planning

/** Metres east and north of an origin. */
export function metres(p: Position, o: Position): [number, number] {
  return [(p[0] - o[0]) * mPerDegLat * Math.cos((o[1] * Math.PI) / 180), (p[1] - o[1]) * mPerDegLat];
}

export function degrees(m: [number, number], o: Position): Position {
  return [o[0] + m[0] / (mPerDegLat * Math.cos((o[1] * Math.PI) / 180)), o[1] + m[1] / mPerDegLat];
}

export function walkLine(w: Walk): Position[] {
  const out: Position[] = [];
  for (const l of w.legs)
    for (const p of l.geometry.coordinates)
      if (!out.length || out[out.length - 1]![0] !== p[0] || out[out.length - 1]![1] !== p[1]) out.push(p);
  return out;
}

export interface Matched {
  m: number;
  offM: number;
}

/** The farthest place of a walk that was reached, and by how much the receiver strays. */
export interface Reached {
  m: number;
  strayM: number;
}

/** What it costs at most to match a place behind what was reached, in metres off the
 * line: where out and back are one street, the way back goes before the way out again,
 * but who does turn round is followed. */
const mostBackM = 10;

/** Where on a line a place lies, preferring what is near a distance already walked and
 * not behind what was reached. */
export function match(line: Position[], p: Position, near?: number, reached?: Reached): Matched {
  let best: Matched = { m: 0, offM: Infinity };
  let cost = Infinity;
  let gone = 0;
  for (let i = 1; i < line.length; i++) {
    const [bx, by] = metres(line[i]!, line[i - 1]!);
    const [px, py] = metres(p, line[i - 1]!);
    const len = Math.hypot(bx, by);
    const t = len === 0 ? 0 : Math.min(1, Math.max(0, (px * bx + py * by) / (len * len)));
    const off = Math.hypot(px - t * bx, py - t * by);
    const m = gone + t * len;
    const far = near === undefined ? 0 : 0.05 * Math.abs(m - near);
    const back = reached ? Math.min(mostBackM, 0.5 * Math.max(0, reached.m - reached.strayM - m)) : 0;
    if (off + far + back < cost) {
      cost = off + far + back;
      best = { m, offM: off };
    }
    gone += len;
  }
  return best;
}

/** The place at a distance along a line and the direction there, in radians from east. */
export function along(line: Position[], m: number): { at: Position; angle: number } {
  let gone = 0;
  for (let i = 1; i < line.length; i++) {
    const [bx, by] = metres(line[i]!, line[i - 1]!);
    const len = Math.hypot(bx, by);
    if (len > 0 && (gone + len >= m || i === line.length - 1)) {
      const t = Math.min(1, Math.max(0, (m - gone) / len));
      return { at: degrees([bx * t, by * t], line[i - 1]!), angle: Math.atan2(by, bx) };
    }
    gone += len;
  }
  return { at: line[0]!, angle: 0 };
}

/** A line in two, so many metres from its beginning. */
export function cutAt(line: Position[], m: number): [before: Position[], after: Position[]] {
  let gone = 0;
  for (let i = 1; i < line.length; i++) {
    const [bx, by] = metres(line[i]!, line[i - 1]!);
    const len = Math.hypot(bx, by);
    if (gone + len > m) {
      const t = Math.max(0, m - gone) / len;
      const at = degrees([bx * t, by * t], line[i - 1]!);
      return [
        [...line.slice(0, i), at],
        [at, ...line.slice(i)],
      ];
    }
    gone += len;
  }
  return [line, []];
}

export function bounds(line: Position[]): [Position, Position] {
  const xs = line.map((p) => p[0]);
  const ys = line.map((p) => p[1]);
  return [
    [Math.min(...xs), Math.min(...ys)],
    [Math.max(...xs), Math.max(...ys)],
  ];
}

/** Metres from a place to an area, 0 inside it. */
export function offArea(p: Position, rings: Position[][]): number {
  let best = Infinity;
  let inside = false;
  for (const ring of rings)
    for (let i = 1; i < ring.length; i++) {
      const [ax, ay] = metres(ring[i - 1]!, p);
      const [bx, by] = metres(ring[i]!, p);
      const len2 = (bx - ax) ** 2 + (by - ay) ** 2;
      const t = len2 === 0 ? 0 : Math.min(1, Math.max(0, -(ax * (bx - ax) + ay * (by - ay)) / len2));
      best = Math.min(best, Math.hypot(ax + t * (bx - ax), ay + t * (by - ay)));
      if (ay > 0 !== by > 0 && ax + (-ay / (by - ay)) * (bx - ax) > 0) inside = !inside;
    }
  return inside ? 0 : best;
}

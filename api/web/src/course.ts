// A walk in the course of it: seconds, metres and legs.
import type { Leg, Walk } from "./types.ts";

/** Seconds into the walk at a distance. */
export function secondsAt(w: Walk, m: number): number {
  let from = 0;
  for (const l of w.legs) {
    if (m <= from + l.length_m) return l.start_s + (l.duration_s * (m - from)) / Math.max(1, l.length_m);
    from += l.length_m;
  }
  return w.duration_s;
}

/** Metres into the walk after some seconds. */
export function metresAt(w: Walk, s: number): number {
  let gone = 0;
  for (const l of w.legs) {
    if (s <= l.start_s + l.duration_s)
      return gone + (l.length_m * Math.max(0, s - l.start_s)) / Math.max(1, l.duration_s);
    gone += l.length_m;
  }
  return gone;
}

/** The leg at a distance into the walk. */
export function legAt(w: Walk, m: number): Leg {
  let gone = 0;
  for (const l of w.legs) {
    gone += l.length_m;
    if (m < gone) return l;
  }
  return w.legs[w.legs.length - 1]!;
}

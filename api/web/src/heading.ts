// Which way somebody walks, from what the receiver told last.
import { metres } from "./geo.ts";
import type { Position } from "./types.ts";

/** One place that the receiver told, and when, in milliseconds. */
export interface Fix {
  at: Position;
  t: number;
}

const backM = 30; // the direction is that of the last 30 m
const leastM = 10; // less than this says nothing, as far as receivers stray
const standS = 20;
const standM = 8; // who came no farther in that time stands

const off = (a: Fix, b: Fix): number => Math.hypot(...metres(a.at, b.at));

/** What of a track is still needed, with one place more. */
export function longer(track: Fix[], next: Fix): Fix[] {
  const first = track.findIndex((f) => off(f, next) < 2 * backM || next.t - f.t < 2000 * standS);
  return [...(first < 0 ? [] : track.slice(first)), next];
}

/** The direction of the last metres walked, in radians from east; nothing while one stands,
 * or has hardly begun. */
export function headingOf(track: Fix[]): number | undefined {
  const now = track[track.length - 1];
  if (!now) return undefined;
  const then = track.findLast((f) => now.t - f.t >= 1000 * standS);
  if (then && off(then, now) < standM) return undefined;
  const from = track.findLast((f) => off(f, now) >= backM) ?? track[0]!;
  const [x, y] = metres(now.at, from.at);
  return Math.hypot(x, y) < leastM ? undefined : Math.atan2(y, x);
}

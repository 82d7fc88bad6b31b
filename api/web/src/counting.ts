// Ten minutes at a corner: who passes, tapped one by one, and sent when it can be.
import { type ReadonlySignal, signal } from "@preact/signals";
import { keep, kept } from "./kept.ts";
import { newID, post } from "./outbox.ts";
import type { LatLon } from "./types.ts";

export const counted = ["dogs", "people", "wheels", "traffic"] as const;
export type Counted = (typeof counted)[number];

/** A count under way; it outlives a change of view and a reload. */
export interface Counting {
  at: LatLon;
  /** ms since 1970 */
  begun: number;
  /** what is counted, and how many so far */
  n: Partial<Record<Counted, number>>;
  /** taps in order, to take the last back */
  taps: Counted[];
}

export const fullMS = 10 * 60e3;
/** Shorter says too little. */
export const leastMS = 60e3;

const own = signal<Counting | undefined>(kept<Counting>("counting"));
export const counting: ReadonlySignal<Counting | undefined> = own;

function set(c: Counting | undefined): void {
  own.value = c;
  keep("counting", c ?? null);
}

export function beginCount(at: LatLon, of: readonly Counted[]): void {
  set({ at, begun: Date.now(), n: Object.fromEntries(of.map((k) => [k, 0])), taps: [] });
}

/** How long it has run, the full time at most. */
export const ranMS = (c: Counting, now = Date.now()): number => Math.max(0, Math.min(fullMS, now - c.begun));

/** One more; after the full time nobody counts. */
export function passes(k: Counted): void {
  const c = own.value;
  if (!c || Date.now() - c.begun >= fullMS) return;
  set({ ...c, n: { ...c.n, [k]: (c.n[k] ?? 0) + 1 }, taps: [...c.taps, k] });
}

export function takeBack(): void {
  const c = own.value;
  const k = c?.taps.at(-1);
  if (!c || !k) return;
  set({ ...c, n: { ...c.n, [k]: (c.n[k] ?? 1) - 1 }, taps: c.taps.slice(0, -1) });
}

export const dropCount = (): void => set(undefined);

/** Sends what was counted until now. */
export async function keepCount(): Promise<void> {
  const c = own.value;
  if (!c || ranMS(c) < leastMS) return;
  set(undefined);
  await post({
    id: newID(),
    at: Date.now(),
    path: "/v1/counts",
    body: {
      lat: c.at.lat,
      lon: c.at.lon,
      start: new Date(c.begun).toISOString(),
      minutes: Math.floor(ranMS(c) / 6e3) / 10,
      ...c.n,
    },
  });
}

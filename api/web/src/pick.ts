// Taps on the map: where the next one goes, while a choice waits for it, and the
// middle of what is in view for those who cannot tap.
import { type ReadonlySignal, signal } from "@preact/signals";
import type { LatLon } from "./types.ts";

const waiting = signal<((at: LatLon) => void) | undefined>(undefined);
export const pick: ReadonlySignal<((at: LatLon) => void) | undefined> = waiting;
export function pickNext(take: ((at: LatLon) => void) | undefined): void {
  waiting.value = take;
}

const centre = signal<(() => LatLon) | undefined>(undefined);
/** Gives the middle of the map in view, once there is one that takes taps. */
export const mapCentre: ReadonlySignal<(() => LatLon) | undefined> = centre;
export function setMapCentre(give: (() => LatLon) | undefined): void {
  centre.value = give;
}

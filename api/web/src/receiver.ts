// The device's receiver, asked while something is under way.
import { type Fix, headingOf, longer } from "./heading.ts";
import type { Position } from "./types.ts";

/** A place as the receiver told it. */
export interface Told {
  at: Position;
  accuracyM: number;
  /** near enough to be shown and gone by */
  known: boolean;
  /** the direction of the last metres walked, in radians from east; none while one stands */
  heading: number | undefined;
}

const knownM = 30; // a place told less exactly than this says nothing of a street

/** Tells every place until it is ended, and when none can be had. */
export function receive(told: (t: Told) => void, lost: () => void): () => void {
  if (!("geolocation" in navigator)) return () => undefined;
  let track: Fix[] = [];
  const watch = navigator.geolocation.watchPosition(
    ({ coords }) => {
      const at: Position = [coords.longitude, coords.latitude];
      const known = coords.accuracy <= knownM;
      if (known) track = longer(track, { at, t: Date.now() });
      told({ at, accuracyM: coords.accuracy, known, heading: headingOf(track) });
    },
    lost,
    { enableHighAccuracy: true, maximumAge: 2000 },
  );
  return () => navigator.geolocation.clearWatch(watch);
}

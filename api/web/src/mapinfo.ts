// The map that the server plans on.
import { type ReadonlySignal, signal } from "@preact/signals";
import { ask, type Fault, faultOf } from "./api.ts";
import { keep, kept } from "./kept.ts";
import type { LatLon, MapInfo } from "./types.ts";

const own = signal<MapInfo | undefined>(undefined);
export const mapInfo: ReadonlySignal<MapInfo | undefined> = own;
const lost = signal<Fault | undefined>(undefined);
/** Why there is none. */
export const mapFault: ReadonlySignal<Fault | undefined> = lost;

export const zone = (): string => mapInfo.value?.time_zone ?? "UTC";

/** Whether a place lies on a map. */
export function onMap(m: MapInfo, p: LatLon): boolean {
  const [w, s, e, n] = m.bbox;
  return p.lon >= w && p.lon <= e && p.lat >= s && p.lat <= n;
}

/** Asks for the map; without a network it is the last that there was. */
export async function findMap(): Promise<MapInfo | undefined> {
  lost.value = undefined;
  try {
    const m = await ask("get", "/v1/map");
    keep("map", m);
    return m;
  } catch (err) {
    const last = kept<MapInfo>("map");
    if (!last) lost.value = faultOf(err);
    return last;
  }
}

export function setMap(m: MapInfo): void {
  own.value = m;
}

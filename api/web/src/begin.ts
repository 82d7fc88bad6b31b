// What the page does first, and again once it has a key: find the map, then the dogs.
import { batch } from "@preact/signals";
import { lendDog, loadDogs } from "./dogs.ts";
import { findMap, onMap, setMap } from "./mapinfo.ts";
import { beginAt } from "./plan.ts";
import type { MapInfo } from "./types.ts";
import { instant } from "./words.ts";

export async function begin(): Promise<void> {
  // Both are asked for at once: a phone far from the server waits one time, not two.
  const found = findMap();
  await loadDogs(found.then((map) => map?.demo && lendDog(map.demo.dog)));
  const map = await found;
  if (map)
    batch(() => {
      beginAt((p) => onMap(map, p.at), map.demo?.from, demoDepart(map));
      setMap(map);
    });
}

/** The invented morning of the demo: the coming 07:10 of the place. */
function demoDepart(map: MapInfo): string {
  const now = new Date(map.now);
  for (let d = 0; d < 2; d++) {
    const day = new Intl.DateTimeFormat("en-CA", { timeZone: map.time_zone }).format(
      new Date(now.getTime() + d * 864e5),
    );
    const t = instant(day, "07:10", map.time_zone);
    if (t > now) return t.toISOString();
  }
  return "";
}

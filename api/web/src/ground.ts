// The ground along a walk, kept on the device: what the map asks for is answered from
// there when the network is gone.
import { degrees } from "./geo.ts";
import type { Position } from "./types.ts";

/** Deepest tiles that the server makes; nearer looks are drawn from these. */
export const deepest = 15;

/** Name of the cache; the service worker (sw.ts) looks there. */
const groundCache = "ground";

/** Column and row of the tile with a place (Web Mercator, as of the OGC's Tile Matrix Set "WebMercatorQuad"). */
function tileOf([lon, lat]: Position): [number, number] {
  const n = 2 ** deepest;
  const y = Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI;
  return [Math.floor(((lon + 180) / 360) * n), Math.floor(((1 - y) / 2) * n)];
}

/** Paths of the tiles that come within so many metres of a line. */
export function tilesAlong(line: Position[], withinM: number): string[] {
  const found = new Set<string>();
  for (const p of line) {
    const [x0, y0] = tileOf(degrees([-withinM, withinM], p));
    const [x1, y1] = tileOf(degrees([withinM, -withinM], p));
    for (let x = x0; x <= x1; x++) for (let y = y0; y <= y1; y++) found.add(`/tiles/${deepest}/${x}/${y}.mvt`);
  }
  return [...found];
}

/** Keeps the ground along a walk in place of that of the walk before. */
export async function keepGround(line: Position[], withinM: number): Promise<void> {
  try {
    const cache = await caches.open(groundCache);
    const paths = tilesAlong(line, withinM);
    await cache.addAll(paths);
    const wanted = new Set(paths);
    for (const r of await cache.keys()) if (!wanted.has(new URL(r.url).pathname)) await cache.delete(r);
  } catch {
    // the walk is told without its ground
  }
}

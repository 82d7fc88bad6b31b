// What is laid over the map, as features.

import { metresAt } from "./course.ts";
import { along, bounds, cutAt, metres, walkLine } from "./geo.ts";
import { say } from "./strings.ts";
import type { Drawing, Position, RankedStreets, Walk } from "./types.ts";

export type Features = {
  type: "FeatureCollection";
  features: {
    type: "Feature";
    geometry: { type: string; coordinates: unknown };
    properties: Record<string, unknown>;
  }[];
};

export const none: Features = { type: "FeatureCollection", features: [] };

export const feature = (type: string, coordinates: unknown, properties: Record<string, unknown>) => ({
  type: "Feature" as const,
  geometry: { type, coordinates },
  properties,
});

/** The middle of an outline's box. */
export function middle(ring: Position[]): Position {
  const [a, b] = bounds(ring);
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

/** Streets in runs of one step, as the server joined them; narrower under walks. */
export function streetRuns(of: RankedStreets, walks: boolean): Features["features"] {
  return of.runs.map((r) =>
    feature("LineString", runLine(of, r.edges), {
      k: r.step,
      narrow: r.way !== "street",
      minor: r.way !== "street" && r.way !== "path",
      under: walks ? 0.85 : 1,
    }),
  );
}

function runLine(of: RankedStreets, edges: number[]): Position[] {
  const out: Position[] = [];
  for (const e of edges) {
    const line = of.features[Math.abs(e) - 1]!.geometry.coordinates;
    out.push(...(e < 0 ? [...line].reverse() : line).slice(out.length ? 1 : 0));
  }
  return out;
}

/** The street nearest to a place, within so many metres. */
export function streetAt(
  of: RankedStreets,
  at: Position,
  mostM: number,
): RankedStreets["features"][number]["properties"] | undefined {
  let best = mostM;
  let found: RankedStreets["features"][number]["properties"] | undefined;
  for (const f of of.features) {
    const line = f.geometry.coordinates;
    for (let i = 1; i < line.length; i++) {
      const [ax, ay] = metres(line[i - 1]!, at);
      const [bx, by] = metres(line[i]!, at);
      const len2 = (bx - ax) ** 2 + (by - ay) ** 2;
      const t = len2 === 0 ? 0 : Math.min(1, Math.max(0, -(ax * (bx - ax) + ay * (by - ay)) / len2));
      const off = Math.hypot(ax + t * (bx - ax), ay + t * (by - ay));
      if (off < best) {
        best = off;
        found = f.properties;
      }
    }
  }
  return found;
}

const lengthOf = (line: Position[]): number =>
  line.reduce((n, p, i) => (i ? n + Math.hypot(...metres(p, line[i - 1]!)) : 0), 0);

/** What is ahead of a walk in its runs of one step, so many metres from its beginning. */
export function aheadOf(runs: Drawing["line"], goneM: number): Features["features"] {
  let to = 0;
  return runs.flatMap((r) => {
    const from = to;
    to += lengthOf(r.line);
    if (to <= goneM) return [];
    return [feature("LineString", from < goneM ? cutAt(r.line, goneM - from)[1] : r.line, { k: r.step })];
  });
}

/** Every ten minutes; every twenty on a walk of more than an hour. */
export function minuteMarks(w: Walk): Features["features"] {
  const line = walkLine(w);
  const out: Features["features"] = [];
  const step = w.duration_s > 3600 ? 20 : 10;
  for (let n = step; n * 60 < w.duration_s - 60; n += step)
    out.push(feature("Point", along(line, metresAt(w, n * 60)).at, { said: say("unit.min", { n }) }));
  return out;
}

/** The place of a walk that is farthest from others, for its letter. */
export function farthest(of: Walk, others: Position[][]): Position {
  const line = walkLine(of);
  let best: Position = line[0]!;
  let most = -1;
  for (let m = 0; m < of.length_m; m += 25) {
    const { at } = along(line, m);
    const off = Math.min(...others.flatMap((o) => o.map((p) => Math.hypot(...metres(p, at)))));
    if (off > most) {
      most = off;
      best = at;
    }
  }
  return best;
}

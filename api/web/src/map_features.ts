// What is laid over the map, as features.

import { metresAt } from "./course.ts";
import { along, bounds, walkLine } from "./geo.ts";
import type { HazardFeature, Position, Walk } from "./types.ts";

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

export function minuteMarks(w: Walk): Features["features"] {
  const line = walkLine(w);
  const out: Features["features"] = [];
  for (let n = 5; n * 60 < w.duration_s - 60; n += 5)
    out.push(feature("Point", along(line, metresAt(w, n * 60)).at, { n }));
  return out;
}

/** Every street as the outline of its room. */
export function rooms(h: HazardFeature[]): Features["features"] {
  return h.flatMap((f) => {
    const line = f.geometry.coordinates;
    return [offset(line, f.properties.room_left_m), offset(line, -f.properties.room_right_m)].map((l) =>
      feature("LineString", l, { assumed: f.properties.room_default }),
    );
  });
}

/** Streets on which one sees far are drawn; the gaps are the blind ones. */
export function sights(h: HazardFeature[]): Features["features"] {
  return h
    .filter((f) => f.properties.sight_m >= 40)
    .map((f) =>
      feature("LineString", f.geometry.coordinates, { level: f.properties.sight_m >= 100 ? "some" : "calm" }),
    );
}

function offset(line: Position[], m: number): Position[] {
  return line.map((p, i) => {
    const a = line[Math.max(0, i - 1)]!;
    const b = line[Math.min(line.length - 1, i + 1)]!;
    const k = Math.cos((p[1] * Math.PI) / 180);
    const dx = (b[0] - a[0]) * k;
    const dy = b[1] - a[1];
    const n = Math.hypot(dx, dy) || 1;
    return [p[0] + ((-dy / n) * m) / (111320 * k), p[1] + ((dx / n) * m) / 111320] as Position;
  });
}

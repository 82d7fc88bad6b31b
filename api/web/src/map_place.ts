// The place of a training visit over the ground: what is watched with the dog's distances
// round it, the line of sight, the arc of equal distance, the way there and the ways out.

import type { ExpressionSpecification, LayerSpecification } from "maplibre-gl";
import { along } from "./geo.ts";
import { type Features, feature } from "./map_features.ts";
import type { Tokens } from "./map_images.ts";
import { settings } from "./settings.ts";
import { say } from "./strings.ts";
import type { Drawing, Position, VisitDrawn } from "./types.ts";
import { cut, exact } from "./words.ts";

export interface PlaceShown {
  watched: Drawing["around"][number];
  at: Position;
  /** what of it is seen first */
  sees: Position;
  arc: Position[];
  way: Position[];
  out: Position[][];
  distanceM: number;
}

/** What of a drawn visit is shown of its place. */
export function placeOf(d: VisitDrawn): PlaceShown {
  const v = d.visit;
  return {
    watched: d.drawing.around[0]!,
    at: v.at,
    sees: v.sees,
    arc: d.arc,
    way: v.way_in.legs.flatMap((l) => l.geometry.coordinates),
    out: v.ways_out.map((l) => l.coordinates),
    distanceM: v.distance_m,
  };
}

/** The ground that is shown: what is watched with the room round it, and the stand. */
export const groundOf = (p: PlaceShown): Position[] => [...p.watched.works, p.at, p.sees, ...p.arc];

const northmost = (ring: Position[]): Position => ring.reduce((a, b) => (b[1] > a[1] ? b : a));

/** Lines, the bar where one stands, and words. */
export function placeFeatures(p: PlaceShown): Record<"place" | "stand" | "place-names", Features["features"]> {
  const u = settings.value.units;
  const sight = along([p.at, p.sees], 0).angle;
  const name = (at: Position, said: string, need = false) => feature("Point", at, { said, need });
  const middle = (a: Position, b: Position): Position => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const { works, reacts, need } = p.watched;
  const ring = p.watched.area[0];
  const what = ring ? middle(...boxOf(ring)) : p.sees;
  return {
    place: [
      feature("LineString", p.way, { is: "way" }),
      ...p.out.map((l, i) => feature("LineString", l, { is: i ? "out-other" : "out" })),
      feature("LineString", [p.at, p.sees], { is: "sight" }),
      feature("LineString", p.arc, { is: "arc" }),
    ],
    stand: [feature("Point", p.at, { turn: 90 - (sight * 180) / Math.PI })],
    "place-names": [
      name(what, cut(p.watched.name)),
      name(middle(p.at, p.sees), exact(p.distanceM, u)),
      name(p.at, say("vantage.stand")),
      name(northmost(works), say("vantage.works", { distance: exact(need.working_m, u) }), true),
      name(northmost(reacts), say("vantage.near", { distance: exact(need.reaction_m, u) }), true),
    ],
  };
}

function boxOf(ring: Position[]): [Position, Position] {
  const xs = ring.map((p) => p[0]);
  const ys = ring.map((p) => p[1]);
  return [
    [Math.min(...xs), Math.min(...ys)],
    [Math.max(...xs), Math.max(...ys)],
  ];
}

export const placeSources = ["place", "stand", "place-names"];

/** Its lines lie over the distances, its bar and words over everything. */
export function placeLayers(t: Tokens): { lines: LayerSpecification[]; marks: LayerSpecification[] } {
  const is = (...names: string[]): ExpressionSpecification => ["in", ["get", "is"], ["literal", names]];
  const line = (id: string, of: string[], width: number, dash?: number[]): LayerSpecification[] => [
    {
      id: `place-${id}-case`,
      type: "line",
      source: "place",
      filter: is(...of),
      layout: { "line-join": "round" },
      paint: { "line-color": t.sheet!, "line-width": width + 2.4 },
    },
    {
      id: `place-${id}`,
      type: "line",
      source: "place",
      filter: is(...of),
      layout: { "line-join": "round" },
      paint: { "line-color": t.ink!, "line-width": width, ...(dash ? { "line-dasharray": dash } : {}) },
    },
  ];
  return {
    lines: [
      ...line("out", ["out"], 2.4, [3.75, 2.5]),
      ...line("out-other", ["out-other"], 2.4, [1, 2.1]),
      ...line("way", ["way"], 3),
      ...line("arc", ["arc"], 1.8),
      ...line("sight", ["sight"], 1.2),
    ],
    marks: [
      {
        id: "stand",
        type: "symbol",
        source: "stand",
        layout: {
          "icon-image": "stand",
          "icon-rotate": ["get", "turn"],
          "icon-rotation-alignment": "map",
          "icon-allow-overlap": true,
          "icon-padding": 0,
        },
      },
      {
        id: "place-names",
        type: "symbol",
        source: "place-names",
        layout: {
          "text-font": ["page"],
          "text-size": 14,
          "text-field": ["get", "said"],
          "text-variable-anchor": [
            "bottom",
            "left",
            "right",
            "top",
            "bottom-left",
            "bottom-right",
            "top-left",
            "top-right",
          ],
          "text-radial-offset": 0.9,
          "text-padding": 2,
          "text-max-width": 12,
        },
        paint: {
          "text-color": ["case", ["get", "need"], t.need!, t.ink!],
          "text-halo-color": t.sheet!,
          "text-halo-width": 3,
        },
      },
    ],
  };
}

// How the map looks: what is drawn of the tiles and over them, in which order. Streets are
// ribbons, wide and white where it is calm for here, narrower and darker step by step
// where it is not; the same widths and colours as in the server's drawings.

import fontUrl from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-600-normal.woff2?url";
import type { ExpressionSpecification, LayerSpecification, StyleSpecification } from "maplibre-gl";
import { deepest } from "./ground.ts";
import { none } from "./map_features.ts";
import { type Tokens, tokens } from "./map_images.ts";
import { placeLayers, placeSources } from "./map_place.ts";
import { settings } from "./settings.ts";
import { say } from "./strings.ts";

const font = ["page"];

const is = (name: string, value: unknown): ExpressionSpecification => ["==", ["get", name], value as string];

type Stop = readonly [zoom: number, px: number];
const streetStops: readonly Stop[] = [
  [12, 1],
  [13, 1.7],
  [14, 2.8],
  [15, 4.4],
  [16, 6.6],
  [17, 10],
  [18, 15],
];

/** The share of a street's width that each step is drawn at. */
const factor = [1.55, 1, 0.82, 0.78] as const;
const pathFactor = 0.62;
const serviceFactor = 0.55;

/** A width that grows with the zoom by 1.4 a level, of what is made of each stop. */
const wide = (of: (px: number) => number | ExpressionSpecification, stops = streetStops): ExpressionSpecification =>
  ["interpolate", ["exponential", 1.4], ["zoom"], ...stops.flatMap(([z, px]) => [z, of(px)])] as never;

/** The width of a compared street with so much beyond it for its edge. */
const tone = (more: number): ExpressionSpecification =>
  wide((px) => [
    "+",
    more,
    [
      "*",
      px,
      ["match", ["get", "k"], 1, factor[0], 2, factor[1], 3, factor[2], factor[3]],
      ["case", ["boolean", ["get", "narrow"], false], pathFactor, 1],
      ["number", ["get", "under"], 1],
    ],
  ]);

const straight = (stops: readonly Stop[]): ExpressionSpecification => wide((px) => px, stops);

/** The name of a street as maps of the place have it. */
export const nameField = (): ExpressionSpecification =>
  settings.value.units === "us" ? ["coalesce", ["get", "short"], ["get", "name"]] : ["get", "name"];

/** How far a name stands beside its street: farther where the walk's ribbon lies on it. */
export const nameOffset = (walked: string[]): ExpressionSpecification => [
  "case",
  ["in", ["get", "name"], ["literal", walked]],
  ["literal", [0, 1.3]],
  ["literal", [0, 0.95]],
];

function layers(t: Tokens): LayerSpecification[] {
  const text = (size: number | ExpressionSpecification) => ({
    "text-font": font,
    "text-size": size,
    "text-max-width": 9,
  });
  const halo = { "text-color": t.ink!, "text-halo-color": t.ground!, "text-halo-width": 1.8 };
  const round = { "line-join": "round" as const, "line-cap": "round" as const };
  const joined = { "line-join": "round" as const };
  const tile = (id: string, layer: string) => ({ id, source: "ground", "source-layer": layer });
  const grown = ["interpolate", ["linear"], ["zoom"], 14, 11.5, 16, 13.5, 18, 15] as ExpressionSpecification;
  const toneColour = ["match", ["get", "k"], 1, t.k1!, 2, t.k2!, 3, t.k3!, t.k4!] as ExpressionSpecification;
  const service = (w: number): ["case", ExpressionSpecification, number, number] => [
    "case",
    is("kind", "service"),
    serviceFactor * w,
    w,
  ];
  const streets = { filter: ["in", ["get", "kind"], ["literal", ["street", "service"]]] as ExpressionSpecification };
  const minor = { minzoom: 15.6, filter: is("minor", true) };
  const main = { filter: is("minor", false) };
  const place = placeLayers(t);
  return [
    { id: "back", type: "background", paint: { "background-color": t.ground! } },
    { ...tile("green", "ground"), type: "fill", filter: is("kind", "green"), paint: { "fill-color": t.green! } },
    { ...tile("water", "ground"), type: "fill", filter: is("kind", "water"), paint: { "fill-color": t.water! } },
    {
      ...tile("shore", "ground"),
      type: "line",
      filter: is("kind", "water"),
      paint: { "line-color": t.waterLine!, "line-width": 0.8 },
    },
    { ...tile("solid", "solid"), type: "fill", paint: { "fill-color": t.block! } },
    {
      ...tile("solid-edge", "solid"),
      type: "line",
      minzoom: 15.5,
      paint: { "line-color": t.blockEdge!, "line-width": 0.7 },
    },
    {
      ...tile("rail", "rail"),
      type: "line",
      paint: { "line-color": t.blockEdge!, "line-width": 0.8, "line-gap-width": 2.4 },
    },
    {
      ...tile("path", "way"),
      type: "line",
      minzoom: 13.5,
      filter: is("kind", "path"),
      paint: {
        "line-color": t.blockEdge!,
        "line-width": ["interpolate", ["linear"], ["zoom"], 13.5, 0.8, 17, 1.6],
        "line-dasharray": [3, 2],
      },
    },
    {
      ...tile("street-edge", "way"),
      type: "line",
      ...streets,
      layout: round,
      paint: {
        "line-color": t.streetEdge!,
        "line-width": wide((px) => ["+", 1.2, service(px)]),
        "line-opacity": ["interpolate", ["linear"], ["zoom"], 12.5, 0, 13.5, 1],
      },
    },
    {
      ...tile("street", "way"),
      type: "line",
      ...streets,
      layout: round,
      paint: { "line-color": t.street!, "line-width": wide((px) => service(px)) },
    },
    {
      ...tile("road-edge", "road"),
      type: "line",
      layout: joined,
      paint: { "line-color": t.blockEdge!, "line-width": wide((px) => 1.25 * px + 1.6) },
    },
    {
      ...tile("road", "road"),
      type: "line",
      layout: joined,
      paint: { "line-color": t.ground!, "line-width": wide((px) => 1.25 * px) },
    },
    {
      ...tile("road-mid", "road"),
      type: "line",
      minzoom: 14,
      paint: { "line-color": t.blockEdge!, "line-width": 0.8, "line-dasharray": [8, 6] },
    },
    {
      ...tile("wall", "barrier"),
      type: "line",
      minzoom: 15.5,
      filter: ["in", ["get", "kind"], ["literal", ["wall", "cliff"]]],
      paint: { "line-color": t.blockEdge!, "line-width": 1.4 },
    },
    {
      ...tile("fence", "barrier"),
      type: "line",
      minzoom: 15.5,
      filter: is("kind", "fence"),
      paint: { "line-color": t.blockEdge!, "line-width": 1, "line-dasharray": [6, 1.5] },
    },
    {
      ...tile("hedge", "barrier"),
      type: "line",
      minzoom: 15.5,
      filter: is("kind", "hedge"),
      layout: { "line-cap": "round" },
      paint: { "line-color": t.blockEdge!, "line-width": 2, "line-dasharray": [0.1, 1.6] },
    },

    {
      id: "source-fill",
      type: "fill",
      source: "sources",
      filter: ["==", ["geometry-type"], "Polygon"],
      paint: { "fill-pattern": "tex-source" },
    },
    { id: "source-line", type: "line", source: "sources", paint: { "line-color": t.ink2!, "line-width": 1.2 } },

    // Crossings, drives and service roads are many and short: they show from near only.
    ...(["minor", "main"] as const).flatMap((of): LayerSpecification[] => {
      const which = of === "minor" ? minor : main;
      const end = of === "minor" ? "-minor" : "";
      return [
        {
          id: `k1-edge${end}`,
          type: "line",
          source: "streets",
          ...which,
          filter: ["all", which.filter, is("k", 1)],
          layout: joined,
          paint: { "line-color": t.k1Edge!, "line-width": tone(2.2) },
        },
        {
          id: `tone-edge${end}`,
          type: "line",
          source: "streets",
          ...which,
          filter: ["all", which.filter, [">", ["get", "k"], 1]],
          layout: joined,
          paint: {
            "line-color": ["match", ["get", "k"], 4, t.k4Edge!, t.kEdge!],
            "line-width": tone(1.1),
          },
        },
        {
          id: `tone${end}`,
          type: "line",
          source: "streets",
          ...which,
          layout: { ...joined, "line-sort-key": ["get", "k"] },
          paint: { "line-color": toneColour, "line-width": tone(0) },
        },
      ];
    }),

    { id: "arc-case", type: "line", source: "arcs", paint: { "line-color": t.sheet!, "line-width": 4 } },
    {
      id: "arc-works",
      type: "line",
      source: "arcs",
      filter: is("too_near", false),
      paint: { "line-color": t.need!, "line-width": ["case", ["get", "hidden"], 1.2, 2] },
    },
    {
      id: "arc-near",
      type: "line",
      source: "arcs",
      filter: is("too_near", true),
      paint: { "line-color": t.need!, "line-width": ["case", ["get", "hidden"], 1.2, 2], "line-dasharray": [4.5, 3] },
    },

    ...place.lines,
    {
      id: "others-case",
      type: "line",
      source: "others",
      layout: joined,
      paint: { "line-color": t.mapSheet!, "line-width": 5 },
    },
    {
      id: "others",
      type: "line",
      source: "others",
      filter: is("dots", false),
      layout: joined,
      paint: { "line-color": t.mapInk!, "line-width": 2.4, "line-dasharray": [4, 2.2] },
    },
    {
      id: "others-b",
      type: "line",
      source: "others",
      filter: is("dots", true),
      layout: round,
      paint: { "line-color": t.mapInk!, "line-width": 2.8, "line-dasharray": [0.1, 1.9] },
    },
    {
      id: "walk-edge",
      type: "line",
      source: "core",
      layout: round,
      paint: {
        "line-color": t.walkEdge!,
        "line-width": straight([
          [12, 10],
          [14, 14],
          [16, 20],
          [18, 26],
        ]),
      },
    },
    {
      id: "walk-case",
      type: "line",
      source: "core",
      layout: round,
      paint: {
        "line-color": t.mapInk!,
        "line-width": straight([
          [12, 9],
          [14, 12.8],
          [16, 18.2],
          [18, 24.2],
        ]),
      },
    },
    {
      id: "walk-tone",
      type: "line",
      source: "line",
      layout: { ...round, "line-sort-key": ["get", "k"] },
      paint: {
        "line-color": toneColour,
        "line-width": straight([
          [12, 8],
          [14, 11.6],
          [16, 17],
          [18, 23],
        ]),
      },
    },
    {
      id: "core-case",
      type: "line",
      source: "core",
      layout: round,
      paint: {
        "line-color": t.mapSheet!,
        "line-width": straight([
          [12, 4.4],
          [18, 9],
        ]),
        "line-offset": ["get", "aside"],
      },
    },
    {
      id: "core",
      type: "line",
      source: "core",
      layout: round,
      paint: {
        "line-color": t.mapInk!,
        "line-width": straight([
          [12, 2.4],
          [18, 5],
        ]),
        "line-offset": ["get", "aside"],
      },
    },
    {
      id: "pointed-rim",
      type: "line",
      source: "pointed",
      layout: round,
      paint: { "line-color": t.ink!, "line-width": 9 },
    },
    {
      id: "pointed",
      type: "line",
      source: "pointed",
      layout: round,
      paint: { "line-color": t.sheet!, "line-width": 5 },
    },
    { id: "leader-case", type: "line", source: "leaders", paint: { "line-color": t.mapSheet!, "line-width": 5 } },
    { id: "leader", type: "line", source: "leaders", paint: { "line-color": t.mapInk!, "line-width": 2 } },

    {
      ...tile("place-name", "place"),
      type: "symbol",
      maxzoom: 14.5,
      layout: { ...text(15), "text-field": ["get", "name"] },
      paint: halo,
    },
    {
      ...tile("door-number", "door"),
      type: "symbol",
      minzoom: 17,
      layout: { ...text(11), "text-field": ["get", "number"] },
      paint: { ...halo, "text-color": t.ink2! },
    },
    {
      ...tile("ground-name", "ground"),
      type: "symbol",
      minzoom: 14,
      filter: ["has", "name"],
      layout: { ...text(12), "text-field": ["get", "name"] },
      paint: { ...halo, "text-color": t.ink2! },
    },
    {
      ...tile("road-name", "road"),
      type: "symbol",
      minzoom: 14,
      filter: ["has", "name"],
      layout: {
        ...text(12),
        "symbol-placement": "line",
        "text-field": ["get", "name"],
        "text-padding": 12,
        "symbol-spacing": 400,
      },
      paint: halo,
    },
    {
      id: "source-name",
      type: "symbol",
      source: "source-names",
      layout: { ...text(12), "text-field": ["get", "name"], "text-allow-overlap": false },
      paint: halo,
    },
    {
      ...tile("street-name", "name"),
      type: "symbol",
      minzoom: 13.6,
      layout: {
        ...text(grown),
        "symbol-placement": "line",
        "text-field": nameField(),
        "text-offset": nameOffset([]),
        "text-padding": 3,
        "text-max-angle": 35,
        "symbol-spacing": 330,
      },
      paint: halo,
    },
    {
      id: "letters",
      type: "symbol",
      source: "letters",
      layout: { ...text(15), "icon-image": "letter", "text-field": ["get", "letter"], "icon-padding": 4 },
      paint: { "text-color": t.ink! },
    },
    {
      id: "minutes",
      type: "symbol",
      source: "minutes",
      minzoom: 13,
      layout: {
        ...text(12.5),
        "icon-image": "minute",
        "text-field": ["get", "said"],
        "text-variable-anchor": ["left", "right", "top", "bottom"],
        "text-radial-offset": 1.3,
        "icon-padding": 0,
        "icon-allow-overlap": true,
        "text-optional": true,
      },
      paint: halo,
    },
    {
      id: "dir",
      type: "symbol",
      source: "heads",
      layout: {
        "icon-image": ["step", ["zoom"], "head-small", 13.5, "head"],
        "icon-rotate": ["get", "turn"],
        "icon-rotation-alignment": "map",
        "icon-allow-overlap": true,
        "icon-padding": 0,
      },
    },
    {
      id: "watch",
      type: "symbol",
      source: "watch",
      layout: {
        ...text(14),
        "icon-image": ["case", [">", ["length", ["get", "n"]], 2], "plate-wide", "plate"],
        "icon-allow-overlap": true,
        "text-field": ["get", "n"],
        "text-allow-overlap": true,
        "icon-padding": 0,
      },
      paint: { "text-color": t.sheet! },
    },
    ...place.marks,
    {
      id: "door",
      type: "symbol",
      source: "door",
      layout: { "icon-image": "door", "icon-allow-overlap": true },
    },
  ];
}

const overlays = [
  ...["streets", "arcs", "sources", "source-names", "others", "core", "line", "pointed", "leaders"],
  ...["heads", "minutes", "letters", "watch", "door"],
  ...placeSources,
];

export function style(): StyleSpecification {
  const t = tokens();
  return {
    version: 8,
    "font-faces": { page: new URL(fontUrl, location.href).href },
    sources: {
      ground: {
        type: "vector",
        tiles: [`${location.origin}/tiles/{z}/{x}/{y}.mvt`],
        minzoom: 8,
        maxzoom: deepest,
        attribution: say("map.attribution"),
      },
      ...Object.fromEntries(overlays.map((id) => [id, { type: "geojson", data: none }])),
    },
    layers: layers(t),
  } as StyleSpecification;
}

// How the map looks: what is drawn of the tiles and over them, in which order.

import fontUrl from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-600-normal.woff2?url";
import type { ExpressionSpecification, LayerSpecification, StyleSpecification } from "maplibre-gl";
import { none } from "./map_features.ts";
import { hardHigh, type Tokens, tightHigh, tokens } from "./map_images.ts";
import { say } from "./strings.ts";

const font = ["page"];

const bandZoom = 14.3; // below it a metre is less than 0.4 px, and only the line is drawn

const is = (name: string, value: unknown): ExpressionSpecification => ["==", ["get", name], value as string];

function layers(t: Tokens): LayerSpecification[] {
  const text = (size: number) => ({ "text-font": font, "text-size": size, "text-max-width": 9 });
  const halo = { "text-color": t.ink!, "text-halo-color": t.sheet!, "text-halo-width": 1.6 };
  const round = { "line-join": "round" as const, "line-cap": "round" as const };
  const tile = (id: string, layer: string) => ({ id, source: "ground", "source-layer": layer });
  return [
    { id: "back", type: "background", paint: { "background-color": t.ground! } },
    { ...tile("green", "ground"), type: "fill", filter: is("kind", "green"), paint: { "fill-color": t.green! } },
    { ...tile("water", "ground"), type: "fill", filter: is("kind", "water"), paint: { "fill-pattern": "tex-water" } },
    {
      ...tile("shore", "ground"),
      type: "line",
      filter: is("kind", "water"),
      paint: { "line-color": t.waterLine!, "line-width": 1.2 },
    },
    {
      ...tile("rail", "rail"),
      type: "line",
      paint: { "line-color": t.blockEdge!, "line-width": 1, "line-gap-width": 3 },
    },
    {
      ...tile("path", "way"),
      type: "line",
      filter: is("kind", "path"),
      paint: { "line-color": t.blockEdge!, "line-width": 1.2, "line-dasharray": [3, 3] },
    },
    {
      ...tile("street", "way"),
      type: "line",
      filter: is("kind", "street"),
      maxzoom: 15,
      paint: {
        "line-color": t.rule!,
        "line-width": 0.8,
        "line-opacity": ["interpolate", ["linear"], ["zoom"], 13, 0.8, 15, 0],
      },
    },
    {
      ...tile("road-case", "road"),
      type: "line",
      paint: {
        "line-color": t.blockEdge!,
        "line-width": 1,
        "line-gap-width": ["match", ["get", "kind"], "fast", 6, 4],
      },
    },
    {
      ...tile("road", "road"),
      type: "line",
      paint: { "line-color": t.blockEdge!, "line-width": 1.4, "line-dasharray": [5, 4] },
    },
    { ...tile("solid", "solid"), type: "fill", paint: { "fill-color": t.block! } },
    {
      ...tile("solid-edge", "solid"),
      type: "line",
      minzoom: 14.5,
      paint: { "line-color": t.blockEdge!, "line-width": 1 },
    },
    {
      ...tile("wall", "barrier"),
      type: "line",
      filter: ["in", ["get", "kind"], ["literal", ["wall", "cliff"]]],
      paint: { "line-color": t.blockEdge!, "line-width": 2 },
    },
    {
      ...tile("fence", "barrier"),
      type: "line",
      minzoom: 15,
      filter: is("kind", "fence"),
      paint: { "line-pattern": "line-fence", "line-width": 7 },
    },
    {
      ...tile("hedge", "barrier"),
      type: "line",
      minzoom: 15,
      filter: is("kind", "hedge"),
      paint: { "line-pattern": "line-hedge", "line-width": 6 },
    },

    {
      id: "band-calm",
      type: "fill",
      source: "band",
      minzoom: bandZoom,
      filter: is("level", "calm"),
      paint: { "fill-color": t.h1! },
    },
    ...(["some", "tight", "hard"] as const).map(
      (l): LayerSpecification => ({
        id: `band-${l}`,
        type: "fill",
        source: "band",
        minzoom: bandZoom,
        filter: is("level", l),
        paint: { "fill-pattern": `tex-${l}` },
      }),
    ),
    {
      id: "source-fill",
      type: "fill",
      source: "sources",
      filter: ["==", ["geometry-type"], "Polygon"],
      paint: { "fill-pattern": "tex-source" },
    },
    { id: "source-line", type: "line", source: "sources", paint: { "line-color": t.ink!, "line-width": 1.6 } },
    {
      id: "edge-measured",
      type: "line",
      source: "edges",
      minzoom: bandZoom,
      filter: is("assumed", false),
      layout: round,
      paint: { "line-color": t.ink!, "line-width": 1.3 },
    },
    {
      id: "edge-assumed",
      type: "line",
      source: "edges",
      minzoom: bandZoom,
      filter: is("assumed", true),
      paint: { "line-color": t.ink!, "line-width": 1.3, "line-dasharray": [3, 3] },
    },
    { id: "arc-case", type: "line", source: "arcs", paint: { "line-color": t.sheet!, "line-width": 5 } },
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

    {
      id: "others",
      type: "line",
      source: "others",
      layout: round,
      paint: { "line-color": t.ink2!, "line-width": 2.4, "line-dasharray": [0.1, 2.4] },
    },
    {
      id: "line-case",
      type: "line",
      source: "line",
      filter: ["in", ["get", "level"], ["literal", ["calm", "some"]]],
      layout: round,
      paint: { "line-color": t.sheet!, "line-width": ["match", ["get", "level"], "calm", 5.2, 7] },
    },
    {
      id: "line-still",
      type: "line",
      source: "line",
      filter: ["in", ["get", "level"], ["literal", ["calm", "some"]]],
      layout: round,
      paint: { "line-color": t.ink!, "line-width": ["match", ["get", "level"], "calm", 2.2, 4] },
    },
    {
      id: "line-tight",
      type: "line",
      source: "line",
      filter: is("level", "tight"),
      layout: { "line-join": "round" },
      paint: { "line-pattern": "line-tight", "line-width": tightHigh },
    },
    {
      id: "line-hard",
      type: "line",
      source: "line",
      filter: is("level", "hard"),
      layout: { "line-join": "round" },
      paint: { "line-pattern": "line-hard", "line-width": hardHigh },
    },
    {
      id: "street-still",
      type: "line",
      source: "streets",
      filter: ["in", ["get", "level"], ["literal", ["calm", "some"]]],
      layout: round,
      paint: { "line-color": t.ink!, "line-width": ["match", ["get", "level"], "calm", 1.2, 2.6] },
    },
    {
      id: "street-tight",
      type: "line",
      source: "streets",
      filter: is("level", "tight"),
      paint: { "line-pattern": "line-tight", "line-width": 0.6 * tightHigh },
    },
    {
      id: "street-hard",
      type: "line",
      source: "streets",
      filter: is("level", "hard"),
      paint: { "line-pattern": "line-hard", "line-width": 0.6 * hardHigh },
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

    {
      ...tile("street-name", "way"),
      type: "symbol",
      minzoom: 14,
      filter: ["has", "name"],
      layout: {
        ...text(12),
        "symbol-placement": "line",
        "text-field": ["get", "name"],
        "text-offset": [0, 0.9],
        "text-padding": 8,
        "symbol-spacing": 320,
      },
      paint: halo,
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
      ...tile("ground-name", "ground"),
      type: "symbol",
      minzoom: 14,
      filter: ["has", "name"],
      layout: { ...text(12), "text-field": ["get", "name"] },
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
      ...tile("place-name", "place"),
      type: "symbol",
      maxzoom: 14.5,
      layout: { ...text(15), "text-field": ["get", "name"] },
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
      id: "leg-name",
      type: "symbol",
      source: "names",
      minzoom: 14,
      layout: {
        ...text(12),
        "symbol-placement": "line",
        "text-field": ["get", "name"],
        "text-offset": [0, -1.3],
        "text-max-angle": 60,
        "symbol-spacing": 500,
      },
      paint: halo,
    },
    {
      id: "minutes",
      type: "symbol",
      source: "minutes",
      minzoom: 13.5,
      layout: {
        ...text(12),
        "icon-image": "minute",
        "icon-size": 1,
        "text-field": ["concat", ["get", "n"], " min"],
        "text-anchor": "left",
        "text-offset": [0.7, 0],
        "icon-padding": 0,
        "text-optional": true,
      },
      paint: halo,
    },
    {
      id: "letters",
      type: "symbol",
      source: "letters",
      layout: { ...text(17), "text-field": ["get", "letter"] },
      paint: { ...halo, "text-color": t.ink2!, "text-halo-width": 2.4 },
    },
    {
      id: "watch",
      type: "symbol",
      source: "watch",
      layout: { "icon-image": ["concat", "watch-", ["get", "n"]], "icon-size": 1, "icon-allow-overlap": true },
    },
    {
      id: "door",
      type: "symbol",
      source: "door",
      layout: { "icon-image": "door", "icon-size": 1, "icon-allow-overlap": true },
    },
  ];
}

const overlays = [
  "streets",
  "band",
  "edges",
  "arcs",
  "sources",
  "source-names",
  "others",
  "line",
  "pointed",
  "names",
  "minutes",
  "letters",
  "watch",
  "door",
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
        maxzoom: 15,
        attribution: say("map.attribution"),
      },
      ...Object.fromEntries(overlays.map((id) => [id, { type: "geojson", data: none }])),
    },
    layers: layers(t),
  } as StyleSpecification;
}

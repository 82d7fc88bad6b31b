// The map: solids that give or take room, drawn from the server's tiles, with the
// walk and its band on top. Loaded only where a map is shown.

import type { ExpressionSpecification, GeoJSONSource, LayerSpecification, StyleSpecification } from "maplibre-gl";
import * as maplibregl from "maplibre-gl";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?url";
import "maplibre-gl/dist/maplibre-gl.css";
import fontUrl from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-600-normal.woff2?url";
import { along, bounds, match, walkLine } from "./geo.ts";
import { say } from "./strings.ts";
import { metresAt, point } from "./strip.tsx";
import type { Drawing, HazardFeature, Position, SourceInfo, Walk } from "./types.ts";
import { cut } from "./words.ts";

maplibregl.setWorkerUrl(new URL(workerUrl, location.href).href);

const font = ["page"];
const bandZoom = 14.3; // below it a metre is less than 0.4 px, and only the line is drawn

type Tokens = Record<string, string>;
const tokenNames = [
  "page",
  "sheet",
  "ground",
  "block",
  "blockEdge",
  "green",
  "water",
  "waterLine",
  "ink",
  "ink2",
  "rule",
  "need",
  "h1",
  "h2",
  "h3",
  "h4",
];

function tokens(): Tokens {
  const css = getComputedStyle(document.documentElement);
  return Object.fromEntries(tokenNames.map((n) => [n, css.getPropertyValue(`--${n}`).trim()]));
}

type Features = {
  type: "FeatureCollection";
  features: {
    type: "Feature";
    geometry: { type: string; coordinates: unknown };
    properties: Record<string, unknown>;
  }[];
};
const none: Features = { type: "FeatureCollection", features: [] };
const feature = (type: string, coordinates: unknown, properties: Record<string, unknown>) => ({
  type: "Feature" as const,
  geometry: { type, coordinates },
  properties,
});

const ratio = 2;

/** A small picture drawn on a canvas, for patterns. */
function picture(w: number, h: number, draw: (c: CanvasRenderingContext2D) => void): ImageData {
  const canvas = document.createElement("canvas");
  canvas.width = w * ratio;
  canvas.height = h * ratio;
  const c = canvas.getContext("2d", { willReadFrequently: true })!;
  c.scale(ratio, ratio);
  draw(c);
  return c.getImageData(0, 0, canvas.width, canvas.height);
}

const tightStep = 9;
const hardStep = 8;
const tightHigh = 13;
const hardHigh = 18;

function images(t: Tokens): Record<string, ImageData> {
  const zigzag = (step: number, high: number, amplitude: number, width: number) =>
    picture(step, high, (c) => {
      const path = () => {
        c.beginPath();
        for (let i = -3; i <= 5; i++) {
          const x = (i * step) / 2;
          const y = high / 2 + (i % 2 === 0 ? -amplitude : amplitude);
          if (i === -3) c.moveTo(x, y);
          else c.lineTo(x, y);
        }
        c.stroke();
      };
      c.lineJoin = "round";
      c.strokeStyle = t.sheet!;
      c.lineWidth = width + 3;
      path();
      c.strokeStyle = t.ink!;
      c.lineWidth = width;
      path();
    });
  return {
    "tex-some": picture(7, 7, (c) => {
      c.fillStyle = t.h2!;
      c.fillRect(0, 0, 7, 7);
      c.fillStyle = t.ink!;
      c.beginPath();
      c.arc(3.5, 3.5, 1.05, 0, 7);
      c.fill();
    }),
    "tex-tight": picture(8, 8, (c) => {
      c.fillStyle = t.h1!;
      c.fillRect(0, 0, 8, 8);
      c.strokeStyle = t.h3!;
      c.lineWidth = 3.2;
      for (const d of [-8, 0, 8]) {
        c.beginPath();
        c.moveTo(d - 2, 10);
        c.lineTo(d + 10, -2);
        c.stroke();
      }
    }),
    "tex-hard": picture(8, 8, (c) => {
      c.fillStyle = t.h4!;
      c.fillRect(0, 0, 8, 8);
      c.strokeStyle = t.sheet!;
      c.lineWidth = 1.3;
      c.beginPath();
      c.moveTo(-1, -1);
      c.lineTo(9, 9);
      c.moveTo(-1, 9);
      c.lineTo(9, -1);
      c.stroke();
    }),
    "tex-source": picture(8, 8, (c) => {
      c.strokeStyle = t.ink!;
      c.lineWidth = 1.1;
      c.beginPath();
      c.moveTo(4, 1.5);
      c.lineTo(4, 6.5);
      c.moveTo(1.5, 4);
      c.lineTo(6.5, 4);
      c.stroke();
    }),
    "tex-water": picture(16, 12, (c) => {
      c.fillStyle = t.water!;
      c.fillRect(0, 0, 16, 12);
      c.strokeStyle = t.waterLine!;
      c.lineWidth = 1;
      c.globalAlpha = 0.7;
      c.beginPath();
      c.moveTo(1, 3);
      c.lineTo(6, 3);
      c.moveTo(9, 9);
      c.lineTo(14, 9);
      c.stroke();
    }),
    "line-tight": zigzag(tightStep, tightHigh, 3.4, 2.6),
    "line-hard": zigzag(hardStep, hardHigh, 5.6, 3.4),
    "line-fence": picture(12, 7, (c) => {
      c.strokeStyle = t.blockEdge!;
      c.lineWidth = 1.2;
      c.beginPath();
      c.moveTo(0, 3.5);
      c.lineTo(12, 3.5);
      c.moveTo(6, 0.5);
      c.lineTo(6, 6.5);
      c.stroke();
    }),
    "line-hedge": picture(8, 6, (c) => {
      c.strokeStyle = t.blockEdge!;
      c.lineWidth = 1.6;
      c.beginPath();
      c.moveTo(0, 5);
      c.quadraticCurveTo(4, -2, 8, 5);
      c.stroke();
    }),
    ...Object.fromEntries(
      Array.from({ length: 15 }, (_, i) => [
        `watch-${i + 1}`,
        picture(22, 22, (c) => {
          c.fillStyle = t.sheet!;
          c.fillRect(0, 0, 22, 22);
          c.fillStyle = t.ink!;
          c.fillRect(2, 2, 18, 18);
          c.fillStyle = t.sheet!;
          c.font = `700 ${i < 9 ? 14 : 12}px "Atkinson Hyperlegible Next", sans-serif`;
          c.textAlign = "center";
          c.textBaseline = "middle";
          c.fillText(String(i + 1), 11, 11.5);
        }),
      ]),
    ),
    door: picture(22, 22, (c) => {
      c.fillStyle = t.sheet!;
      c.fillRect(0, 0, 22, 22);
      c.strokeStyle = t.ink!;
      c.lineWidth = 3;
      c.strokeRect(3.5, 3.5, 15, 22);
    }),
    minute: picture(12, 12, (c) => {
      c.fillStyle = t.sheet!;
      c.strokeStyle = t.ink!;
      c.lineWidth = 2.2;
      c.beginPath();
      c.arc(6, 6, 4.2, 0, 7);
      c.fill();
      c.stroke();
    }),
  };
}

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

function style(): StyleSpecification {
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

export interface Shown {
  walks?: Walk[];
  drawings?: Drawing[];
  chosen?: number;
  letters?: string[];
  hazards?: HazardFeature[];
  layer?: "trouble" | "room" | "sight";
  sources?: SourceInfo[];
  /** where a walk would begin, while there is none */
  start?: Position;
}

interface MapOptions {
  bbox: [number, number, number, number];
  centre?: Position;
  label: string;
  still: boolean;
  tap: (at: { lat: number; lon: number }) => void;
  scale: (pxPerM: number) => void;
  moved?: (bbox: [number, number, number, number]) => void;
  moving?: () => void;
}

/** PageMap is one map on the page. */
export class PageMap {
  private readonly o: MapOptions;
  private readonly map: maplibregl.Map;
  private shown: Shown = {};
  private ready = false;
  private readonly redress = () => {
    this.ready = false;
    this.map.setStyle(style(), { diff: false });
  };
  private readonly pointed = (e: Event) => this.showPointed((e as CustomEvent<number | undefined>).detail);

  /** Throws where the browser has no WebGL2. */
  constructor(box: HTMLElement, o: MapOptions) {
    this.o = o;
    const [w, s, e, n] = o.bbox;
    this.map = new maplibregl.Map({
      container: box,
      style: style(),
      ...(o.centre
        ? { center: o.centre, zoom: 15 }
        : {
            bounds: [
              [w, s],
              [e, n],
            ] as [Position, Position],
          }),
      attributionControl: false,
      dragRotate: false,
      pitchWithRotate: false,
      touchPitch: false,
      maxPitch: 0,
      fadeDuration: 0,
      maxZoom: 19,
      minZoom: 9,
      cooperativeGestures: o.still,
      locale: {
        "Map.Title": o.label,
        "CooperativeGesturesHandler.MobileHelpText": say("map.two"),
        "NavigationControl.ZoomIn": say("map.nearer"),
        "NavigationControl.ZoomOut": say("map.wider"),
      },
    });
    this.map.touchZoomRotate.disableRotation();
    if (matchMedia("(pointer: fine)").matches) this.map.cooperativeGestures.disable();
    this.map.scrollZoom.disable(); // the page scrolls under the pointer; the buttons and keys zoom
    this.map.addControl(new maplibregl.AttributionControl({ compact: false }));
    this.map.addControl(new maplibregl.NavigationControl({ showCompass: false }), "top-left");
    this.map.on("style.load", () => {
      for (const [id, data] of Object.entries(images(tokens())))
        if (!this.map.hasImage(id)) this.map.addImage(id, data, { pixelRatio: ratio });
      this.ready = true;
      this.fill();
    });
    this.map.on("zoom", () => this.tellScale());
    this.map.on("load", () => this.tellScale());
    if (o.moving) for (const what of ["move", "load", "resize"] as const) this.map.on(what, o.moving);
    this.map.on("moveend", () => {
      const b = this.map.getBounds();
      o.moved?.([b.getWest(), b.getSouth(), b.getEast(), b.getNorth()]);
    });
    this.map.on("click", (ev) => o.tap({ lat: ev.lngLat.lat, lon: ev.lngLat.lng }));
    this.map.on("mousemove", (ev) => this.hover([ev.lngLat.lng, ev.lngLat.lat]));
    this.map.on("idle", () => document.documentElement.setAttribute("data-map-idle", ""));
    document.addEventListener("dressed", this.redress);
    document.addEventListener("pointed", this.pointed);
  }

  remove(): void {
    document.removeEventListener("dressed", this.redress);
    document.removeEventListener("pointed", this.pointed);
    this.map.remove();
  }

  /** Whether one finger moves the map, or the page. */
  open(on: boolean): void {
    if (on) this.map.cooperativeGestures.disable();
    else this.map.cooperativeGestures.enable();
  }

  fit(line: Position[]): void {
    this.map.resize(); // the box may have changed its size in the same breath
    this.map.fitBounds(bounds(line), {
      padding: { top: 24, bottom: 50, left: 30, right: 30 },
      animate: false,
      maxZoom: 17,
    });
    this.tellScale();
  }

  centre(): { lat: number; lon: number } {
    const c = this.map.getCenter();
    return { lat: c.lat, lon: c.lng };
  }

  /** Where a place is in the box, in px. */
  onScreen(at: Position): [number, number] {
    const p = this.map.project(at);
    return [p.x, p.y];
  }

  bbox(): [number, number, number, number] {
    const b = this.map.getBounds();
    return [b.getWest(), b.getSouth(), b.getEast(), b.getNorth()];
  }

  show(s: Shown): void {
    this.shown = s;
    if (this.ready) this.fill();
  }

  private tellScale(): void {
    const c = this.map.getCenter();
    this.o.scale((512 * 2 ** this.map.getZoom()) / (40075017 * Math.cos((c.lat * Math.PI) / 180)));
  }

  private put(id: string, features: Features["features"]): void {
    (this.map.getSource(id) as GeoJSONSource | undefined)?.setData({ type: "FeatureCollection", features } as never);
  }

  private fill(): void {
    const {
      walks = [],
      drawings = [],
      chosen = 0,
      letters = [],
      hazards = [],
      layer = "trouble",
      sources = [],
      start,
    } = this.shown;
    const w = walks[chosen];
    const d = drawings[chosen];
    document.documentElement.removeAttribute("data-map-idle");
    const levelled = hazards.map((h) => ({ ...h, properties: { ...h.properties } }));
    this.put(
      "band",
      d?.band.map((b) =>
        feature(
          "MultiPolygon",
          b.rings.map((r) => [r]),
          { level: b.level },
        ),
      ) ?? [],
    );
    this.put(
      "edges",
      d?.edges.map((e) => feature("LineString", e.line, { assumed: e.assumed })) ??
        (layer === "room" ? rooms(levelled) : []),
    );
    this.put(
      "arcs",
      d?.around.flatMap((a) => [
        feature("LineString", a.works, { too_near: false, hidden: !a.in_sight }),
        feature("LineString", a.reacts, { too_near: true, hidden: !a.in_sight }),
      ]) ?? [],
    );
    this.put("line", d?.line.map((l) => feature("LineString", l.line, { level: l.level })) ?? []);
    this.put(
      "streets",
      layer === "trouble" ? (levelled as Features["features"]) : layer === "sight" ? sights(levelled) : [],
    );
    this.put(
      "others",
      walks.flatMap((o, i) => (i === chosen ? [] : [feature("LineString", walkLine(o), {})])),
    );
    this.put(
      "letters",
      walks.flatMap((o, i) =>
        i === chosen || !letters[i]
          ? []
          : [feature("Point", along(walkLine(o), o.length_m * (0.35 + 0.1 * i)).at, { letter: letters[i] })],
      ),
    );
    this.map.setFilter("street-name", [
      "all",
      ["has", "name"],
      ["!", ["in", ["get", "name"], ["literal", w?.legs.map((l) => l.name) ?? []]]],
    ]);
    this.put("names", w?.legs.map((l) => feature("LineString", l.geometry.coordinates, { name: cut(l.name) })) ?? []);
    this.put("watch", w?.watch_points.slice(0, 15).map((p, i) => feature("Point", p.at, { n: i + 1 })) ?? []);
    this.put("minutes", w ? minuteMarks(w) : []);
    this.put("door", w ? [feature("Point", walkLine(w)[0], {})] : start ? [feature("Point", start, {})] : []);
    this.put(
      "sources",
      [...sources.flatMap((s) => s.outline ?? []), ...(d?.around.flatMap((a) => a.area) ?? [])].map((r) =>
        feature("Polygon", [r], {}),
      ),
    );
    this.put("source-names", [
      ...sources
        .filter((s) => s.name || s.active >= 0.25)
        .map((s) => feature("Point", s.at, { name: cut(s.name || s.what) })),
      ...(d?.around
        .filter((a) => a.area.length)
        .map((a) => feature("Point", middle(a.area[0]!), { name: cut(a.name) })) ?? []),
    ]);
  }

  private hover(at: Position): void {
    const w = this.shown.walks?.[this.shown.chosen ?? 0];
    if (!w) return;
    const hit = match(walkLine(w), at);
    if (hit.offM < 25) point(hit.m);
  }

  private showPointed(m: number | undefined): void {
    const w = this.shown.walks?.[this.shown.chosen ?? 0];
    if (!w || m === undefined || !this.ready) return;
    const { at, angle } = along(walkLine(w), m);
    const p = this.map.project(at);
    const dx = Math.sin(angle) * 11;
    const dy = Math.cos(angle) * 11;
    const a = this.map.unproject([p.x + dx, p.y + dy]);
    const b = this.map.unproject([p.x - dx, p.y - dy]);
    this.put("pointed", [
      feature(
        "LineString",
        [
          [a.lng, a.lat],
          [b.lng, b.lat],
        ],
        {},
      ),
    ]);
  }
}

/** The middle of an outline's box. */
function middle(ring: Position[]): Position {
  const [a, b] = bounds(ring);
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

function minuteMarks(w: Walk): Features["features"] {
  const line = walkLine(w);
  const out: Features["features"] = [];
  for (let n = 5; n * 60 < w.duration_s - 60; n += 5)
    out.push(feature("Point", along(line, metresAt(w, n * 60)).at, { n }));
  return out;
}

/** Every street as the outline of its room. */
function rooms(h: HazardFeature[]): Features["features"] {
  return h.flatMap((f) => {
    const line = f.geometry.coordinates;
    return [offset(line, f.properties.room_left_m), offset(line, -f.properties.room_right_m)].map((l) =>
      feature("LineString", l, { assumed: f.properties.room_default }),
    );
  });
}

/** Streets on which one sees far are drawn; the gaps are the blind ones. */
function sights(h: HazardFeature[]): Features["features"] {
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

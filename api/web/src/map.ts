// The map: solids that give or take room, drawn from the server's tiles, with the
// walk and its band on top. Loaded only where a map is shown.

import type { GeoJSONSource } from "maplibre-gl";
import * as maplibregl from "maplibre-gl";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?url";
import "maplibre-gl/dist/maplibre-gl.css";

import { along, bounds, match, walkLine } from "./geo.ts";
import { type Features, feature, middle, minuteMarks, rooms, sights } from "./map_features.ts";
import { images, ratio, tokens } from "./map_images.ts";
import { style } from "./map_style.ts";
import { point, pointed } from "./pointed.ts";
import { theme } from "./settings.ts";
import { say } from "./strings.ts";
import type { Drawing, HazardFeature, Position, SourceInfo, Walk } from "./types.ts";
import { cut } from "./words.ts";

maplibregl.setWorkerUrl(new URL(workerUrl, location.href).href);

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
  private readonly endings: (() => void)[];

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
    let dressed = theme.peek();
    this.endings = [
      theme.subscribe((t) => {
        if (t === dressed) return;
        dressed = t;
        this.ready = false;
        this.map.setStyle(style(), { diff: false });
      }),
      pointed.subscribe((m) => this.showPointed(m)),
    ];
  }

  remove(): void {
    for (const end of this.endings) end();
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

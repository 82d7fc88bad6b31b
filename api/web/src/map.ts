// The map: what blocks and the streets, drawn from the server's tiles, with the streets
// in their steps and the walk on its ribbon on top. Loaded only where a map is shown.

import type { GeoJSONSource } from "maplibre-gl";
import * as maplibregl from "maplibre-gl";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?url";
import "maplibre-gl/dist/maplibre-gl.css";

import { along, bounds, cutAt, match, metres, walkLine } from "./geo.ts";
import { aheadOf, type Features, farthest, feature, middle, minuteMarks, streetRuns } from "./map_features.ts";
import { images, ratio, tokens } from "./map_images.ts";
import { heads, plates, zoomFor } from "./map_marks.ts";
import { type PlaceShown, placeFeatures } from "./map_place.ts";
import { nameField, nameOffset, style } from "./map_style.ts";
import { point, pointed } from "./pointed.ts";
import { theme } from "./settings.ts";
import { say } from "./strings.ts";
import type { Drawing, Position, RankedStreets, SourceInfo, Walk } from "./types.ts";
import { cut } from "./words.ts";

maplibregl.setWorkerUrl(new URL(workerUrl, location.href).href);

export interface Shown {
  walks?: Walk[];
  drawings?: Drawing[];
  chosen?: number;
  letters?: string[];
  streets?: RankedStreets | undefined;
  sources?: SourceInfo[];
  /** where a walk would begin, while there is none */
  start?: Position;
  /** how far a walk that is under way has come: what lies behind is dots */
  goneM?: number;
  /** of a training visit, in place of walks */
  place?: PlaceShown;
}

/** The ground round somebody who walks: where, which way is up, how much of it across. */
export interface Follow {
  at: Position;
  /** in radians from east */
  heading: number;
  acrossM: number;
  /** how far down the box, 0 to 1 */
  down: number;
}

interface MapOptions {
  bbox: [number, number, number, number];
  centre?: Position;
  label: string;
  tap: (at: { lat: number; lon: number }) => void;
  scale: (pxPerM: number) => void;
  moving?: () => void;
  /** it was moved and stands still */
  moved?: () => void;
  /** it follows somebody and is not moved by hand; its plates are read at arm's length */
  follows?: boolean;
}

const mostPlates = 4;
const beyondGrid = 9; // points of the view to a side
const [platePX, goPlatePX] = [24, 28];
const pointedOutM = 400; // ahead of who walks
const passedM = 10; // a watch point so far behind is done with

/** How far beside the way its line is drawn: out and back on one street are two lines. */
const aside = (w: Walk): number => (w.repeated_s > 30 ? 3 : 0);

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
      cooperativeGestures: !o.follows,
      ...(o.follows
        ? { dragPan: false, doubleClickZoom: false, touchZoomRotate: false, boxZoom: false, keyboard: false }
        : {}),
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
    if (!o.follows) this.map.addControl(new maplibregl.NavigationControl({ showCompass: false }), "bottom-right");
    this.map.on("style.load", () => {
      for (const [id, data] of Object.entries(images(tokens())))
        if (!this.map.hasImage(id)) this.map.addImage(id, data, { pixelRatio: ratio });
      this.ready = true;
      this.fill();
    });
    this.map.on("zoom", () => this.tellScale());
    this.map.on("load", () => this.tellScale());
    if (o.moving) for (const what of ["move", "load", "resize"] as const) this.map.on(what, o.moving);
    if (o.moved) for (const what of ["moveend", "load"] as const) this.map.on(what, o.moved);
    this.map.on("click", (ev) => o.tap({ lat: ev.lngLat.lat, lon: ev.lngLat.lng }));
    if (!o.follows) this.map.on("mousemove", (ev) => this.hover([ev.lngLat.lng, ev.lngLat.lat]));
    this.map.on("moveend", () => this.ready && this.marks());
    (box as { pageMap?: maplibregl.Map }).pageMap = this.map; // for tests, which ask what is drawn
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

  fit(line: Position[], footPX = 46): void {
    this.map.resize(); // the box may have changed its size in the same breath
    this.map.fitBounds(bounds(line), {
      padding: { top: 74, bottom: footPX, left: 30, right: 30 },
      animate: false,
      maxZoom: 17,
    });
    this.tellScale();
  }

  /** Puts somebody where they are in the box, their way up; at once, without gliding. */
  follow(f: Follow): void {
    this.map.resize();
    const { clientWidth: w, clientHeight: h } = this.map.getContainer();
    this.map.jumpTo({
      center: f.at,
      zoom: zoomFor(f.at[1], w / f.acrossM),
      bearing: 90 - (f.heading * 180) / Math.PI,
      padding: { top: Math.max(0, h * (2 * f.down - 1)), bottom: 0, left: 0, right: 0 },
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

  /** The share of the view that lies farther than so many metres from a place. */
  beyond(from: Position, m: number): number {
    const { clientWidth: w, clientHeight: h } = this.map.getContainer();
    let out = 0;
    for (let i = 0; i < beyondGrid; i++)
      for (let j = 0; j < beyondGrid; j++) {
        const p = this.map.unproject([((i + 0.5) * w) / beyondGrid, ((j + 0.5) * h) / beyondGrid]);
        if (Math.hypot(...metres(from, [p.lng, p.lat])) > m) out++;
      }
    return out / beyondGrid ** 2;
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
    const { walks = [], drawings = [], chosen = 0, letters = [], streets, sources = [], start, goneM = 0 } = this.shown;
    const { place } = this.shown;
    const w = walks[chosen];
    const d = drawings[chosen];
    document.documentElement.removeAttribute("data-map-idle");
    this.put("streets", streets ? streetRuns(streets, walks.length > 0) : []);
    const around = place ? [place.watched] : (d?.around ?? []);
    for (const [id, features] of Object.entries(place ? placeFeatures(place) : {})) this.put(id, features);
    this.put(
      "arcs",
      around.flatMap((a) => [
        feature("LineString", a.works, { too_near: false, hidden: !a.in_sight }),
        feature("LineString", a.reacts, { too_near: true, hidden: !a.in_sight }),
      ]),
    );
    const line = w && walkLine(w);
    const [behind, ahead] = line ? cutAt(line, goneM) : [[], []];
    this.put("core", w && ahead.length ? [feature("LineString", ahead, { aside: aside(w) })] : []);
    this.put("line", d ? aheadOf(d.line, goneM) : []);
    const others = walks.flatMap((o, i) => (i === chosen ? [] : [{ o, i }]));
    this.put(
      "others",
      goneM > 0
        ? [feature("LineString", behind, { dots: true })]
        : others.map(({ o }, k) => feature("LineString", walkLine(o), { dots: k % 2 === 1 })),
    );
    this.put(
      "letters",
      others
        .filter(({ i }) => letters[i])
        .map(({ o, i }) =>
          feature(
            "Point",
            farthest(
              o,
              walks.filter((x) => x !== o).map((x) => walkLine(x)),
            ),
            { letter: letters[i] },
          ),
        ),
    );
    this.map.setLayoutProperty("street-name", "text-field", nameField());
    this.map.setLayoutProperty("street-name", "text-offset", nameOffset(w?.legs.map((l) => l.name) ?? []));
    this.put("minutes", w && !this.o.follows ? minuteMarks(w) : []);
    if (this.o.follows) {
      this.map.setLayoutProperty("watch", "icon-size", goPlatePX / platePX);
      this.map.setLayoutProperty("watch", "text-size", 17);
    }
    this.put("door", line ? [feature("Point", line[0], {})] : start ? [feature("Point", start, {})] : []);
    this.put(
      "sources",
      [...sources.flatMap((s) => s.outline ?? []), ...around.flatMap((a) => a.area)].map((r) =>
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
    this.marks();
  }

  /** What stands elsewhere at another scale. */
  private marks(): void {
    const w = this.shown.walks?.[this.shown.chosen ?? 0];
    const line = w && walkLine(w);
    const zoom = this.map.getZoom();
    const goneM = this.shown.goneM ?? 0;
    const rest = line ? cutAt(line, goneM)[1] : [];
    // Where a walk comes back along the street one is in, only the way there is pointed out.
    const ahead = this.o.follows && rest.length ? cutAt(rest, pointedOutM)[0] : rest;
    const way = this.shown.place?.way;
    if (way)
      this.put(
        "heads",
        heads(way, zoom).map((h) => feature("Point", h.at, { turn: h.turn })),
      );
    else
      this.put(
        "heads",
        w && ahead.length ? heads(ahead, zoom, aside(w)).map((h) => feature("Point", h.at, { turn: h.turn })) : [],
      );
    const there = line
      ? plates(
          w.watch_points.slice(0, mostPlates).flatMap((p, i) => {
            return p.from_m < goneM - passedM ? [] : [{ ...along(line, p.from_m), n: i + 1 }];
          }),
          line,
          zoom,
          this.o.follows ? goPlatePX : platePX,
        )
      : [];
    this.put(
      "watch",
      there.map((p) => feature("Point", p.at, { n: p.n })),
    );
    this.put(
      "leaders",
      there.map((p) => feature("LineString", [p.foot, p.at], {})),
    );
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

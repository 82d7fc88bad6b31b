// The box that a map stands in: the drawn map where there is WebGL2, else the
// server's picture of it.

import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { dogName, dogNow } from "./dogs.ts";
import { walkLine } from "./geo.ts";
import type { PageMap, Shown } from "./map.ts";
import { streetAt } from "./map_features.ts";
import { mapInfo } from "./mapinfo.ts";
import { pick, pickNext, setMapCentre } from "./pick.ts";
import { walkPicture } from "./pictures.ts";
import { chosen, planGiven, wish, wishBody } from "./plan.ts";
import { settings, theme } from "./settings.ts";
import { say } from "./strings.ts";
import type { Drawing, LatLon, Position, StreetFacts, Walk } from "./types.ts";
import { wide } from "./view.ts";
import { exact, metresPerFoot } from "./words.ts";
import "./mapbox.css";

export const hasWebGL2 = ((): boolean => {
  try {
    return !!document.createElement("canvas").getContext("webgl2");
  } catch {
    return false;
  }
})();

const rankReachM = 1500; // streets farther from the start are not ranked: routing/rank.go
const tapM = 40; // how far off a street a tap still means it

export function MapBox(props: {
  shown: Shown;
  line?: Position[] | undefined;
  need?: Drawing["need"] | undefined;
  /** one finger moves the map, not the page */
  larger?: boolean;
  /** a street was tapped, where no choice waits for the tap */
  tapStreet?: (street: StreetFacts, at: LatLon) => void;
  /** streets are compared about this place */
  about?: LatLon | undefined;
  startHere?: (at: LatLon) => void;
  /** what lies on the map's upper edge */
  children?: ComponentChildren;
}) {
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<PageMap>();
  const latest = useRef(props);
  latest.current = props;
  const [pxPerM, setScale] = useState(0);
  const [fault, setFault] = useState(false);
  const [farOut, setFarOut] = useState(false);
  const look = () => {
    const { about } = latest.current;
    setFarOut(!!about && !!map.current && map.current.beyond([about.lon, about.lat], rankReachM) > 0.5);
  };
  useEffect(look, [props.about?.lat, props.about?.lon]);
  const info = mapInfo.value;
  const lineKey = props.line
    ? JSON.stringify([props.line[0], props.line[props.line.length - 1], props.line.length])
    : "";
  useEffect(() => {
    if (!info || !box.current || !hasWebGL2) return;
    let gone = false;
    const target = box.current;
    void import("./map.ts")
      .then(({ PageMap }) => {
        if (gone) return;
        const f = wish.value.from?.at;
        map.current = new PageMap(target, {
          bbox: info.bbox,
          ...(f ? { centre: [f.lon, f.lat] as Position } : {}),
          label: say("map.label"),
          tap: (at) => {
            if (pick.value) {
              pick.value(at);
              return;
            }
            const { shown, tapStreet } = latest.current;
            const street = shown.streets && streetAt(shown.streets, [at.lon, at.lat], tapM);
            if (street) tapStreet?.(street, at);
          },
          scale: setScale,
          moved: look,
        });
        map.current.show(latest.current.shown);
        if (latest.current.line?.length) map.current.fit(latest.current.line);
        setMapCentre(() => map.current!.centre());
      })
      .catch(() => setFault(true));
    return () => {
      gone = true;
      if (map.current) setMapCentre(undefined);
      map.current?.remove();
      map.current = undefined;
    };
  }, [info?.name]);
  useLayoutEffect(() => map.current?.show(props.shown), [props.shown]); // in one breath with the page, so that the two never differ
  useEffect(() => {
    if (props.line?.length) map.current?.fit(props.line);
  }, [lineKey, props.larger]);
  const picking = !!pick.value && !wide.value;
  useEffect(() => map.current?.open(!!props.larger || picking), [props.larger, picking]);
  const still = fault || !hasWebGL2;
  return (
    <div class={`mapbox${props.larger ? " near" : ""}${picking && !still ? " picking" : ""}`}>
      {still ? (
        <StillMap need={props.need} walk={props.shown.walks?.[props.shown.chosen ?? 0]} bad={fault} />
      ) : (
        <div class="canvas" ref={box} />
      )}
      {props.children && <div class="atop">{props.children}</div>}
      {pick.value && !still && (
        <svg class="centre" width="40" height="40" viewBox="0 0 40 40" aria-hidden="true">
          <path class="casing" stroke-width="6" d="M20 4v12M20 24v12M4 20h12M24 20h12" />
          <path class="ink" stroke-width="2.5" d="M20 4v12M20 24v12M4 20h12M24 20h12" />
        </svg>
      )}
      {farOut && props.startHere && !pick.value && !still && (
        <div class="farout row" role="status">
          <span>{say("map.far")}</span>
          <button onClick={() => map.current && props.startHere?.(map.current.centre())}>{say("street.start")}</button>
        </div>
      )}
      {picking && !still && (
        <div class="pickbar row">
          <button class="main grow" onClick={() => map.current && pick.value?.(map.current.centre())}>
            {say("find.map.use")}
          </button>
          <button onClick={() => pickNext(undefined)}>{say("find.map.leave")}</button>
        </div>
      )}
      {!still && pxPerM > 0 && <Bars pxPerM={pxPerM} need={props.need} />}
    </div>
  );
}

/** One ruler in ink, one of the room this dog needs. */
export function Bars(props: { pxPerM: number; need: Drawing["need"] | undefined; said?: string }) {
  const us = settings.value.units === "us";
  const unit = us ? metresPerFoot : 1;
  const fits = (
    us
      ? [50, 100, 300, 500, 1000, 5280, 10560, 26400, 52800]
      : [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000]
  ).filter((n) => n * unit * props.pxPerM <= 130);
  const n = fits[fits.length - 1] ?? 10;
  const w = n * unit * props.pxPerM;
  const needW = (props.need?.working_m ?? 0) * props.pxPerM;
  const bar = (y: number, width: number) => `M4 ${y - 6}V${y}H${4 + width}V${y - 6}`;
  return (
    <svg class="over" width="340" height="46" aria-hidden="true">
      {props.need && needW > 3 && needW < 320 && (
        <>
          <path class="casing" stroke-width="5" d={bar(14, needW)} />
          <path class="need" stroke-width="2.4" d={bar(14, needW)} />
          <text class="needf plate" x={needW + 12} y="16" font-size="13" font-weight="600">
            {props.said ??
              say("map.scale.short", { distance: exact(props.need.working_m, settings.value.units), dog: dogName() })}
          </text>
        </>
      )}
      <path class="casing" stroke-width="5" d={bar(38, w)} />
      <path class="ink" stroke-width="2.4" d={bar(38, w)} />
      <text class="inkf plate" x={w + 12} y="40" font-size="13" font-weight="600">
        {us
          ? n >= 5280
            ? say("unit.mi", { n: n / 5280 })
            : say("unit.ft", { n })
          : n >= 1000
            ? say("unit.km", { n: n / 1000 })
            : say("unit.m", { n })}
      </text>
    </svg>
  );
}

/** The server's picture of the map, with buttons for nearer and wider. */
function StillMap(props: { need?: Drawing["need"] | undefined; walk?: Walk | undefined; bad: boolean }) {
  const box = useRef<HTMLDivElement>(null);
  const [wider, setWider] = useState(1);
  const [fault, setFault] = useState(false);
  const key = props.walk ? JSON.stringify(walkLine(props.walk).slice(0, 3)) + chosen.value : "";
  useEffect(() => {
    let gone = false;
    const b = box.current;
    if (!b || !wish.value.from || !dogNow()) return;
    const given = planGiven();
    walkPicture({
      ...(given ? { given } : { wish: wishBody(wish.value) }),
      walk: chosen.value,
      theme: theme.value,
      wider,
      width_px: b.clientWidth,
      height_px: b.clientHeight,
    })
      .then((svg) => {
        if (gone) return;
        svg.setAttribute("role", "img");
        svg.setAttribute("aria-label", say("map.picture"));
        b.replaceChildren(svg);
        setFault(false);
        document.documentElement.setAttribute("data-map-idle", "");
      })
      .catch(() => !gone && setFault(true));
    return () => {
      gone = true;
    };
  }, [key, wider]);
  return (
    <>
      <div class="picture" ref={box} />
      {fault && <p class="onpage">{say(props.bad ? "fault.map" : "map.nopicture")}</p>}
      <div class="tools">
        <button onClick={() => setWider(wider / 1.5)}>{say("map.nearer")}</button>
        <button onClick={() => setWider(wider * 1.5)}>{say("map.wider")}</button>
      </div>
    </>
  );
}

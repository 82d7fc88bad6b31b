// The place of a visit on the ground; where there is no WebGL2, the server's picture of it.
import { useEffect, useRef, useState } from "preact/hooks";
import { dogNow } from "../dogs.ts";
import type { PageMap } from "../map.ts";
import { groundOf, type PlaceShown, placeOf } from "../map_place.ts";
import { Bars, hasWebGL2 } from "../mapbox.tsx";
import { mapInfo } from "../mapinfo.ts";
import { settings, theme } from "../settings.ts";
import { say } from "../strings.ts";
import type { VisitDrawn } from "../types.ts";
import { drawnVisit, placePicture, type VisitsDoc, visitOf } from "../visits.ts";
import "./visits_place.css";

/** Puts a picture of the place into its box. */
export function fillPlace(box: HTMLElement, svg: SVGElement, dog: string): void {
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", say("visits.picture", { dog }));
  svg.setAttribute("width", "100%");
  svg.setAttribute("height", "100%");
  box.replaceChildren(svg);
}

export function VisitPlace(props: { doc: VisitsDoc; n: number }) {
  const [drawn, setDrawn] = useState<VisitDrawn | undefined>();
  const [fault, setFault] = useState(false);
  const v = visitOf(props.doc, props.n);
  const key = JSON.stringify([props.doc.id, props.n, v.at, v.arrive]);
  const still = !hasWebGL2 || !!v.meeting;
  useEffect(() => {
    if (still) return;
    let gone = false;
    drawnVisit(props.doc, props.n)
      .then((d) => {
        if (gone) return;
        setDrawn(d);
        setFault(false);
      })
      .catch(() => !gone && setFault(true));
    return () => {
      gone = true;
    };
  }, [key, still]);
  return (
    <div class="placepicture">
      {still ? (
        <PlacePicture doc={props.doc} n={props.n} fail={() => setFault(true)} />
      ) : (
        drawn && mapInfo.value && <PlaceMap drawn={drawn} />
      )}
      {fault && <p class="onpage">{say("visits.picture.none")}</p>}
    </div>
  );
}

const footPX = 76; // the bars of the scale lie under the place

function PlaceMap(props: { drawn: VisitDrawn }) {
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<PageMap>();
  const place = useRef<PlaceShown>(placeOf(props.drawn));
  const [pxPerM, setScale] = useState(0);
  const draw = () => {
    map.current?.show({ place: place.current });
    map.current?.fit(groundOf(place.current), footPX);
  };
  useEffect(() => {
    const target = box.current!;
    let gone = false;
    void import("../map.ts").then(({ PageMap }) => {
      if (gone) return;
      map.current = new PageMap(target, {
        bbox: mapInfo.value!.bbox,
        centre: place.current.at,
        label: say("visits.picture", { dog: dogNow()?.name ?? "" }),
        tap: () => undefined,
        scale: setScale,
      });
      draw();
    });
    return () => {
      gone = true;
      map.current?.remove();
      map.current = undefined;
    };
  }, []);
  useEffect(() => {
    place.current = placeOf(props.drawn);
    draw();
  }, [props.drawn, settings.value.units]);
  const { need } = place.current.watched;
  return (
    <div class="mapbox placemap">
      <div class="canvas" ref={box} />
      {pxPerM > 0 && <Bars pxPerM={pxPerM} need={{ ...need, kind: props.drawn.drawing.need.kind }} />}
    </div>
  );
}

/** The server's picture of the place, made for the room that there is. */
function PlacePicture(props: { doc: VisitsDoc; n: number; fail: () => void }) {
  const box = useRef<HTMLDivElement>(null);
  const v = visitOf(props.doc, props.n);
  const key = JSON.stringify([props.doc.id, props.n, v.at, v.arrive, theme.value, settings.value.units]);
  useEffect(() => {
    const b = box.current!;
    let gone = false;
    placePicture(props.doc, props.n, {
      width_px: Math.max(300, Math.round(b.clientWidth)),
      height_px: Math.max(300, Math.round(b.clientHeight)),
    })
      .then((svg) => !gone && fillPlace(b, svg, dogNow()?.name ?? ""))
      .catch(() => {
        if (gone) return;
        b.replaceChildren();
        props.fail();
      });
    return () => {
      gone = true;
    };
  }, [key]);
  return <div ref={box} class="holder" />;
}

// The ground round somebody who walks: their way up, they themselves in the lower third,
// what is ahead on its ribbon, what lies behind as dots. Drawn anew once a second at most.
import { useEffect, useRef, useState } from "preact/hooks";
import { along, walkLine } from "../geo.ts";
import type { PageMap } from "../map.ts";
import { Bars, hasWebGL2 } from "../mapbox.tsx";
import { mapInfo } from "../mapinfo.ts";
import { say } from "../strings.ts";
import type { Position } from "../types.ts";
import { offTheWalkM, place, putOn, type Saved } from "../walking.ts";
import { SavedMap } from "./go_ahead.tsx";

const acrossM = 300;
const down = 0.69;
const redrawMS = 1000;
const leastYouPX = 48;
const mostYouPX = 160;
const unknownM = 1000;

/** Where somebody is on the ground and which way they face. */
interface Here {
  at: Position;
  heading: number;
  m: number;
  strayM: number;
}

function hereOn(s: Saved, m: number): Here {
  const stand = place.value;
  const on = along(walkLine(s.walk), m);
  const lost = stand.known && stand.at && stand.offM > offTheWalkM;
  return {
    at: lost ? stand.at! : on.at,
    heading: (stand.known ? stand.heading : undefined) ?? on.angle,
    m,
    strayM: stand.known ? stand.accuracyM : unknownM,
  };
}

export function GoMap(props: { saved: Saved; m: number }) {
  const { saved: s } = props;
  const [here, setHere] = useState(() => hereOn(s, props.m));
  const drawn = useRef(0);
  const now = hereOn(s, props.m);
  useEffect(() => {
    const draw = () => {
      drawn.current = Date.now();
      setHere(now);
    };
    const wait = drawn.current + redrawMS - Date.now();
    if (wait <= 0) return draw();
    const t = setTimeout(draw, wait);
    return () => clearTimeout(t);
  }, [now.at[0], now.at[1], now.heading, now.m, now.strayM]);
  return hasWebGL2 && mapInfo.value ? <Ground saved={s} here={here} /> : <SavedMap saved={s} />;
}

function Ground(props: { saved: Saved; here: Here }) {
  const { saved: s, here } = props;
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<PageMap>();
  const [fault, setFault] = useState(false);
  const [pxPerM, setScale] = useState(0);
  const [high, setHigh] = useState(0);
  const info = mapInfo.value!;
  const latest = useRef(props);
  latest.current = props;
  const draw = () => {
    const { saved, here } = latest.current;
    map.current?.show({
      walks: [saved.walk],
      drawings: [saved.drawing],
      chosen: 0,
      streets: saved.streets,
      goneM: here.m,
    });
    map.current?.follow({ at: here.at, heading: here.heading, acrossM, down });
  };
  useEffect(() => {
    const target = box.current!;
    let gone = false;
    const seen = new ResizeObserver(() => {
      setHigh(target.clientHeight);
      draw();
    });
    seen.observe(target);
    void import("../map.ts")
      .then(({ PageMap }) => {
        if (gone) return;
        map.current = new PageMap(target, {
          bbox: info.bbox,
          centre: here.at,
          label: say("map.label"),
          tap: (at) => !place.peek().known && putOn([at.lon, at.lat]),
          scale: setScale,
          follows: true,
        });
        draw();
      })
      .catch(() => setFault(true));
    return () => {
      gone = true;
      seen.disconnect();
      map.current?.remove();
      map.current = undefined;
    };
  }, []);
  useEffect(draw, [here, s.walk, s.drawing, s.streets]);
  if (fault) return <SavedMap saved={s} />;
  const you = Math.min(mostYouPX, Math.max(leastYouPX, 2 * here.strayM * pxPerM));
  return (
    <div class="mapbox gomap">
      <div class="canvas" ref={box} />
      {high > 0 && (
        <svg class="you" style={{ top: `${down * high}px` }} width="320" height="32" aria-hidden="true">
          <rect class="rim" x={160 - you / 2 - 3} y="8" width={you + 6} height="16" />
          <rect class="bar" x={160 - you / 2} y="11" width={you} height="10" />
          <text class="inkf plate" x={160 + you / 2 + 10} y="22" font-size="16" font-weight="700">
            {say("go.you")}
          </text>
        </svg>
      )}
      {pxPerM > 0 && <Bars pxPerM={pxPerM} need={s.drawing.need} />}
    </div>
  );
}

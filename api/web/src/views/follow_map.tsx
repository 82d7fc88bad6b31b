// The ground round somebody who is under way: their way up, they themselves in the lower
// third. Drawn anew once a second at most.
import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { PageMap, Shown } from "../map.ts";
import { Bars, hasWebGL2 } from "../mapbox.tsx";
import { mapInfo } from "../mapinfo.ts";
import { say } from "../strings.ts";
import type { Drawing, Position } from "../types.ts";
import "./go.css";

const acrossM = 300;
const down = 0.69;
const redrawMS = 1000;
const leastYouPX = 48;
const mostYouPX = 160;

/** Where somebody is on the ground, which way they face, and how far that may be off. */
export interface Here {
  at: Position;
  /** in radians from east */
  heading: number;
  strayM: number;
  /** metres of a walk that lie behind */
  m: number;
}

interface Followed {
  shown: Shown;
  here: Here | undefined;
  /** what is shown while nobody knows where they are */
  whole: Position[];
  need: Drawing["need"] | undefined;
  tap: (at: Position) => void;
  /** without a map */
  instead: JSX.Element | null;
}

export function FollowMap(props: Followed) {
  const { here } = props;
  const [late, setLate] = useState(here);
  const drawn = useRef(0);
  useEffect(() => {
    const draw = () => {
      drawn.current = Date.now();
      setLate(here);
    };
    const wait = drawn.current + redrawMS - Date.now();
    if (wait <= 0) return draw();
    const t = setTimeout(draw, wait);
    return () => clearTimeout(t);
  }, [here?.at[0], here?.at[1], here?.heading, here?.m, here?.strayM]);
  return hasWebGL2 && mapInfo.value ? <Ground {...props} here={late} /> : props.instead;
}

function Ground(props: Followed) {
  const { here, shown } = props;
  const box = useRef<HTMLDivElement>(null);
  const map = useRef<PageMap>();
  const [fault, setFault] = useState(false);
  const [pxPerM, setScale] = useState(0);
  const [high, setHigh] = useState(0);
  const info = mapInfo.value!;
  const latest = useRef(props);
  latest.current = props;
  const draw = () => {
    const { shown, here, whole } = latest.current;
    map.current?.show({ ...shown, goneM: here?.m ?? 0 });
    if (here) map.current?.follow({ at: here.at, heading: here.heading, acrossM, down });
    else map.current?.fit(whole);
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
        const centre = here?.at ?? props.whole[0];
        map.current = new PageMap(target, {
          bbox: info.bbox,
          ...(centre ? { centre } : {}),
          label: say("map.label"),
          tap: (at) => latest.current.tap([at.lon, at.lat]),
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
  useEffect(draw, [here, shown]);
  if (fault) return props.instead;
  const you = here && Math.min(mostYouPX, Math.max(leastYouPX, 2 * here.strayM * pxPerM));
  return (
    <div class="mapbox gomap">
      <div class="canvas" ref={box} />
      {you !== undefined && high > 0 && (
        <svg class="you" style={{ top: `${down * high}px` }} width="320" height="32" aria-hidden="true">
          <rect class="rim" x={160 - you / 2 - 3} y="8" width={you + 6} height="16" />
          <rect class="bar" x={160 - you / 2} y="11" width={you} height="10" />
          <text class="inkf plate" x={160 + you / 2 + 10} y="22" font-size="16" font-weight="700">
            {say("go.you")}
          </text>
        </svg>
      )}
      {pxPerM > 0 && <Bars pxPerM={pxPerM} need={props.need} />}
    </div>
  );
}

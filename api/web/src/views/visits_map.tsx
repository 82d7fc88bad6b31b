// The ground of a visit under way: where one is, the way there or home, the place to
// stand, what is watched, the ways out.
import { useEffect, useMemo, useRef } from "preact/hooks";
import { along, match, metres } from "../geo.ts";
import { groundOf, type PlaceShown } from "../map_place.ts";
import { readPicture } from "../pictures.ts";
import type { Position } from "../types.ts";
import { homeOf, putOn, type SavedVisit, standing } from "../visiting.ts";
import { FollowMap, type Here } from "./follow_map.tsx";
import { fillPlace } from "./visits_place.tsx";

const atPlaceM = 30; // who stands so near to it looks at what is watched
const standM = 10; // who stands at the place is there, as near as its bar tells

/** Where one is: by the receiver, else at the place once one stands there. */
function hereOn(s: SavedVisit, place: PlaceShown, way: Position[]): Here | undefined {
  const told = standing.value?.known ? standing.value : undefined;
  const toward = along([place.at, place.sees], 0).angle;
  if (!told) return s.arrived ? { at: place.at, heading: toward, strayM: standM, m: 0 } : undefined;
  const stands = !!s.arrived && Math.hypot(...metres(told.at, place.at)) < atPlaceM;
  const ahead = () => told.heading ?? along(way, match(way, told.at).m).angle;
  return { at: told.at, heading: stands ? toward : ahead(), strayM: told.accuracyM, m: 0 };
}

/** Whether there is anything to show. */
export const hasGround = (s: SavedVisit): boolean => !!(s.place || s.picture);

export function VisitMap(props: { s: SavedVisit; home: boolean }) {
  const { s, home } = props;
  const { place } = s;
  const shown = useMemo(
    () => (place ? { place: home ? { ...place, way: homeOf(s) } : place } : undefined),
    [place, home, s.visit.stand],
  );
  const drawn = s.picture ? <SavedPlace text={s.picture} dog={s.dog} /> : null;
  if (!place || !shown) return drawn;
  const { way } = shown.place;
  return (
    <FollowMap
      shown={shown}
      here={hereOn(s, place, way)}
      whole={[...way, ...groundOf(place)]}
      need={{ ...place.watched.need, kind: s.visit.kind }}
      tap={(at) => !standing.peek()?.known && putOn(at)}
      instead={drawn}
    />
  );
}

/** The picture of the place that was saved with the visit. */
function SavedPlace(props: { text: string; dog: string }) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => fillPlace(box.current!, readPicture(props.text), props.dog), [props.text]);
  return <div ref={box} class="savedplace" />;
}

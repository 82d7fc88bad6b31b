// The ground round somebody who walks: what is ahead on its ribbon, what lies behind as dots.
import { useMemo } from "preact/hooks";
import { along, walkLine } from "../geo.ts";
import { offTheWalkM, place, putOn, type Saved } from "../walking.ts";
import { FollowMap, type Here } from "./follow_map.tsx";
import { SavedMap } from "./go_ahead.tsx";

const unknownM = 1000;

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
  const shown = useMemo(
    () => ({ walks: [s.walk], drawings: [s.drawing], chosen: 0, streets: s.streets }),
    [s.walk, s.drawing, s.streets],
  );
  return (
    <FollowMap
      shown={shown}
      here={hereOn(s, props.m)}
      whole={walkLine(s.walk)}
      need={s.drawing.need}
      tap={(at) => !place.peek().known && putOn(at)}
      instead={<SavedMap saved={s} />}
    />
  );
}

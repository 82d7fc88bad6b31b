// What to do when something is there now: at once, from what is stored, with the
// turn said first and sides as they are after it.
import { settings } from "./settings.ts";
import { say } from "./strings.ts";
import type { Leg, SideOut, StretchOut } from "./types.ts";
import { distance } from "./words.ts";

/** Where the trigger is, for somebody who faces along the walk. */
export type Side = "ahead" | "left" | "right" | "behind";

/** A brisk pace, at which the seconds to a way out are told. */
export const briskMPS = 1.6;

export interface Out {
  shout: string;
  second: string;
  detail: string;
  /** one has turned round: the picture is drawn with the new heading up */
  turned: boolean;
  /** where to go as one stands then */
  arrow: "up" | "left" | "right" | "none";
  /** the turn after that */
  next?: "left" | "right";
}

/** What is stored for a place of the walk and a side: the stretch that one stands on. */
export function storedOut(stretches: StretchOut[] | undefined, m: number, side: Side): SideOut | undefined {
  return stretchAt(stretches, m)?.[side];
}

/** The stored stretch that a place of the walk is on. */
export function stretchAt(stretches: StretchOut[] | undefined, m: number): StretchOut | undefined {
  let at: StretchOut | undefined;
  for (const s of stretches ?? []) if (!at || s.at_m <= m + 1) at = s;
  return at;
}

/** A way out that the server searched, in at most two short sentences and one of why. */
export function moveWords(o: SideOut, dog: string): Out {
  const u = settings.value.units;
  const seconds = Math.max(1, Math.round(o.seconds));
  const goal = o.hidden ? say("go.wayout.hidden") : say("go.wayout.works", { dog });
  const aside = o.first === "aside_left" || o.first === "aside_right";
  const far = aside ? (o.aside_m ?? 0) : Math.min(o.length_m, seconds * briskMPS);
  const detail = !o.works
    ? say("go.wayout.poor")
    : o.first === "stay"
      ? `${goal} ${say("go.wayout.feed")}`
      : say("go.wayout.reach", { distance: distance(far, u), seconds, goal });
  const next = o.then === "left" || o.then === "right" ? { next: o.then } : {};
  const second = next.next ? say(`go.wayout.then.${next.next}`, { distance: distance(o.then_m ?? 0, u) }) : "";
  switch (o.first) {
    case "back":
      return {
        shout: say("go.wayout.turn"),
        second: second || say("go.wayout.back"),
        detail,
        turned: true,
        arrow: "up",
        ...next,
      };
    case "ahead":
      return { shout: say("go.wayout.ahead"), second, detail, turned: false, arrow: "up", ...next };
    case "left":
    case "right":
      return { shout: say(`go.wayout.${o.first}`), second, detail, turned: false, arrow: o.first, ...next };
    case "aside_left":
      return { shout: say("go.wayout.aside.left"), second: "", detail, turned: false, arrow: "left" };
    case "aside_right":
      return { shout: say("go.wayout.aside.right"), second: "", detail, turned: false, arrow: "right" };
    case "stay":
      return { shout: say("go.wayout.stay"), second: "", detail, turned: false, arrow: "none" };
  }
}

/** The trigger's own side is never walked into. */
export function outWords(leg: Pick<Leg, "way_out_s" | "way_out_side">, side: Side): Out {
  const way = leg.way_out_side as "left" | "right" | "ahead" | "back" | undefined;
  const seconds = leg.way_out_s;
  if (seconds < 0 || !way)
    return { shout: say("go.wayout.none"), second: "", detail: say("go.wayout.none.do"), turned: false, arrow: "none" };
  const detail =
    seconds === 0
      ? say("go.wayout.here")
      : say("go.wayout.far", {
          distance: distance(seconds * briskMPS, settings.value.units),
          seconds: Math.round(seconds),
        });
  const away: Out =
    side === "behind"
      ? { shout: say("go.wayout.ahead"), second: "", detail: "", turned: false, arrow: "up" }
      : { shout: say("go.wayout.turn"), second: say("go.wayout.back"), detail: "", turned: true, arrow: "up" };
  if (way === side || (way === "back" && side === "behind")) return away;
  if (way === "left" || way === "right")
    return {
      shout: say(seconds === 0 ? `go.wayout.aside.${way}` : `go.wayout.${way}`),
      second: "",
      detail,
      turned: false,
      arrow: way,
    };
  if (seconds === 0) return { shout: say("go.wayout.stay"), second: "", detail, turned: false, arrow: "none" };
  if (way === "ahead") return { shout: say("go.wayout.ahead"), second: "", detail, turned: false, arrow: "up" };
  return { shout: say("go.wayout.turn"), second: say("go.wayout.back"), detail, turned: true, arrow: "up" };
}

// The plan in the page's address: wish, hour, chosen walk and what is shown, one entry of
// the history for each answer. So Back, Forward, a reload and a link that was sent open
// that plan.

import { effect, type ReadonlySignal, signal } from "@preact/signals";
import { answered, choose, chosen, letter, plan, takeWish, wish } from "./plan.ts";
import type { Limits, Place, Wish } from "./types.ts";
import { view } from "./view.ts";

export type Mode = "walks" | "streets";

const own = { mode: signal<Mode>("walks"), week: signal(false) };
/** Whether the map shows the walks, or the streets alone. */
export const mode: ReadonlySignal<Mode> = own.mode;
/** Whether the week is unfolded. */
export const week: ReadonlySignal<boolean> = own.week;
export const showMode = (m: Mode): void => {
  own.mode.value = m;
};
export const showWeek = (on: boolean): void => {
  own.week.value = on;
};

interface Told {
  wish: Wish;
  walk: number;
  mode: Mode;
  week: boolean;
}

const shapes: Wish["shape"][] = ["calmest", "loop", "there_and_back", "way", "longest_calm"];
const strains = ["none", "usual", "strict"] as const;

const placed = (q: URLSearchParams, of: string, p: Place | undefined) => {
  if (!p) return;
  q.set(of, `${p.at.lat.toFixed(6)},${p.at.lon.toFixed(6)}`);
  q.set(`${of}name`, p.name);
};

function placeIn(q: URLSearchParams, of: string): Place | undefined {
  const m = /^(-?\d{1,2}(?:\.\d+)?),(-?\d{1,3}(?:\.\d+)?)$/.exec(q.get(of) ?? "");
  if (!m) return undefined;
  return { name: (q.get(`${of}name`) ?? "").slice(0, 200), at: { lat: Number(m[1]), lon: Number(m[2]) } };
}

/** What of an address says which plan it is. */
export function written(w: Wish): URLSearchParams {
  const q = new URLSearchParams();
  placed(q, "from", w.from);
  if (w.shape === "way") placed(q, "to", w.to);
  q.set("minutes", String(w.minutes));
  if (w.shape !== "calmest") q.set("shape", w.shape);
  if (w.depart) q.set("at", w.depart);
  if (w.strain) q.set("strain", w.strain);
  if (w.soft_ground) q.set("soft", "1");
  if (w.away) q.set("away", "1");
  if (w.shape === "longest_calm" && w.max_expected_reactions) q.set("most", String(w.max_expected_reactions));
  if (Object.keys(w.limits).length > 0) q.set("limits", JSON.stringify(w.limits));
  if (w.weather) q.set("weather", JSON.stringify(w.weather));
  return q;
}

function object<T>(text: string | null): T | undefined {
  try {
    const v: unknown = JSON.parse(text ?? "");
    return v && typeof v === "object" && !Array.isArray(v) ? (v as T) : undefined;
  } catch {
    return undefined;
  }
}

/** The plan that an address tells of; none where it names no start that can be one.
 * Whatever else in it is not understood is left out: the server checks the rest. */
export function readAddress(hash: string): Told | undefined {
  const q = new URLSearchParams(hash.split("?")[1] ?? "");
  const from = placeIn(q, "from");
  if (!from) return undefined;
  const minutes = Number(q.get("minutes") ?? "30");
  const shape = shapes.find((s) => s === q.get("shape")) ?? "calmest";
  const at = Date.parse(q.get("at") ?? "");
  const most = Number(q.get("most") ?? "");
  const w: Wish = {
    shape,
    from,
    to: placeIn(q, "to"),
    minutes: minutes >= 5 && minutes <= 180 ? Math.round(minutes) : 30,
    depart: Number.isNaN(at) ? "" : new Date(at).toISOString(),
    limits: object<Limits>(q.get("limits")) ?? {},
    strain: strains.find((s) => s === q.get("strain")),
    soft_ground: q.get("soft") === "1",
    away: q.get("away") === "1",
    weather: object(q.get("weather")),
    ...(most > 0 ? { max_expected_reactions: most } : {}),
  };
  return {
    wish: w,
    walk: Math.max(0, "ABCDE".indexOf(q.get("walk") ?? "A")),
    mode: q.get("show") === "streets" ? "streets" : "walks",
    week: q.get("week") === "1",
  };
}

const same = (a: Wish, b: Wish): boolean => written(a).toString() === written(b).toString();

let reading = false;

/** Takes what an address tells, as far as it is another plan than the one that is there. */
function take(hash: string): void {
  const told = readAddress(hash);
  if (!told) return;
  reading = true;
  own.mode.value = told.mode;
  own.week.value = told.week;
  const there = answered.peek();
  if (there && same(told.wish, wish.peek())) choose(Math.min(told.walk, there.plan.walks.length - 1));
  else takeWish(told.wish, told.walk);
  reading = false;
}

/** Keeps address and plan together from now on; a plan that the address tells of is planned. */
export function followPlan(): void {
  if (view.peek() === "plan") take(location.hash);
  addEventListener("popstate", () => /^#\/plan/.test(location.hash) && take(location.hash));
  effect(() => {
    const p = plan.value;
    const [walk, m, w] = [chosen.value, own.mode.value, own.week.value];
    if (p.is !== "there" || view.value !== "plan" || reading) return;
    const q = written(wish.peek());
    const base = q.toString();
    if (walk > 0) q.set("walk", letter(walk));
    if (m === "streets") q.set("show", "streets");
    if (w) q.set("week", "1");
    const hash = `#/plan?${q}`;
    if (hash === location.hash) return;
    const now = readAddress(location.hash);
    // Another answer is another entry; another look at the same answer is not.
    if (now && written(now.wish).toString() !== base) history.pushState(null, "", hash);
    else history.replaceState(null, "", hash);
  });
}

// What walk is asked for and what the server answered.
import { batch, type ReadonlySignal, signal } from "@preact/signals";
import { ask, type Fault, faultOf } from "./api.ts";
import { dogNow, plainDog } from "./dogs.ts";
import { keep, kept } from "./kept.ts";
import type { Drawing, DrawnPlan, Given, Limits, Place, Plan, Weather, Wish, WishBody } from "./types.ts";

export type PlanState =
  | { is: "idle" }
  | { is: "looking" }
  | { is: "there"; plan: Plan; drawings: Drawing[] /** a longer search for a calmer loop is on */; checking: boolean }
  | { is: "fault"; fault: Fault };

const before = kept<Partial<Wish>>("wish");

const own = {
  wish: signal<Wish>({ shape: "calmest", minutes: 30, depart: "", limits: {}, ...before }),
  plan: signal<PlanState>({ is: "idle" }),
  chosen: signal(0),
};
export const wish: ReadonlySignal<Wish> = own.wish;
export const plan: ReadonlySignal<PlanState> = own.plan;
/** The index of the walk that is looked at. */
export const chosen: ReadonlySignal<number> = own.chosen;

let firstVisit = before === undefined;

export const choose = (i: number): void => {
  own.chosen.value = i;
};

export const letter = (i: number): string => String.fromCharCode(65 + i);

/** The departure that a wish means now. */
export function departure(w: Wish): string {
  return w.depart || new Date().toISOString();
}

/** The weather of a wish, as requests carry it. */
export const weatherOf = (w: Wish): { weather?: Weather } => (w.weather ? { weather: w.weather } : {});

/** The wish as the API takes it. */
export function wishBody(w: Wish): WishBody {
  const body: WishBody = {
    shape: w.shape,
    from: w.from!.at,
    minutes: w.minutes,
    depart: departure(w),
    dog: plainDog(dogNow()),
    limits: tidy(w.limits),
    ...weatherOf(w),
  };
  if (w.shape === "way" && w.to) body.to = w.to.at;
  if (w.strain) body.strain = w.strain;
  if (w.soft_ground) body.soft_ground = true;
  if (w.shape === "longest_calm") body.max_expected_reactions = w.max_expected_reactions ?? 0.1;
  return body;
}

function tidy(l: Limits): Limits {
  return Object.fromEntries(Object.entries(l).filter(([, v]) => (Array.isArray(v) ? v.length > 0 : v))) as Limits;
}

export const limitCount = (l: Limits): number =>
  Object.values(l).reduce<number>((n, v) => n + (Array.isArray(v) ? v.length : v ? 1 : 0), 0);

/** Changes the wish and plans again. */
export function want(patch: Partial<Wish>): void {
  const w = { ...own.wish.value, ...patch };
  keep("wish", { ...w, weather: undefined });
  firstVisit = false;
  own.wish.value = w;
  void planWalks();
}

/** Begins at a place of the map that is there now, where the wish has none on it;
 * somebody who is here for the first time leaves at the hour given. Nothing is kept. */
export function beginAt(within: (p: Place) => boolean, door: Place | undefined, leave: string): void {
  let w = own.wish.value;
  if (w.from && !within(w.from)) w = { ...w, from: undefined, to: undefined };
  if (door && !w.from) w = { ...w, from: door, ...(firstVisit ? { depart: leave } : {}) };
  own.wish.value = w;
}

let running: AbortController | undefined;

export function stopPlanning(): void {
  running?.abort();
  own.plan.value = { is: "idle" };
}

/** Asks for the plan that the wish describes. */
export async function planWalks(): Promise<void> {
  const w = own.wish.value;
  if (!w.from || (w.shape === "way" && !w.to)) return;
  running?.abort();
  const mine = new AbortController();
  running = mine;
  batch(() => {
    own.plan.value = { is: "looking" };
    own.chosen.value = 0;
  });
  try {
    const got = await ask("post", "/v1/drawings", { body: { wish: wishBody(w) }, signal: mine.signal });
    if (mine.signal.aborted) return;
    const checking = (w.shape === "calmest" || w.shape === "loop") && !got.plan.walks[0]!.quality.proved;
    own.plan.value = { is: "there", ...got, checking };
    if (checking) void prove(got, mine.signal);
  } catch (err) {
    if (mine.signal.aborted) return;
    const fault = faultOf(err);
    own.plan.value = { is: "fault", fault };
    if (fault.kind === "busy") setTimeout(() => void (running === mine && planWalks()), fault.retryS * 1000);
  }
}

/** What is shown, drawn and printed is the plan as it was given, never one that is searched anew. */
export const planGiven = (): Given | undefined =>
  own.plan.value.is === "there" ? own.plan.value.plan.given : undefined;

/** Asks for the long certificate of the best loop while its walk is read already. */
async function prove(got: DrawnPlan, signal: AbortSignal): Promise<void> {
  let plan = got.plan;
  try {
    const told = (await ask("post", "/v1/proofs", { body: { given: plan.given! }, signal })).walks[0]!;
    const [best, ...others] = plan.walks;
    plan = { ...plan, walks: [{ ...best!, quality: certified(best!, told) }, ...others] };
  } catch {
    // the walk stands without its certificate
  }
  const now = own.plan.value;
  if (!signal.aborted && now.is === "there" && now.plan === got.plan)
    own.plan.value = { ...now, plan, checking: false };
}

/** What the certificate of one search says of the walk that another found. */
function certified(best: Plan["walks"][number], told: Plan["walks"][number]): Plan["walks"][number]["quality"] {
  const { proved, within_percent, sum } = told.quality;
  const now = { ...told.quality, sum: best.quality.sum };
  if (!proved && within_percent < 0) return { ...now, proved: false, within_percent: -1 };
  const bound = proved ? sum : sum * (1 - within_percent / 100);
  const within = now.sum > 0 ? Math.max(0, 100 * (1 - bound / now.sum)) : 0;
  return { ...now, proved: proved && within < 0.01, within_percent: within };
}

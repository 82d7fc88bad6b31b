// What walk is asked for and what the server answered.
import { batch, computed, type ReadonlySignal, signal } from "@preact/signals";
import { isKept, keepAnswer, keptAnswer } from "./answers.ts";
import { ask, type Fault, faultOf } from "./api.ts";
import { dogName, dogNow, plainDog } from "./dogs.ts";
import { keep, kept } from "./kept.ts";
import type {
  Drawing,
  DrawnPlan,
  Given,
  Limits,
  Place,
  Plan,
  RankedStreets,
  Weather,
  Wish,
  WishBody,
} from "./types.ts";

/** An answer. */
export interface There {
  is: "there";
  plan: Plan;
  drawings: Drawing[];
  /** a longer search for a calmer loop is on */
  checking: boolean;
  /** the streets about, of the same dog and hour; none where they could not be had */
  streets?: RankedStreets | undefined;
  /** RFC 3339, where it is one that the device kept: when it was answered */
  answered?: string;
}

/** What was answered last stays to be seen until the next answer is there. */
export type PlanState =
  | { is: "idle" }
  | { is: "looking"; was?: There | undefined }
  | There
  | { is: "fault"; fault: Fault; was?: There | undefined };

const before = kept<Partial<Wish>>("wish");

const own = {
  wish: signal<Wish>({ shape: "calmest", minutes: 30, depart: "", limits: {}, ...before }),
  plan: signal<PlanState>({ is: "idle" }),
  chosen: signal(0),
  about: signal<RankedStreets | undefined>(undefined),
};
export const wish: ReadonlySignal<Wish> = own.wish;
export const plan: ReadonlySignal<PlanState> = own.plan;
/** The answer that is to be seen: the last one while the next is looked for. */
export const answered: ReadonlySignal<There | undefined> = computed(() => {
  const p = own.plan.value;
  return p.is === "there" ? p : p.is === "idle" ? undefined : p.was;
});
/** The streets about the start of a wish that is not yet planned. */
export const about: ReadonlySignal<RankedStreets | undefined> = own.about;
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
  if (w.away) body.away = true;
  if (w.shape === "longest_calm") body.max_expected_reactions = w.max_expected_reactions ?? 0.1;
  return body;
}

function tidy(l: Limits): Limits {
  return Object.fromEntries(Object.entries(l).filter(([, v]) => (Array.isArray(v) ? v.length > 0 : v))) as Limits;
}

export const limitCount = (l: Limits): number =>
  Object.values(l).reduce<number>((n, v) => n + (Array.isArray(v) ? v.length : v ? 1 : 0), 0);

/** Takes a wish as an address has it, and plans it. */
export function takeWish(w: Wish, walk: number): void {
  firstVisit = false;
  own.wish.value = w;
  void planWalks(walk, true);
}

/** Changes the wish and plans again. */
export function want(patch: Partial<Wish>): void {
  // Another start is as good as home until it is said otherwise.
  const w = { ...own.wish.value, ...(patch.from ? { away: false } : {}), ...patch };
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

/** What was asked, the same from an address as from the sentence. */
function keyOf(w: Wish, body: WishBody): string {
  const round = (p: { lat: number; lon: number } | undefined) => p && [p.lat.toFixed(6), p.lon.toFixed(6)];
  const depart = w.depart && new Date(w.depart).toISOString();
  return JSON.stringify({ ...body, depart, from: round(body.from), to: round(body.to) });
}

/** A kept plan whose departure is longer ago is not planned again. */
const goneMS = 36e5;

let running: AbortController | undefined;

export function stopPlanning(): void {
  running?.abort();
  own.plan.value = answered.peek() ?? { is: "idle" };
}

/** The streets about the start of a wish, compared for the dog at its hour. */
function streetsOf(w: Wish, depart: string, signal?: AbortSignal): Promise<RankedStreets | undefined> {
  const body = { from: w.from!.at, depart, dog: plainDog(dogNow()), ...weatherOf(w) };
  return ask("post", "/v1/streets", { body, ...(signal ? { signal } : {}) }).catch(() => undefined); // the walks stand without
}

/** Compares the streets about a start before anything is planned from it. */
export async function lookAbout(): Promise<void> {
  const w = own.wish.value;
  if (!w.from || !dogNow()) return;
  const got = await streetsOf(w, departure(w));
  if (own.wish.value.from === w.from) own.about.value = got;
}

/** Asks for the plan that the wish describes; number, streets and key change together,
 * when all of it is there. A kept one of an hour that is past, when it is opened, is only shown. */
export async function planWalks(walk = 0, opened = false): Promise<void> {
  const w = own.wish.value;
  if (!w.from || !dogNow() || (w.shape === "way" && !w.to)) return;
  running?.abort();
  const mine = new AbortController();
  running = mine;
  const was = answered.peek();
  own.plan.value = { is: "looking", was };
  const wish = wishBody(w);
  const key = keyOf(w, wish);
  const old = isKept(key) ? keptAnswer(key) : undefined;
  const show = (next: PlanState & object, of: There) =>
    batch(() => {
      own.chosen.value = Math.min(walk, of.plan.walks.length - 1);
      own.plan.value = next;
    });
  if (opened && old && w.depart && Date.parse(w.depart) < Date.now() - goneMS) {
    const there = await old;
    if (mine.signal.aborted) return;
    if (there) {
      show(there, there); // nobody walks it any more: it is looked at, not planned
      return;
    }
  }
  if (old && !was)
    void old.then((there) => {
      const now = own.plan.value;
      if (there && now.is === "looking" && !now.was && !mine.signal.aborted) show({ is: "looking", was: there }, there);
    });
  try {
    const [got, streets] = await Promise.all([
      ask("post", "/v1/drawings", { body: { wish }, signal: mine.signal }),
      streetsOf(w, wish.depart!, mine.signal),
    ]);
    if (mine.signal.aborted) return;
    const checking = (w.shape === "calmest" || w.shape === "loop") && !got.plan.walks[0]!.quality.proved;
    const there: There = { is: "there", ...got, checking, streets };
    show(there, there);
    const { depart, walks } = got.plan;
    const head = {
      key,
      wish: w,
      dog: dogName(),
      depart,
      calm: walks[0]!.calm_chance,
      answered: new Date().toISOString(),
    };
    void keepAnswer(head, there);
    if (checking) void prove(got, mine.signal);
  } catch (err) {
    if (mine.signal.aborted) return;
    const fault = faultOf(err);
    const last = fault.kind === "offline" ? ((await old) ?? was) : undefined;
    if (mine.signal.aborted) return;
    if (last) show({ is: "fault", fault, was: last }, last);
    else own.plan.value = { is: "fault", fault };
    if (fault.kind === "busy") setTimeout(() => void (running === mine && planWalks()), fault.retryS * 1000);
  }
}

/** What is shown, drawn and printed is the plan as it was given, never one that is searched anew. */
export const planGiven = (): Given | undefined => answered.value?.plan.given;

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

// What the page knows, in one place. Views read it and change it through set,
// which draws anew.
import { useLayoutEffect, useState } from "preact/hooks";
import type { AnswerOf } from "./api.ts";
import { ask, Fault } from "./api.ts";
import { speakAmerican } from "./strings.ts";
import type {
  DogFile,
  DogProfile,
  Drawing,
  Given,
  LatLon,
  Limits,
  MapInfo,
  Place,
  Plan,
  Walk,
  WishBody,
} from "./types.ts";
import type { Units } from "./words.ts";
import { instant } from "./words.ts";

/** What is asked for: the words of the sentence. */
export interface Wish {
  shape: NonNullable<WishBody["shape"]>;
  from?: Place | undefined;
  to?: Place | undefined;
  minutes: number;
  max_expected_reactions?: number;
  /** RFC 3339, or "" for now */
  depart: string;
  limits: Limits;
}

export interface Settings {
  units: Units;
  theme: "auto" | "light" | "dark";
  clock: "auto" | "h24" | "h12";
  buzz: boolean;
  aloud: boolean;
  role: "handler" | "trainer" | "shelter";
}

/** A dog as the page has it: with the server's id once the server keeps it. */
export interface PageDog extends DogFile {
  id?: string;
  version?: number;
  /** what was said, where needs holds what counts now */
  said?: DogFile["needs"];
  /** where each distance comes from */
  from?: Record<string, string>;
  drive?: NonNullable<DogProfile["drive"]>;
  caution?: boolean;
}

export type PlanState =
  | { is: "idle" }
  | { is: "looking"; since: number }
  | { is: "there"; plan: Plan; drawings: Drawing[] /** a longer search for a calmer loop is on */; checking?: boolean }
  | { is: "fault"; fault: Fault };

export interface State {
  map?: MapInfo;
  mapFault?: Fault | undefined;
  online: boolean;
  settings: Settings;
  dogs: PageDog[];
  dog: number;
  places: Place[];
  wish: Wish;
  plan: PlanState;
  chosen: number;
  view: string;
  hideAddress: boolean;
  /** where the next tap on the map goes, while a choice waits for it */
  pick?: ((at: LatLon) => void) | undefined;
  /** gives the middle of the map in view, once there is one that takes taps */
  mapCentre?: (() => LatLon) | undefined;
  firstVisit: boolean;
}

const kept = <T>(key: string, fallback: T): T => {
  try {
    const text = localStorage.getItem(`wideberth.${key}`);
    return text === null ? fallback : ({ ...(fallback as object), ...JSON.parse(text) } as T);
  } catch {
    return fallback;
  }
};
const keptList = <T>(key: string): T[] => {
  try {
    return JSON.parse(localStorage.getItem(`wideberth.${key}`) ?? "[]") as T[];
  } catch {
    return [];
  }
};
export const keep = (key: string, value: unknown): void =>
  localStorage.setItem(`wideberth.${key}`, JSON.stringify(value));

const region = (() => {
  try {
    return new Intl.Locale(navigator.language).region;
  } catch {
    return undefined;
  }
})();
const inFeet = region === "US" || region === "LR";

export const state: State = {
  online: navigator.onLine,
  settings: kept<Settings>("settings", {
    units: inFeet ? "us" : "metric",
    theme: "auto",
    clock: "auto",
    buzz: false,
    aloud: false,
    role: "handler",
  }),
  dogs: keptList<PageDog>("dogs"),
  dog: Math.max(
    0,
    keptList<PageDog>("dogs").findIndex((d) => d.name === localStorage.getItem("wideberth.dogname")),
  ),
  places: keptList<Place>("places"),
  wish: kept<Wish>("wish", { shape: "loop", minutes: 30, depart: "", limits: {} }),
  plan: { is: "idle" },
  chosen: 0,
  view: "plan",
  hideAddress: false,
  firstVisit: localStorage.getItem("wideberth.wish") === null,
};
speakAmerican(state.settings.units === "us");

const watchers = new Set<() => void>();

/** Changes the state and draws anew. */
export function set(patch: Partial<State>): void {
  Object.assign(state, patch);
  for (const w of watchers) w();
}

/** Draws the caller anew whenever the state changes. */
export function useAppState(): State {
  const [, tick] = useState(0);
  // before the next frame, or a change until then would be missed
  useLayoutEffect(() => {
    const w = () => tick((n) => n + 1);
    watchers.add(w);
    return () => void watchers.delete(w);
  }, []);
  return state;
}

export function setSettings(patch: Partial<Settings>): void {
  const settings = { ...state.settings, ...patch };
  keep("settings", settings);
  speakAmerican(settings.units === "us");
  set({ settings });
  dress();
}

/** Puts light or dark on the page. */
export function dress(night = false): void {
  const t = state.settings.theme;
  const dark = t === "dark" || (t === "auto" && (night || matchMedia("(prefers-color-scheme: dark)").matches));
  document.documentElement.dataset.theme = dark ? "dark" : "light";
  document.dispatchEvent(new Event("dressed"));
}

/** Light or dark, as the page is dressed now. */
export const themeNow = (): "light" | "dark" => (document.documentElement.dataset.theme === "dark" ? "dark" : "light");

export const dogNow = (): PageDog | undefined => state.dogs[state.dog];
export const dogName = (): string => dogNow()?.name ?? "";
export const zone = (): string => state.map?.time_zone ?? "UTC";

export function setDogs(dogs: PageDog[], dog = state.dog): void {
  const at = Math.min(dog, Math.max(0, dogs.length - 1));
  keep("dogs", dogs);
  localStorage.setItem("wideberth.dogname", dogs[at]?.name ?? "");
  set({ dogs, dog: at });
}

/** The dog without what only the page needs. */
export function plainDog(d: PageDog | undefined): DogFile {
  if (!d) return { name: "", needs: {} };
  const out: DogFile = { name: d.name, needs: d.needs };
  if (d.speed_mps) out.speed_mps = d.speed_mps;
  return out;
}

/** The departure that a wish means now. */
export function departure(w: Wish): string {
  return w.depart || new Date().toISOString();
}

/** The wish as the API takes it. */
export function wishBody(w: Wish): WishBody {
  const body: WishBody = {
    shape: w.shape,
    from: w.from!.at,
    minutes: w.minutes,
    depart: departure(w),
    dog: plainDog(dogNow()),
    limits: tidy(w.limits),
  };
  if (w.shape === "way" && w.to) body.to = w.to.at;
  if (w.shape === "longest_calm") body.max_expected_reactions = w.max_expected_reactions ?? 0.1;
  return body;
}

function tidy(l: Limits): Limits {
  return Object.fromEntries(Object.entries(l).filter(([, v]) => (Array.isArray(v) ? v.length > 0 : v))) as Limits;
}

export const limitCount = (l: Limits): number =>
  Object.values(l).reduce<number>((n, v) => n + (Array.isArray(v) ? v.length : v ? 1 : 0), 0);

let running: AbortController | undefined;

/** Changes the wish and plans again. */
export function wish(patch: Partial<Wish>): void {
  const w = { ...state.wish, ...patch };
  keep("wish", w);
  set({ wish: w, firstVisit: false });
  void plan();
}

export function stopPlanning(): void {
  running?.abort();
  set({ plan: { is: "idle" } });
}

/** Asks for the plan that the wish describes. */
export async function plan(): Promise<void> {
  const w = state.wish;
  if (!w.from || (w.shape === "way" && !w.to)) return;
  running?.abort();
  const mine = new AbortController();
  running = mine;
  set({ plan: { is: "looking", since: Date.now() }, chosen: 0 });
  try {
    const got = await ask("post", "/v1/drawings", { body: { wish: wishBody(w) }, signal: mine.signal });
    if (mine.signal.aborted) return;
    keep("lastplan", { at: Date.now(), wish: w });
    const checking = w.shape === "loop" && !got.plan.walks[0]!.quality.proved;
    set({ plan: { is: "there", plan: got.plan, drawings: got.drawings, checking } });
    if (checking) void prove(got, mine.signal);
  } catch (err) {
    if (mine.signal.aborted) return;
    const fault = err instanceof Fault ? err : new Fault("server");
    set({ plan: { is: "fault", fault } });
    if (fault.kind === "busy") setTimeout(() => void (running === mine && plan()), fault.retryS * 1000);
  }
}

/** Asks for the long certificate of the best loop while its walk is read already. */
async function prove(got: AnswerOf<"post", "/v1/drawings">, signal: AbortSignal): Promise<void> {
  const best = got.plan.walks[0]!;
  try {
    const told = (await ask("post", "/v1/proofs", { body: { given: got.plan.given! }, signal })).walks[0]!;
    const bound = told.quality.proved
      ? told.expected_reactions
      : told.quality.within_percent < 0
        ? -1
        : told.expected_reactions * (1 - told.quality.within_percent / 100);
    const within =
      bound < 0 ? -1 : best.expected_reactions > 0 ? Math.max(0, 100 * (1 - bound / best.expected_reactions)) : 0;
    best.quality = { proved: told.quality.proved && within < 0.01, within_percent: within };
  } catch {
    // the walk stands without its certificate
  }
  if (!signal.aborted && state.plan.is === "there" && state.plan.plan === got.plan)
    set({ plan: { ...state.plan, checking: false } });
}

/** What is shown, drawn and printed is the plan as it was given, never one that is searched anew. */
export const planGiven = (): Given | undefined => (state.plan.is === "there" ? state.plan.plan.given : undefined);

export const walkChosen = (): Walk | undefined =>
  state.plan.is === "there" ? state.plan.plan.walks[state.chosen] : undefined;
export const drawingChosen = (): Drawing | undefined =>
  state.plan.is === "there" ? state.plan.drawings[state.chosen] : undefined;

export const letter = (i: number): string => String.fromCharCode(65 + i);

/** Loads what the page needs to begin. */
export async function begin(): Promise<void> {
  set({ mapFault: undefined });
  try {
    const map = await ask("get", "/v1/map");
    keep("map", map);
    arrive(map);
  } catch (err) {
    const last = kept<MapInfo | Record<string, never>>("map", {});
    if ("name" in last) arrive(last as MapInfo);
    else set({ mapFault: err instanceof Fault ? err : new Fault("server") });
  }
}

function arrive(map: MapInfo): void {
  const demo = map.demo;
  if (demo && state.dogs.length === 0) state.dogs = [{ ...demo.dog }];
  const [w, s, e, n] = map.bbox;
  const f = state.wish.from?.at;
  if (f && !(f.lon >= w && f.lon <= e && f.lat >= s && f.lat <= n))
    state.wish = { ...state.wish, from: undefined, to: undefined };
  if (demo && !state.wish.from) {
    state.wish = { ...state.wish, from: demo.from };
    if (state.firstVisit) state.wish.depart = demoDepart(map);
  }
  set({ map });
}

/** The invented morning of the demo: the coming 07:10 of the place. */
function demoDepart(map: MapInfo): string {
  const now = new Date(map.now);
  for (let d = 0; d < 2; d++) {
    const day = new Intl.DateTimeFormat("en-CA", { timeZone: map.time_zone }).format(
      new Date(now.getTime() + d * 864e5),
    );
    const t = instant(day, "07:10", map.time_zone);
    if (t > now) return t.toISOString();
  }
  return "";
}

export function goTo(view: string): void {
  location.hash = `#/${view}`;
}

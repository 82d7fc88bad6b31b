// The walk that is on: what was saved for it, where we are on it, what was met.
import { ask } from "./api.ts";
import { along, match, walkLine } from "./geo.ts";
import { serverPicture } from "./mapbox.tsx";
import { newID, post, store, stored, takeBack, wrongClock } from "./outbox.ts";
import { dogNow, goTo, planGiven, set, state, themeNow } from "./state.ts";
import { metresAt, secondsAt } from "./strip.tsx";
import type { DogFile, Drawing, Plan, Position, StretchOut, Visit, Walk } from "./types.ts";

export type Outcome = "turned_back" | "took_food" | "no_food" | "over";
export type Band = "beyond" | "between" | "under";

/** One meeting; without a kind it is a draft to be filled in. */
export interface Meeting {
  id: string;
  at: string;
  category?: string;
  kind?: string | undefined;
  band?: Band;
  outcome?: Outcome;
  sudden?: boolean;
  lat?: number;
  lon?: number;
  /** metres into the walk, as far as was known */
  walkedM?: number;
  sent: boolean;
}

/** What is put down on the way, whatever the way is. */
export interface Log {
  id: string;
  dog: string;
  needs: Record<string, { working_m: number; reaction_m?: number } | null>;
  zone: string;
  started?: string;
  ended?: string;
  meetings: Meeting[];
  allTold?: boolean;
  finished?: boolean;
}

export interface Saved extends Log {
  walk: Walk;
  drawing: Drawing;
  depart: string;
  picture?: string;
  /** ways out for every stretch and side, from when the walk was got ready */
  outs?: StretchOut[];
  /** what was planned at first, where the walk was changed on the way */
  planned?: Walk;
}

/** A training visit as it lies on the device: a log with its place in place of a walk. */
export interface SavedVisit extends Log {
  visit: { sequence: string; number: number; of: number; kind: string; stand: Visit };
  arrived?: string;
  picture?: string;
}

const isVisit = (s: Log): s is SavedVisit => "visit" in s;

type Walking = { is: "none" } | { is: "ready"; saved: Saved } | { is: "on"; saved: Saved };

export const walking: { value: Walking } = { value: { is: "none" } };
interface OnWalk {
  m: number;
  /** the farthest that was reached */
  reachedM: number;
  offM: number;
  accuracyM: number;
  known: boolean;
  at?: Position;
  dark: boolean;
}

export const place: OnWalk = { m: 0, reachedM: 0, offM: 0, accuracyM: Infinity, known: false, dark: false };

const save = (s: Log): Promise<unknown> => store(isVisit(s) ? "visit" : "walk", s);

/** Puts a walk on the device with everything that is needed without a network; a
 * walk of an outing comes with its dog, and the strip alone leads home. */
export async function ready(walk: Walk, drawing: Drawing, plan: Plan, ofOuting?: DogFile): Promise<void> {
  const d = ofOuting ?? dogNow();
  const s: Saved = {
    id: newID(),
    dog: d?.name ?? "",
    needs: { ...d?.needs } as Saved["needs"],
    walk,
    drawing,
    depart: plan.depart,
    zone: plan.time_zone,
    meetings: [],
  };
  walking.value = { is: "ready", saved: s };
  await save(s);
  goTo("go");
  await Promise.all([waysOut(s), ofOuting ? undefined : drawn(s)]);
}

/** Fetches the ways out along a walk and keeps them with it. */
async function waysOut(s: Saved): Promise<void> {
  try {
    const dog = { name: s.dog, needs: s.needs };
    const line = walkLine(s.walk);
    const kind = s.drawing.need.kind;
    const got = await ask("post", "/v1/ways-out/along", {
      body: { line, dog, ...(kind ? { kind } : {}) },
    });
    s.outs = got.stretches;
    await save(s);
    set({});
  } catch {
    // each leg brings its own, nearer to the walk and less sure
  }
}

/** Keeps the server's picture of the map with a walk, for those who are lost. */
async function drawn(s: Saved): Promise<void> {
  const given = planGiven();
  if (!given) return;
  try {
    const svg = await serverPicture({
      given,
      walk: state.chosen,
      theme: themeNow(),
      wider: 1,
      ...(innerWidth >= 1000 ? { width_px: 608, height_px: 560 } : { width_px: 390, height_px: 420 }),
    });
    s.picture = new XMLSerializer().serializeToString(svg);
    await save(s);
  } catch {
    // the strip alone leads home
  }
}

/** Takes up what was on when the page was closed; true if a walk was under way. */
export async function resumeWalk(): Promise<boolean> {
  const s = await stored<Saved>("walk").catch(() => undefined);
  if (!s || s.ended) return false;
  walking.value = s.started ? { is: "on", saved: s } : { is: "ready", saved: s };
  if (s.started) follow();
  set({});
  return !!s.started;
}

let watch: number | undefined;
let lock: WakeLockSentinel | undefined;

export function startWalk(): void {
  const v = walking.value;
  if (v.is !== "ready") return;
  v.saved.started = new Date().toISOString();
  walking.value = { is: "on", saved: v.saved };
  void save(v.saved);
  follow();
  set({});
}

function follow(): void {
  if ("geolocation" in navigator && watch === undefined) {
    watch = navigator.geolocation.watchPosition(
      (p) => moved([p.coords.longitude, p.coords.latitude], p.coords.accuracy),
      () => {
        place.known = false;
        set({});
      },
      { enableHighAccuracy: true, maximumAge: 2000 },
    );
  }
  void stayAwake();
  document.addEventListener("visibilitychange", awake);
}

const awake = () => document.visibilityState === "visible" && walking.value.is === "on" && void stayAwake();

async function stayAwake(): Promise<void> {
  if (!("wakeLock" in navigator)) {
    place.dark = true;
    return;
  }
  try {
    lock = await navigator.wakeLock.request("screen");
    place.dark = false;
  } catch {
    place.dark = true; // said on the screen: the walk goes on without it
  }
  set({});
}

/** What a receiver strays by at least, between houses, whatever it tells. */
const leastStrayM = 15;

function moved(at: Position, accuracyM: number): void {
  const v = walking.value;
  if (v.is !== "on") return;
  const reached = { m: place.reachedM, strayM: Math.max(leastStrayM, accuracyM) };
  const hit = match(walkLine(v.saved.walk), at, whereNow(v.saved), reached);
  const known = accuracyM <= 30;
  Object.assign(place, { m: hit.m, offM: hit.offM, accuracyM, known, at });
  if (known) place.reachedM = Math.max(place.reachedM, hit.m);
  set({});
}

/** Where the handler says to be. */
export function putAt(m: number): void {
  Object.assign(place, { m, reachedM: m, offM: 0, known: true, accuracyM: 10 });
  set({});
}

/** A walk home from here, in the minutes that are left of this one and a few more; needs the network. */
export async function homeFromHere(s: Saved): Promise<void> {
  const line = walkLine(s.walk);
  const m = whereNow(s);
  const from = place.at ?? along(line, m).at;
  const end = line[line.length - 1]!;
  const minutes = Math.min(180, Math.max(10, Math.round((s.walk.duration_s - secondsAt(s.walk, m)) / 60) + 10));
  const dog: DogFile = { name: s.dog, needs: s.needs as DogFile["needs"] };
  const got = await ask("post", "/v1/drawings", {
    body: {
      wish: {
        shape: "way",
        from: { lon: from[0], lat: from[1] },
        to: { lon: end[0], lat: end[1] },
        minutes,
        depart: new Date().toISOString(),
        dog,
      },
    },
  });
  const i = got.plan.walks.reduce(
    (b, w, k) => (w.expected_reactions < got.plan.walks[b]!.expected_reactions ? k : b),
    0,
  );
  s.planned ??= s.walk;
  s.walk = got.plan.walks[i]!;
  s.drawing = got.drawings[i]!;
  delete s.picture;
  delete s.outs;
  Object.assign(place, { m: 0, reachedM: 0, offM: 0 });
  await save(s);
  set({});
  await waysOut(s);
}

/** Where we are, as far as is known: by position, else by the time gone. */
export function whereNow(s: Saved): number {
  if (place.known || place.m > 0 || !s.started) return place.m;
  return Math.min(s.walk.length_m, metresAt(s.walk, (Date.now() - Date.parse(s.started)) / 1000));
}

export function endWalk(): void {
  const v = walking.value;
  if (v.is !== "on") return;
  v.saved.ended = new Date().toISOString();
  if (watch !== undefined) navigator.geolocation.clearWatch(watch);
  watch = undefined;
  void lock?.release();
  document.removeEventListener("visibilitychange", awake);
  Object.assign(place, { m: 0, reachedM: 0, offM: 0, accuracyM: Infinity, known: false });
  delete place.at;
  walking.value = { is: "none" };
  void save(v.saved).then(async () => {
    const past = (await stored<Saved[]>("past")) ?? [];
    await store("past", [slim(v.saved), ...past].slice(0, 50));
    set({});
  });
  goTo("after");
}

const slim = (s: Saved): Saved => {
  const { picture: _, ...rest } = s;
  return rest;
};

export const lastWalk = (): Promise<Saved | undefined> => stored<Saved>("walk");
export const pastWalks = async (): Promise<Saved[]> => (await stored<Saved[]>("past")) ?? [];

/** Adds a meeting; one that says what it was goes into the outbox. */
export async function meet(s: Log, m: Meeting): Promise<void> {
  s.meetings.push(m);
  await keepMeetings(s);
  if (m.category && m.outcome) await sendMeeting(s, m);
}

async function keepMeetings(s: Log): Promise<void> {
  await save(s);
  if (isVisit(s)) return set({});
  const past = (await stored<Saved[]>("past")) ?? [];
  const i = past.findIndex((p) => p.id === s.id);
  if (i >= 0) {
    past[i] = slim(s as Saved);
    await store("past", past);
  }
  set({});
}

export { wrongClock };

/** What each outcome says of food and of going over. */
const told: Record<Outcome, Record<string, unknown>> = {
  turned_back: { food: "taken", turned_back: true },
  took_food: { food: "taken" },
  no_food: { food: "refused" },
  over: { over: "other" },
};

/** How near a meeting was, from the row that was tapped; nothing where the dog has no distances for it. */
function nearest(s: Log, what: string, band: Band): Record<string, unknown> {
  const n = needFor(s, what);
  if (!n) return {};
  const w = n.working_m;
  const r = n.reaction_m ?? w / 2;
  if (band === "beyond") return { nearest: "farther_than", distance_m: w };
  return band === "between"
    ? { nearest: "between", distance_m: r, to_m: w }
    : { nearest: "nearer_than", distance_m: r };
}

/** The dog's distances for a kind or a category: its own, else those of the kind's category, else those of one of the category's kinds. */
export function needFor(s: Pick<Log, "needs">, what: string): { working_m: number; reaction_m?: number } | undefined {
  return (
    s.needs[what] ??
    s.needs[categoryOf[what] ?? ""] ??
    Object.entries(s.needs).find(([k, v]) => v && categoryOf[k] === what)?.[1] ??
    undefined
  );
}

/** Every kind of trigger with its category. */
export const categoryOf: Record<string, string> = {
  dog_on_lead: "dogs",
  dog_off_lead: "dogs",
  dog_behind_fence: "dogs",
  adult: "people",
  child: "people",
  runner: "people",
  bicycle: "wheels",
  board_or_scooter: "wheels",
  pram_or_wheelchair: "wheels",
  car: "traffic",
  heavy_vehicle: "traffic",
  motorcycle: "traffic",
  train: "traffic",
  siren: "sounds",
  children_noise: "sounds",
  construction: "sounds",
  bells: "sounds",
};

async function sendMeeting(s: Log, m: Meeting): Promise<void> {
  await post({
    id: m.id,
    at: Date.now(),
    path: "/v1/dogs/{dog}/encounters",
    dog: s.dog,
    body: {
      walk: s.id,
      at: m.at,
      kind: m.kind ?? m.category,
      ...nearest(s, m.kind ?? m.category!, m.band!),
      ...told[m.outcome!],
      sudden: m.sudden ?? false,
      ...(m.lat === undefined ? {} : { lat: m.lat, lon: m.lon }),
    },
  });
  m.sent = true;
}

/** Takes a meeting back. */
export async function unmeet(s: Log, id: string): Promise<void> {
  const m = s.meetings.find((x) => x.id === id);
  s.meetings = s.meetings.filter((x) => x.id !== id);
  if (m?.sent && !(await takeBack(id)))
    await post({ id: newID(), at: Date.now(), path: `/v1/encounters/{id ${id}}/removal`, body: {} });
  await keepMeetings(s);
}

/** Fills in or mends a meeting. */
export async function mend(s: Saved, id: string, patch: Partial<Meeting>): Promise<void> {
  const m = s.meetings.find((x) => x.id === id);
  if (!m) return;
  await unmeet(s, id);
  const fresh: Meeting = { ...m, ...patch, id: newID(), sent: false };
  await meet(s, fresh);
}

/** Sends the walk itself, once, with whether all was told. */
export async function finish(s: Saved, allTold: boolean): Promise<void> {
  if (s.finished) return;
  s.finished = true;
  s.allTold = allTold;
  await keepMeetings(s);
  if (!s.started || wrongClock(s.started)) return;
  // The plan goes first: what it predicted is what the log is held against. A walk
  // that was changed on the way was not the one predicted.
  const plan = s.planned ? "" : `${s.id}.plan`;
  if (plan)
    await post({
      id: plan,
      at: Date.now(),
      path: "/v1/dogs/{dog}/plans",
      dog: s.dog,
      body: { plan: { walks: [s.walk], depart: s.depart, time_zone: s.zone } },
    });
  await post({
    id: s.id,
    at: Date.now() + 1,
    path: "/v1/dogs/{dog}/walks",
    dog: s.dog,
    body: { started: s.started, ended: s.ended, all_told: allTold },
    ...(plan ? { ids: { plan } } : {}),
  });
}

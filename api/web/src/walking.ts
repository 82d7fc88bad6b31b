// The walk that is got ready, on, or to be put down: what was saved for it, where
// we are on it, what was met.
import { type ReadonlySignal, signal } from "@preact/signals";
import { ask } from "./api.ts";
import { maySleep, stayAwake } from "./awake.ts";
import { metresAt, secondsAt } from "./course.ts";
import { dogNow } from "./dogs.ts";
import { along, match, metres, walkLine } from "./geo.ts";
import { keepGround } from "./ground.ts";
import type { Book, Log } from "./log.ts";
import { newID, post, store, stored, wrongClock } from "./outbox.ts";
import { walkPicture } from "./pictures.ts";
import { answered, chosen, planGiven } from "./plan.ts";
import { receive, type Told } from "./receiver.ts";
import type { Theme } from "./settings.ts";
import type { DogFile, Drawing, Given, Plan, Position, RankedStreets, StretchOut, Walk } from "./types.ts";
import { goTo } from "./view.ts";

export interface Saved extends Log {
  walk: Walk;
  drawing: Drawing;
  depart: string;
  /** where it came from, to be told anew at another hour */
  given?: { plan: Given; walk: number };
  /** the streets near the walk, compared: each of them is a way out */
  streets?: RankedStreets;
  /** the hour of all that is said of the walk now, where it was told anew */
  told?: string;
  /** what was said of it for the hour it was made for */
  first?: { calm: number };
  /** the server's pictures of the map: night may fall where there is no network */
  pictures?: Record<Theme, string>;
  /** ways out for every stretch and side, from when the walk was got ready */
  outs?: StretchOut[];
  /** what was planned at first, where the walk was changed on the way */
  planned?: Walk;
}

interface Stand {
  m: number;
  /** the farthest that was reached */
  reachedM: number;
  offM: number;
  accuracyM: number;
  known: boolean;
  at?: Position;
  /** the direction of the last metres walked, in radians from east; none while one stands */
  heading?: number | undefined;
}
const nowhere: Stand = { m: 0, reachedM: 0, offM: 0, accuracyM: Infinity, known: false };

const own = { saved: signal<Saved | undefined>(undefined), looked: signal(false), place: signal<Stand>(nowhere) };
/** The last walk that was got ready. */
export const walk: ReadonlySignal<Saved | undefined> = own.saved;
/** Whether the device has been asked for it. */
export const walkLooked: ReadonlySignal<boolean> = own.looked;
/** Where we are on it, as far as is known. */
export const place: ReadonlySignal<Stand> = own.place;

/** How far the walk has come. */
export const phase = (s = own.saved.value): "none" | "ready" | "on" | "ended" =>
  !s ? "none" : s.ended ? "ended" : s.started ? "on" : "ready";

const placeIs = (patch: Partial<Stand>): void => {
  own.place.value = { ...own.place.value, ...patch };
};

/** Changes the walk, here and on the device, if it is still the same. */
async function change(id: string, how: (s: Saved) => Saved): Promise<void> {
  const s = own.saved.value;
  if (s?.id !== id) return;
  const next = how(s);
  own.saved.value = next;
  await store("walk", next);
}

const slim = ({ pictures: _, ...rest }: Saved): Saved => rest;

/** The walk's log; one that is put down already is changed among the past ones too. */
export const walkBook: Book<Saved> = {
  log: own.saved,
  async change(how) {
    const id = own.saved.value?.id ?? "";
    await change(id, how);
    const past = (await stored<Saved[]>("past")) ?? [];
    const now = own.saved.value;
    if (now && past.some((p) => p.id === now.id))
      await store(
        "past",
        past.map((p) => (p.id === now.id ? slim(now) : p)),
      );
  },
};

/** Puts a walk on the device with everything that is needed without a network; a
 * walk of an outing comes with its dog, and the strip alone leads home. */
export async function ready(walk: Walk, drawing: Drawing, plan: Plan, ofOuting?: DogFile): Promise<void> {
  const d = ofOuting ?? dogNow();
  const s: Saved = {
    id: newID(),
    dog: d?.name ?? "",
    needs: { ...d?.needs },
    walk,
    drawing,
    depart: plan.depart,
    zone: plan.time_zone,
    meetings: [],
    ...(ofOuting ? {} : ofPlan(walk)),
  };
  own.saved.value = s;
  await store("walk", s);
  goTo("go");
  await Promise.all([waysOut(s), ofOuting ? undefined : drawn(s), keepGround(walkLine(walk), nearM)]);
}

/** What of the plan stays with one of its walks. */
function ofPlan(walk: Walk): Pick<Saved, "given" | "streets"> {
  const plan = planGiven();
  const about = answered.value?.streets;
  return {
    ...(plan ? { given: { plan, walk: chosen.value } } : {}),
    ...(about ? { streets: streetsNear(about, walk) } : {}),
  };
}

const nearM = 300; // more of the streets is never seen on the way

/** The runs that come near a walk, with the ways that they are made of. */
function streetsNear(of: RankedStreets, walk: Walk): RankedStreets {
  const line = walkLine(walk);
  const near = (p: Position) => line.some((q) => Math.hypot(...metres(p, q)) < nearM);
  const edges = new Map<number, number>();
  const features: RankedStreets["features"] = [];
  const runs = of.runs
    .filter((r) => r.edges.some((e) => of.features[Math.abs(e) - 1]!.geometry.coordinates.some(near)))
    .map((r) => ({
      ...r,
      edges: r.edges.map((e) => {
        const i = Math.abs(e);
        if (!edges.has(i)) edges.set(i, features.push(of.features[i - 1]!));
        return Math.sign(e) * edges.get(i)!;
      }),
    }));
  return { ...of, features, runs };
}

/** From how far off its hour a walk says something else. */
const anotherHourMS = 5 * 60000;

/** Whether what is said of the walk was reckoned for another hour than this. */
export const isOld = (s: Saved): boolean => Math.abs(Date.now() - Date.parse(s.told ?? s.depart)) > anotherHourMS;

/** Tells a walk that is not begun anew, as begun now: number, hardness, watch points and
 * streets. False where that cannot be had: what was said for its own hour stays. */
export async function countAnew(s: Saved): Promise<boolean> {
  if (!s.given) return false;
  const { plan, walk: i } = s.given;
  const leave = new Date().toISOString();
  const { from, dog, weather } = plan.wish;
  try {
    const [got, about] = await Promise.all([
      ask("post", "/v1/drawings", { body: { given: plan, leave } }),
      ask("post", "/v1/streets", {
        body: { from, depart: leave, ...(dog ? { dog } : {}), ...(weather ? { weather } : {}) },
      }).catch(() => undefined),
    ]);
    const [walk, drawing] = [got.plan.walks[i]!, got.drawings[i]!];
    await change(s.id, (now) =>
      now.started
        ? now
        : {
            ...now,
            walk,
            drawing,
            told: leave,
            first: now.first ?? { calm: now.walk.calm_chance },
            ...(about ? { streets: streetsNear(about, walk) } : {}),
          },
    );
    if (own.saved.value?.id === s.id) void drawn(own.saved.value);
    return true;
  } catch {
    return false;
  }
}

/** The same ground, whatever is said of it. */
const sameWay = (a: Walk, b: Walk): boolean =>
  a === b || (a.length_m === b.length_m && a.legs.length === b.legs.length);

/** Fetches the ways out along a walk and keeps them with it. */
async function waysOut(s: Saved): Promise<void> {
  try {
    const kind = s.drawing.need.kind;
    const { stretches } = await ask("post", "/v1/ways-out/along", {
      body: { line: walkLine(s.walk), dog: { name: s.dog, needs: s.needs }, ...(kind ? { kind } : {}) },
    });
    await change(s.id, (now) => (sameWay(now.walk, s.walk) ? { ...now, outs: stretches } : now));
  } catch {
    // each leg brings its own, nearer to the walk and less sure
  }
}

/** Keeps the server's pictures of the map with a walk, by day and by night, for those who are lost. */
async function drawn(s: Saved): Promise<void> {
  const { given } = s;
  if (!given) return;
  const picture = async (theme: Theme) => {
    const svg = await walkPicture({
      given: given.plan,
      walk: given.walk,
      ...(s.told ? { leave: s.told } : {}),
      theme,
      wider: 1,
      ...(innerWidth >= 1000 ? { width_px: 608, height_px: 560 } : { width_px: 390, height_px: 420 }),
    });
    return new XMLSerializer().serializeToString(svg);
  };
  try {
    const [light, dark] = await Promise.all([picture("light"), picture("dark")]);
    await change(s.id, (now) => (sameWay(now.walk, s.walk) ? { ...now, pictures: { light, dark } } : now));
  } catch {
    // the strip alone leads home
  }
}

/** Takes up what was on when the page was closed; true if a walk was under way. */
export async function resumeWalk(): Promise<boolean> {
  const s = await stored<Saved>("walk").catch(() => undefined);
  if (!own.saved.value) own.saved.value = s;
  own.looked.value = true;
  if (phase() !== "on") return false;
  follow();
  return true;
}

let unreceive: (() => void) | undefined;

export function startWalk(): void {
  const s = own.saved.value;
  if (!s || phase() !== "ready") return;
  void change(s.id, (now) => ({ ...now, started: new Date().toISOString() }));
  follow();
}

function follow(): void {
  unreceive ??= receive(moved, () => placeIs({ known: false }));
  stayAwake("walk");
}

/** What a receiver strays by at least, between houses, whatever it tells. */
const leastStrayM = 15;

function moved({ at, accuracyM, known, heading }: Told): void {
  const s = own.saved.value;
  if (!s || phase() !== "on") return;
  const { reachedM } = own.place.value;
  const reached = { m: reachedM, strayM: Math.max(leastStrayM, accuracyM) };
  const hit = match(walkLine(s.walk), at, whereNow(s), reached);
  placeIs({ ...hit, accuracyM, known, at, heading, reachedM: known ? Math.max(reachedM, hit.m) : reachedM });
}

/** Where the handler says to be. */
export function putAt(m: number): void {
  placeIs({ m, reachedM: m, offM: 0, known: true, accuracyM: 10, heading: undefined });
}

/** The same, shown on the ground. */
export function putOn(at: Position): void {
  const s = own.saved.value;
  if (s) putAt(match(walkLine(s.walk), at, whereNow(s)).m);
}

/** Farther than this from it nobody is on the walk. */
export const offTheWalkM = 35;

/** A walk home from here, in the minutes that are left of this one and a few more; needs the network. */
export async function homeFromHere(s: Saved): Promise<void> {
  const line = walkLine(s.walk);
  const m = whereNow(s);
  const from = own.place.value.at ?? along(line, m).at;
  const end = line[line.length - 1]!;
  const minutes = Math.min(180, Math.max(10, Math.round((s.walk.duration_s - secondsAt(s.walk, m)) / 60) + 10));
  const got = await ask("post", "/v1/drawings", {
    body: {
      wish: {
        shape: "way",
        from: { lon: from[0], lat: from[1] },
        to: { lon: end[0], lat: end[1] },
        minutes,
        depart: new Date().toISOString(),
        dog: { name: s.dog, needs: s.needs },
      },
    },
  });
  const i = got.plan.walks.reduce(
    (b, w, k) => (w.expected_reactions < got.plan.walks[b]!.expected_reactions ? k : b),
    0,
  );
  placeIs({ m: 0, reachedM: 0, offM: 0 });
  await change(s.id, ({ pictures: _, outs: __, ...now }) => ({
    ...now,
    planned: now.planned ?? now.walk,
    walk: got.plan.walks[i]!,
    drawing: got.drawings[i]!,
  }));
  const now = own.saved.value;
  if (now?.id === s.id) await waysOut(now);
}

/** Where we are, as far as is known: by position, else by the time gone. */
export function whereNow(s: Saved): number {
  const p = own.place.value;
  if (p.known || p.m > 0 || !s.started) return p.m;
  return Math.min(s.walk.length_m, metresAt(s.walk, (Date.now() - Date.parse(s.started)) / 1000));
}

export function endWalk(): void {
  const s = own.saved.value;
  if (!s || phase() !== "on") return;
  unreceive?.();
  unreceive = undefined;
  maySleep("walk");
  own.place.value = nowhere;
  const ended = { ...s, ended: new Date().toISOString() };
  void change(s.id, () => ended).then(async () => {
    const past = (await stored<Saved[]>("past")) ?? [];
    await store("past", [slim(own.saved.value?.id === s.id ? own.saved.value : ended), ...past].slice(0, 50));
  });
  goTo("after");
}

/** Sends the walk itself, once, with whether all was told. */
export async function finish(allTold: boolean): Promise<void> {
  const s = own.saved.value;
  if (!s || s.finished) return;
  await walkBook.change((now) => ({ ...now, finished: true, allTold }));
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
      body: { plan: { walks: [s.walk], depart: s.told ?? s.depart, time_zone: s.zone } },
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

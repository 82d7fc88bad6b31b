// Sequences of training visits: asked of the server, kept there with their dog,
// and on the device for where there is no network. What is next changes only when
// a person says so.

import type { BodyOf } from "./api.ts";
import { ask, call, Fault } from "./api.ts";
import { documents } from "./documents.ts";
import { idOf, memory } from "./memory.ts";
import { newID, store, stored } from "./outbox.ts";
import { dogNow, plainDog, set, setDogs, state, themeNow, zone } from "./state.ts";
import { say } from "./strings.ts";
import type { Doc, LatLon, MoveRule, Place, Progress, Sequence, Stay, Visit, VisitsBody } from "./types.ts";
import { metresPerFoot } from "./words.ts";

/** What is asked: the words of the sentence. */
export interface VisitsWish {
  kind: string;
  from?: Place;
  farthest: number;
  nearest: number;
  /** expected reactions that one visit may cost, ways and all */
  most: number;
  pins: LatLon[];
  bans: LatLon[];
}

interface Body {
  wish: VisitsBody;
  sequence: Sequence;
  step: number;
  paused: boolean;
  from_name?: string;
  rule?: MoveRule;
}
/** A kept sequence; one that is only on the device has version 0. */
export type VisitsDoc = Pick<Doc<Body>, "id" | "version" | "dog" | "updated" | "body">;

const sequences = documents<Body>("visits");

type Doing = "nothing" | "looking" | "changing";

export const visits: {
  wish: VisitsWish;
  docs: VisitsDoc[];
  progress: Record<string, Progress>;
  id: string;
  doing: Doing;
  fault?: Fault;
  /** an answer without a single visit: only what is lacking */
  none?: Sequence;
  loaded: boolean;
  /** nothing newer than what was on the device */
  old: boolean;
  /** hours that only this device has, by sequence and visit */
  mine: Record<string, Visit>;
  stop?: AbortController;
} = {
  wish: { kind: "dogs", farthest: 2, nearest: 1, most: 1, pins: [], bans: [] },
  docs: [],
  progress: {},
  id: "",
  doing: "nothing",
  loaded: false,
  old: false,
  mine: {},
};

const demoMost = 2; // in the demo's small town every way to the dog field passes houses
const savedKey = "visits";

/** Keeps on the device what there is. */
const onDevice = () =>
  store(savedKey, { docs: visits.docs, progress: visits.progress, mine: visits.mine }).catch(() => undefined);

let begun = "";

/** Takes up what is on the device, then what the server has. */
export async function beginVisits(): Promise<void> {
  if (!state.map) return;
  if (begun !== state.map.name) {
    begun = state.map.name;
    visits.wish = firstWish();
    const saved = await stored<Pick<typeof visits, "docs" | "progress" | "mine">>(savedKey).catch(() => undefined);
    if (saved && visits.docs.length === 0) Object.assign(visits, saved);
    take();
    set({});
  }
  await loadVisits();
}

function firstWish(): VisitsWish {
  const from = state.map?.demo?.from ?? state.wish.from;
  return {
    kind: "dogs",
    ...(from ? { from } : {}),
    farthest: 2,
    nearest: 1,
    most: state.map?.demo ? demoMost : 1,
    pins: [],
    bans: [],
  };
}

/** The sequences of the account, newest first, and how the open one goes. */
export async function loadVisits(all = false): Promise<void> {
  if (!memory.there) {
    visits.loaded = true;
    return set({});
  }
  try {
    visits.docs = await sequences.all(visits.docs);
    const read = all ? newestOfEach() : visits.docs.filter((d) => d === shown());
    const got = await Promise.all(read.map((d) => ask("get", "/v1/visits/{id}/progress", { at: { id: d.id } })));
    read.forEach((d, i) => {
      visits.progress[d.id] = got[i]!;
    });
    visits.old = false;
    if (visits.fault?.kind === "offline") delete visits.fault;
  } catch (err) {
    visits.old = true;
    if (!(err instanceof Fault && err.kind === "offline"))
      visits.fault = err instanceof Fault ? err : new Fault("server");
  }
  visits.loaded = true;
  take();
  await onDevice();
  set({});
}

const newestOfEach = (): VisitsDoc[] =>
  visits.docs.filter((d, i) => visits.docs.findIndex((x) => x.dog === d.dog) === i);

const here = (d: VisitsDoc): boolean => {
  const [w, s, e, n] = state.map?.bbox ?? [-180, -90, 180, 90];
  const [lon, lat] = d.body.sequence.visits[0]?.at ?? [NaN, NaN];
  return lon >= w && lon <= e && lat >= s && lat <= n;
};

/** The dog's sequences, newest first; of a dog that only the device knows by its name. */
export const ofDog = (): VisitsDoc[] =>
  visits.docs.filter((d) => (d.dog === (dogNow()?.id ?? "") || d.dog === `device:${dogNow()?.name ?? ""}`) && here(d));

/** The sequence that is shown. */
export function shown(): VisitsDoc | undefined {
  const list = ofDog();
  return list.find((d) => d.id === visits.id) ?? list[0];
}

/** Makes the sentence say what the shown sequence answers. */
function take(): void {
  const d = shown();
  if (!d || d.id === visits.id) return;
  visits.id = d.id;
  visits.wish = askedBy(d);
}

export function openSequence(id: string): void {
  visits.id = "";
  const d = visits.docs.find((x) => x.id === id);
  if (d) {
    visits.id = id;
    visits.wish = askedBy(d);
    delete visits.none;
  }
  set({});
  void loadVisits();
}

/** Another dog: its own sequence is shown, if it has one. */
export function pickDog(i: number): void {
  setDogs(state.dogs, i);
  delete visits.none;
  visits.id = "";
  const d = shown();
  if (d) openSequence(d.id);
  set({});
}

function askedBy(d: VisitsDoc): VisitsWish {
  const w: Partial<VisitsBody> = d.body.wish;
  const from = w.from ? { name: d.body.from_name ?? say("plan.map.point"), at: w.from } : visits.wish.from;
  return {
    kind: w.kind ?? "dogs",
    ...(from ? { from } : {}),
    farthest: w.farthest || 2,
    nearest: w.nearest || 1,
    most: w.max_expected_reactions || 1,
    pins: w.pins ?? [],
    bans: w.bans ?? [],
  };
}

export function setVisitsWish(patch: Partial<VisitsWish>): void {
  visits.wish = { ...visits.wish, ...patch };
  set({});
}

/** Whether what is shown is what is asked. */
export function answersWish(d: VisitsDoc): boolean {
  const strip = (w: VisitsWish) => JSON.stringify([w.kind, w.from?.at, w.farthest, w.nearest, w.most, w.pins, w.bans]);
  return strip(askedBy(d)) === strip(visits.wish);
}

async function wishBody(w: VisitsWish): Promise<VisitsBody> {
  const d = dogNow()!;
  const who = memory.there
    ? { dog_id: await idOf(d.name) }
    : { dog: plainDog(d), ...(d.caution ? { bite_history: true } : {}) };
  return {
    from: w.from!.at,
    ...who,
    kind: w.kind,
    farthest: w.farthest,
    nearest: w.nearest,
    max_expected_reactions: w.most,
    ...(w.pins.length ? { pins: w.pins } : {}),
    ...(w.bans.length ? { bans: w.bans } : {}),
  };
}

function failed(err: unknown): void {
  visits.doing = "nothing";
  visits.fault = err instanceof Fault ? err : new Fault("server");
  set({});
}

/** Plans what the sentence says and keeps it: in place of the shown sequence as long
 * as nothing was logged of that, else beside it. */
export async function planVisits(): Promise<void> {
  const w = visits.wish;
  if (!w.from || !dogNow()) return;
  visits.stop?.abort();
  const mine = new AbortController();
  visits.stop = mine;
  visits.doing = "looking";
  delete visits.fault;
  delete visits.none;
  set({});
  try {
    const wish = await wishBody(w);
    const sequence = await ask("post", "/v1/visits", { body: wish, signal: mine.signal });
    if (mine.signal.aborted) return;
    if (sequence.visits.length === 0) visits.none = sequence;
    else {
      const was = shown();
      const over = was && (visits.progress[was.id]?.done.length ?? 0) === 0 ? was : undefined;
      await keepDoc({
        id: over?.id ?? newID(),
        version: over?.version ?? 0,
        dog: (wish.dog_id as string | undefined) ?? `device:${dogNow()!.name}`,
        updated: "",
        body: { wish, sequence, step: 1, paused: false, from_name: w.from.name },
      });
    }
    visits.doing = "nothing";
    set({});
  } catch (err) {
    if (!mine.signal.aborted) failed(err);
  }
}

export function stopVisits(): void {
  visits.stop?.abort();
  visits.doing = "nothing";
  set({});
}

/** Keeps a sequence and shows it. */
async function keepDoc(d: VisitsDoc): Promise<void> {
  const got = memory.there
    ? await sequences.put(d.id, { version: d.version, ...(d.dog ? { dog: d.dog } : {}), body: d.body })
    : { ...d, updated: new Date().toISOString() };
  show(got);
  if (memory.there) await loadVisits();
  else await onDevice();
}

/** Sets when this sequence moves on. */
export async function keepRule(d: VisitsDoc, rule: MoveRule): Promise<void> {
  visits.doing = "changing";
  delete visits.fault;
  set({});
  try {
    await keepDoc({ ...d, body: { ...d.body, rule } });
    visits.doing = "nothing";
    set({});
  } catch (err) {
    failed(err);
  }
}

function show(d: VisitsDoc): void {
  visits.docs = [d, ...visits.docs.filter((x) => x.id !== d.id)];
  visits.id = d.id;
  visits.wish = askedBy(d);
  for (const k of Object.keys(visits.mine)) if (k.startsWith(`${d.id}/`)) delete visits.mine[k];
}

/** A visit of a sequence by its number, at the hour that this device has for it. */
export const visitOf = (d: VisitsDoc, n: number): Visit =>
  visits.mine[`${d.id}/${n}`] ?? d.body.sequence.visits[n - 1]!;

/** What names a visit to the server: kept ones by their number, others by their place. */
export function revisit(d: VisitsDoc, n: number, v: Stay = visitOf(d, n)): BodyOf<"post", "/v1/visits/replan"> {
  const when = { arrive: v.arrive, stay_minutes: v.stay_minutes };
  const own = d.body.sequence.visits[n - 1]!;
  const same = v.at[0] === own.at[0] && v.at[1] === own.at[1];
  if (d.version > 0 && same) return { sequence: d.id, visit: n, ...when };
  return {
    wish: d.body.wish,
    at: { lon: v.at[0], lat: v.at[1] },
    ...(v.watched.osm ? { watched: v.watched.osm } : {}),
    ...when,
  };
}

async function changing(work: () => Promise<void>): Promise<boolean> {
  visits.doing = "changing";
  delete visits.fault;
  set({});
  try {
    await work();
    visits.doing = "nothing";
    set({});
    return true;
  } catch (err) {
    failed(err);
    return false;
  }
}

/** Plans one visit anew: another hour, or another place of about its hardness. Who
 * may not change the sequence has it on this device. */
export const moveVisit = (d: VisitsDoc, n: number, to: Stay): Promise<boolean> =>
  changing(async () => {
    const got = await ask("post", "/v1/visits/replan", { body: revisit(d, n, to) });
    const was = d.body.sequence.visits[n - 1]!;
    const v: Visit = { ...got, harder: was.harder, easier: was.easier, alternatives: was.alternatives };
    try {
      await keepDoc({
        ...d,
        body: {
          ...d.body,
          sequence: { ...d.body.sequence, visits: d.body.sequence.visits.map((x, i) => (i === n - 1 ? v : x)) },
        },
      });
    } catch (err) {
      if (!(err instanceof Fault && err.problem?.status === 403)) throw err;
      visits.mine[`${d.id}/${n}`] = v;
      await onDevice();
    }
  });

/** A person says which visit is next, or that there is none for now. */
export const decide = (d: VisitsDoc, what: { to?: number; paused?: boolean }): Promise<boolean> =>
  changing(async () => {
    if (d.version === 0) {
      await keepDoc({ ...d, body: { ...d.body, step: what.to ?? d.body.step, paused: what.paused ?? d.body.paused } });
      return;
    }
    show(
      (await ask("post", "/v1/visits/{id}/decisions", {
        at: { id: d.id },
        body: { version: d.version, ...what },
      })) as VisitsDoc,
    );
    await loadVisits();
  });

/** Plans the same for another dog, with that dog's distances. */
export const copyTo = (d: VisitsDoc, dog: string): Promise<boolean> =>
  changing(async () => {
    const got = (await ask("post", "/v1/visits/{id}/copy", {
      at: { id: d.id },
      body: { dog: await idOf(dog), id: newID() },
    })) as VisitsDoc;
    setDogs(
      state.dogs,
      state.dogs.findIndex((x) => x.name === dog),
    );
    show({ ...got, body: { ...got.body, ...(d.body.from_name ? { from_name: d.body.from_name } : {}) } });
    await loadVisits();
  });

export const dropSequence = (d: VisitsDoc): Promise<boolean> =>
  changing(async () => {
    if (d.version > 0) await sequences.drop(d.id);
    visits.docs = visits.docs.filter((x) => x.id !== d.id);
    visits.id = "";
    await onDevice();
    await loadVisits();
  });

const sameAt = (a: LatLon, lon: number, lat: number): boolean => a.lon === lon && a.lat === lat;
export const pinned = (v: Stay): boolean => visits.wish.pins.some((p) => sameAt(p, v.at[0], v.at[1]));

/** Keeps a place in the sequence, or out of it, and plans anew. */
export function pinPlace(v: Stay): void {
  const [lon, lat] = v.at;
  const pins = visits.wish.pins.filter((p) => !sameAt(p, lon, lat));
  setVisitsWish({ pins: pinned(v) ? pins : [...pins, { lon, lat }] });
  void planVisits();
}
export function banPlace(v: Stay): void {
  const [lon, lat] = v.at;
  setVisitsWish({
    pins: visits.wish.pins.filter((p) => !sameAt(p, lon, lat)),
    bans: [...visits.wish.bans, { lon, lat }],
  });
  void planVisits();
}

/** The place of a visit, drawn by the server and kept for where there is no network. */
export async function placePicture(
  d: VisitsDoc,
  n: number,
  size: { width_px: number; height_px: number },
): Promise<SVGElement> {
  const v = visitOf(d, n);
  const form = {
    ...revisit(d, n, v),
    theme: themeNow(),
    units: state.settings.units,
    ...size,
  };
  const key = "visit.picture";
  const name = JSON.stringify([d.id, n, v.at, v.arrive, form.theme, form.units]);
  try {
    const text = await (await call("post", "/v1/visits/pictures", { body: form, accept: "image/svg+xml" })).text();
    if (n === d.body.step) await store(key, { name, text }).catch(() => undefined);
    return readPicture(text);
  } catch (err) {
    const saved = await stored<{ name: string; text: string }>(key).catch(() => undefined);
    if (saved?.name !== name) throw err;
    return readPicture(saved.text);
  }
}

/** The elements that a drawn picture consists of. */
export function readPicture(text: string): SVGElement {
  const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (svg.nodeName !== "svg") throw new Error("no picture came back");
  return document.importNode(svg, true) as unknown as SVGElement;
}

/** The server says metres; whoever reads feet gets feet. */
export const inUnits = (text: string): string =>
  state.settings.units === "us"
    ? text.replace(/(\d[\d,]*(?:\.\d+)?)\sm\b/g, (_, m: string) =>
        say("unit.ft", { n: Math.round(Number(m.replace(/,/g, "")) / metresPerFoot / 5) * 5 }),
      )
    : text;

/** The same hour of a later week, the first that is still to come. */
export function weekOn(v: Stay): string {
  let t = Date.parse(v.arrive);
  do t += 7 * 864e5;
  while (t < Date.now());
  return new Date(t).toISOString();
}

export const past = (v: Stay): boolean => Date.parse(v.arrive) + v.stay_minutes * 60000 < Date.now();
export const visitZone = (d: VisitsDoc): string => d.body.sequence.time_zone || zone();

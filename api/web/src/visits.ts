// Sequences of training visits: asked of the server, kept there with their dog,
// and on the device for where there is no network. What is next changes only when
// a person says so.
import { batch, signal } from "@preact/signals";
import { ask, type BodyOf, call, Fault, faultOf } from "./api.ts";
import { documents } from "./documents.ts";
import { dogNow, dogs, idOf, plainDog, serverKeeps, setDogs } from "./dogs.ts";
import type { Shown } from "./kept.ts";
import { mapInfo, onMap, zone } from "./mapinfo.ts";
import { newID, store, stored } from "./outbox.ts";
import { readPicture } from "./pictures.ts";
import { wish as planWish } from "./plan.ts";
import { settings, theme } from "./settings.ts";
import { say } from "./strings.ts";
import type { Doc, LatLon, MoveRule, Place, Progress, Sequence, Stay, Visit, VisitDrawn, VisitsBody } from "./types.ts";
import { metresPerFoot } from "./words.ts";

/** What is asked: the words of the sentence. */
interface VisitsWish {
  kind: string;
  from?: Place;
  farthest: number;
  nearest: number;
  /** expected reactions that one visit may cost besides what is watched, ways and all */
  most: number;
  /** minutes that a drive to a visit may take; 0: on foot only */
  drive: number;
  /** the ground on which a known helper is met for the near half; "": chance visits only */
  meet: "" | "parks" | "green";
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

/** How many expected reactions a visit should cost at most besides what is watched, ways and
 * all: our assumption, the same as the server's. */
export const usualDose = 0.25;

/** How far people drive for a visit, in minutes: our assumption, the same as the server's. */
const usualDrive = 20;

const sequences = documents<Body>("visits");

const own = {
  wish: signal<VisitsWish>({
    kind: "dogs",
    farthest: 2,
    nearest: 1,
    most: usualDose,
    drive: usualDrive,
    meet: "",
    pins: [],
    bans: [],
  }),
  docs: signal<VisitsDoc[]>([]),
  progress: signal<Record<string, Progress>>({}),
  /** the sequence that is shown */
  id: signal(""),
  doing: signal<"nothing" | "looking" | "changing">("nothing"),
  fault: signal<Fault | undefined>(undefined),
  /** an answer without a single visit: only what is lacking */
  none: signal<Sequence | undefined>(undefined),
  loaded: signal(false),
  /** nothing newer than what was on the device */
  old: signal(false),
  /** hours that only this device has, by sequence and visit */
  mine: signal<Record<string, Visit>>({}),
};
export const visits: Shown<typeof own> = own;

const savedKey = "visits";

interface OnDevice {
  docs: VisitsDoc[];
  progress: Record<string, Progress>;
  mine: Record<string, Visit>;
}

/** Keeps on the device what there is. */
const keepHere = (): Promise<unknown> => {
  const all: OnDevice = { docs: own.docs.value, progress: own.progress.value, mine: own.mine.value };
  return store(savedKey, all).catch(() => undefined);
};

let begun = "";

/** Takes up what is on the device, then what the server has. */
export async function beginVisits(): Promise<void> {
  const m = mapInfo.value;
  if (!m) return;
  if (begun !== m.name) {
    begun = m.name;
    own.wish.value = firstWish();
    const saved = await stored<OnDevice>(savedKey).catch(() => undefined);
    batch(() => {
      if (saved && own.docs.value.length === 0) {
        own.docs.value = saved.docs;
        own.progress.value = saved.progress;
        own.mine.value = saved.mine;
      }
      take();
    });
  }
  await loadVisits();
}

function firstWish(): VisitsWish {
  const demo = mapInfo.value?.demo;
  const from = demo?.from ?? planWish.value.from;
  return {
    kind: "dogs",
    ...(from ? { from } : {}),
    farthest: 2,
    nearest: 1,
    most: usualDose,
    drive: usualDrive,
    meet: "",
    pins: [],
    bans: [],
  };
}

/** The sequences of the account, newest first, and how the open one goes. */
export async function loadVisits(all = false): Promise<void> {
  if (!serverKeeps.value) {
    own.loaded.value = true;
    return;
  }
  try {
    own.docs.value = await sequences.all(own.docs.value);
    const read = all ? newestOfEach() : own.docs.value.filter((d) => d === shown());
    const got = await Promise.all(
      read.map(async (d) => [d.id, await ask("get", "/v1/visits/{id}/progress", { at: { id: d.id } })] as const),
    );
    batch(() => {
      own.progress.value = { ...own.progress.value, ...Object.fromEntries(got) };
      own.old.value = false;
      if (own.fault.value?.kind === "offline") own.fault.value = undefined;
    });
  } catch (err) {
    own.old.value = true;
    if (!(err instanceof Fault && err.kind === "offline")) own.fault.value = faultOf(err);
  }
  batch(() => {
    own.loaded.value = true;
    take();
  });
  await keepHere();
}

const newestOfEach = (): VisitsDoc[] =>
  own.docs.value.filter((d, i) => own.docs.value.findIndex((x) => x.dog === d.dog) === i);

const here = (d: VisitsDoc): boolean => {
  const at = d.body.sequence.visits[0]?.at;
  if (!at) return false;
  return !mapInfo.value || onMap(mapInfo.value, { lon: at[0], lat: at[1] });
};

const onDevice = (name: string): string => `device:${name}`;

/** Whether a sequence is for a dog: one that only the device knows goes by its name. */
export const isFor = (d: VisitsDoc, dog: { id?: string; name: string }): boolean =>
  d.dog === (dog.id ?? "") || d.dog === onDevice(dog.name);

/** The dog's sequences, newest first. */
export const ofDog = (): VisitsDoc[] => own.docs.value.filter((d) => isFor(d, dogNow() ?? { name: "" }) && here(d));

/** The sequence that is shown. */
export function shown(): VisitsDoc | undefined {
  const list = ofDog();
  return list.find((d) => d.id === own.id.value) ?? list[0];
}

/** Makes the sentence say what the shown sequence answers. */
function take(): void {
  const d = shown();
  if (!d || d.id === own.id.value) return;
  own.id.value = d.id;
  own.wish.value = askedBy(d);
}

export function openSequence(id: string): void {
  batch(() => {
    own.id.value = "";
    const d = own.docs.value.find((x) => x.id === id);
    if (!d) return;
    own.id.value = id;
    own.wish.value = askedBy(d);
    own.none.value = undefined;
  });
  void loadVisits();
}

/** Another dog: its own sequence is shown, if it has one. */
export function pickDog(i: number): void {
  batch(() => {
    setDogs(dogs.value, i);
    own.none.value = undefined;
    own.id.value = "";
  });
  const d = shown();
  if (d) openSequence(d.id);
}

function askedBy(d: VisitsDoc): VisitsWish {
  const w: Partial<VisitsBody> = d.body.wish;
  const from = w.from ? { name: d.body.from_name ?? say("plan.map.point"), at: w.from } : own.wish.value.from;
  return {
    kind: w.kind ?? "dogs",
    ...(from ? { from } : {}),
    farthest: w.farthest || 2,
    nearest: w.nearest || 1,
    most: w.max_expected_reactions || usualDose,
    drive: w.drive_minutes ?? usualDrive,
    meet: w.helper ? (w.ground ?? "parks") : "",
    pins: w.pins ?? [],
    bans: w.bans ?? [],
  };
}

export function setVisitsWish(patch: Partial<VisitsWish>): void {
  own.wish.value = { ...own.wish.value, ...patch };
}

/** Whether what is shown is what is asked. */
export function answersWish(d: VisitsDoc): boolean {
  const strip = (w: VisitsWish) =>
    JSON.stringify([w.kind, w.from?.at, w.farthest, w.nearest, w.most, w.drive, w.meet, w.pins, w.bans]);
  return strip(askedBy(d)) === strip(own.wish.value);
}

async function wishBody(w: VisitsWish): Promise<VisitsBody> {
  const d = dogNow()!;
  const who = serverKeeps.value
    ? { dog_id: await idOf(d.name) }
    : { dog: plainDog(d), ...(d.caution ? { bite_history: true } : {}) };
  return {
    from: w.from!.at,
    ...who,
    kind: w.kind,
    farthest: w.farthest,
    nearest: w.nearest,
    max_expected_reactions: w.most,
    drive_minutes: w.drive,
    ...(w.meet && w.drive > 0 ? { helper: { kind: "dog_on_lead" }, ground: w.meet } : {}),
    ...(w.pins.length ? { pins: w.pins } : {}),
    ...(w.bans.length ? { bans: w.bans } : {}),
  };
}

function failed(err: unknown): void {
  batch(() => {
    own.doing.value = "nothing";
    own.fault.value = faultOf(err);
  });
}

let stop: AbortController | undefined;

/** Plans what the sentence says and keeps it: in place of the shown sequence as long
 * as nothing was logged of that, else beside it. */
export async function planVisits(): Promise<void> {
  const w = own.wish.value;
  if (!w.from || !dogNow()) return;
  stop?.abort();
  const mine = new AbortController();
  stop = mine;
  batch(() => {
    own.doing.value = "looking";
    own.fault.value = undefined;
    own.none.value = undefined;
  });
  try {
    const wish = await wishBody(w);
    const sequence = await ask("post", "/v1/visits", { body: wish, signal: mine.signal });
    if (mine.signal.aborted) return;
    if (sequence.visits.length === 0) own.none.value = sequence;
    else {
      const was = shown();
      const over = was && (own.progress.value[was.id]?.done.length ?? 0) === 0 ? was : undefined;
      await keepDoc({
        id: over?.id ?? newID(),
        version: over?.version ?? 0,
        dog: wish.dog_id ?? onDevice(dogNow()!.name),
        updated: "",
        body: {
          wish,
          sequence,
          step: 1,
          paused: false,
          from_name: w.from.name,
        },
      });
    }
    own.doing.value = "nothing";
  } catch (err) {
    if (!mine.signal.aborted) failed(err);
  }
}

export function stopVisits(): void {
  stop?.abort();
  own.doing.value = "nothing";
}

/** Keeps a sequence and shows it. */
async function keepDoc(d: VisitsDoc): Promise<void> {
  const { id, version, dog, body } = d;
  show(
    serverKeeps.value
      ? await sequences.put(id, { version, ...(dog ? { dog } : {}), body })
      : { ...d, updated: new Date().toISOString() },
  );
  if (serverKeeps.value) await loadVisits();
  else await keepHere();
}

function show(d: VisitsDoc): void {
  batch(() => {
    own.docs.value = [d, ...own.docs.value.filter((x) => x.id !== d.id)];
    own.id.value = d.id;
    own.wish.value = askedBy(d);
    own.mine.value = Object.fromEntries(Object.entries(own.mine.value).filter(([k]) => !k.startsWith(`${d.id}/`)));
  });
}

/** A visit of a sequence by its number, at the hour that this device has for it. */
export const visitOf = (d: VisitsDoc, n: number): Visit =>
  own.mine.value[`${d.id}/${n}`] ?? d.body.sequence.visits[n - 1]!;

/** What names a visit to the server: kept ones by their number, others by their place. */
export function revisit(d: VisitsDoc, n: number, v: Stay = visitOf(d, n)): BodyOf<"post", "/v1/visits/replan"> {
  const when = { arrive: v.arrive, stay_minutes: v.stay_minutes };
  const first = d.body.sequence.visits[n - 1]!;
  const same = v.at[0] === first.at[0] && v.at[1] === first.at[1];
  if (d.version > 0 && same) return { sequence: d.id, visit: n, ...when };
  return {
    wish: d.body.wish,
    at: { lon: v.at[0], lat: v.at[1] },
    ...(v.watched.osm ? { watched: v.watched.osm } : {}),
    ...(v.car ? { car: { lon: v.car.at[0]!, lat: v.car.at[1]! } } : {}),
    ...when,
  };
}

/** The same, to be drawn or printed: by the ways that it was answered with, so that nothing
 * is searched for and paper and screen show one walk. */
export function shownVisit(d: VisitsDoc, n: number): BodyOf<"post", "/v1/visits/drawings"> {
  const v = visitOf(d, n);
  return { ...revisit(d, n, v), ...(v.given ? { given: v.given } : {}) };
}

/** Does what changes a sequence; true if it went well. */
async function changing(work: () => Promise<void>): Promise<boolean> {
  batch(() => {
    own.doing.value = "changing";
    own.fault.value = undefined;
  });
  try {
    await work();
    own.doing.value = "nothing";
    return true;
  } catch (err) {
    failed(err);
    return false;
  }
}

/** Sets when this sequence moves on. */
export const keepRule = (d: VisitsDoc, rule: MoveRule): Promise<boolean> =>
  changing(() => keepDoc({ ...d, body: { ...d.body, rule } }));

/** Plans one visit anew: another hour, or another place of about its hardness. Who
 * may not change the sequence has it on this device. */
export const moveVisit = (d: VisitsDoc, n: number, to: Stay): Promise<boolean> =>
  changing(async () => {
    const got = await ask("post", "/v1/visits/replan", { body: revisit(d, n, to) });
    const was = d.body.sequence.visits[n - 1]!;
    const v: Visit = { ...got, harder: was.harder, easier: was.easier, alternatives: was.alternatives };
    const list = d.body.sequence.visits.map((x, i) => (i === n - 1 ? v : x));
    try {
      await keepDoc({ ...d, body: { ...d.body, sequence: { ...d.body.sequence, visits: list } } });
    } catch (err) {
      if (!(err instanceof Fault && err.problem?.status === 403)) throw err;
      own.mine.value = { ...own.mine.value, [`${d.id}/${n}`]: v };
      await keepHere();
    }
  });

/** A person says which visit is next, or that there is none for now. */
export const decide = (d: VisitsDoc, what: { to?: number; paused?: boolean }): Promise<boolean> =>
  changing(async () => {
    if (d.version === 0) {
      const { step, paused } = d.body;
      await keepDoc({ ...d, body: { ...d.body, step: what.to ?? step, paused: what.paused ?? paused } });
      return;
    }
    const at = { id: d.id };
    show((await ask("post", "/v1/visits/{id}/decisions", { at, body: { version: d.version, ...what } })) as VisitsDoc);
    await loadVisits();
  });

/** Plans the same for another dog, with that dog's distances. */
export const copyTo = (d: VisitsDoc, dog: string): Promise<boolean> =>
  changing(async () => {
    const body = { dog: await idOf(dog), id: newID() };
    const got = (await ask("post", "/v1/visits/{id}/copy", { at: { id: d.id }, body })) as VisitsDoc;
    batch(() => {
      setDogs(
        dogs.value,
        dogs.value.findIndex((x) => x.name === dog),
      );
      show({ ...got, body: { ...got.body, ...(d.body.from_name ? { from_name: d.body.from_name } : {}) } });
    });
    await loadVisits();
  });

export const dropSequence = (d: VisitsDoc): Promise<boolean> =>
  changing(async () => {
    if (d.version > 0) await sequences.drop(d.id);
    batch(() => {
      own.docs.value = own.docs.value.filter((x) => x.id !== d.id);
      own.id.value = "";
    });
    await keepHere();
    await loadVisits();
  });

const sameAt = (a: LatLon, lon: number, lat: number): boolean => a.lon === lon && a.lat === lat;
export const pinned = (v: Stay): boolean => own.wish.value.pins.some((p) => sameAt(p, v.at[0], v.at[1]));

/** Keeps a place in the sequence, or out of it, and plans anew. */
export function pinPlace(v: Stay): void {
  const [lon, lat] = v.at;
  const pins = own.wish.value.pins.filter((p) => !sameAt(p, lon, lat));
  setVisitsWish({ pins: pinned(v) ? pins : [...pins, { lon, lat }] });
  void planVisits();
}

/** Plans anew by car, where visits were asked for on foot. */
export function driveThere(): void {
  setVisitsWish({ drive: usualDrive });
  void planVisits();
}
export function banPlace(v: Stay): void {
  const [lon, lat] = v.at;
  const { pins, bans } = own.wish.value;
  setVisitsWish({ pins: pins.filter((p) => !sameAt(p, lon, lat)), bans: [...bans, { lon, lat }] });
  void planVisits();
}

/** A visit with what its place is drawn from; that of the next visit is kept for where
 * there is no network. */
export async function drawnVisit(d: VisitsDoc, n: number): Promise<VisitDrawn> {
  const v = visitOf(d, n);
  const key = "visit.drawn";
  const name = JSON.stringify([d.id, n, v.at, v.arrive]);
  try {
    const drawn = await ask("post", "/v1/visits/drawings", { body: shownVisit(d, n) });
    if (n === d.body.step) await store(key, { name, drawn }).catch(() => undefined);
    return drawn;
  } catch (err) {
    const saved = await stored<{ name: string; drawn: VisitDrawn }>(key).catch(() => undefined);
    if (saved?.name !== name) throw err;
    return saved.drawn;
  }
}

const weekMS = 7 * 864e5;

/** When a later visit could be at the earliest, at one visit a week and as many on each step
 * as the rule wants: on the weekday of its own hour. */
export function earliest(d: VisitsDoc, n: number, now = Date.now()): Date {
  const p = own.progress.value[d.id];
  const each = (p?.rule ?? d.body.rule)?.visits_in_a_row ?? usualInARow;
  const here = Math.max(1, each - (p && !past(visitOf(d, d.body.step)) ? p.visits : 0));
  const next = Math.max(now, Date.parse(visitOf(d, d.body.step).arrive));
  const from = next + weekMS * (here + each * (n - d.body.step - 1));
  let t = Date.parse(visitOf(d, n).arrive);
  t += weekMS * Math.ceil((from - t) / weekMS);
  return new Date(t);
}

export const usualInARow = 2; // good visits in a row before moving on: common practice

/** What a step with a helper answers: by it its ground is drawn and its sheets are printed. */
export function meetingBody(d: VisitsDoc, v: Visit): BodyOf<"post", "/v1/setups"> {
  const { from, dog, dog_id, bite_history, drive_minutes } = d.body.wish;
  const who = dog_id ? { dog_id } : { ...(dog ? { dog } : {}), ...(bite_history ? { bite_history } : {}) };
  return { ...v.meeting!.ask, from, ...who, drive_minutes: drive_minutes ?? usualDrive, units: settings.value.units };
}

/** The place of a visit, drawn by the server and kept for where there is no network. */
export async function placePicture(
  d: VisitsDoc,
  n: number,
  size: { width_px: number; height_px: number },
): Promise<SVGElement> {
  const v = visitOf(d, n);
  const form = { theme: theme.value, units: settings.value.units, ...size };
  const key = "visit.picture";
  const name = JSON.stringify([d.id, n, v.at, v.arrive, form.theme, form.units]);
  try {
    const accept = "image/svg+xml";
    const got = v.meeting
      ? await call("post", "/v1/setups/pictures", { body: { ...meetingBody(d, v), ...form }, accept })
      : await call("post", "/v1/visits/pictures", { body: { ...shownVisit(d, n), ...form }, accept });
    const text = await got.text();
    if (n === d.body.step) await store(key, { name, text }).catch(() => undefined);
    return readPicture(text);
  } catch (err) {
    const saved = await stored<{ name: string; text: string }>(key).catch(() => undefined);
    if (saved?.name !== name) throw err;
    return readPicture(saved.text);
  }
}

/** The server says metres; whoever reads feet gets feet. */
export const inUnits = (text: string): string =>
  settings.value.units === "us"
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

// The outing: who goes out when, with whom, and what came between. Asked of the
// server, kept there as a document where it keeps anything, and on the device.
import { batch, signal } from "@preact/signals";
import { ask, type BodyOf, call, Fault, faultOf } from "./api.ts";
import { maySleep, stayAwake } from "./awake.ts";
import { documents } from "./documents.ts";
import { dogs, type PageDog, plainDog, serverAsked, serverKeeps } from "./dogs.ts";
import { wants } from "./dogtable.ts";
import { keep, kept, type Shown } from "./kept.ts";
import { mapInfo, onMap, zone } from "./mapinfo.ts";
import { wish as planWish } from "./plan.ts";
import { settings } from "./settings.ts";
import {
  changeFrom,
  type DayNote,
  type Kept,
  mergedSigns,
  type OutingDog,
  type OutingWish,
  underWay,
  walkedBy,
} from "./timetable.ts";
import type { Check, Doc, Drawing, GateCount, OutingBody, Plan, Timetable } from "./types.ts";
import { clock, dayOf, instant, walkName } from "./words.ts";

const outings = documents<Kept>("outings");
const meKey = "wideberth.outing.me";

const own = {
  wish: signal<OutingWish>({ day: "", from: "09:00", to: "11:00", dogs: [], people: [], together: [] }),
  kept: signal<Kept | undefined>(undefined),
  check: signal<Check | undefined>(undefined),
  gate: signal<GateCount | undefined>(undefined),
  doing: signal<"nothing" | "counting" | "looking" | "replanning">("nothing"),
  fault: signal<Fault | undefined>(undefined),
  /** what is shown, as the server keeps it */
  id: signal(""),
  version: signal(0),
  docs: signal<Doc<Kept>[]>([]),
  /** what was shown before the last change of the day */
  before: signal<Kept | undefined>(undefined),
  /** somebody else has changed what is shown */
  elsewhere: signal(false),
  unsaved: signal(false),
  /** whether what the server keeps has been looked at */
  looked: signal(false),
  /** the minute of the replay that is looked at */
  minute: signal(0),
  /** the list follows the clock and the screen stays on */
  morning: signal(false),
  /** who this device is for, by name; "" for everybody */
  me: signal(localStorage.getItem(meKey) ?? ""),
};
export const outing: Shown<typeof own> = own;

let begun = false;

/** Takes up what is on the device, then what the server has; asked again when it
 * turns out that the server keeps something. */
export async function beginOuting(): Promise<void> {
  const m = mapInfo.value;
  if (!m) return;
  if (begun) return loadDocs(!own.kept.value);
  begun = true;
  const here = (k: OutingWish) => !k.gate || onMap(m, k.gate.at);
  const wish = kept<OutingWish>("outing.wish");
  const last = kept<{ id: string; version: number; kept: Kept }>("outing.kept");
  const first = wish && here(wish) ? wish : firstWish();
  own.wish.value = first.day < dayOf(new Date(), zone()) && !last ? { ...first, day: nextDay(first.from) } : first;
  if (last && here(last.kept.wish)) {
    batch(() => {
      own.kept.value = last.kept;
      own.id.value = last.id;
      own.version.value = last.version;
    });
    void check();
  }
  await loadDocs(!last);
}

function firstWish(): OutingWish {
  const demo = mapInfo.value?.demo;
  const gate = demo?.from ?? planWish.value.from;
  return {
    day: nextDay("09:00"),
    from: "09:00",
    to: "11:00",
    ...(gate ? { gate } : {}),
    dogs: demo
      ? demo.outing.dogs.flatMap(({ dog, minutes, experience = "new", bite_history: bite = false }) =>
          dog ? [{ dog, minutes, experience, bite }] : [],
        )
      : dogs.value.map(asOutingDog),
    people: demo?.outing.people.map((p) => ({ name: p.name, experience: p.experience ?? "new" })) ?? [],
    together: [],
  };
}

/** The coming day on which that hour is still to come. */
function nextDay(hour: string): string {
  const now = new Date();
  const today = dayOf(now, zone());
  return instant(today, hour, zone()) > now ? today : dayOf(new Date(now.getTime() + 864e5), zone());
}

export const asOutingDog = (d: PageDog): OutingDog => ({
  ...(d.id ? { id: d.id } : {}),
  dog: plainDog(d),
  minutes: 30,
  experience: "new",
  bite: d.caution ?? false,
});

function wishIs(w: OutingWish): void {
  own.wish.value = w;
  keep("outing.wish", w);
}

export const setWish = (patch: Partial<OutingWish>): void => wishIs({ ...own.wish.value, ...patch });

/** Whether what is shown is what is asked. */
export const upToDate = (): boolean => JSON.stringify(own.kept.value?.wish) === JSON.stringify(own.wish.value);

const atHour = (w: OutingWish, hour: string): Date => instant(w.day, hour, zone());
export const starts = (w: OutingWish): Date => atHour(w, w.from);
export const minutesOf = (w: OutingWish): number =>
  Math.round((atHour(w, w.to).getTime() - starts(w).getTime()) / 60000);

/** What still lacks before one can plan; the field's name. */
export function lacks(w: OutingWish): "gate" | "dogs" | "cells" | "people" | "hours" | "" {
  const m = minutesOf(w);
  if (!(m >= 15 && m <= 720)) return "hours";
  if (w.dogs.length === 0) return "dogs";
  if (wants(w.dogs, settings.value.units).length > 0) return "cells";
  return w.people.length === 0 ? "people" : !w.gate ? "gate" : "";
}

/** What a kennel asks of a dog, in the words of the planner. */
const alsoOf = (w: OutingWish, { also: a }: OutingDog): Partial<OutingBody["dogs"][number]> => ({
  ...(a?.first ? { first: true } : {}),
  ...(a?.by ? { finish_by: atHour(w, a.by).toISOString() } : {}),
  ...(a?.only ? { only_with: a.only } : {}),
  ...(a?.never ? { never_with: a.never } : {}),
  ...(a?.with ? { with: a.with } : {}),
  ...(a?.hands ? { people: a.hands } : {}),
  ...(a?.row ? { row: a.row } : {}),
  ...(a?.apart ? { apart: a.apart } : {}),
  ...(a?.rest ? { rest: a.rest } : {}),
});

function bodyOf(w: OutingWish): OutingBody {
  return {
    gate: w.gate!.at,
    start: starts(w).toISOString(),
    minutes: minutesOf(w),
    dogs: w.dogs.map((d) => ({
      ...(d.id && serverKeeps.value ? { dog_id: d.id } : { dog: d.dog }),
      minutes: d.minutes,
      experience: d.experience,
      bite_history: d.bite,
      ...alsoOf(w, d),
    })),
    people: w.people.map((p) => ({
      name: p.name,
      experience: p.experience,
      ...(p.from ? { from: atHour(w, p.from).toISOString() } : {}),
      ...(p.to ? { to: atHour(w, p.to).toISOString() } : {}),
    })),
    together: w.together.filter((t) => t.every((n) => w.dogs.some((d) => d.dog.name === n))),
    ...(w.heat ? { heat: {} } : {}),
  };
}

/** The same outing on so many days from its own on. */
export const planWeek = (days: number, signal: AbortSignal) =>
  ask("post", "/v1/outings/weeks", { body: { outing: bodyOf(own.wish.value), days }, signal });

/** Dogs, people or walks as a table that a spreadsheet reads, and that can be pasted again. */
export async function outingTable(of: "dogs" | "people" | "walks"): Promise<Blob> {
  const { start, minutes, dogs, people } = bodyOf(own.wish.value);
  const body =
    of === "walks"
      ? { of, timetable: own.kept.value!.timetable }
      : of === "dogs"
        ? { of, start, minutes, dogs }
        : { of, start, minutes, people };
  return (await call("post", "/v1/outings/table", { body, accept: "text/csv" })).blob();
}

const slim = (t: Timetable): Timetable => ({ ...t, rows: t.rows.map(({ walk: _, ...r }) => r) });

function failed(err: unknown): void {
  batch(() => {
    own.doing.value = "nothing";
    own.fault.value = faultOf(err);
  });
}

/** Whether a wish begins where and when the shown outing does. */
const sameOuting = (w: OutingWish, k: Kept): boolean =>
  w.day === k.wish.day &&
  w.from === k.wish.from &&
  w.gate?.at.lat === k.wish.gate?.at.lat &&
  w.gate?.at.lon === k.wish.gate?.at.lon;

let stop: AbortController | undefined;

/** Counts the gate, then plans, then has it checked, then keeps it. */
export async function planOuting(): Promise<void> {
  const w = own.wish.value;
  const k = own.kept.value;
  if (lacks(w)) return;
  if (k && underWay(k) && sameOuting(w, k)) return replan({ is: "sentence" });
  stop?.abort();
  const mine = new AbortController();
  stop = mine;
  batch(() => {
    own.doing.value = "counting";
    own.fault.value = undefined;
    own.gate.value = undefined;
    own.before.value = undefined;
  });
  keep("outing.wish", w);
  try {
    const body = bodyOf(w);
    const gate = await ask("post", "/v1/outings/gate", { body, signal: mine.signal });
    batch(() => {
      own.gate.value = gate;
      own.doing.value = "looking";
    });
    const t = await ask("post", "/v1/outings", { body, signal: mine.signal });
    if (mine.signal.aborted) return;
    const id = `${w.day}-${w.from.replace(":", "")}`;
    if (id !== own.id.value) shows(id, own.docs.value.find((d) => d.id === id)?.version ?? 0);
    take({ wish: w, timetable: slim(t), walks: names(t, {}), gone: [], out: [] });
    await check();
    await keepOuting();
  } catch (err) {
    if (!mine.signal.aborted) failed(err);
  }
}

export function stopOuting(): void {
  stop?.abort();
  own.doing.value = "nothing";
}

const names = (t: Timetable, were: Record<string, string>): Record<string, string> => ({
  ...were,
  ...Object.fromEntries(t.rows.filter((r) => r.walk).map((r) => [r.dog, walkName(r.walk!)])),
});

function shows(id: string, version: number): void {
  batch(() => {
    own.id.value = id;
    own.version.value = version;
  });
}

function take(k: Kept): void {
  batch(() => {
    own.kept.value = k;
    own.check.value = undefined;
    own.doing.value = "nothing";
    own.fault.value = undefined;
    own.elsewhere.value = false;
  });
  keepHere(k);
}

const keepHere = (k: Kept): void => keep("outing.kept", { id: own.id.value, version: own.version.value, kept: k });

/** Has the timetable replayed by what did not plan it. */
export async function check(): Promise<void> {
  const k = own.kept.value;
  if (!k) return;
  try {
    const got = await ask("post", "/v1/outings/check", { body: { timetable: k.timetable } });
    if (own.kept.value !== k) return;
    const frames = got.frames ?? [];
    batch(() => {
      own.check.value = { ...got, frames, breaches: got.breaches ?? [] };
      own.minute.value = Math.max(
        0,
        frames.findIndex((f) => f.dogs.length > 1),
      );
    });
  } catch (err) {
    if (!(err instanceof Fault && err.kind === "offline")) failed(err);
  }
}

export const showMinute = (i: number): void => {
  own.minute.value = i;
};

let keeping: Promise<void> = Promise.resolve();

/** Keeps what is shown for everybody of the account, one after another: two at once
 * from one device would be a conflict of it with itself. */
export function keepOuting(): Promise<void> {
  keeping = keeping.then(putDoc);
  return keeping;
}

/** Keeps what is shown on top of what somebody else has kept. */
export function keepOver(): Promise<void> {
  own.elsewhere.value = false;
  return keepOuting();
}

async function putDoc(): Promise<void> {
  own.unsaved.value = false;
  const k = own.kept.value;
  if (!serverKeeps.value || !k) return;
  const id = own.id.value;
  try {
    const d = await outings.put(id, { version: own.version.value, body: k });
    if (id !== own.id.value) return; // another outing was opened meanwhile
    own.version.value = d.version;
    shelve(d);
    if (own.kept.value) keepHere(own.kept.value);
    await loadDocs(false);
  } catch (err) {
    if (err instanceof Fault && err.problem?.status === 409) {
      // Somebody else was first: the person says whether ours goes on top of theirs.
      await loadDocs(false);
      own.version.value = own.docs.value.find((d) => d.id === own.id.value)?.version ?? 0;
      own.elsewhere.value = true;
    }
    own.unsaved.value = true;
  }
}

/** Puts a document among the kept ones, in place of an older version. */
function shelve(d: Doc<Kept>): void {
  own.docs.value = own.docs.value.some((x) => x.id === d.id)
    ? own.docs.value.map((x) => (x.id === d.id ? d : x))
    : [d, ...own.docs.value];
}

/** How many kept outings are offered, and the one that is open. */
const mostDocs = 13;

/** The kept outings, newest first; the newest is taken up where there is none on the device. */
async function loadDocs(takeUp: boolean): Promise<void> {
  if (!serverAsked.value) return;
  if (serverKeeps.value) {
    try {
      own.docs.value = await outings.all(own.docs.value, mostDocs);
    } catch {
      // the list is a comfort: what is on the device is there all the same
    }
  }
  own.looked.value = true;
  const newest = own.docs.value[0];
  if (takeUp && !own.kept.value && newest) openDoc(newest.id);
}

export function openDoc(id: string): void {
  const d = own.docs.value.find((x) => x.id === id);
  if (!d) return;
  batch(() => {
    shows(d.id, d.version);
    wishIs(d.body.wish);
    own.before.value = undefined;
    own.unsaved.value = false;
    take(d.body);
  });
  void check();
}

/** Looks whether somebody else has changed what is shown. */
export async function lookAgain(): Promise<void> {
  const id = own.id.value;
  const busy = own.doing.value !== "nothing" || own.unsaved.value;
  if (!serverKeeps.value || !id || busy || document.visibilityState !== "visible") return;
  try {
    const d = await outings.one(id);
    if (d.version <= own.version.value) return;
    shelve(d);
    openDoc(d.id);
    own.elsewhere.value = true;
  } catch {
    // asked again in a while
  }
}

/** What came up: somebody late, somebody not coming, a dog that stays in, or the sentence changed while dogs are out. */
type Change =
  | { is: "late"; person: string; minutes: number; notOut: boolean }
  | { is: "gone"; person: string }
  | { is: "out"; dog: string }
  | { is: "sentence" };

/** What is asked of the planner for the rest: whoever has a walk in the timetable is named, also if the sentence has dropped them. */
function askedNow(k: Kept, e: Change): { wish: OutingWish; gone: string[]; out: string[] } {
  const wish = e.is === "sentence" ? own.wish.value : k.wish;
  const dropped = k.wish.dogs.filter(
    (d) => k.timetable.rows.some((r) => r.dog === d.dog.name) && !wish.dogs.some((x) => x.dog.name === d.dog.name),
  );
  const people = k.wish.people.filter(
    (p) => k.timetable.rows.some((r) => walkedBy(r, p.name)) && !wish.people.some((x) => x.name === p.name),
  );
  return {
    wish: { ...wish, dogs: [...wish.dogs, ...dropped], people: [...wish.people, ...people] },
    gone: [...new Set([...k.gone, ...people.map((p) => p.name), ...(e.is === "gone" ? [e.person] : [])])],
    out: [...new Set([...k.out, ...dropped.map((d) => d.dog.name), ...(e.is === "out" ? [e.dog] : [])])],
  };
}

/** Plans the rest anew; what is under way stays. */
export async function replan(e: Change): Promise<void> {
  const k = own.kept.value;
  if (!k) return;
  const now = changeFrom(k);
  const start = Date.parse(k.timetable.start);
  const early = Math.max(0, Math.round((start - now.getTime()) / 60000)); // late is counted from the start, not from now
  const a = askedNow(k, e);
  const late = e.is === "late" ? [{ person: e.person, minutes: e.minutes + early, not_out: e.notOut }] : [];
  batch(() => {
    own.doing.value = "replanning";
    own.fault.value = undefined;
  });
  try {
    const t = await ask("post", "/v1/outings/replan", {
      body: { outing: bodyOf(a.wish), before: k.timetable, now: now.toISOString(), late, gone: a.gone, out: a.out },
    });
    // Who is gone and has no walk any more is out of the sentence; who comes late has other hours.
    const people = a.wish.people.filter((p) => !a.gone.includes(p.name) || t.rows.some((r) => walkedBy(r, p.name)));
    const wish: OutingWish = {
      ...a.wish,
      dogs: a.wish.dogs.filter((d) => !a.out.includes(d.dog.name) || t.rows.some((r) => r.dog === d.dog.name)),
      people:
        e.is === "late" && e.notOut
          ? people.map((p) =>
              p.name === e.person
                ? { ...p, from: laterHour(a.wish, new Date(now.getTime() + (e.minutes + early) * 60000)) }
                : p,
            )
          : people,
    };
    const changed = t.rows.filter((r) => r.changed).map((r) => ({ dog: r.dog, person: r.person }));
    const note: DayNote = {
      from: clock(new Date(Math.max(now.getTime(), start)), zone(), settings.value.clock),
      changed,
      same: t.rows.length - changed.length,
    };
    batch(() => {
      own.before.value = k;
      wishIs(wish);
      take({
        wish,
        timetable: slim(t),
        walks: names(t, k.walks),
        gone: a.gone.filter((n) => wish.people.some((p) => p.name === n)),
        out: a.out.filter((n) => wish.dogs.some((d) => d.dog.name === n)),
        note,
        ...(k.signed ? { signed: k.signed } : {}),
      });
    });
    document.getElementById("answer")?.scrollIntoView(); // what has changed stands at the top
    await check();
    await keepOuting();
  } catch (err) {
    failed(err);
  }
}

/** An hour within the outing, not past its end. */
function laterHour(w: OutingWish, t: Date): string {
  const h = clock(t, zone(), "h24");
  return h < w.to ? h : w.to > w.from ? clock(new Date(atHour(w, w.to).getTime() - 60000), zone(), "h24") : w.from;
}

/** Leaves the minutes before the first walk where they are, for everybody who looks. */
export function keepSpare(): void {
  const k = own.kept.value;
  if (!k) return;
  own.kept.value = { ...k, spareKept: true };
  keepHere(own.kept.value);
  void keepOuting();
}

/** Takes the last change back. */
export function undoReplan(): void {
  const k = own.before.value;
  if (!k) return;
  batch(() => {
    wishIs(k.wish);
    own.before.value = undefined;
    take(k);
  });
  void check().then(keepOuting);
}

/** A walk of the timetable with what Go and the strip are drawn from. */
export async function walkOf(dog: string): Promise<{ plan: Plan; drawing: Drawing }> {
  const k = own.kept.value!;
  const [got] = await ask("post", "/v1/outings/drawings", {
    body: { outing: bodyOf(k.wish), timetable: k.timetable, dogs: [dog] },
  });
  return got!;
}

/** What is asked for hand-outs of some dogs' walks, of all if none is named. */
export const handOutBody = (list: string[], paper: "a4" | "letter"): BodyOf<"post", "/v1/outings/handouts"> => ({
  outing: bodyOf(own.kept.value!.wish),
  timetable: own.kept.value!.timetable,
  ...(list.length ? { dogs: list } : {}),
  paper,
  units: settings.value.units,
});

/** Signs a dog, and the one that goes with it, out or in again, now. Kept on the device at
 * once; what others signed meanwhile stays. */
export function sign(dog: string, is: "out" | "in"): Promise<void> {
  const k = own.kept.value;
  if (!k) return Promise.resolve();
  const now = new Date().toISOString();
  const row = k.timetable.rows.find((r) => r.dog === dog);
  const signed = { ...k.signed };
  for (const name of row?.with ? [dog, row.with] : [dog]) {
    const out = signed[name]?.out ?? now;
    signed[name] = is === "in" ? { out, in: now, told: now } : { out, told: now };
  }
  own.kept.value = { ...k, signed };
  keepHere(own.kept.value);
  keeping = keeping.then(putSigned);
  return keeping;
}

/** Keeps what is shown; where somebody else was first, their outing with all that was signed. */
async function putSigned(): Promise<void> {
  await putDoc();
  if (!own.elsewhere.value || !own.unsaved.value) return;
  try {
    const d = await outings.one(own.id.value);
    const signed = mergedSigns(d.body.signed, own.kept.value?.signed);
    own.version.value = d.version;
    wishIs(d.body.wish);
    take({ ...d.body, signed });
    await putDoc();
    void check();
  } catch {
    // offline: it stays on the device, and goes out when the network is back
  }
}

addEventListener("online", () => {
  if (own.unsaved.value && own.kept.value?.signed) keeping = keeping.then(putSigned);
});

/** Keeps the screen on and the list at the clock, or no longer. */
export function beginMorning(on: boolean): void {
  own.morning.value = on;
  if (on) stayAwake("outing");
  else maySleep("outing");
}

export function beMe(name: string): void {
  own.me.value = name;
  localStorage.setItem(meKey, name);
}

// The outing: who goes out when, with whom, and what came between. Asked of the
// server, kept there as a document where it keeps anything, and on the device.
import { ask, type BodyOf, Fault } from "./api.ts";
import { documents } from "./documents.ts";
import { memory } from "./memory.ts";
import { keep, type PageDog, plainDog, set, state, zone } from "./state.ts";
import type {
  Check,
  Doc,
  DogFile,
  Drawing,
  Experience,
  GateCount,
  OutingBody,
  Pinch,
  Place,
  Plan,
  TimeRow,
  Timetable,
} from "./types.ts";
import { clock, dayOf, instant, walkName } from "./words.ts";

export interface OutingDog {
  /** a kept dog */
  id?: string;
  dog: DogFile;
  minutes: number;
  experience: Experience;
  bite: boolean;
}
export interface OutingPerson {
  name: string;
  experience: Experience;
  /** hours of the place, as 09:20; left out: the whole outing */
  from?: string;
  to?: string;
}
/** What is asked: the sentence and its lists. */
export interface OutingWish {
  day: string;
  from: string;
  to: string;
  gate?: Place;
  dogs: OutingDog[];
  people: OutingPerson[];
  together: [string, string][];
}

/** What came on the day and what it changed. */
export interface DayNote {
  from: string;
  changed: { dog: string; person: string }[];
  same: number;
}
/** A timetable as it is kept: what was asked, what was answered, what came. */
export interface Kept {
  wish: OutingWish;
  timetable: Timetable;
  /** by dog, what its walk is called: legs are not kept */
  walks: Record<string, string>;
  gone: string[];
  out: string[];
  note?: DayNote;
}

const outings = documents<Kept>("outings");

type Doing = "nothing" | "counting" | "looking" | "replanning";

export const outing: {
  wish: OutingWish;
  kept?: Kept;
  check?: Check;
  gate?: GateCount;
  doing: Doing;
  fault?: Fault;
  id: string;
  version: number;
  docs: Doc<Kept>[];
  before?: Kept;
  elsewhere: boolean;
  unsaved: boolean;
  /** whether what the server keeps has been looked at */
  looked: boolean;
  minute: number;
  me: string;
  stop?: AbortController;
} = {
  wish: { day: "", from: "09:00", to: "11:00", dogs: [], people: [], together: [] },
  doing: "nothing",
  id: "",
  version: 0,
  docs: [],
  elsewhere: false,
  unsaved: false,
  looked: false,
  minute: 0,
  me: localStorage.getItem("wideberth.outing.me") ?? "",
};

const read = <T>(key: string): T | undefined => {
  try {
    return (JSON.parse(localStorage.getItem(`wideberth.${key}`) ?? "null") as T) ?? undefined;
  } catch {
    return undefined;
  }
};

let begun = false;

/** Takes up what is on the device, then what the server has; asked again when it
 * turns out that the server keeps something. */
export async function beginOuting(): Promise<void> {
  if (!state.map) return;
  if (begun) return loadDocs(!outing.kept);
  begun = true;
  const [w, s, e, n] = state.map.bbox;
  const here = (k?: OutingWish) =>
    !k?.gate || (k.gate.at.lon >= w && k.gate.at.lon <= e && k.gate.at.lat >= s && k.gate.at.lat <= n);
  const wish = read<OutingWish>("outing.wish");
  const kept = read<{ id: string; version: number; kept: Kept }>("outing.kept");
  outing.wish = wish && here(wish) ? wish : firstWish();
  if (outing.wish.day < dayOf(new Date(), zone()) && !kept) outing.wish.day = nextDay(outing.wish.from);
  if (kept && here(kept.kept.wish)) {
    Object.assign(outing, { kept: kept.kept, id: kept.id, version: kept.version });
    void check();
  }
  set({});
  await loadDocs(!kept);
}

function firstWish(): OutingWish {
  const demo = state.map?.demo;
  const people = demo?.outing.people.map((p) => ({ name: p.name, experience: p.experience ?? "new" })) ?? [];
  const dogs: OutingDog[] = demo
    ? demo.outing.dogs.flatMap(({ dog, minutes, experience = "new", bite_history: bite = false }) =>
        dog ? [{ dog, minutes, experience, bite }] : [],
      )
    : state.dogs.map(asOutingDog);
  return {
    day: nextDay("09:00"),
    from: "09:00",
    to: "11:00",
    ...(demo ? { gate: demo.from } : state.wish.from ? { gate: state.wish.from } : {}),
    dogs,
    people,
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

export function setWish(patch: Partial<OutingWish>): void {
  outing.wish = { ...outing.wish, ...patch };
  keep("outing.wish", outing.wish);
  set({});
}

/** Whether what is shown is what is asked. */
export const upToDate = (): boolean => JSON.stringify(outing.kept?.wish) === JSON.stringify(outing.wish);

const atHour = (w: OutingWish, hour: string): Date => instant(w.day, hour, zone());
export const starts = (w: OutingWish): Date => atHour(w, w.from);
export const minutesOf = (w: OutingWish): number =>
  Math.round((atHour(w, w.to).getTime() - starts(w).getTime()) / 60000);

/** What still lacks before one can plan; the field's name. */
export function lacks(w: OutingWish): "gate" | "dogs" | "people" | "hours" | "" {
  const m = minutesOf(w);
  if (!(m >= 15 && m <= 720)) return "hours";
  return w.dogs.length === 0 ? "dogs" : w.people.length === 0 ? "people" : !w.gate ? "gate" : "";
}

function bodyOf(w: OutingWish): OutingBody {
  return {
    gate: w.gate!.at,
    start: starts(w).toISOString(),
    minutes: minutesOf(w),
    dogs: w.dogs.map((d) => ({
      ...(d.id && memory.there ? { dog_id: d.id } : { dog: d.dog }),
      minutes: d.minutes,
      experience: d.experience,
      bite_history: d.bite,
    })),
    people: w.people.map((p) => ({
      name: p.name,
      experience: p.experience,
      ...(p.from ? { from: atHour(w, p.from).toISOString() } : {}),
      ...(p.to ? { to: atHour(w, p.to).toISOString() } : {}),
    })),
    together: w.together.filter((t) => t.every((n) => w.dogs.some((d) => d.dog.name === n))),
  };
}

const slim = (t: Timetable): Timetable => ({ ...t, rows: t.rows.map(({ walk: _, ...r }) => r) });

function failed(err: unknown): void {
  outing.doing = "nothing";
  outing.fault = err instanceof Fault ? err : new Fault("server");
  set({});
}

/** Counts the gate, then plans, then has it checked, then keeps it. */
export async function planOuting(): Promise<void> {
  const w = outing.wish;
  const k = outing.kept;
  if (lacks(w)) return;
  if (
    k &&
    underWay(k) &&
    w.day === k.wish.day &&
    w.from === k.wish.from &&
    w.gate?.at.lat === k.wish.gate?.at.lat &&
    w.gate?.at.lon === k.wish.gate?.at.lon
  )
    return replan({ is: "sentence" });
  outing.stop?.abort();
  const mine = new AbortController();
  outing.stop = mine;
  Object.assign(outing, { doing: "counting", fault: undefined, gate: undefined, before: undefined });
  keep("outing.wish", w);
  set({});
  try {
    const body = bodyOf(w);
    outing.gate = await ask("post", "/v1/outings/gate", { body, signal: mine.signal });
    outing.doing = "looking";
    set({});
    const t = await ask("post", "/v1/outings", { body, signal: mine.signal });
    if (mine.signal.aborted) return;
    const id = `${w.day}-${w.from.replace(":", "")}`;
    if (id !== outing.id) Object.assign(outing, { id, version: outing.docs.find((d) => d.id === id)?.version ?? 0 });
    take({ wish: w, timetable: slim(t), walks: names(t, {}), gone: [], out: [] });
    await check();
    await keepOuting();
  } catch (err) {
    if (!mine.signal.aborted) failed(err);
  }
}

export function stopOuting(): void {
  outing.stop?.abort();
  outing.doing = "nothing";
  set({});
}

const names = (t: Timetable, were: Record<string, string>): Record<string, string> => ({
  ...were,
  ...Object.fromEntries(t.rows.filter((r) => r.walk).map((r) => [r.dog, walkName(r.walk!)])),
});

function take(k: Kept): void {
  Object.assign(outing, { kept: k, check: undefined, doing: "nothing", fault: undefined, elsewhere: false });
  keep("outing.kept", { id: outing.id, version: outing.version, kept: k });
  set({});
}

/** Has the timetable replayed by what did not plan it. */
async function check(): Promise<void> {
  const k = outing.kept;
  if (!k) return;
  try {
    const c = await ask("post", "/v1/outings/check", { body: { timetable: k.timetable } });
    if (outing.kept !== k) return;
    outing.check = { ...c, frames: c.frames ?? [] };
    outing.minute = Math.max(
      0,
      outing.check.frames.findIndex((f) => f.dogs.length > 1),
    );
  } catch (err) {
    if (!(err instanceof Fault && err.kind === "offline")) return failed(err);
  }
  set({});
}
export const checkAgain = check;

/** Keeps the timetable for everybody of the account. */
let keeping: Promise<void> = Promise.resolve();

/** Keeps what is shown, one after another: two at once from one device would be a
 * conflict of it with itself. */
export function keepOuting(): Promise<void> {
  keeping = keeping.then(putDoc);
  return keeping;
}

async function putDoc(): Promise<void> {
  outing.unsaved = false;
  if (!memory.there || !outing.kept) return;
  const id = outing.id;
  try {
    const d = await outings.put(id, { version: outing.version, body: outing.kept });
    if (id !== outing.id) return; // another outing was opened meanwhile
    outing.version = d.version;
    keep("outing.kept", { id: outing.id, version: d.version, kept: outing.kept });
    await loadDocs(false);
  } catch (err) {
    if (err instanceof Fault && err.problem?.status === 409) {
      // Somebody else was first: the person says whether ours goes on top of theirs.
      await loadDocs(false);
      outing.version = outing.docs.find((d) => d.id === outing.id)?.version ?? 0;
      outing.elsewhere = true;
      outing.unsaved = true;
    } else outing.unsaved = true;
    set({});
  }
}

/** How many kept outings are offered, and the one that is open. */
const mostDocs = 13;

/** The kept outings, newest first; the newest is taken up where there is none on the device. */
async function loadDocs(takeUp: boolean): Promise<void> {
  if (!memory.asked) return;
  if (memory.there) {
    try {
      outing.docs = await outings.all(outing.docs, mostDocs);
    } catch {
      // the list is a comfort: what is on the device is there all the same
    }
  }
  outing.looked = true;
  if (takeUp && !outing.kept && outing.docs[0]) openDoc(outing.docs[0].id);
  set({});
}

export function openDoc(id: string): void {
  const d = outing.docs.find((x) => x.id === id);
  if (!d) return;
  Object.assign(outing, { id: d.id, version: d.version, wish: d.body.wish, before: undefined, unsaved: false });
  keep("outing.wish", d.body.wish);
  take(d.body);
  void check();
}

/** Looks whether somebody else has changed what is shown. */
export async function lookAgain(): Promise<void> {
  if (
    !memory.there ||
    !outing.id ||
    outing.doing !== "nothing" ||
    outing.unsaved ||
    document.visibilityState !== "visible"
  )
    return;
  try {
    const d = await outings.one(outing.id);
    if (d.version <= outing.version) return;
    outing.docs = outing.docs.map((x) => (x.id === d.id ? d : x));
    if (!outing.docs.some((x) => x.id === d.id)) outing.docs = [d, ...outing.docs];
    openDoc(d.id);
    outing.elsewhere = true;
    set({});
  } catch {
    // asked again in a while
  }
}

/** What came up: somebody late, somebody not coming, a dog that stays in, or the sentence changed while dogs are out. */
export type Event_ =
  | { is: "late"; person: string; minutes: number; notOut: boolean }
  | { is: "gone"; person: string }
  | { is: "out"; dog: string }
  | { is: "sentence" };

const leadMin = 5; // walks that begin sooner are told already

/** The minute from which a change holds: now, or just before the start of what is still to come. */
export function changeFrom(k: Kept): Date {
  return new Date(Math.max(Date.now(), Date.parse(k.timetable.start) - leadMin * 60000));
}
export const over = (k: Kept): boolean => Date.now() > Date.parse(k.timetable.start) + k.timetable.minutes * 60000;

const underWay = (k: Kept): boolean => Date.now() >= Date.parse(k.timetable.start) && !over(k);

/** Who somebody is out with at a time. */
export const outWith = (k: Kept, person: string, at: Date): TimeRow | undefined =>
  k.timetable.rows.find(
    (r) => r.person === person && Date.parse(r.leave) <= at.getTime() && at.getTime() < Date.parse(r.back_by),
  );

/** What is asked of the planner for the rest: whoever has a walk in the timetable is named, also if the sentence has dropped them. */
function askedNow(k: Kept, e: Event_): { wish: OutingWish; gone: string[]; out: string[] } {
  const wish = e.is === "sentence" ? outing.wish : k.wish;
  const dogs = k.wish.dogs.filter(
    (d) => k.timetable.rows.some((r) => r.dog === d.dog.name) && !wish.dogs.some((x) => x.dog.name === d.dog.name),
  );
  const people = k.wish.people.filter(
    (p) => k.timetable.rows.some((r) => r.person === p.name) && !wish.people.some((x) => x.name === p.name),
  );
  return {
    wish: { ...wish, dogs: [...wish.dogs, ...dogs], people: [...wish.people, ...people] },
    gone: [...new Set([...k.gone, ...people.map((p) => p.name), ...(e.is === "gone" ? [e.person] : [])])],
    out: [...new Set([...k.out, ...dogs.map((d) => d.dog.name), ...(e.is === "out" ? [e.dog] : [])])],
  };
}

/** Plans the rest anew; what is under way stays. */
export async function replan(e: Event_): Promise<void> {
  const k = outing.kept;
  if (!k) return;
  const now = changeFrom(k);
  const start = Date.parse(k.timetable.start);
  const early = Math.max(0, Math.round((start - now.getTime()) / 60000)); // late is counted from the start, not from now
  const a = askedNow(k, e);
  const late = e.is === "late" ? [{ person: e.person, minutes: e.minutes + early, not_out: e.notOut }] : [];
  Object.assign(outing, { doing: "replanning", fault: undefined });
  set({});
  try {
    const t = await ask("post", "/v1/outings/replan", {
      body: { outing: bodyOf(a.wish), before: k.timetable, now: now.toISOString(), late, gone: a.gone, out: a.out },
    });
    // Who is gone and has no walk any more is out of the sentence; who comes late has other hours.
    const people = a.wish.people.filter((p) => !a.gone.includes(p.name) || t.rows.some((r) => r.person === p.name));
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
      from: clock(new Date(Math.max(now.getTime(), start)), zone(), state.settings.clock),
      changed,
      same: t.rows.length - changed.length,
    };
    outing.before = k;
    outing.wish = wish;
    keep("outing.wish", wish);
    take({
      wish,
      timetable: slim(t),
      walks: names(t, k.walks),
      gone: a.gone.filter((n) => wish.people.some((p) => p.name === n)),
      out: a.out.filter((n) => wish.dogs.some((d) => d.dog.name === n)),
      note,
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

/** Takes the last change back. */
export function undoReplan(): void {
  const k = outing.before;
  if (!k) return;
  outing.wish = k.wish;
  keep("outing.wish", k.wish);
  delete outing.before;
  take(k);
  void check().then(keepOuting);
}

/** A walk of the timetable with what Go and the strip are drawn from. */
export async function walkOf(dog: string): Promise<{ plan: Plan; drawing: Drawing }> {
  const k = outing.kept!;
  const [got] = await ask("post", "/v1/outings/drawings", {
    body: { outing: bodyOf(k.wish), timetable: k.timetable, dogs: [dog] },
  });
  return got!;
}

/** What is asked for hand-outs of some dogs' walks, of all if none is named. */
export const handOutBody = (dogs: string[], paper: "a4" | "letter"): BodyOf<"post", "/v1/outings/handouts"> => ({
  outing: bodyOf(outing.kept!.wish),
  timetable: outing.kept!.timetable,
  ...(dogs.length ? { dogs } : {}),
  paper,
  units: state.settings.units,
});

export function beMe(name: string): void {
  outing.me = name;
  localStorage.setItem("wideberth.outing.me", name);
  set({});
}

/** One dog passing the gate. */
export interface Passing {
  at: Date;
  out: boolean;
  row: TimeRow;
}
/** Passings by the minute of the gate's clock: one dog each, if the rule is kept. */
export function passings(t: Timetable): { at: Date; list: Passing[] }[] {
  const all: Passing[] = t.rows.flatMap((row) => [
    { at: new Date(row.leave), out: true, row },
    { at: new Date(Math.floor(Date.parse(row.back_by) / 60000) * 60000), out: false, row },
  ]);
  all.sort((a, b) => a.at.getTime() - b.at.getTime());
  const out: { at: Date; list: Passing[] }[] = [];
  for (const p of all) {
    const last = out[out.length - 1];
    if (last && last.at.getTime() === p.at.getTime()) last.list.push(p);
    else out.push({ at: p.at, list: [p] });
  }
  return out;
}

/** The tightest of every pair, of all replays and drives, tightest first. */
export function worstPairs(c: Check): Pinch[] {
  const best = new Map<string, Pinch>();
  for (const p of [...c.pairs, ...c.directed]) {
    const key = [...p.dogs].sort().join("\n");
    const was = best.get(key);
    if (!was || p.least_m - p.need_m < was.least_m - was.need_m) best.set(key, p);
  }
  return [...best.values()].sort((a, b) => a.least_m - a.need_m - (b.least_m - b.need_m));
}

// A timetable as it is kept, and what can be read from it without asking anybody.
import type { Check, DogFile, Experience, Pinch, Place, TimeRow, Timetable } from "./types.ts";

export interface OutingDog {
  /** a kept dog */
  id?: string;
  dog: DogFile;
  minutes: number;
  experience: Experience;
  bite: boolean;
  /** what a kennel asks of it besides */
  also?: Also;
  /** by column, what was typed and cannot be read */
  raw?: Partial<Record<"name" | "room" | "minutes" | "who" | "bite" | keyof Also, string>>;
}
/** Rules of the house for one dog, as the planner takes them; hours as 09:20. */
export interface Also {
  first?: boolean;
  by?: string;
  only?: string[];
  never?: string[];
  with?: string;
  hands?: 1 | 2;
  row?: string;
  apart?: "ground" | "last";
  rest?: Weekday[];
}
export const weekdays = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] as const;
export type Weekday = (typeof weekdays)[number];
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
  /** on a hot day walks are short, and nobody is out around noon */
  heat?: boolean | undefined;
}

/** What came on the day and what it changed. */
export interface DayNote {
  from: string;
  changed: { dog: string; person: string }[];
  same: number;
}
/** What was asked, what was answered, what came. */
export interface Kept {
  wish: OutingWish;
  timetable: Timetable;
  /** by dog, what its walk is called: legs are not kept */
  walks: Record<string, string>;
  gone: string[];
  out: string[];
  note?: DayNote;
  /** by dog, when it left and came home, as somebody signed */
  signed?: Record<string, Signed>;
  /** the minutes before the first walk are wanted where they are */
  spareKept?: boolean;
}

/** When a dog left and came home; told is when that was last said. */
export interface Signed {
  out: string;
  in?: string;
  told: string;
}

const leadMin = 5; // walks that begin sooner are told already

/** The minute from which a change holds: now, or just before the start of what is still to come. */
export function changeFrom(k: Kept): Date {
  return new Date(Math.max(Date.now(), Date.parse(k.timetable.start) - leadMin * 60000));
}
export const over = (k: Kept): boolean => Date.now() > Date.parse(k.timetable.start) + k.timetable.minutes * 60000;

export const underWay = (k: Kept): boolean => Date.now() >= Date.parse(k.timetable.start) && !over(k);

/** What a walk would bring with no other dog out, at its best hour. */
export const aloneX = (r: TimeRow): number => (r.alone_reactions_per_minute * (r.progress_s.at(-1) ?? 0)) / 60;

/** Whether somebody walks the dog, alone or with another. */
export const walkedBy = (r: TimeRow, person: string): boolean => r.person === person || r.second === person;

/** Who walks the dog. */
export const handsOf = (r: TimeRow): string[] => (r.second ? [r.person, r.second] : [r.person]);

/** The dogs of a walk: the one of the row, and the one that goes with it. */
export const dogsOf = (r: TimeRow): string[] => (r.with ? [r.dog, r.with] : [r.dog]);

/** Walks, those of two dogs that go together once. */
export const walksOf = (t: Timetable): TimeRow[] =>
  t.rows.filter((r, i) => !r.with || !t.rows.slice(0, i).some((x) => x.dog === r.with && x.leave === r.leave));

/** Whether a walk's dog is still in, out, or in again. */
export const signState = (k: Kept, r: TimeRow): "due" | "out" | "in" => {
  const s = k.signed?.[r.dog];
  return !s ? "due" : s.in ? "in" : "out";
};

const signLateMin = 3; // as late as people may be at the gate

/** Minutes by which a walk that is not signed as it should be is late, 0 for none. */
export function lateMin(k: Kept, r: TimeRow, now: number): number {
  const state = signState(k, r);
  if (state === "in") return 0;
  const due = state === "out" ? Date.parse(r.back_by) : Date.parse(r.leave) + signLateMin * 60000;
  return now > due ? Math.ceil((now - due) / 60000) : 0;
}

/** What two devices signed, the later word on each dog. */
export function mergedSigns(a: Kept["signed"], b: Kept["signed"]): Record<string, Signed> {
  const out = { ...a };
  for (const [dog, s] of Object.entries(b ?? {})) {
    const was = out[dog];
    if (!was || was.told < s.told) out[dog] = s;
  }
  return out;
}

/** Who somebody is out with at a time. */
export const outWith = (k: Kept, person: string, at: Date): TimeRow | undefined =>
  k.timetable.rows.find(
    (r) => walkedBy(r, person) && Date.parse(r.leave) <= at.getTime() && at.getTime() < Date.parse(r.back_by),
  );

/** One dog passing the gate. */
export interface Passing {
  at: Date;
  out: boolean;
  row: TimeRow;
}
/** Passings by the minute of the gate's clock: one dog each, if the rule is kept. */
export function passings(t: Timetable): { at: Date; list: Passing[] }[] {
  const all: Passing[] = walksOf(t).flatMap((row) => [
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

/** The first passing of the gate that is still to come. */
export const nextPassing = (t: Timetable, now: number): Passing | undefined =>
  passings(t).find((p) => p.at.getTime() > now)?.list[0];

/** Dogs that only one of the people may take, by that person's name. */
export function onlyOne(k: Kept): { person: string; dogs: string[] }[] {
  const rank = { new: 0, regular: 1, experienced: 2 } as const;
  const here = k.wish.people.filter((p) => !k.gone.includes(p.name));
  const found = new Map<string, string[]>();
  if (here.length < 2) return [];
  for (const d of k.wish.dogs) {
    const least = d.bite ? 2 : rank[d.experience];
    const able = here.filter((p) => rank[p.experience] >= least);
    const goes = k.timetable.rows.some((r) => r.dog === d.dog.name);
    if (goes && able.length === 1) found.set(able[0]!.name, [...(found.get(able[0]!.name) ?? []), d.dog.name]);
  }
  return [...found].map(([person, dogs]) => ({ person, dogs }));
}

/** The first walk during which no other dog is out, where others need less room. */
export const outAlone = (t: Timetable): TimeRow | undefined =>
  t.rows.find(
    (r) =>
      t.rows.some((x) => x.need_m < r.need_m) &&
      !t.rows.some(
        (x) =>
          x !== r &&
          x.dog !== r.with &&
          Date.parse(x.leave) < Date.parse(r.back_by) &&
          Date.parse(r.leave) < Date.parse(x.back_by),
      ),
  );

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

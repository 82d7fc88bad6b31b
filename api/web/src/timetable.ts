// A timetable as it is kept, and what can be read from it without asking anybody.
import type { Check, DogFile, Experience, Pinch, Place, TimeRow, Timetable } from "./types.ts";

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
/** What was asked, what was answered, what came. */
export interface Kept {
  wish: OutingWish;
  timetable: Timetable;
  /** by dog, what its walk is called: legs are not kept */
  walks: Record<string, string>;
  gone: string[];
  out: string[];
  note?: DayNote;
}

const leadMin = 5; // walks that begin sooner are told already

/** The minute from which a change holds: now, or just before the start of what is still to come. */
export function changeFrom(k: Kept): Date {
  return new Date(Math.max(Date.now(), Date.parse(k.timetable.start) - leadMin * 60000));
}
export const over = (k: Kept): boolean => Date.now() > Date.parse(k.timetable.start) + k.timetable.minutes * 60000;

export const underWay = (k: Kept): boolean => Date.now() >= Date.parse(k.timetable.start) && !over(k);

/** Who somebody is out with at a time. */
export const outWith = (k: Kept, person: string, at: Date): TimeRow | undefined =>
  k.timetable.rows.find(
    (r) => r.person === person && Date.parse(r.leave) <= at.getTime() && at.getTime() < Date.parse(r.back_by),
  );

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

// The hours that a walk could begin at: the week as the server works it out, the row of
// windows of equal number, and which hours are calmer.

import { computed, type ReadonlySignal, signal } from "@preact/signals";
import { ask, type Fault, faultOf } from "./api.ts";
import { dogNow } from "./dogs.ts";
import { zone } from "./mapinfo.ts";
import { wish, wishBody } from "./plan.ts";
import type { HourOutlook, Wish } from "./types.ts";
import { clock, dayOf, ofTen } from "./words.ts";

const own = {
  of: signal(""),
  hours: signal<HourOutlook[] | undefined>(undefined),
  fault: signal<Fault | undefined>(undefined),
};
/** Every whole hour of a week from now on. */
export const hours: ReadonlySignal<HourOutlook[] | undefined> = own.hours;
export const hoursFault: ReadonlySignal<Fault | undefined> = own.fault;

/** Weeks are of closed walks: loops alone where they are wished, else of any shape. */
export const closed = (shape: Wish["shape"]): Wish["shape"] => (shape === "loop" ? "loop" : "calmest");

/** What the hours depend on: all of a wish but when it leaves. */
const question = computed(() => {
  const w = wish.value;
  return JSON.stringify([w.from?.at, w.minutes, closed(w.shape), w.strain, w.soft_ground, w.limits, dogNow()?.needs]);
});

let running: AbortController | undefined;

/** Asks for the hours of the wish, where they are not there already. */
export async function findHours(): Promise<void> {
  const of = question.value;
  const w = wish.peek();
  if (own.of.peek() === of || !w.from || !dogNow()) return;
  running?.abort();
  const mine = new AbortController();
  running = mine;
  own.of.value = of;
  own.hours.value = undefined;
  own.fault.value = undefined;
  try {
    const body = {
      ...wishBody({ ...w, shape: closed(w.shape), weather: undefined }),
      depart: new Date(Math.floor(Date.now() / 36e5) * 36e5).toISOString(),
      hours: 7 * 24,
    };
    const got = await ask("post", "/v1/weeks", { body, signal: mine.signal });
    if (!mine.signal.aborted) own.hours.value = got.hours;
  } catch (err) {
    if (mine.signal.aborted) return;
    own.of.value = "";
    own.fault.value = faultOf(err);
  }
}

/** Hours before six and after ten in the evening are shown to nobody who did not choose one. */
export const firstHour = 6;
export const lastHour = 22;

export const hourOf = (t: Date): number => Number(clock(t, zone(), "h24").slice(0, 2));
export const tens = (h: HourOutlook): number => ofTen(h.calm_chance);

/** Hours in a row of one day whose number is the same. */
export interface Window {
  day: string;
  from: number;
  to: number;
  /** of ten stay calm */
  n: number;
  /** the calmest of them */
  best: HourOutlook;
}

const both = (h: HourOutlook) => h.expected_reactions + h.strain;

/** The windows after an hour until the end of the next day. */
export function windowsAfter(all: HourOutlook[], chosen: Date): Window[] {
  const out: Window[] = [];
  for (const h of untilTomorrow(all, chosen)) {
    const t = new Date(h.depart);
    const [day, hour, n] = [dayOf(t, zone()), hourOf(t), tens(h)];
    const last = out[out.length - 1];
    if (last && last.day === day && last.to === hour - 1 && last.n === n) {
      last.to = hour;
      if (both(h) < both(last.best)) last.best = h;
    } else out.push({ day, from: hour, to: hour, n, best: h });
  }
  return out;
}

function untilTomorrow(all: HourOutlook[], chosen: Date): HourOutlook[] {
  const tomorrow = dayOf(new Date(chosen.getTime() + 864e5), zone());
  const early = Math.min(firstHour, hourOf(chosen));
  return all.filter((h) => {
    const t = new Date(h.depart);
    const hour = hourOf(t);
    return h.found && t > chosen && dayOf(t, zone()) <= tomorrow && hour >= early && hour <= lastHour;
  });
}

const muchCalmer = 2; // of ten more

/** The next hour that is much calmer than one with so many of ten, and the best until
 * tomorrow night, if that is another. */
export function calmer(all: HourOutlook[], chosen: Date, n: number): HourOutlook[] {
  const list = untilTomorrow(all, chosen).filter((h) => Math.floor(tens(h)) >= n + muchCalmer);
  const next = list[0];
  if (!next) return [];
  const best = list.reduce((a, b) => (tens(b) > tens(a) ? b : a), next);
  return best === next ? [next] : [next, best];
}

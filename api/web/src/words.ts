// Numbers as people say them: distances, chances, counts, hours. Rounding is in
// display only.
import american from "../../../routing/briefing/text/en-US.json" with { type: "json" };
import { everyText, type Key, say, speaksAmerican } from "./strings.ts";
import type { Rank, Step, Walk } from "./types.ts";

export type Units = "metric" | "us";

export const metresPerFoot = 0.3048;
const metresPerMile = 1609.344;
export const carM = 5;

// The same rounding as in routing/briefing/words.go; a table of cases holds both to it.

const to = (x: number, step: number) => Math.round(x / step) * step;

/** A distance: to 1 m under 20, to 5 m under 100, to 10 m above; in feet to 5
 * under 100, to 10 under 400, to 50 above. */
export function distance(m: number, units: Units): string {
  m = Math.max(0, m);
  if (units === "us") {
    const ft = m / metresPerFoot;
    return say("unit.ft", { n: ft < 100 ? to(ft, 5) : ft < 400 ? to(ft, 10) : to(ft, 50) });
  }
  return say("unit.m", { n: m < 20 ? Math.round(m) : m < 100 ? to(m, 5) : to(m, 10) });
}

/** One of the dog's own distances: to the metre or foot. */
export function exact(m: number, units: Units): string {
  return units === "us" ? say("unit.ft", { n: Math.round(m / metresPerFoot) }) : say("unit.m", { n: Math.round(m) });
}

/** The length of a walk: from 1 km in kilometres, from 1,000 ft in miles, with one decimal. */
export function far(m: number, units: Units): string {
  if (units === "us")
    return m / metresPerFoot >= 1000 ? say("unit.mi", { n: (m / metresPerMile).toFixed(1) }) : distance(m, units);
  return m >= 995 ? say("unit.km", { n: (m / 1000).toFixed(1) }) : distance(m, units);
}

/** A duration in whole minutes, at least one. */
export const minutes = (s: number) => Math.max(1, Math.round(s / 60));

/** How far into a walk something is: "17 min", "0 min" at its beginning. */
export const into = (s: number): string => say("unit.min", { n: Math.round(s / 60) });

/** A duration with the word written out. */
export const minutesSpelt = (s: number): string => say("unit.minutes", { n: minutes(s) });

/** A short duration: to 5 s under a minute and a half, then in minutes. */
export const seconds = (s: number): string =>
  s >= 90 ? minutesSpelt(s) : say("unit.seconds", { n: Math.max(5, to(s, 5)) });

/** What to carry: to 5 from ten on, no fewer than expected. */
export function treats(low: number, high: number): string {
  const handful = (n: number) => (n > 10 ? Math.ceil(n / 5) * 5 : n);
  const [l, h] = [handful(low), handful(high)];
  return l === h ? say("treats.same", { high: h }) : say("treats", { low: l, high: h });
}

/** What somebody typed as a distance, in metres: "38", "38 m", "125 ft", "8 cars". */
export function readDistance(text: string, units: Units): number | undefined {
  const m = /^\s*(\d+(?:[.,]\d+)?)\s*(m|metres?|meters?|ft|feet|foot|'|cars?)?\s*$/i.exec(text);
  if (!m) return undefined;
  const n = Number(m[1]!.replace(",", "."));
  const unit = m[2]?.toLowerCase() ?? (units === "us" ? "ft" : "m");
  if (unit.startsWith("c")) return n * carM;
  return unit.startsWith("f") || unit === "'" ? n * metresPerFoot : n;
}

/** How many of ten walks stay calm: 1 to 9, 9.5 for more than nine, 0.5 for fewer than one. */
export function ofTen(p: number): number {
  if (p >= 0.95) return 9.5;
  if (p < 0.05) return 0.5;
  return Math.min(9, Math.max(1, Math.round(10 * p)));
}

export function answer(p: number): string {
  const n = ofTen(p);
  return n > 9 ? say("answer.most") : n < 1 ? say("answer.few") : say("answer.some", { n });
}

export function shortAnswer(p: number): string {
  const n = ofTen(p);
  return n > 9 ? say("of.most") : n < 1 ? say("of.few") : say("of.some", { n });
}

/** An interval of a chance: "could be 5 to 8". */
export function range(low: number, high: number): string {
  const end = (p: number) => {
    const n = ofTen(p);
    return n > 9 ? say("range.most") : n < 1 ? say("range.few") : String(n);
  };
  return ofTen(low) === ofTen(high) ? say("range.same") : say("range", { low: end(low), high: end(high) });
}

/** The two ends of an interval as positions in ten walks, from 1 to 9. */
export function between(low: number, high: number): { low: number; high: number } {
  const l = Math.min(9, Math.max(1, Math.round(10 * low)));
  return { low: l, high: Math.max(l, Math.min(9, Math.round(10 * high))) };
}

/** The step that a number of ten belongs to, so that number and tone agree. */
export function stepOfTen(n: number): Step {
  return n >= 9 ? 1 : n >= 7 ? 2 : n >= 5 ? 3 : 4;
}

export const stepWord = (k: Step): string => say(`step.${k}`);

/** Minutes to one reaction on ground with so many reactions in ten minutes. */
export const minutesTo = (reactionsInTen: number): number => 10 / Math.max(reactionsInTen, 0.0001);

/** The step of ground by its reactions in ten minutes, among that about. */
export function stepOf(rank: Rank, reactionsInTen: number): Step {
  const i = rank.minutes.findIndex((m) => minutesTo(reactionsInTen) >= m);
  return (i < 0 ? 4 : i + 1) as Step;
}

/** Minutes to one reaction on ground of a step: "22 to 32", short "22–32". */
export function stepMinutes(rank: Rank, step: Step, short: boolean): string {
  const [c1, c2, c3] = rank.minutes;
  if (step === 1) return short ? `>${c1}` : say("key.over", { n: c1 });
  if (step === 4) return short ? `<${c3}` : say("key.under", { n: c3 });
  const [low, high] = step === 2 ? [c2, c1] : [c3, c2];
  return short ? `${low}–${high}` : say("key.between", { low, high });
}

// Counts below which a count is told as one walk in so many, and the walks beyond
// which nobody counts.
const manyFrom = 1.5;
const oneFrom = 0.75;
const mostWalks = 100;

const oneIn = (n: number) => Math.round(Math.max(2, 1 / n));

/** Expected encounters with one category. */
export function met(category: string, n: number, low: number, high: number, withRange: boolean): string {
  const count = (c: number) => say(`category.${category}.count` as Key, { n: Math.round(c) });
  if (n >= manyFrom)
    return withRange
      ? say("met.many", { count: count(n), low: Math.round(low), high: Math.round(high) })
      : say("met.many.short", { count: count(n) });
  if (n >= oneFrom) return say("met.one", { count: count(1) });
  const one = say(`category.${category}.one` as Key);
  return n * mostWalks >= 1 ? say("met.oneIn", { one, n: oneIn(n) }) : say("met.hardly", { one, n: mostWalks });
}

// So near to a whole number that is told alone, and from so many on anyway.
const nearWhole = 0.25;
const mostEither = 10;

/** First what comes near enough to matter, then what is seen farther off: the same as in routing/briefing/say.go. */
export function near(category: string, inside: number, expected: number, distance: string | undefined): string {
  const count = (n: number) => say(`category.${category}.count` as Key, { n: Math.round(n) });
  const one = say(`category.${category}.one` as Key);
  const at = distance ?? "";
  const some = (): string => {
    if (inside >= oneFrom) {
      if (inside < mostEither && Math.abs(inside - Math.round(inside)) > nearWhole) {
        const low = Math.floor(inside);
        const either = count(Math.ceil(inside));
        return distance
          ? say("near.either", { low, count: either, distance: at })
          : say("near.either.short", { low, count: either });
      }
      return distance
        ? say("near.count", { count: count(inside), distance: at })
        : say("near.count.short", { count: count(inside) });
    }
    if (inside * mostWalks >= 1)
      return distance
        ? say("near.oneIn", { one, distance: at, n: oneIn(inside) })
        : say("near.oneIn.short", { one, n: oneIn(inside) });
    return distance
      ? say("near.hardly", { one, distance: at, n: mostWalks })
      : say("near.hardly.short", { one, n: mostWalks });
  };
  const far = Math.round(expected - inside);
  return far >= 1 ? say("near.far", { near: some(), n: far }) : some();
}

/** What a walk meets of a category, kinds added up. */
export function metOf(
  w: Walk,
  category: string,
): { expected: number; low: number; high: number; inside: number; insideS: number } {
  const sum = { expected: 0, low: 0, high: 0, inside: 0, insideS: 0 };
  for (const e of w.encounters) {
    if (e.category !== category) continue;
    sum.expected += e.expected;
    sum.low += e.low;
    sum.high += e.high;
    sum.inside += e.inside;
    sum.insideS += e.inside_s;
  }
  return sum;
}

/** With a capital at its beginning. */
export const capital = (s: string): string => s.charAt(0).toUpperCase() + s.slice(1);

/** What a leg is called that has no name and is no way to name a walk by. */
const nameless = (name: string): boolean =>
  (["service road", "drive", "crossing", "pavement"] as const).some(
    (sort) => name === sort || name === say(`class.${sort}`).toLowerCase(),
  );

/** A walk is called by the one or two streets that most of it runs along. */
export function walkName(w: Walk): string {
  const along = new Map<string, number>();
  const plain = w.legs.filter((l) => !nameless(l.name));
  for (const l of (plain.length > 0 ? plain : w.legs).map((l) => ({ ...l, name: streetName(l.name) })))
    along.set(l.name, (along.get(l.name) ?? 0) + l.length_m);
  const names = [...along].sort((a, b) => b[1] - a[1]).map(([n]) => n);
  if (names.length === 0) return "";
  return names.length === 1 ? capital(names[0]!) : capital(say("walk.names", { first: names[0]!, second: names[1]! }));
}

// Shares of the expected reactions by which walks of the same number of ten are told apart.
const alikeWithin = 0.2;
const halfOf = 0.6;

type Against = "alike" | "half" | "calmer" | "twice" | "less";

function against(x: number, otherX: number, p: number, otherP: number): Against | undefined {
  if (ofTen(p) !== ofTen(otherP)) return undefined;
  const both = ofTen(p) > 9;
  if (Math.abs(x - otherX) <= alikeWithin * Math.max(x, otherX)) return "alike";
  if (x < otherX) return both && x <= halfOf * otherX ? "half" : "calmer";
  return both && otherX <= halfOf * x ? "twice" : "less";
}

/** What a map is called: the name of its file without what stands behind it in brackets. */
export const placeName = (name: string): string =>
  name.replace(/\s*\([^)]*\)$/, "").replace(/(^|[\s-])\p{Ll}/gu, (c) => c.toUpperCase());

/** A walk against another of which whole tenths say the same; "" where the numbers tell them apart. */
export function compare(x: number, otherX: number, p: number, otherP: number, letter: string): string {
  const how = against(x, otherX, p, otherP);
  return how ? say(`compare.${how}`, { other: letter }) : "";
}

/** The same as short as it can be told, beside the first walk. */
export function compareShort(x: number, otherX: number, p: number, otherP: number): string {
  const how = against(x, otherX, p, otherP);
  return how ? say(`compare.short.${how}`) : "";
}

/** Several in a row: "a, b and c". */
export const joined = (list: string[]): string =>
  list.length < 2
    ? list.join("")
    : say("list.and", { list: list.slice(0, -1).join(", "), last: list[list.length - 1]! });

const shortWords: Record<string, string> = american.names;

/** The name of an American street as maps and tables have it: the first word, where it is a
 * point of the compass, and the last ones shortened. The same rule as in
 * routing/briefing/catalogue.go; elsewhere names stay whole. */
export function streetName(name: string): string {
  const sort = `class.${name}`; // what has no name comes as what it is
  if (sort in everyText) return say(sort as Key).toLowerCase();
  return speaksAmerican() ? shortStreet(name) : name;
}

export function shortStreet(name: string): string {
  const words = name.split(/\s+/).filter(Boolean);
  if (words.length < 2) return name;
  const last = words.length - 1;
  const short = (i: number) => shortWords[words[i]!];
  const end = short(last);
  if (end) words[last] = end;
  if (end?.length === 1 && last > 1) words[last - 1] = short(last - 1) ?? words[last - 1]!;
  if (last > 1 && short(0)?.length === 1) words[0] = short(0)!;
  return words.join(" ");
}

/** A name on a plate: cut at forty characters. */
export function cut(name: string): string {
  return [...name].length > 40 ? `${[...name].slice(0, 39).join("")}…` : name;
}

export type Clock = "auto" | "h24" | "h12";

/** Whether hours are told with am and pm. */
export const twelve = (hours: Clock): boolean =>
  hours === "auto"
    ? !!new Intl.DateTimeFormat(navigator.language, { hour: "numeric" }).resolvedOptions().hour12
    : hours === "h12";

/** An hour of the place, whatever zone the device is in: "08:10", or "8:10 am". */
export function clock(t: Date, zone: string, hours: Clock): string {
  const at = new Intl.DateTimeFormat("en-GB", {
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
    timeZone: zone,
  }).format(t);
  return twelve(hours) ? half(Number(at.slice(0, 2)), at.slice(2)) : at;
}

const half = (hour: number, minutes: string): string =>
  say(hour < 12 ? "clock.am" : "clock.pm", { clock: `${hour % 12 || 12}${minutes}` });

/** The same as short as it can be told: a whole hour of twelve is "8 am". */
export const shortClock = (t: Date, zone: string, hours: Clock): string => clock(t, zone, hours).replace(":00 ", " ");

/** A window of whole hours: "09–14" or "9–2", a single one "07" or "8 am". */
export function hoursWords(from: number, to: number, hours: Clock): string {
  if (!twelve(hours)) {
    const two = (h: number) => String(h).padStart(2, "0");
    return from === to ? two(from) : `${two(from)}–${two(to)}`;
  }
  return from === to ? half(from, "") : `${from % 12 || 12}–${to % 12 || 12}`;
}

export function weekday(t: Date, zone: string, form: "short" | "long" = "short"): string {
  return new Intl.DateTimeFormat("en-GB", { weekday: form, timeZone: zone }).format(t);
}

/** The date of the place as yyyy-mm-dd. */
export function dayOf(t: Date, zone: string): string {
  return new Intl.DateTimeFormat("en-CA", { year: "numeric", month: "2-digit", day: "2-digit", timeZone: zone }).format(
    t,
  );
}

export function dateWords(t: Date, zone: string): string {
  return new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", timeZone: zone }).format(
    t,
  );
}

/** The instant at which the place's clock shows a day and time. */
export function instant(day: string, time: string, zone: string): Date {
  const asUTC = new Date(`${day}T${time}:00Z`);
  let guess = asUTC;
  for (let i = 0; i < 2; i++) guess = new Date(asUTC.getTime() - offsetMS(guess, zone)); // twice for hours beside a change of the clocks
  return guess;
}

function offsetMS(t: Date, zone: string): number {
  const p = Object.fromEntries(
    new Intl.DateTimeFormat("en-GB", {
      timeZone: zone,
      hourCycle: "h23",
      year: "numeric",
      month: "2-digit",
      day: "2-digit",
      hour: "2-digit",
      minute: "2-digit",
      second: "2-digit",
    })
      .formatToParts(t)
      .map((x) => [x.type, x.value]),
  );
  return (
    Date.UTC(Number(p.year), Number(p.month) - 1, Number(p.day), Number(p.hour), Number(p.minute), Number(p.second)) -
    Math.floor(t.getTime() / 1000) * 1000
  );
}

/** Metres as they are kept: to a tenth. */
export const toTenth = (m: number): number => Math.round(m * 10) / 10;

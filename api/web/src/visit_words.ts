// A training visit in words: the same as on its sheet.
import { settings } from "./settings.ts";
import { say } from "./strings.ts";
import type { MoveRule, Visit, Walk } from "./types.ts";
import { usualDose, usualInARow } from "./visits.ts";
import { clock, cut, exact, minutes, weekday } from "./words.ts";

const usualShare = 0.8; // of the triggers of a good visit: common practice

/** A small share in whole numbers. */
export function shareOf(x: number): { n: number; of: number } {
  for (let of = 1; of <= 10; of++)
    if (Math.abs(Math.round(x * of) - x * of) < 1e-6) return { n: Math.round(x * of), of };
  return { n: Math.round(x * 10), of: 10 };
}

/** The one figure for a visit's food: the most that may be wanted, rounded up to ten. */
export const aboutTreats = (v: Pick<Visit, "treats_high">): string =>
  say("treats.about", { n: Math.max(10, Math.ceil(v.treats_high / 10) * 10) });

/** The name that most of a way goes by. */
function mostOf(way: Walk): string {
  const long = new Map<string, number>();
  for (const l of way.legs) long.set(l.name, (long.get(l.name) ?? 0) + l.length_m);
  return [...long].reduce((a, b) => (b[1] > a[1] ? b : a), ["", 0] as [string, number])[0];
}

export type Fact = "leave" | "stand" | "expect" | "take" | "away" | "dose" | "on";

/** When to leave, where to stand, what to expect, what to take, how to get away, when to move on. */
export function visitFacts(v: Visit, zone: string, rule: MoveRule | undefined): (readonly [Fact, string])[] {
  const at = (t: Date) => clock(t, zone, settings.value.clock);
  const from = new Date(v.arrive);
  const to = new Date(from.getTime() + v.stay_minutes * 60000);
  const lasts = { low: Math.round(v.lasts_low_s), high: Math.round(v.lasts_high_s) };
  const on = {
    clock: at(new Date(v.leave)),
    minutes: say("unit.min", { n: minutes(v.way_in.duration_s) }),
    street: cut(mostOf(v.way_in)),
  };
  const stand = { from: at(from), to: at(to), street: cut(v.street) };
  const ways = [...new Set((v.way_out_names ?? []).map((name) => cut(name)))].join(say("stay.or"));
  return [
    [
      "leave",
      v.car
        ? say("stay.leave.car", { ...on, drive: say("unit.min", { n: v.car.drive_minutes }), place: cut(v.car.name) })
        : say("stay.leave.at", on),
    ],
    [
      "stand",
      v.off_way_m
        ? say("stay.stand.off", { ...stand, distance: exact(v.off_way_m, settings.value.units) })
        : say("stay.stand", stand),
    ],
    [
      "expect",
      v.number < 1 ? say("stay.expect.row.few", lasts) : say("stay.expect.row", { n: Math.round(v.number), ...lasts }),
    ],
    ["take", say("stay.take", { treats: aboutTreats(v) })],
    ["away", ways ? say("stay.away", { ways }) : say("visits.out.none")],
    ["dose", say("stay.dose", { besides: besides(v).toFixed(2), all: v.expected_reactions.toFixed(2) })],
    [
      "on",
      say("stay.on", {
        visits: rule?.visits_in_a_row ?? usualInARow,
        ...shareOf(rule?.handled_share ?? usualShare),
      }),
    ],
  ];
}

/** What a visit costs besides what is watched; kept ones of before do not say it. */
const besides = (v: Visit): number => v.besides_reactions ?? v.expected_reactions - v.watched_reactions;

/** The caution of a visit that costs more than the usual dose: what of it costs most, and
 * the parts. */
export function doseWords(v: Visit): { head: string; text: string } | undefined {
  if (besides(v) <= usualDose) return undefined;
  const ways = v.way_in.expected_reactions + v.way_home.expected_reactions + (v.aside_reactions ?? 0);
  const head = ways >= v.other_reactions ? "ways" : "others";
  const part = (x: number) => (x < 0.05 ? say("dose.none") : x.toFixed(1));
  return {
    head: say(`dose.${head}`),
    text: say("dose.text", {
      x: v.expected_reactions.toFixed(1),
      ways: part(ways),
      others: part(v.other_reactions),
      watched: part(v.watched_reactions),
    }),
  };
}

const date = (t: Date, zone: string): string =>
  new Intl.DateTimeFormat(settings.value.units === "us" ? "en-US" : "en-GB", {
    day: "numeric",
    month: "short",
    timeZone: zone,
  }).format(t);

/** The day and hour of the next visit, which alone has one. */
export const dated = (t: Date, zone: string): string =>
  say("visits.dated", {
    weekday: weekday(t, zone),
    date: date(t, zone),
    clock: clock(t, zone, settings.value.clock),
  });

/** About when a later one is, and not before which day. */
export const undated = (v: Visit, first: Date, zone: string): string =>
  say("visits.undated", {
    weekday: weekday(new Date(v.arrive), zone, "long"),
    clock: clock(new Date(v.arrive), zone, settings.value.clock),
    date: date(first, zone),
  });

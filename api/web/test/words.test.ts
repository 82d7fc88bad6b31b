// The words of the page: rounding, chances, and what must never be said.

import "./device.ts";

import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { moveWords, outWords, type Side, storedOut } from "../src/out.ts";
import * as s from "../src/strings.ts";
import { isNight, sunAltitude } from "../src/sun.ts";
import type { Leg, SideOut, StretchOut } from "../src/types.ts";
import * as w from "../src/words.ts";

/** Narrow no-break spaces as ordinary ones, to be read here. */
const plain = (text: string): string => text.replaceAll("\u202f", " ");

test("distances round as they are said", () => {
  for (const [m, units, said] of [
    [3.4, "metric", "3 m"],
    [19.4, "metric", "19 m"],
    [22, "metric", "20 m"],
    [38, "metric", "40 m"],
    [97, "metric", "95 m"],
    [104, "metric", "100 m"],
    [436, "metric", "440 m"],
    [3, "us", "10 ft"],
    [20, "us", "65 ft"],
    [60, "us", "200 ft"],
    [200, "us", "650 ft"],
  ] as const)
    assert.equal(plain(w.distance(m, units)), said, `${m} m`);
  assert.equal(plain(w.exact(38, "metric")), "38 m");
  assert.equal(plain(w.exact(38, "us")), "125 ft");
  assert.equal(plain(w.far(1840, "metric")), "1.8 km");
  assert.equal(plain(w.far(1840, "us")), "1.1 mi");
});

test("distances are read in either unit", () => {
  for (const [text, units, m] of [
    ["38", "metric", 38],
    ["38 m", "us", 38],
    ["125 ft", "metric", 38.1],
    ["125", "us", 38.1],
    ["8 cars", "metric", 40],
    ["1,5", "metric", 1.5],
  ] as const)
    assert.ok(Math.abs(w.readDistance(text, units)! - m) < 0.01, text);
  for (const text of ["", "near", "-3", "38 m <b>"]) assert.equal(w.readDistance(text, "metric"), undefined, text);
});

test("chances are whole walks of ten, never all and never none", () => {
  for (const [p, said] of [
    [0, "Fewer than 1 of 10 walks like this stays calm"],
    [0.049, "Fewer than 1 of 10 walks like this stays calm"],
    [0.05, "1 of 10 walks like this stays calm"],
    [0.44, "4 of 10 walks like this stay calm"],
    [0.949, "9 of 10 walks like this stay calm"],
    [0.95, "More than 9 of 10 walks like this stay calm"],
    [1, "More than 9 of 10 walks like this stay calm"],
  ] as const)
    assert.equal(w.answer(p), said);
  assert.deepEqual([9.5, 9, 8, 7, 6, 5, 4, 1, 0.5].map(w.stepOfTen), [1, 1, 2, 2, 3, 3, 4, 4, 4]);
  assert.deepEqual(w.between(0.51, 0.83), { low: 5, high: 8 });
  assert.deepEqual(w.between(0, 1), { low: 1, high: 9 });
});

test("counts are said with their doubt", () => {
  assert.equal(w.met("dogs", 2.1, 1, 4, true), "about 2 dogs (could be 1 to 4)");
  assert.equal(w.met("dogs", 0.9, 0, 2, true), "about 1 dog");
  assert.equal(w.met("dogs", 0.34, 0, 1, true), "a dog on 1 walk in 3");
});

test("the clock is the place's, whatever zone the device is in", () => {
  const t = w.instant("2026-11-25", "07:10", "America/New_York");
  assert.equal(t.toISOString(), "2026-11-25T12:10:00.000Z");
  assert.equal(w.clock(t, "America/New_York", "h24"), "07:10");
  assert.match(w.clock(t, "America/New_York", "h12"), /^7:10 am$/);
  assert.equal(w.instant("2026-07-01", "07:10", "Europe/London").toISOString(), "2026-07-01T06:10:00.000Z"); // summer time
});

test("what must never be said is in no text", () => {
  for (const [key, text] of Object.entries(s.everyText)) {
    assert.doesNotMatch(text, /\b(10 of 10|0 of 10)\b/, key);
    assert.doesNotMatch(text, /\bsafe(ly|ty)?\b|\brisks?\b|\bdanger/i, key);
    assert.doesNotMatch(text, /\b(he|she|him|her|his|hers)\b/i, key);
    assert.doesNotMatch(text, /(\d|\{n\}|\{distance\})\s+(left|right)\b/i, key);
    assert.doesNotMatch(text, /\b(min|minutes|m|km) left\b/i, key);
    assert.doesNotMatch(text, /!/, key);
    if (/%/.test(text))
      assert.ok(
        [
          "sure.mixed",
          "sure.room",
          "note.repeated",
          "assumed.room",
          "assumed.room.short",
          "assumed.pavements",
        ].includes(key),
        `${key}: per cent is for shares only`,
      );
    assert.doesNotMatch(text, /\b(likely|unlikely|rarely|probably)\b/i, key);
  }
});

test("words that people stumbled over stand in no text", () => {
  const gone =
    /\bMend\b|^Sudden\b|\bAll told\b|\bThere now\b|^Not there$|\bMore marks\b|^Done with the walk|\bProved\b|\bsomebody there then\b/;
  // The old names of ground are the interface's; the page and paper name steps.
  const levels = /^level\./;
  for (const [key, text] of Object.entries(s.everyText)) {
    assert.doesNotMatch(text, gone, key);
    if (!levels.test(key)) assert.doesNotMatch(text, /^(Tight|Hard|Some trouble)\b[.:]?/, key);
  }
  for (const [key, said] of [
    ["after.mend", "Change"],
    ["after.sudden", "It came suddenly"],
    ["after.done", "Save the walk"],
    ["around.there", "Met it today"],
    ["around.notthere", "It was not there"],
    ["step.1", "calm for here"],
    ["step.4", "hardest here"],
  ] as const)
    assert.equal(s.say(key), said);
  assert.equal(s.say("after.meetings", { n: 0 }), "No meetings");
  assert.equal(s.say("after.meetings", { n: 1 }), "1 meeting");
});

test("an American reads no British word, and no hour begins with a nought", () => {
  s.speakAmerican(true);
  // A drive is a journey by car in both; what lies before a house is a driveway.
  const journeys = /^(assumed|dose|intake|none|setups?|where|kerb|visits?)\b|^stay\.leave\.car$/;
  for (const key of Object.keys(s.everyText) as s.Key[]) {
    const text = s.say(key, { n: 2, walks: 2 });
    assert.doesNotMatch(
      text,
      /\b(pavements?|leads?|turn(s|ing)? round|prams?|car parks?|lorr(y|ies)|metres?|colours?|behaviour|centre)\b/i,
      key,
    );
    if (!journeys.test(key)) assert.doesNotMatch(text, /\bdrives?\b/i, key);
  }
  assert.equal(s.say("class.crossing"), "Crosswalk");
  assert.equal(s.say("class.drive"), "Driveway");
  s.speakAmerican(false);
  for (let hour = 0; hour < 24; hour++) {
    const said = w.clock(new Date(Date.UTC(2026, 10, 25, hour, 5)), "UTC", "h12");
    assert.equal(said, `${hour % 12 || 12}:05 ${hour < 12 ? "am" : "pm"}`);
  }
});

test("a map is called by its place", () => {
  assert.equal(w.placeName("delaware (Dover)"), "Delaware");
  assert.equal(w.placeName("new jersey"), "New Jersey");
  assert.equal(w.placeName("The invented town"), "The Invented Town");
});

test("the sun stands where geometry has it", () => {
  // At the solstice the sun culminates at 90 - latitude + obliquity of the ecliptic (23.44 degrees).
  let top = -90;
  for (let m = 0; m < 1440; m++) top = Math.max(top, sunAltitude(new Date(Date.UTC(2026, 5, 21, 0, m)), 47.2, -7));
  assert.ok(Math.abs(top - (90 - 47.2 + 23.44)) < 0.02, String(top));
  // At the equinox (20 March 2026, 14:46 UTC, from the published tables of the seasons, told from memory) the declination is nought.
  let equinox = -90;
  for (let m = 0; m < 1440; m++) equinox = Math.max(equinox, sunAltitude(new Date(Date.UTC(2026, 2, 20, 0, m)), 0, 0));
  assert.ok(equinox > 89.7, String(equinox));
  assert.equal(isNight(new Date(Date.UTC(2026, 10, 25, 20, 0)), 47.2, -7), true);
  assert.equal(isNight(new Date(Date.UTC(2026, 10, 25, 12, 0)), 47.2, -7), false);
});

test("a way out never leads to where it is, and says the turn first", () => {
  const said = (way: Leg["way_out_side"] | undefined, seconds: number, side: Side) => {
    const o = outWords({ way_out_s: seconds, ...(way ? { way_out_side: way } : {}) }, side);
    return [o.shout, o.second, o.arrow, o.turned] as const;
  };
  assert.deepEqual(said("left", 10, "ahead"), ["Off to the left.", "", "left", false]);
  assert.deepEqual(said("left", 10, "left"), ["Turn round.", "Straight back.", "up", true]);
  assert.deepEqual(said("right", 0, "ahead"), ["Step off to the right.", "", "right", false]);
  assert.deepEqual(said("back", 20, "ahead"), ["Turn round.", "Straight back.", "up", true]);
  assert.deepEqual(said("back", 20, "behind"), ["Straight on.", "", "up", false]);
  assert.deepEqual(said("ahead", 20, "ahead"), ["Turn round.", "Straight back.", "up", true]);
  assert.deepEqual(said("ahead", 0, "behind"), ["Stay here.", "", "none", false]);
  assert.deepEqual(said(undefined, -1, "ahead"), ["Nothing near.", "", "none", false]);
  for (const way of ["left", "right", "ahead", "back"] as const)
    for (const s of [0, 15])
      for (const side of ["ahead", "left", "right", "behind"] as const) {
        const [, , arrow, turned] = said(way, s, side);
        const heading = arrow === "none" ? "none" : arrow !== "up" ? arrow : turned ? "behind" : "ahead";
        assert.notEqual(heading, side, `${way} in ${s} s with it ${side}`);
      }
});

test("a way out that was searched says the turn first and sides as they are after it", () => {
  const o: SideOut = { first: "back", length_m: 60, seconds: 20, ends_m: 45, hidden: true, works: true };
  const said = (more: Partial<SideOut>) => {
    const w = moveWords({ ...o, ...more }, "Kessa");
    return [w.shout, plain(w.second), plain(w.detail), w.arrow, w.turned] as const;
  };
  assert.deepEqual(said({ first: "back", then: "left", then_m: 22 }), [
    "Turn round.",
    "Then left after 20 m.",
    "30 m, 20 seconds. There it cannot see you.",
    "up",
    true,
  ]);
  assert.deepEqual(said({ first: "back" }), [
    "Turn round.",
    "Straight back.",
    "30 m, 20 seconds. There it cannot see you.",
    "up",
    true,
  ]);
  assert.deepEqual(said({ first: "ahead", hidden: false }), [
    "Straight on.",
    "",
    "30 m, 20 seconds. There Kessa still works.",
    "up",
    false,
  ]);
  assert.deepEqual(said({ first: "aside_left", aside_m: 7, seconds: 8 }), [
    "Step off to the left.",
    "",
    "7 m, 8 seconds. There it cannot see you.",
    "left",
    false,
  ]);
  assert.deepEqual(said({ first: "right", then: "right", then_m: 30 }).slice(0, 2), [
    "Off to the right.",
    "Then right after 30 m.",
  ]);
  assert.match(said({ first: "back", works: false, hidden: false })[2], /Nothing far enough near/);
  const stretches: StretchOut[] = [0, 40, 80].map((at_m) => {
    const own = { ...o, ends_m: at_m };
    return { at_m, ahead: own, left: own, right: own, behind: own, aid: { do: [], words: [], cover: [], side_m: -1 } };
  });
  for (const [m, at] of [
    [0, 0],
    [38, 0],
    [39.5, 40],
    [79, 80],
    [500, 80],
  ] as const)
    assert.equal(storedOut(stretches, m, "ahead")?.ends_m, at, `${m} m`);
  assert.equal(storedOut(undefined, 10, "ahead"), undefined);
});

test("American words go with feet", () => {
  s.speakAmerican(true);
  assert.match(s.say("sure.caution"), /leashes/);
  assert.match(s.say("go.take", { treats: "2 treats" }), /leash/);
  assert.equal(s.say("turn.back"), "turn around");
  s.speakAmerican(false);
  assert.match(s.say("sure.caution"), /leads/);
});

test("the page has no colour of its own", () => {
  const sheets = readdirSync(new URL("../src/", import.meta.url), { recursive: true, encoding: "utf8" }).filter(
    (name) => name.endsWith(".css") && name !== "tokens.css",
  );
  assert.ok(sheets.length > 10, sheets.join());
  const css = sheets.map((name) => readFileSync(new URL(`../src/${name}`, import.meta.url), "utf8")).join("");
  assert.doesNotMatch(css, /#[0-9a-f]{3,8}\b|rgba?\(|hsl/i);
});

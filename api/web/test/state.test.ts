// What the page knows, without a browser: the map and its demo, the wish and its
// plan, the dogs. A signal is changed by its owner, and tells who reads it.

import "./device.ts";

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { effect } from "@preact/signals";
import { begin } from "../src/begin.ts";
import { dogAt, dogName, dogs, idOf, keepDog, lendDog, loadDogs, serverKeeps, setDogs } from "../src/dogs.ts";
import { mapFault, mapInfo, onMap, zone } from "../src/mapinfo.ts";
import { choose, chosen, limitCount, plan, planWalks, stopPlanning, want, wish, wishBody } from "../src/plan.ts";
import { setNight, setSettings, settings, theme } from "../src/settings.ts";
import { say } from "../src/strings.ts";
import type { DrawnPlan, KeptDog, MapInfo, Walk } from "../src/types.ts";
import { type Asked, answer, asked, device, json, settle } from "./device.ts";

const door = { name: "3 Kiln Lane", at: { lat: 47.2022, lon: -7.0018 } };
const town = {
  name: "Tannerswick",
  bbox: [-7.02, 47.19, -6.98, 47.21],
  time_zone: "America/New_York",
  now: "2026-11-25T13:00:00Z",
  demo: { dog: { name: "Kessa", needs: {} }, from: door, outing: { minutes: 120, dogs: [], people: [] } },
} as unknown as MapInfo;

/** A walk that could at best be better by so many per cent; -1: nobody knows. */
const walkOf = (expected: number, within: number, proved = false) =>
  ({
    expected_reactions: expected,
    quality: { proved, within_percent: within, sum: expected },
    legs: [],
  }) as unknown as Walk;
const drawn = (...walks: Walk[]) => ({ plan: { walks, given: { id: "p" } }, drawings: [] }) as unknown as DrawnPlan;

// Asked anew each time, as what was read before narrows what is read after.
const planNow = () => plan.value;
const faultNow = () => mapFault.value;
/** The answer, once there is one. */
function there() {
  const p = planNow();
  assert.ok(p.is === "there" && !p.checking, p.is);
  return p.plan.walks;
}

/** What the server says to a path, by its end. */
let says: Record<string, (a: Asked) => Response | Promise<Response>> = {};
answer.with = (a) => (Object.entries(says).find(([end]) => a.path.endsWith(end))?.[1] ?? (() => json(404, {})))(a);

beforeEach(async () => {
  stopPlanning();
  await settle();
  device.online = true;
  asked.length = 0;
  says = {};
});

test("the first visit begins at the demo's door with its dog, at the coming ten past seven of the place", async () => {
  says = { "/v1/map": () => json(200, town), "/v1/dogs": () => json(503, {}) };
  await begin();
  assert.equal(mapInfo.value?.name, "Tannerswick");
  assert.equal(zone(), "America/New_York");
  assert.deepEqual(wish.value.from, door);
  assert.equal(wish.value.depart, "2026-11-26T12:10:00.000Z"); // it is eight there, so it is tomorrow's
  assert.equal(dogName(), "Kessa");
  assert.equal(localStorage.getItem("wideberth.wish"), null, "nothing is kept of what nobody asked for");
  assert.equal(localStorage.getItem("wideberth.dogs"), null);
});

test("without a network the last map serves, and without that it is said", async () => {
  device.online = false;
  await begin();
  assert.equal(mapInfo.value?.name, "Tannerswick");
  assert.equal(mapFault.value, undefined);
  localStorage.removeItem("wideberth.map");
  await begin();
  assert.equal(faultNow()?.kind, "offline");
});

test("a place off the map is no start on it", async () => {
  says = {
    "/v1/map": () => json(200, { ...town, demo: undefined, bbox: [0, 0, 1, 1] }),
    "/v1/dogs": () => json(503, {}),
  };
  assert.ok(!onMap({ ...town, bbox: [0, 0, 1, 1] }, door.at) && onMap(town, door.at));
  await begin();
  assert.deepEqual([wish.value.from, wish.value.to], [undefined, undefined]);
  says["/v1/map"] = () => json(200, town);
  await begin();
  assert.deepEqual(wish.value.from, door);
});

test("a wish is kept and planned; the walks are those of the last wish", async () => {
  let late: ((r: Response) => void) | undefined;
  says = { "/v1/drawings": () => new Promise((r) => (late = r)) };
  want({ minutes: 45 });
  assert.equal(planNow().is, "looking");
  const first = late!;
  assert.equal((JSON.parse(localStorage.getItem("wideberth.wish")!) as { minutes: number }).minutes, 45);
  says = { "/v1/drawings": () => json(200, drawn(walkOf(0.2, 0, true), walkOf(0.3, 0))) };
  want({ minutes: 30 });
  first(json(200, drawn(walkOf(9, 0, true))));
  await settle();
  assert.equal(there().length, 2);
  assert.equal(
    (asked.findLast((a) => a.path === "/v1/drawings")!.body as { wish: { minutes: number } }).wish.minutes,
    30,
  );
  choose(1);
  assert.equal(chosen.value, 1);
  const again = planWalks();
  assert.equal(chosen.value, 1, "what is shown stays until all of the new plan is there");
  await again;
  assert.equal(chosen.value, 0, "another plan begins with its best walk");
});

test("the certificate of the longer search is told of the walk that is shown", async () => {
  // Bound = what the longer search found, less what it leaves open; share = 1 - bound / shown.
  const cases: [Walk, Walk, { proved: boolean; within_percent: number }][] = [
    [walkOf(0.2, -1), walkOf(0.2, 0, true), { proved: true, within_percent: 0 }],
    [walkOf(0.2, -1), walkOf(0.15, 0, true), { proved: false, within_percent: 25 }],
    [walkOf(0.2, -1), walkOf(0.2, 10), { proved: false, within_percent: 10 }],
    [walkOf(0.2, -1), walkOf(0.16, 50), { proved: false, within_percent: 60 }],
    [walkOf(0.2, -1), walkOf(0.2, -1), { proved: false, within_percent: -1 }],
    [walkOf(0, -1), walkOf(0, 0, true), { proved: true, within_percent: 0 }],
  ];
  for (const [shown, told, certified] of cases) {
    says = {
      "/v1/drawings": () => json(200, drawn(shown)),
      "/v1/proofs": () => json(200, { walks: [told] }),
    };
    want({});
    await settle();
    const { proved, within_percent } = there()[0]!.quality;
    assert.equal(proved, certified.proved);
    assert.ok(Math.abs(within_percent - certified.within_percent) < 1e-9, `${within_percent}`);
  }
  says["/v1/proofs"] = () => json(504, {});
  want({});
  await settle();
  assert.equal(there()[0]!.quality.within_percent, -1, "a walk stands without its certificate");
});

test("a busy server is asked again after the time it names, if nobody has asked for something else", async () => {
  mock.timers.enable({ apis: ["setTimeout"] });
  const busy = () => new Response("{}", { status: 503, headers: { "Retry-After": "7" } });
  says = { "/v1/drawings": busy };
  want({});
  await settle();
  const p = planNow();
  assert.ok(p.is === "fault" && p.fault.kind === "busy" && p.fault.retryS === 7);
  says = { "/v1/drawings": () => json(200, drawn(walkOf(0.2, 0, true))) };
  mock.timers.tick(6999);
  await settle();
  assert.equal(planNow().is, "fault");
  mock.timers.tick(1);
  await settle();
  assert.equal(planNow().is, "there");

  says = { "/v1/drawings": busy };
  want({});
  await settle();
  says = { "/v1/drawings": () => json(422, { status: 422, detail: "no", reason: "no_loop" }) };
  want({});
  await settle();
  const calls = asked.length;
  mock.timers.tick(60_000);
  await settle();
  assert.equal(asked.length, calls);
  mock.timers.reset();
});

test("only what is asked for is sent: limits that hold, a goal for a way, a bound for the longest calm walk", () => {
  const limits = { no_steps: false, lit_only: true, avoid_ways: [], never_nearer: [{ from: "school", m: 50 }] };
  const sent = wishBody({ ...wish.value, shape: "loop", limits, to: door, depart: "2026-11-25T07:10:00Z" });
  assert.deepEqual(sent.limits, { lit_only: true, never_nearer: [{ from: "school", m: 50 }] });
  assert.equal(limitCount(limits), 2);
  assert.equal("to" in sent || "max_expected_reactions" in sent, false);
  assert.deepEqual(wishBody({ ...wish.value, shape: "way", to: door }).to, door.at);
  assert.equal(wishBody({ ...wish.value, shape: "longest_calm" }).max_expected_reactions, 0.1);
});

const keptDog = (id: string, name: string): KeptDog => ({
  ...{ id, version: 3, created: "", updated: "", profile: { name } },
  distances: {
    dogs: {
      ...{ working_m: 30, reaction_m: 12, from: "learnt", since: "" },
      prior: { known: true, log_sd: 0.3, working_m: 38, reaction_m: 15 },
    },
  },
});

test("the server's dogs go before those of the device, and the one looked at stays looked at", async () => {
  setDogs(
    [
      { name: "Oro", needs: {} },
      { name: "Fern", needs: {} },
    ],
    1,
  );
  says = { "/v1/dogs": () => json(200, [keptDog("k", "Kessa"), keptDog("o", "Oro")]) };
  await loadDogs();
  assert.deepEqual(
    dogs.value.map((d) => [d.name, d.id]),
    [
      ["Kessa", "k"],
      ["Oro", "o"],
      ["Fern", undefined],
    ],
  );
  assert.deepEqual([dogAt.value, dogName(), serverKeeps.value], [2, "Fern", true]);
  assert.deepEqual(dogs.value[0]?.needs, { dogs: { working_m: 30, reaction_m: 12 } });
  lendDog({ name: "Guest", needs: {} });
  assert.equal(dogs.value.length, 3, "a dog is lent only to who has none");
});

test("a dog is made at the server once, and changed there under its version", async () => {
  says = { "/v1/dogs": (a) => json(200, a.method === "GET" ? [] : keptDog("f", "Fern")) };
  assert.equal(await idOf("Fern"), "f");
  asked.length = 0;
  assert.equal(await idOf("Fern"), "f");
  assert.equal(asked.length, 0);
  says = { "/v1/dogs/f": () => json(200, { ...keptDog("f", "Fern"), version: 4 }) };
  await keepDog(dogs.value[2]!, 2);
  const [put] = asked;
  assert.equal(put?.method, "PUT");
  assert.equal((put.body as { version: number }).version, 3);
  assert.equal(dogs.value[2]?.version, 4);
});

test("the server is asked in the English that the page speaks", async () => {
  says = { "/v1/dogs": () => json(200, []) };
  for (const [units, want] of [
    ["us", "en-US"],
    ["metric", "en-GB"],
  ] as const) {
    setSettings({ units });
    await loadDogs();
    assert.equal(asked.at(-1)?.headers.get("Accept-Language"), want);
  }
});

test("who reads a signal is told when it changes, and who reads another is not", () => {
  const told: string[] = [];
  const ends = [
    effect(() => void told.push(`words: ${say("unit.ft", { n: 10 }) && settings.value.units}`)),
    effect(() => void told.push(`theme: ${theme.value}`)),
  ];
  told.length = 0;
  setSettings({ units: "us" });
  assert.ok(told.length > 0 && told.every((t) => t === "words: us"), told.join());
  assert.match(say("sure.caution"), /leashes/);
  told.length = 0;
  setNight(true);
  assert.deepEqual(told, ["theme: dark"]);
  setSettings({ theme: "light" });
  assert.equal(theme.value, "light", "a person's word goes before the sun's");
  setNight(false);
  setSettings({ units: "metric", theme: "auto" });
  assert.equal((JSON.parse(localStorage.getItem("wideberth.settings")!) as { units: string }).units, "metric");
  for (const end of ends) end();
});

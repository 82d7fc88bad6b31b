// The log of a walk, without a browser: what a meeting says to the server, what is
// taken back or mended, and what lies on the device all the while.

import "./device.ts";

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { setDogs } from "../src/dogs.ts";
import { type Band, type Meeting, meet, mend, needFor, type Outcome, unmeet } from "../src/log.ts";
import { dropAll, newID, outbox, send, store, stored } from "../src/outbox.ts";
import type { DogFile, Drawing, Plan, Walk } from "../src/types.ts";
import { endWalk, finish, ready, type Saved, startWalk, walk, walkBook } from "../src/walking.ts";
import { answer, asked, device, json, settle } from "./device.ts";

const dog: DogFile = {
  name: "Kessa",
  needs: { dogs: { working_m: 38, reaction_m: 15 }, child: { working_m: 25 }, car: null },
};
const line = { length_m: 100, duration_s: 80, legs: [] } as unknown as Walk;
const drawing = { need: { kind: "dog_on_lead", working_m: 38, reaction_m: 15 } } as Drawing;
const plan = { depart: "2026-11-25T07:10:00Z", time_zone: "UTC" } as Plan;

const at = "2026-11-25T07:20:00.000Z";
const meeting = (more: Partial<Meeting> = {}): Meeting => ({
  ...{ id: newID(), at, category: "dogs", band: "between", outcome: "took_food", sent: false },
  ...more,
});
const posts = () => asked.filter((a) => a.method === "POST" && !a.path.includes("ways-out"));
const onDevice = async () => (await stored<Saved>("walk"))!;

beforeEach(async () => {
  await settle();
  endWalk();
  await settle();
  await dropAll();
  device.online = true;
  answer.with = () => json(200, { id: `s${posts().length}` });
  setDogs([{ ...dog, id: "kessa" }], 0);
  void ready(line, drawing, plan, dog);
  startWalk();
  await settle();
  asked.length = 0;
});

test("a meeting says how near it was and how it went", async () => {
  const near: [Band, object][] = [
    ["beyond", { nearest: "farther_than", distance_m: 38 }],
    ["between", { nearest: "between", distance_m: 15, to_m: 38 }],
    ["under", { nearest: "nearer_than", distance_m: 15 }],
  ];
  const went: [Outcome, object][] = [
    ["turned_back", { food: "taken", turned_back: true }],
    ["took_food", { food: "taken" }],
    ["no_food", { food: "refused" }],
    ["over", { over: "other" }],
  ];
  for (const [band, nearest] of near)
    for (const [outcome, how] of went) {
      asked.length = 0;
      const m = meeting({ band, outcome });
      await meet(walkBook, m);
      await settle();
      const [sent, ...more] = posts();
      assert.deepEqual(more, []);
      assert.equal(sent?.path, "/v1/dogs/kessa/encounters");
      assert.equal(sent.headers.get("Idempotency-Key"), m.id);
      const log = walk.value!;
      assert.deepEqual(sent.body, { walk: log.id, at, kind: "dogs", sudden: false, ...nearest, ...how });
    }
  assert.equal((await onDevice()).meetings.length, 12);
});

test("a kind is told by its own distances, else by its category's, else by those of one like it", () => {
  assert.deepEqual(needFor(dog.needs, "dog_on_lead"), { working_m: 38, reaction_m: 15 });
  assert.deepEqual(needFor(dog.needs, "child"), { working_m: 25 });
  assert.deepEqual(needFor(dog.needs, "people"), { working_m: 25 });
  assert.equal(needFor(dog.needs, "traffic"), undefined, "calm about cars, and nothing said of others");
  assert.equal(needFor(dog.needs, "siren"), undefined);
});

test("without distances a meeting says none, and with a place it says where", async () => {
  await meet(walkBook, meeting({ category: "sounds", kind: "siren", lat: 47.2, lon: -7, sudden: true }));
  await settle();
  const { walk: _, ...body } = posts()[0]!.body as Record<string, unknown>;
  assert.deepEqual(body, { at, kind: "siren", food: "taken", sudden: true, lat: 47.2, lon: -7 });
});

test("a draft goes nowhere until it is filled in, and its entry stands in its place", async () => {
  const draft: Meeting = { id: "draft", at, sent: false };
  await meet(walkBook, draft);
  await settle();
  assert.deepEqual(posts(), []);
  assert.deepEqual((await onDevice()).meetings, [draft]);
  await meet(walkBook, meeting({ id: "entry" }), "draft");
  await settle();
  assert.deepEqual(
    (await onDevice()).meetings.map((m) => [m.id, m.sent]),
    [["entry", true]],
  );
  assert.equal(posts().length, 1);
});

test("what waits is taken back from the queue; what was sent is removed at the server", async () => {
  device.online = false;
  await meet(walkBook, meeting({ id: "waits" }));
  assert.equal(outbox.waiting.value, 1);
  await unmeet(walkBook, "waits");
  assert.equal(outbox.waiting.value, 0);
  device.online = true;
  await send();
  assert.deepEqual(posts(), []);

  await meet(walkBook, meeting({ id: "gone" }));
  await settle();
  const called = (await stored<string>("id.gone"))!;
  await unmeet(walkBook, "gone");
  await settle();
  assert.equal(posts()[1]?.path, `/v1/encounters/${called}/removal`);
  assert.deepEqual((await onDevice()).meetings, []);
});

test("what was sent is known to have been sent after the page was closed as well", async () => {
  await meet(walkBook, meeting({ id: "gone" }));
  await settle();
  assert.equal((await onDevice()).meetings[0]?.sent, true);
});

test("a meeting that is mended goes as another, and the one before is removed", async () => {
  await meet(walkBook, meeting({ id: "first" }));
  await settle();
  await mend(walkBook, "first", { outcome: "over", sudden: true });
  await settle();
  const [, removed, again] = posts();
  assert.match(removed!.path, /\/removal$/);
  assert.equal((again!.body as { over: string; sudden: boolean }).over, "other");
  assert.equal((again!.body as { sudden: boolean }).sudden, true);
  const [left, ...more] = (await onDevice()).meetings;
  assert.deepEqual(more, []);
  assert.notEqual(left?.id, "first");
  await mend(walkBook, "nobody", { outcome: "over" });
  await settle();
  assert.equal(posts().length, 3, "what is not there cannot be mended");
});

test("what is changed of a walk that ended is changed among the past ones too", async () => {
  await store("past", [{ id: "older", meetings: [] }]);
  await meet(walkBook, meeting({ id: "met" }));
  endWalk();
  await settle();
  await meet(walkBook, meeting({ id: "later" }));
  await settle();
  const past = (await stored<Saved[]>("past"))!;
  assert.deepEqual(
    past.map((p) => [p.id, p.meetings.map((m) => m.id)]),
    [
      [walk.value!.id, ["met", "later"]],
      ["older", []],
    ],
  );
});

test("a walk is told once, its plan before it", async () => {
  endWalk();
  await settle();
  await finish(true);
  await finish(false);
  await settle();
  const [first, second, ...more] = posts();
  assert.deepEqual(more, []);
  assert.equal(first?.path, "/v1/dogs/kessa/plans");
  assert.equal(second?.path, "/v1/dogs/kessa/walks");
  const { started, ended } = walk.value!;
  const kept = (await stored<string>(`id.${walk.value!.id}.plan`))!;
  assert.deepEqual(second.body, { started, ended, all_told: true, plan: kept });
});

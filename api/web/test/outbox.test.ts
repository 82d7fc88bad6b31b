// The queue of what was logged, without a browser: whatever network and server do,
// every entry arrives once, in order, or is set aside with the reason.

import "./device.ts";

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { setDogs } from "../src/dogs.ts";
import {
  dropAll,
  type Entry,
  giveUp,
  offerAgain,
  outbox,
  post,
  send,
  startOutbox,
  stored,
  takeBack,
  wrongClock,
} from "../src/outbox.ts";
import { type Asked, answer, asked, device, json, settle } from "./device.ts";

mock.timers.enable({ apis: ["setTimeout", "setInterval"] });

beforeEach(async () => {
  await settle();
  await dropAll();
  device.online = true;
  asked.length = 0;
  answer.with = () => json(200, { id: "made" });
});

const entry = (id: string, at: number, more: Partial<Entry> = {}): Entry => ({
  ...{ id, at, path: "/v1/things", body: { is: id } },
  ...more,
});
const keysOf = (list: Asked[]): string[] => list.map((a) => a.headers.get("Idempotency-Key") ?? "");

test("what is posted goes out at once, with its key, and waits no longer", async () => {
  await post(entry("a", 1));
  await settle();
  assert.deepEqual(
    asked.map((a) => [a.method, a.path, a.body]),
    [["POST", "/v1/things", { is: "a" }]],
  );
  assert.deepEqual(keysOf(asked), ["a"]);
  assert.equal(outbox.waiting.value, 0);
  assert.equal(await stored("id.a"), "made");
});

test("without a network it is kept, and goes out oldest first when there is one", async () => {
  device.online = false;
  for (const [id, at] of [
    ["c", 3],
    ["a", 1],
    ["b", 2],
  ] as const)
    await post(entry(id, at));
  await settle();
  assert.deepEqual(asked, []);
  assert.equal(outbox.waiting.value, 3);
  device.online = true;
  await startOutbox();
  assert.deepEqual(keysOf(asked), ["a", "b", "c"]);
  assert.equal(outbox.waiting.value, 0);
  // From now on it tries by itself, and when the device says that there is a network.
  device.online = false;
  await post(entry("d", 4));
  device.online = true;
  mock.timers.tick(15_000);
  await settle();
  device.online = false;
  await post(entry("e", 5));
  device.online = true;
  dispatchEvent(new Event("online"));
  await settle();
  assert.deepEqual(keysOf(asked), ["a", "b", "c", "d", "e"]);
});

test("a network that dies stops the queue at the entry that it had; the rest keeps its order", async () => {
  device.online = false;
  for (const id of ["a", "b", "c"]) await post(entry(id, id.charCodeAt(0)));
  device.online = true;
  answer.with = (a) => {
    if (keysOf([a])[0] === "b") throw new TypeError("fetch failed");
    return json(200, {});
  };
  await send();
  assert.deepEqual(keysOf(asked), ["a", "b"]);
  assert.equal(outbox.waiting.value, 2);
  answer.with = () => json(200, {});
  await send();
  assert.deepEqual(keysOf(asked), ["a", "b", "b", "c"]);
  assert.equal(outbox.waiting.value, 0);
});

test("a server that is busy, broken, without a key for this device or without a store is asked again", async () => {
  for (const status of [401, 404, 405, 500, 503, 504]) {
    asked.length = 0;
    answer.with = () => json(status, { status, detail: "later" });
    await post(entry(`s${status}`, status));
    await post(entry(`t${status}`, status + 0.5));
    await settle();
    assert.deepEqual(new Set(keysOf(asked)), new Set([`s${status}`]), `${status}: nothing overtakes`);
    answer.with = () => json(200, {});
    asked.length = 0;
    await send();
    assert.deepEqual(keysOf(asked), [`s${status}`, `t${status}`]);
  }
});

test("what is refused for now stays and lets the others pass, but not those that refer to it", async () => {
  for (const [type, status] of [
    ["forbidden", 403],
    ["not-found", 404],
    ["ahead", 409],
  ] as const) {
    await dropAll();
    device.online = false;
    await post(entry("walk", 1));
    await post(entry("on it", 2, { path: "/v1/walks/{id walk}/end" }));
    await post(entry("other", 3));
    device.online = true;
    asked.length = 0;
    answer.with = (a) =>
      keysOf([a])[0] === "walk"
        ? json(status, { status, type: `urn:wideberth:${type}`, detail: "not now" })
        : json(200, { id: "x" });
    await send();
    assert.deepEqual(keysOf(asked), ["walk", "other"], type);
    assert.equal(outbox.waiting.value, 2);
    assert.equal(await stored("refused.walk"), undefined);
    answer.with = () => json(200, { id: "w1" });
    asked.length = 0;
    await send();
    assert.deepEqual(keysOf(asked), ["walk", "on it"], type);
    assert.equal(asked[1]?.path, "/v1/walks/w1/end");
    assert.equal(outbox.waiting.value, 0);
  }
});

test("what is refused for good is set aside with the reason and holds nothing up", async () => {
  for (const status of [400, 409, 413, 422]) {
    answer.with = (a) =>
      keysOf([a])[0] === `bad${status}` ? json(status, { status, detail: "no such kind" }) : json(200, {});
    device.online = false;
    await post(entry(`bad${status}`, 1));
    await post(entry(`good${status}`, 2));
    device.online = true;
    asked.length = 0;
    await send();
    assert.deepEqual(keysOf(asked), [`bad${status}`, `good${status}`]);
    assert.equal(outbox.waiting.value, 0);
    const aside = await stored<{ entry: Entry; why: string }>(`refused.bad${status}`);
    assert.deepEqual([aside?.entry.id, aside?.why], [`bad${status}`, "no such kind"]);
  }
  assert.deepEqual(
    outbox.refused.value.map((r) => r.entry.id),
    ["bad400", "bad409", "bad413", "bad422"],
  );
  // One is thrown away; one is sent again, and taken.
  const [thrown, again] = outbox.refused.value;
  assert.ok(thrown && again);
  await giveUp(thrown.entry.id);
  answer.with = () => json(200, {});
  asked.length = 0;
  await offerAgain(again);
  await settle();
  assert.deepEqual(keysOf(asked), ["bad409"]);
  assert.deepEqual(
    outbox.refused.value.map((r) => r.entry.id),
    ["bad413", "bad422"],
  );
  assert.equal(outbox.waiting.value, 0);
});

test("what is posted while another entry is on its way goes out after it, without waiting for a timer", async () => {
  const { letGo, held } = holding();
  answer.with = async () => {
    await held;
    return json(200, {});
  };
  await post(entry("a", 1));
  await settle();
  await post(entry("b", 2));
  await send(); // no second sending beside the first
  await settle();
  assert.deepEqual(keysOf(asked), ["a"]);
  letGo();
  await settle();
  assert.deepEqual(keysOf(asked), ["a", "b"]);
  assert.equal(outbox.waiting.value, 0);
});

test("what is taken back before it went never goes; what is going or gone is not taken back", async () => {
  device.online = false;
  await post(entry("never", 1));
  assert.equal(await takeBack("never"), true);
  assert.equal(outbox.waiting.value, 0);
  device.online = true;
  const { letGo, held } = holding();
  answer.with = async () => {
    await held;
    return json(200, {});
  };
  await post(entry("going", 2));
  await post(entry("behind", 3));
  await settle();
  assert.deepEqual(keysOf(asked), ["going"]);
  assert.equal(await takeBack("going"), false, "it is on its way");
  assert.equal(await takeBack("behind"), true, "it is not");
  letGo();
  await settle();
  assert.deepEqual(keysOf(asked), ["going"]);
  assert.equal(await takeBack("going"), false, "it is gone");
});

test("what may have arrived, its answer lost, is not taken back; what was surely not taken is", async () => {
  for (const [id, back, reply] of [
    ["lost", false, () => Promise.reject(new TypeError("fetch failed"))],
    ["broken", false, () => json(500, {})],
    ["slow", false, () => json(504, {})],
    ["busy", true, () => json(503, {})],
    ["locked", true, () => json(401, {})],
  ] as const) {
    answer.with = reply;
    await post(entry(id, 1));
    await settle();
    assert.equal(await takeBack(id), back, id);
    await dropAll();
  }
});

test("the dog is named by the server's id, and made there if it is not yet", async () => {
  setDogs([{ name: "Fenn", needs: { dogs: { working_m: 30 } } }], 0);
  answer.with = (a) => {
    if (a.path === "/v1/dogs" && a.method === "GET") return json(200, []);
    if (a.path === "/v1/dogs") return json(200, { id: "d 1", version: 1, profile: { name: "Fenn" }, distances: {} });
    return json(200, {});
  };
  for (const id of ["a", "b"])
    await post(entry(id, id.charCodeAt(0), { path: "/v1/dogs/{dog}/encounters", dog: "Fenn" }));
  await settle();
  assert.deepEqual(
    asked.map((a) => `${a.method} ${a.path}`),
    ["GET /v1/dogs", "POST /v1/dogs", "POST /v1/dogs/d%201/encounters", "POST /v1/dogs/d%201/encounters"],
  );
});

test("entries name others by what the server called them, whatever the clock did meanwhile", async () => {
  answer.with = (a) => json(200, { id: `server's ${keysOf([a])[0]}` });
  device.online = false;
  await post(entry("undo", 1, { path: "/v1/encounters/{id met}/removal", body: {} })); // the clock was put back after "met"
  await post(entry("walk", 2, { ids: { plan: "plan" } }));
  await post(entry("plan", 3));
  await post(entry("met", 9));
  device.online = true;
  await send();
  assert.deepEqual(keysOf(asked), ["plan", "walk", "met", "undo"]);
  assert.deepEqual(asked[1]?.body, { is: "walk", plan: "server's plan" });
  assert.equal(asked[3]?.path, "/v1/encounters/server's%20met/removal");
});

test("what changes something that was refused is dropped, and what only names it goes without", async () => {
  answer.with = (a) => (keysOf([a])[0] === "bad" ? json(422, { status: 422, detail: "no" }) : json(200, {}));
  device.online = false;
  await post(entry("bad", 1));
  await post(entry("undo", 2, { path: "/v1/encounters/{id bad}/removal", body: {} }));
  await post(entry("walk", 3, { ids: { plan: "bad" } }));
  device.online = true;
  await send();
  assert.deepEqual(keysOf(asked), ["bad", "walk"]);
  assert.deepEqual(asked[1]?.body, { is: "walk" });
  assert.equal(outbox.waiting.value, 0);
});

test("an entry of a clock that was never set gets the server's time", async () => {
  assert.equal(wrongClock("1970-01-04T11:20:00Z"), true);
  assert.equal(wrongClock("2026-11-25T07:10:00Z"), false);
  answer.with = (a) => json(200, a.path === "/v1/map" ? { now: "2026-11-25T07:10:00Z" } : {});
  await post(entry("a", 1, { body: { at: "1970-01-04T11:20:00Z", kind: "dogs" } }));
  await settle();
  assert.deepEqual(asked.at(-1)?.body, { at: "2026-11-25T07:10:00Z", kind: "dogs" });
});

test("over many bad days every entry arrives once, in order", async () => {
  const seed = Math.floor(Math.random() * 2 ** 31);
  let state = seed;
  const chance = (): number => {
    state = (Math.imul(state, 1103515245) + 12345) & 0x7fffffff; // the C standard's example of rand
    return state / 2 ** 31;
  };
  for (let day = 0; day < 40; day++) {
    await dropAll();
    const arrived: string[] = [];
    const taken = new Set<string>();
    answer.with = (a) => {
      const key = keysOf([a])[0] ?? "";
      if (chance() < 0.3) throw new TypeError("fetch failed"); // before it arrives
      if (chance() < 0.2) return json(503, { status: 503 });
      if (!taken.has(key)) arrived.push(key); // a server takes a key once
      taken.add(key);
      if (chance() < 0.2) throw new TypeError("fetch failed"); // the answer is lost
      return json(200, { id: key });
    };
    const want: string[] = [];
    for (let i = 0; i < 12; i++) {
      device.online = chance() < 0.7;
      const id = `day${day}.${String(i).padStart(2, "0")}`;
      await post(entry(id, i));
      if (chance() < 0.2 && (await takeBack(id))) continue; // taken back in time
      want.push(id);
      if (chance() < 0.5) await settle();
    }
    device.online = true;
    for (let tries = 0; outbox.waiting.value > 0; tries++) {
      assert.ok(tries < 1000, `seed ${seed}, day ${day}: ${outbox.waiting.value} still wait`);
      await send();
      await settle();
    }
    assert.deepEqual(arrived, want, `seed ${seed}, day ${day}`);
  }
});

/** A promise and what fulfils it. */
function holding(): { letGo: () => void; held: Promise<void> } {
  let letGo = () => {};
  const held = new Promise<void>((r) => {
    letGo = r;
  });
  return { letGo, held };
}

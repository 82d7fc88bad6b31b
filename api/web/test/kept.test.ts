// Outings and sequences of visits as they are asked for, kept and changed, without a
// browser: in which order, under which version, and what stays on the device.

import "./device.ts";

import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
import { loadDogs, setDogs } from "../src/dogs.ts";
import { setMap } from "../src/mapinfo.ts";
import { stored } from "../src/outbox.ts";
import {
  beginOuting,
  keepOuting,
  keepOver,
  lacks,
  lookAgain,
  openDoc,
  outing,
  planOuting,
  replan,
  setWish,
  starts,
  undoReplan,
} from "../src/outing.ts";
import { changeFrom, type Kept, outWith, over, passings, underWay, worstPairs } from "../src/timetable.ts";
import type { Check, MapInfo, Pinch, Sequence, TimeRow, Timetable, Visit } from "../src/types.ts";
import {
  beginVisits,
  decide,
  dropSequence,
  loadVisits,
  moveVisit,
  planVisits,
  setVisitsWish,
  shown,
  visitOf,
  visits,
} from "../src/visits.ts";
import { type Asked, answer, asked, json, settle } from "./device.ts";

const minute = (m: number) => new Date(Date.parse("2026-11-28T09:00:00Z") + m * 60000).toISOString();
const row = (dog: string, person: string, out: number, back: number): TimeRow =>
  ({ dog, person, leave: minute(out), back_by: minute(back), changed: false, holds: [] }) as unknown as TimeRow;
const rows = [row("Oro", "Ada", 10, 30.5), row("Fern", "Jo", 20, 40), row("Bram", "Ada", 40, 55)];
const table = (list = rows) =>
  ({ start: minute(0), minutes: 120, rows: list, unserved: [], together: [], unavoidable: [] }) as unknown as Timetable;
const pinch = (a: string, b: string, least_m: number, need_m: number) => ({ dogs: [a, b], least_m, need_m }) as Pinch;
const checked = { kept: true, pairs: [], directed: [], frames: [] } as unknown as Check;

/** A server that keeps documents under versions, and what it says of the rest. */
const docs = new Map<string, { version: number; body: unknown; dog?: string }>();
let says: Record<string, (a: Asked) => Response> = {};
const documentOf = (id: string) => ({ id, kind: "", created: "", updated: "", ...docs.get(id) });
answer.with = (a) => {
  const special = Object.entries(says).find(([end]) => a.path.endsWith(end));
  if (special) return special[1](a);
  const [, id] = /^\/v1\/documents\/\w+\/(.+)$/.exec(a.path) ?? [];
  if (/^\/v1\/documents\/\w+$/.test(a.path)) return json(200, [...docs.keys()].map(documentOf));
  if (id === undefined) return json(404, {});
  if (a.method === "DELETE") return docs.delete(id) ? new Response(null, { status: 204 }) : json(404, {});
  if (a.method === "GET") return docs.has(id) ? json(200, documentOf(id)) : json(404, {});
  const { version, ...rest } = a.body as { version: number; body: unknown };
  const has = docs.get(id)?.version ?? 0;
  if (version !== has) return json(409, { status: 409, detail: "changed meanwhile" });
  docs.set(id, { ...rest, version: version + 1 });
  return json(200, documentOf(id));
};
const calls = () => asked.map((a) => `${a.method} ${a.path}`);

mock.timers.enable({ apis: ["Date"], now: Date.parse("2026-11-28T08:30:00Z") });
setMap({ name: "Tannerswick", bbox: [-8, 47, -6, 48], time_zone: "UTC" } as unknown as MapInfo);

beforeEach(async () => {
  await settle();
  docs.clear();
  says = { "/v1/dogs": () => json(200, []) };
  await loadDogs();
  asked.length = 0;
});

const gate = { name: "Gate", at: { lat: 47.2, lon: -7 } };
/** Plans an outing that begins at an hour of its own, since one of the same hour is the same. */
async function planned(from: string): Promise<void> {
  says["/v1/outings/gate"] = () => json(200, { sufficient: true });
  says["/v1/outings"] = () => json(200, table());
  says["/v1/outings/check"] = () => json(200, checked);
  setWish({
    ...{ day: "2026-11-28", from, to: "12:00", gate, together: [] },
    dogs: ["Oro", "Fern", "Bram"].map((name) => ({
      ...{ dog: { name, needs: {} }, minutes: 20, experience: "new" as const, bite: false },
    })),
    people: ["Ada", "Jo"].map((name) => ({ name, experience: "regular" as const })),
  });
  await planOuting();
}

test("an outing is counted, planned, checked and kept, in that order, under its day and hour", async () => {
  await planned("09:00");
  assert.deepEqual(calls(), [
    "POST /v1/outings/gate",
    "POST /v1/outings",
    "POST /v1/outings/check",
    "PUT /v1/documents/outings/2026-11-28-0900",
    "GET /v1/documents/outings",
  ]);
  assert.equal(starts(outing.wish.value).toISOString(), minute(0));
  assert.deepEqual([outing.doing.value, outing.version.value, outing.unsaved.value], ["nothing", 1, false]);
  assert.equal((JSON.parse(localStorage.getItem("wideberth.outing.kept")!) as { version: number }).version, 1);
});

test("what an outing still lacks is told one at a time, hours first", () => {
  const w = outing.wish.value;
  assert.equal(lacks(w), "");
  assert.equal(lacks({ ...w, to: "09:10" }), "hours");
  assert.equal(lacks({ ...w, to: "21:01" }), "hours");
  assert.equal(lacks({ ...w, dogs: [], people: [] }), "dogs");
  assert.equal(lacks({ ...w, people: [] }), "people");
  const { gate: _, ...open } = w;
  assert.equal(lacks(open), "gate");
});

test("changes from one device are kept one after another, and never conflict with themselves", async () => {
  await planned("09:01");
  await Promise.all([keepOuting(), keepOuting(), keepOuting()]);
  assert.equal(outing.version.value, docs.get("2026-11-28-0901")?.version);
  assert.deepEqual([outing.version.value, outing.elsewhere.value, outing.unsaved.value], [4, false, false]);
});

test("who was second is told, and decides what stays", async () => {
  await planned("09:02");
  const id = outing.id.value;
  const other = { ...outing.kept.value!, walks: { Oro: "theirs" } };
  docs.set(id, { version: 5, body: other });
  await keepOuting();
  assert.deepEqual([outing.unsaved.value, outing.elsewhere.value], [true, true]);
  assert.equal((docs.get(id)!.body as Kept).walks.Oro, "theirs", "nothing was overwritten");
  await keepOver();
  assert.deepEqual([outing.unsaved.value, outing.elsewhere.value, docs.get(id)?.version], [false, false, 6]);
  docs.set(id, { version: 9, body: other });
  await lookAgain();
  assert.equal(outing.kept.value?.walks.Oro, "theirs", "a change elsewhere reaches who looks on");
  assert.deepEqual([outing.version.value, outing.elsewhere.value], [9, true]);
  openDoc("nowhere");
  assert.equal(outing.id.value, id);
});

test("who is gone is out of the sentence once they have no walk left, and the change is taken back whole", async () => {
  await planned("09:03");
  const before = outing.kept.value!;
  const without = rows.filter((r) => r.person !== "Jo").map((r) => ({ ...r, changed: r.dog === "Bram" }));
  says["/v1/outings/replan"] = () => json(200, table(without));
  await replan({ is: "gone", person: "Jo" });
  const sent = asked.find((a) => a.path.endsWith("replan"))?.body as { gone: string[]; now: string; before: Timetable };
  assert.deepEqual(sent.gone, ["Jo"]);
  assert.equal(sent.now, minute(-5), "from five minutes before the start on");
  assert.deepEqual(
    outing.wish.value.people.map((p) => p.name),
    ["Ada"],
  );
  assert.deepEqual(outing.kept.value?.note?.changed, [{ dog: "Bram", person: "Ada" }]);
  undoReplan();
  await settle();
  assert.equal(outing.kept.value, before);
  assert.equal(outing.wish.value, before.wish);
  assert.equal(outing.before.value, undefined);
});

test("a timetable tells who is out, when it is over and who passes the gate", () => {
  const k = { timetable: table() } as Kept;
  assert.equal(outWith(k, "Ada", new Date(minute(10)))?.dog, "Oro");
  assert.equal(outWith(k, "Ada", new Date(minute(30.5))), undefined, "back is back");
  assert.deepEqual([over(k), underWay(k), changeFrom(k).toISOString()], [false, false, minute(-5)]);
  mock.timers.setTime(Date.parse(minute(60)));
  assert.deepEqual([over(k), underWay(k), changeFrom(k).toISOString()], [false, true, minute(60)]);
  mock.timers.setTime(Date.parse(minute(121)));
  assert.deepEqual([over(k), underWay(k)], [true, false]);
  mock.timers.setTime(Date.parse("2026-11-28T08:30:00Z"));
  assert.deepEqual(
    passings(k.timetable).map((p) => [
      p.at.toISOString().slice(11, 16),
      p.list.map((x) => (x.out ? "out " : "in ") + x.row.dog),
    ]),
    [
      ["09:10", ["out Oro"]],
      ["09:20", ["out Fern"]],
      ["09:30", ["in Oro"]],
      ["09:40", ["in Fern", "out Bram"]],
      ["09:55", ["in Bram"]],
    ],
  );
  const c = { pairs: [pinch("a", "b", 60, 40), pinch("c", "d", 35, 40)], directed: [pinch("b", "a", 45, 40)] };
  assert.deepEqual(
    worstPairs(c as unknown as Check).map((p) => p.least_m),
    [35, 45],
  );
});

const visit = (distance_m: number, lon = -7): Visit =>
  ({
    at: [lon, 47.2],
    distance_m,
    arrive: "2026-11-29T07:20:00Z",
    stay_minutes: 8,
    watched: {},
    harder: ["nearer"],
  }) as unknown as Visit;
const sequence = (...list: Visit[]) => ({ visits: list, lacks: [] }) as unknown as Sequence;
const progress = (done: unknown[]) => json(200, { done, step: 1, to: 1 });

async function sequenced(): Promise<void> {
  setDogs([{ id: "k", name: "Kessa", needs: { dogs: { working_m: 38 } } }], 0);
  await beginVisits();
  says["/progress"] = () => progress([]);
  says["/v1/visits"] = () => json(200, sequence(visit(76), visit(57)));
  setVisitsWish({ from: gate });
  await planVisits();
}

test("a sequence is kept with its dog; planned again it takes its place until something was logged of it", async () => {
  await sequenced();
  const first = shown()!;
  assert.deepEqual([first.dog, first.version, first.body.step, docs.size], ["k", 1, 1, 1]);
  await planVisits();
  assert.deepEqual([shown()!.id, shown()!.version, docs.size], [first.id, 2, 1]);
  says["/progress"] = () => progress([{ visit: 1 }]);
  await loadVisits();
  await planVisits();
  assert.notEqual(shown()!.id, first.id);
  assert.equal(docs.size, 2);
});

test("who may not change a sequence has another hour on the device only", async () => {
  await sequenced();
  const d = shown()!;
  const moved = { ...visit(76), arrive: "2026-12-06T07:20:00Z" };
  says["/v1/visits/replan"] = () => json(200, { ...moved, harder: [] });
  says[`/documents/visits/${d.id}`] = () => json(403, { status: 403, detail: "trainers only" });
  assert.equal(await moveVisit(d, 1, moved), true);
  assert.deepEqual([visitOf(d, 1).arrive, visitOf(d, 1).harder], [moved.arrive, ["nearer"]]);
  assert.equal(visitOf(d, 2).arrive, "2026-11-29T07:20:00Z");
  const kept = (await stored<{ mine: Record<string, Visit> }>("visits"))!;
  assert.deepEqual(Object.keys(kept.mine), [`${d.id}/1`]);
});

test("a person's word moves a sequence on, under the version that they saw", async () => {
  await sequenced();
  const d = shown()!;
  says["/decisions"] = (a) => {
    docs.set(d.id, { ...docs.get(d.id)!, version: 2, body: { ...d.body, step: (a.body as { to: number }).to } });
    return json(200, documentOf(d.id));
  };
  assert.equal(await decide(d, { to: 2 }), true);
  assert.deepEqual(asked.find((a) => a.path.endsWith("decisions"))?.body, { version: 1, to: 2 });
  assert.equal(shown()?.body.step, 2);
  says["/decisions"] = () => json(409, { status: 409, detail: "changed meanwhile" });
  assert.equal(await decide(d, { to: 1 }), false);
  assert.equal(visits.fault.value?.problem?.status, 409);
  assert.equal(await dropSequence(shown()!), true);
  assert.equal(docs.size, 0);
});

test("an outing on another map is not taken up", async () => {
  localStorage.setItem(
    "wideberth.outing.wish",
    JSON.stringify({ ...outing.wish.value, gate: { name: "far", at: { lat: 0, lon: 0 } } }),
  );
  localStorage.removeItem("wideberth.outing.kept");
  await beginOuting();
  assert.notEqual(outing.wish.value.gate?.name, "far");
});

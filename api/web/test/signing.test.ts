// Who is out by what was signed: what is late, and two devices that signed at once.

import "./device.ts";

import assert from "node:assert/strict";
import { test } from "node:test";
import { type Kept, lateMin, mergedSigns, signState, walksOf } from "../src/timetable.ts";
import type { TimeRow } from "../src/types.ts";

const row = (dog: string, leave: string, back_by: string, more: object = {}) =>
  ({ dog, person: "Ada", leave: `2026-11-25T${leave}:00Z`, back_by: `2026-11-25T${back_by}:00Z`, ...more }) as TimeRow;
const at = (hour: string) => Date.parse(`2026-11-25T${hour}:00Z`);

test("late going out from three minutes on, late coming in from the minute it was due", () => {
  const r = row("Oro", "09:03", "09:25");
  const k = (signed?: Kept["signed"]) => ({ signed }) as Kept;
  const out = { Oro: { out: "2026-11-25T09:04:00Z", told: "2026-11-25T09:04:00Z" } };
  const home = { Oro: { ...out.Oro, in: "2026-11-25T09:40:00Z" } };
  for (const [kept, hour, state, late] of [
    [k(), "09:06", "due", 0],
    [k(), "09:08", "due", 2],
    [k(out), "09:25", "out", 0],
    [k(out), "09:31", "out", 6],
    [k(home), "10:30", "in", 0],
  ] as const) {
    assert.equal(signState(kept, r), state, hour);
    assert.equal(lateMin(kept, r, at(hour)), late, `${state} at ${hour}`);
  }
});

test("of two devices the later word on each dog stays, in either order", () => {
  const a = { Oro: { out: "1", told: "1" }, Pip: { out: "1", in: "5", told: "5" } };
  const b = { Oro: { out: "1", in: "3", told: "3" }, Pip: { out: "1", told: "1" }, Tilly: { out: "2", told: "2" } };
  const want = { Oro: b.Oro, Pip: a.Pip, Tilly: b.Tilly };
  assert.deepEqual(mergedSigns(a, b), want);
  assert.deepEqual(mergedSigns(b, a), want);
  assert.deepEqual(mergedSigns(undefined, b), b);
  assert.deepEqual(mergedSigns(a, undefined), a);
});

test("two dogs that go together are one walk to sign", () => {
  const rows = [
    row("Bram", "09:03", "09:25", { with: "Tilly" }),
    row("Tilly", "09:03", "09:25", { with: "Bram" }),
    row("Pip", "09:10", "09:30"),
  ];
  assert.deepEqual(
    walksOf({ rows } as never).map((r) => r.dog),
    ["Bram", "Pip"],
  );
});

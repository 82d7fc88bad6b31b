// Where one is on a walk, from what the receiver says, without a browser.

import "./device.ts";

import assert from "node:assert/strict";
import { afterEach, mock, test } from "node:test";
import { along, cutAt, degrees, match, metres, offArea, walkLine } from "../src/geo.ts";
import { tilesAlong } from "../src/ground.ts";
import { type Fix, headingOf, longer } from "../src/heading.ts";
import type { Drawing, Leg, Plan, Position, Walk } from "../src/types.ts";
import { endWalk, phase, place, putAt, ready, type Saved, startWalk, walk, whereNow } from "../src/walking.ts";
import { device, isWatched, losePlace, moveTo, settle } from "./device.ts";

const origin: Position = [-7.0018089, 47.2022085];
/** A line from metres east and north of the door. */
const lineOf = (points: [number, number][]): Position[] => points.map((p) => degrees(p, origin));

/** Numbers from 0 to 1 that are the same in every run (Park and Miller 1988, Communications of the ACM 31:1192). */
function numbers(seed: number): () => number {
  let x = seed;
  return () => {
    x = (x * 16807) % 2147483647;
    return x / 2147483647;
  };
}

test("metres are those of the ellipsoid, to 0.7 per cent", () => {
  // Length of a degree on WGS 84 (semi-axis 6378137 m, flattening 1/298.257223563: NIMA TR8350.2),
  // from the radii of curvature of the meridian and the prime vertical.
  const e2 = 2 / 298.257223563 - 1 / 298.257223563 ** 2;
  for (const lat of [-60, -33.9, 0, 39.75, 47.2, 65]) {
    const phi = (lat * Math.PI) / 180;
    const w = 1 - e2 * Math.sin(phi) ** 2;
    const north = ((6378137 * (1 - e2)) / w ** 1.5) * (Math.PI / 180);
    const east = (6378137 / Math.sqrt(w)) * Math.cos(phi) * (Math.PI / 180);
    const [x, y] = metres([10.01, lat + 0.01], [10, lat]);
    assert.ok(Math.abs(x / (0.01 * east) - 1) < 0.007, `${x} m east at ${lat}, ${0.01 * east} m on the ellipsoid`);
    assert.ok(Math.abs(y / (0.01 * north) - 1) < 0.007, `${y} m north at ${lat}, ${0.01 * north} m on the ellipsoid`);
    const back = degrees([x, y], [10, lat]);
    assert.ok(Math.abs(back[0] - 10.01) < 1e-12 && Math.abs(back[1] - lat - 0.01) < 1e-12, String(back));
  }
});

test("a place is matched to the nearest point of the line, as many points of it tell", () => {
  const rand = numbers(7);
  for (let n = 0; n < 200; n++) {
    const line = lineOf(Array.from({ length: 2 + Math.floor(rand() * 8) }, () => [rand() * 400, rand() * 400]));
    const p = degrees([rand() * 500 - 50, rand() * 500 - 50], origin);
    const hit = match(line, p);
    let length = 0;
    for (let i = 1; i < line.length; i++) length += Math.hypot(...metres(line[i]!, line[i - 1]!));
    let least = Infinity;
    for (let m = 0; m < length + 0.5; m += 0.5) least = Math.min(least, Math.hypot(...metres(p, along(line, m).at)));
    assert.ok(hit.offM <= least + 0.05 && hit.offM >= least - 0.3, `${hit.offM} m off, many points say ${least}`);
    const there = Math.hypot(...metres(p, along(line, hit.m).at));
    assert.ok(Math.abs(there - hit.offM) < 0.05, `at ${hit.m} m it is ${there} m off, told ${hit.offM}`);
  }
});

test("the way along a line has its place and direction", () => {
  const line = lineOf([
    [0, 0],
    [100, 0],
    [100, 50],
  ]);
  for (const [m, x, y, angle] of [
    [-5, 0, 0, 0],
    [40, 40, 0, 0],
    [120, 100, 20, Math.PI / 2],
    [900, 100, 50, Math.PI / 2],
  ] as const) {
    const got = along(line, m);
    const [gx, gy] = metres(got.at, origin);
    assert.ok(Math.hypot(gx - x, gy - y) < 0.01, `${m} m: ${gx}, ${gy}`);
    assert.ok(Math.abs(got.angle - angle) < 1e-3, `${m} m: ${got.angle}`);
  }
});

test("somebody faces the way of the last 30 m, and no way while they stand", () => {
  // A straight line east by 1.2 m a second, then north, then a stand of half a minute, with
  // a receiver that strays by 3 m; angles as in a circle: 0 east, 90 degrees north.
  const rand = numbers(11);
  const strayed = (x: number, y: number): Position => {
    const [a, r] = [2 * Math.PI * rand(), 3 * Math.sqrt(rand())];
    return degrees([x + r * Math.cos(a), y + r * Math.sin(a)], origin);
  };
  let track: Fix[] = [];
  const at = (s: number): number | undefined => {
    const m = 1.2 * Math.min(s, 150);
    track = longer(track, { at: strayed(Math.min(m, 90), Math.max(0, m - 90)), t: 1000 * s });
    const heading = headingOf(track);
    return heading === undefined ? undefined : (heading * 180) / Math.PI;
  };
  const told = Array.from({ length: 180 }, (_, s) => at(s));
  assert.equal(told[3], undefined, "hardly begun");
  for (let s = 30; s <= 74; s++) assert.ok(Math.abs(told[s]!) < 15, `east at ${s} s: ${told[s]}`);
  for (let s = 110; s <= 149; s++) assert.ok(Math.abs(told[s]! - 90) < 15, `north at ${s} s: ${told[s]}`);
  assert.ok(
    told.slice(172).every((d) => d === undefined),
    "standing",
  );
  assert.ok(track.length < 100, `${track.length} places kept`);
});

test("a line is cut in two at a distance, and the halves are the whole", () => {
  const length = (l: Position[]) => l.reduce((n, p, i) => (i ? n + Math.hypot(...metres(p, l[i - 1]!)) : 0), 0);
  const line = lineOf(round);
  for (const m of [0, 50, 200, 420, 699]) {
    const [before, after] = cutAt(line, m);
    assert.ok(Math.abs(length(before) - m) < 0.5, `${length(before)} m before ${m}`);
    assert.ok(Math.abs(length(after) - (length(line) - m)) < 0.5, `${length(after)} m after ${m}`);
  }
  assert.deepEqual(cutAt(line, 900), [line, []]);
});

test("an area is as far as its nearest side, and nothing away inside", () => {
  const square = lineOf([
    [0, 0],
    [40, 0],
    [40, 40],
    [0, 40],
    [0, 0],
  ]);
  for (const [x, y, off] of [
    [20, 20, 0],
    [50, 20, 10],
    [43, 44, 5],
    [20, -7, 7],
  ] as const)
    assert.ok(Math.abs(offArea(degrees([x, y], origin), [square]) - off) < 0.01, `${x}, ${y}`);
});

/** A walk of one leg along a line, at 1.2 m/s. */
function walkAlong(points: [number, number][]): Walk {
  const coordinates = lineOf(points);
  let length_m = 0;
  for (let i = 1; i < coordinates.length; i++) length_m += Math.hypot(...metres(coordinates[i]!, coordinates[i - 1]!));
  const duration_s = length_m / 1.2;
  const leg: Partial<Leg> = { length_m, start_s: 0, duration_s, geometry: { type: "LineString", coordinates } };
  const walk: Partial<Walk> = { length_m, duration_s, legs: [leg as Leg] };
  return walk as Walk;
}

function begin(points: [number, number][]): Saved {
  const drawing = { need: { kind: "", working_m: 38, reaction_m: 15 } } as Drawing;
  const plan: Partial<Plan> = { depart: "", time_zone: "UTC" };
  void ready(walkAlong(points), drawing, plan as Plan, { name: "Kessa", needs: {} });
  startWalk();
  return walk.value!;
}

afterEach(async () => {
  mock.timers.reset();
  endWalk();
  await settle();
  device.online = true;
});

/** Walks the whole line with a receiver that strays, and gives the largest error in metres. */
function walkIt(saved: Saved, strayM: number, seed: number): number {
  const rand = numbers(seed);
  const line = walkLine(saved.walk);
  let worst = 0;
  for (let m = 0; m <= saved.walk.length_m; m += 1.2) {
    const [angle, r] = [2 * Math.PI * rand(), strayM * Math.sqrt(rand())];
    const [lon, lat] = degrees([r * Math.cos(angle), r * Math.sin(angle)], along(line, m).at);
    moveTo(lon, lat, strayM);
    worst = Math.max(worst, Math.abs(place.value.m - m));
  }
  return worst;
}

const round: [number, number][] = [
  [0, 0],
  [200, 0],
  [200, 150],
  [0, 150],
  [0, 0],
];
const thereAndBack: [number, number][] = [
  [0, 0],
  [300, 0],
  [300, 120],
  [300, 0],
  [0, 0],
];
const eight: [number, number][] = [
  [0, 0],
  [100, 100],
  [200, 0],
  [200, 100],
  [100, 0],
  [0, 100],
  [0, 0],
];
const sameStreetTwice: [number, number][] = [
  [0, 0],
  [300, 0],
  [300, 80],
  [200, 80],
  [200, 0],
  [0, 0],
];

for (const [name, points] of Object.entries({ round, thereAndBack, eight, sameStreetTwice }))
  test(`the whole way is followed, ${name}, with a receiver that strays by 8 m`, () => {
    for (let seed = 1; seed <= 10; seed++) {
      const saved = begin(points);
      const worst = walkIt(saved, 8, seed);
      assert.ok(worst < 60, `seed ${seed}: ${worst} m from where one is`); // just after a dead end the way out and back are one
      assert.ok(
        place.value.m > saved.walk.length_m - 20,
        `seed ${seed}: ends at ${place.value.m} of ${saved.walk.length_m} m`,
      );
      endWalk();
    }
    begin(points);
  });

test("who turns round on a loop is followed back", () => {
  const saved = begin(round);
  const line = walkLine(saved.walk);
  for (const m of [...Array(250).keys(), ...[...Array(200).keys()].map((i) => 250 - i)]) {
    const [lon, lat] = along(line, m).at;
    moveTo(lon, lat, 8);
    assert.ok(
      Math.abs(place.value.m - m) < 5 && place.value.offM < 1,
      `at ${m} m: told ${place.value.m} m, ${place.value.offM} m off`,
    );
  }
});

test("a loop begins at its beginning, though it ends there too", () => {
  begin(round);
  moveTo(...origin, 5);
  assert.ok(place.value.m < 1, `${place.value.m} m`);
});

test("who leaves the walk is told how far off, and where they were on it", () => {
  begin(round);
  const [lon, lat] = degrees([100, -60], origin);
  moveTo(lon, lat, 5);
  assert.ok(Math.abs(place.value.offM - 60) < 0.5, `${place.value.offM} m off`);
  assert.ok(Math.abs(place.value.m - 100) < 0.5, `${place.value.m} m`);
});

test("a poor position counts as not known; the receiver lost leaves the last place", () => {
  const saved = begin(round);
  const [lon, lat] = degrees([100, 0], origin);
  moveTo(lon, lat, 31);
  assert.equal(place.value.known, false);
  moveTo(lon, lat, 30);
  assert.equal(place.value.known, true);
  losePlace();
  assert.equal(place.value.known, false);
  assert.ok(Math.abs(whereNow(saved) - 100) < 0.5, `${whereNow(saved)} m`);
});

test("a handler's word on where they are goes before the receiver's", () => {
  const saved = begin(thereAndBack);
  putAt(520); // on the way back
  assert.deepEqual([place.value.known, whereNow(saved)], [true, 520]);
  const [lon, lat] = degrees([295, 0], origin);
  moveTo(lon, lat, 8);
  assert.ok(Math.abs(place.value.m - 545) < 1, `${place.value.m} m: the way back from there, not the way out`);
});

test("without a position the time gone tells where one should be, and never beyond the end", () => {
  mock.timers.enable({ apis: ["Date"], now: Date.parse("2026-11-25T07:10:00Z") });
  const saved = begin(round);
  assert.equal(whereNow(saved), 0);
  mock.timers.tick(100_000);
  assert.ok(Math.abs(whereNow(saved) - 120) < 0.01, `${whereNow(saved)} m after 100 s at 1.2 m/s`);
  mock.timers.tick(3_600_000);
  assert.equal(whereNow(saved), saved.walk.length_m);
});

test("a walk that ended asks for no place any longer", () => {
  begin(round);
  assert.equal(isWatched(), true);
  endWalk();
  assert.equal(isWatched(), false);
  assert.equal(phase(), "ended");
  assert.deepEqual([place.value.m, place.value.known], [0, false]);
});

test("the ground that is kept is every tile near the line and none that is not", () => {
  // The arithmetic of the OGC's WebMercatorQuad (Two Dimensional Tile Matrix Set 2.0, annex D) at zoom 15, by
  // hand: (114.2 + 180) / 360 * 32768 = 26778.7; asinh(tan 22.3°) = 0.39942, (1 - 0.39942 / pi) / 2 * 32768 = 14300.9.
  assert.deepEqual(tilesAlong([[114.2, 22.3]], 1), ["/tiles/15/26778/14300.mvt"]);
  assert.deepEqual(tilesAlong([origin], 1), ["/tiles/15/15746/11498.mvt"]);
  // Half a kilometre about a place is at most two tiles each way at 47 N (a tile is 834 m there), at least one.
  const near = tilesAlong([[-7.0018, 47.2022]], 417);
  assert.ok(near.length >= 1 && near.length <= 4, near.join());
  const line: [number, number][] = Array.from({ length: 20 }, (_, i) => [-7 + i * 2e-3, 47.2]);
  const all = tilesAlong(line, 300);
  for (const p of line) assert.ok(tilesAlong([p], 300).every((t) => all.includes(t)));
  assert.equal(new Set(all).size, all.length);
});

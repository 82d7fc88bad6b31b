// Tables of dogs as people paste them: separators, quotes, head lines, units, and what
// cannot be read. Quotes and separators are those of RFC 4180.

import "./device.ts";

import assert from "node:assert/strict";
import { test } from "node:test";
import {
  alsoColumns,
  alsoText,
  cellText,
  columns,
  emptyDog,
  merged,
  passedOver,
  readDogs,
  roomOf,
  wants,
  withAlso,
  withCell,
} from "../src/dogtable.ts";
import type { OutingDog } from "../src/timetable.ts";

const told = (d: OutingDog | undefined) =>
  d && [d.dog.name, Math.round(roomOf(d) * 10) / 10, d.minutes, d.experience, d.bite];

test("the same dogs by commas, semicolons and tabs, with a head line and without", () => {
  const want = [
    ["Bram", 40, 30, "new", false],
    ["Oro", 60, 25, "experienced", true],
  ];
  for (const text of [
    "Bram, 40 m, 30, any\nOro, 60 m, 25, exp, bite",
    "Bram;40;30 min;;no\r\nOro;60m;25 minutes;experienced;yes\r\n",
    "Bram\t40 m\t\tanybody\t\nOro\t60 m\t25\tEXP\tx",
    "\ufeffDog,Needs,Min,Experience,Bite history\nBram,40,30,new,\nOro,60,25,exp,1",
    "bite, minutes, dog, colour, room (m), who\n-,30,Bram,brown,40,any\nyes,25,Oro,black,60,exp",
    '"Bram","40 m",30\n"Oro","60 m","25","exp","bite"\n\n',
    "Bram, 8 cars, 30\nOro, 12 cars, 25, exp, bite",
  ])
    assert.deepEqual(readDogs(text, "metric").map(told), want, JSON.stringify(text));
  assert.deepEqual(readDogs('"Oro, the old one",60', "metric").map(told), [["Oro, the old one", 60, 30, "new", false]]);
  assert.deepEqual(
    readDogs("Bram,125", "us").map(told),
    [["Bram", 38.1, 30, "new", false]],
    "feet where feet are used",
  );
  assert.deepEqual(
    readDogs("name,room (m)\nBram,40", "us").map(told),
    [["Bram", 40, 30, "new", false]],
    "as the head says",
  );
  assert.deepEqual(readDogs("  \n", "metric"), []);
});

test("what cannot be read is named and stays as it was typed", () => {
  const list = readDogs("Arlo,,30\nPip,far,30\n,20 m\nSkye,500 m\nNell,30 m,200,boss,perhaps\nPip,20 m", "metric");
  assert.deepEqual(
    wants(list, "metric").map((w) => `${w.row}: ${w.text}`),
    [
      "0: Arlo has no distance",
      "1: Pip: far is no distance",
      "2: line 3 has no name",
      "3: Skye: 500 m cannot be kept, the most is 400\u202fm",
      "4: Nell: 200 is no number of minutes from 5 to 90",
      "4: Nell, who: boss is not any, regular or exp",
      "4: Nell, bite: perhaps is neither yes nor no",
      "5: Pip is there twice, tell them apart",
    ],
  );
  assert.equal(cellText(list[1]!, "room", "metric"), "far");
  const mended = withCell(list[1]!, "room", "30 m", "metric");
  assert.equal(mended.raw, undefined);
  assert.equal(roomOf(mended), 30);
  const crowd = Array.from({ length: 62 }, (_, i) => `D${i},20`).join("\n");
  assert.deepEqual(
    wants(readDogs(crowd, "metric"), "metric").map((w) => w.text),
    ["at most 60 dogs go out together, take 2 away"],
  );
});

test("what stands in a cell reads back as what it is, in both units", () => {
  for (const units of ["metric", "us"] as const)
    for (const d of readDogs("Bram,40 m,30,regular,\nOro,61 m,25,exp,bite", units))
      for (const c of columns) {
        const again = withCell(d, c, cellText(d, c, units), units);
        assert.deepEqual(again, d, `${c} in ${units}`);
      }
});

test("a dog whose distances are known by kind keeps them until its room is changed", () => {
  const d: OutingDog = {
    ...emptyDog(),
    id: "7",
    dog: {
      name: "Kessa",
      needs: { dog_off_lead: { working_m: 50, reaction_m: 20 }, child: { working_m: 25 } },
    },
  };
  delete d.raw;
  assert.equal(roomOf(d), 50);
  assert.deepEqual(withCell(d, "room", "50 m", "metric"), d);
  const other = withCell(d, "room", "30", "metric");
  assert.deepEqual(other.dog.needs, { child: { working_m: 25 }, dogs: { working_m: 30 } });
  assert.equal(other.id, undefined, "no longer as it is kept");
});

test("a pasted name that is there takes its place, others follow", () => {
  const was = readDogs("Bram,40\nOro,60", "metric");
  const now = merged(was, readDogs("Oro,70\nTilly,20\nOro,80", "metric"));
  assert.deepEqual(
    now.map((d) => [d.dog.name, roomOf(d)]),
    [
      ["Bram", 40],
      ["Oro", 70],
      ["Tilly", 20],
      ["Oro", 80],
    ],
  );
});

test("rules of the house stand under a head line, in the words that the server writes", () => {
  const text =
    "name,room,minutes,who,bite,first,finish by,only with,never with,goes with,people,row,apart,rest,kept as\n" +
    "Oro,60 m,25,exp,yes,yes,10:30,Ada / Sam,,Tilly,2,A,last,sat / sun,7f\n'=x,20 m,,,,,,,,,,,,,\n";
  const [oro, guarded] = readDogs(text, "metric");
  assert.deepEqual(oro?.also, {
    first: true,
    by: "10:30",
    only: ["Ada", "Sam"],
    with: "Tilly",
    hands: 2,
    row: "A",
    apart: "last",
    rest: ["sat", "sun"],
  });
  assert.equal(guarded?.dog.name, "=x");
  assert.equal(guarded?.also, undefined);
  assert.deepEqual(passedOver(text), ["kept as"]);
  for (const c of alsoColumns) assert.deepEqual(withAlso(oro!, c, alsoText(oro!, c)), oro, c);
  const [first] = readDogs('name;room;rest;apart;home by;people\n"a;b";40;Saturday / wed;puppy;9.05;1', "metric");
  assert.deepEqual(first?.also, { rest: ["sat", "wed"], apart: "ground", by: "09:05", hands: 1 });
});

test("a rule of the house that cannot be read is named, mended and taken away", () => {
  const [d] = readDogs("name,room,rest,people,finish by\nPip,30,someday,3,noon", "metric");
  assert.deepEqual(
    wants([d!], "metric").map((w) => w.text),
    ["Pip, Home by: noon cannot be read", "Pip, People: 3 cannot be read", "Pip, Days off: someday cannot be read"],
  );
  const mended = withAlso(withAlso(withAlso(d!, "rest", "sun"), "hands", ""), "by", "11:00");
  assert.equal(mended.raw, undefined);
  assert.deepEqual(mended.also, { rest: ["sun"], by: "11:00" });
  assert.equal(withAlso(withAlso(mended, "rest", ""), "by", " ").also, undefined);
});

// A table of dogs as people have one: pasted or dropped, with commas, semicolons or
// tabs, with a head line or without. What cannot be read stays as it was typed.
import Papa from "papaparse";
import { kindsOf } from "./kinds.ts";
import { type Key, say } from "./strings.ts";
import { type Also, type OutingDog, type Weekday, weekdays } from "./timetable.ts";
import type { Experience } from "./types.ts";
import { cut, distance, exact, readDistance, type Units } from "./words.ts";

/** The columns, in their order where there is no head line. */
export const columns = ["name", "room", "minutes", "who", "bite"] as const;
export type Column = (typeof columns)[number];
/** Columns that stand under a head line only: the rules of the house. */
export const alsoColumns = ["first", "by", "only", "never", "with", "hands", "row", "apart", "rest"] as const;
type AlsoColumn = (typeof alsoColumns)[number];
export const experiences: Experience[] = ["new", "regular", "experienced"];

// What the planner takes: routing/outing.
export const mostDogs = 60;
const mostRoomM = 400;
const leastMinutes = 5;
const mostMinutes = 90;
const mostName = 60;

const usualMinutes = 30;

/** The words that a text of the catalogue lists. */
const listed = (key: Key): string[] => say(key).split(",").map(plain);
const plain = (text: string): string => text.trim().toLowerCase();

export const emptyDog = (): OutingDog => ({
  dog: { name: "", needs: {} },
  minutes: usualMinutes,
  experience: "new",
  bite: false,
  raw: { name: "", room: "" },
});

/** The room that a dog needs from other dogs, in metres; 0 where none is said. */
export const roomOf = (d: OutingDog): number =>
  d.dog.needs.dogs?.working_m ??
  Math.max(0, ...["dog_on_lead", "dog_off_lead"].map((k) => d.dog.needs[k]?.working_m ?? 0));

/** What stands in a cell. */
export function cellText(d: OutingDog, column: Column, units: Units): string {
  const typed = d.raw?.[column];
  if (typed !== undefined) return typed;
  switch (column) {
    case "name":
      return d.dog.name;
    case "room":
      return exact(roomOf(d), units);
    case "minutes":
      return String(d.minutes);
    case "who":
      return say(`table.is.${d.bite ? "experienced" : d.experience}`);
    case "bite":
      return d.bite ? say("outing.bite") : "";
  }
}

/** A dog with a cell changed: by its value where it can be read, else as it was typed. */
export function withCell(d: OutingDog, column: Column, text: string, units: Units): OutingDog {
  const { [column]: _, ...others }: NonNullable<OutingDog["raw"]> = d.raw ?? {};
  const { raw: __, ...rest } = d;
  const keep = (patch: Partial<OutingDog>): OutingDog => ({
    ...rest,
    ...patch,
    ...(Object.keys(others).length ? { raw: others } : {}),
  });
  const lost = (): OutingDog => ({ ...rest, raw: { ...others, [column]: text } });
  const word = plain(text);
  switch (column) {
    case "name": {
      const name = text.trim();
      const { id: ___, ...unkept } = keep({ dog: { ...d.dog, name } });
      return name && name.length <= mostName ? (name === d.dog.name ? keep({}) : unkept) : lost();
    }
    case "room": {
      const m = readDistance(text, units);
      if (!m || m > mostRoomM) return lost();
      if (Math.abs(m - roomOf(d)) < 0.5 && d.raw?.room === undefined) return keep({});
      const was = d.dog.needs.dogs?.reaction_m;
      const needs = Object.fromEntries(Object.entries(d.dog.needs).filter(([k]) => !kindsOf("dogs").includes(k)));
      const near = was !== undefined && was < m ? { reaction_m: was } : {};
      const { id: ___, ...unkept } = keep({ dog: { ...d.dog, needs: { ...needs, dogs: { working_m: m, ...near } } } });
      return unkept;
    }
    case "minutes": {
      if (!word) return keep({ minutes: usualMinutes });
      const n = Number(/^(\d+)\s*\D{0,8}$/.exec(word)?.[1]);
      return n >= leastMinutes && n <= mostMinutes ? keep({ minutes: n }) : lost();
    }
    case "who": {
      const who = word ? experiences.find((e) => listed(`table.who.${e}`).includes(word)) : "new";
      return who ? keep({ experience: who }) : lost();
    }
    case "bite":
      if (!word || listed("table.no").includes(word)) return keep({ bite: false });
      return listed("table.yes").includes(word) ? keep({ bite: true }) : lost();
  }
}

const parts = (cell: string): string[] =>
  cell
    .split("/")
    .map((name) => name.trim())
    .filter(Boolean);

/** What a cell of the house says; nothing where it cannot be read. */
function readAlso(column: AlsoColumn, cell: string): Also | undefined {
  const word = plain(cell);
  switch (column) {
    case "first":
      return listed("table.yes").includes(word) ? { first: true } : listed("table.no").includes(word) ? {} : undefined;
    case "by": {
      const m = /^([01]?\d|2[0-3])[:.]([0-5]\d)$/.exec(word);
      return m ? { by: `${m[1]!.padStart(2, "0")}:${m[2]}` } : undefined;
    }
    case "hands":
      return word === "1" || word === "2" ? { hands: word === "1" ? 1 : 2 } : undefined;
    case "apart":
      for (const way of ["ground", "last"] as const)
        if (listed(`table.apart.${way}`).includes(word)) return { apart: way };
      return undefined;
    case "rest": {
      const rest = parts(word).map((day) => weekdays.find((d) => day.startsWith(d) && dayName(d).startsWith(day)));
      return rest.every((d) => d) && new Set(rest).size === rest.length ? { rest: rest as Weekday[] } : undefined;
    }
    case "only":
    case "never":
      return { [column]: parts(cell) };
    default:
      return { [column]: cell.trim() };
  }
}

const dayName = (d: Weekday): string =>
  `${{ mon: "mon", tue: "tues", wed: "wednes", thu: "thurs", fri: "fri", sat: "satur", sun: "sun" }[d]}day`;

/** What stands in a cell of the house. */
export function alsoText(d: OutingDog, column: AlsoColumn): string {
  const typed = d.raw?.[column];
  if (typed !== undefined) return typed;
  const value = d.also?.[column];
  if (value === undefined) return "";
  if (value === true) return listed("table.yes")[1]!;
  if (column === "apart") return listed(`table.apart.${value as "ground" | "last"}`)[0]!;
  return Array.isArray(value) ? value.join(" / ") : String(value);
}

/** A dog with a cell of the house changed; an empty one takes the rule away. */
export function withAlso(d: OutingDog, column: AlsoColumn, text: string): OutingDog {
  const { [column]: _, ...raw } = d.raw ?? {};
  const { [column]: __, ...also } = d.also ?? {};
  const { raw: ___, also: ____, ...rest } = d;
  const read = text.trim() ? readAlso(column, text) : {};
  const next: Also = { ...also, ...read };
  const unread = read ? raw : { ...raw, [column]: text };
  return {
    ...rest,
    ...(Object.keys(next).length ? { also: next } : {}),
    ...(Object.keys(unread).length ? { raw: unread } : {}),
  };
}

const isAlso = (c: Column | AlsoColumn): c is AlsoColumn => (alsoColumns as readonly string[]).includes(c);

/** The dogs of a pasted table. */
export function readDogs(text: string, units: Units): OutingDog[] {
  const rows = cellsOf(text);
  const head = rows[0] && headOf(rows[0]);
  const order = head?.order ?? columns;
  return (head ? rows.slice(1) : rows).map((cells) =>
    order.reduce((d, column, i) => {
      const cell = cells[i] ?? "";
      if (!column) return d;
      if (isAlso(column)) return withAlso(d, column, cell);
      return withCell(d, column, column === "room" ? withUnit(cell, head?.unit) : cell, units);
    }, emptyDog()),
  );
}

/** The heads of a pasted table that nobody knows: nothing under them was read. */
export function passedOver(text: string): string[] {
  const cells = cellsOf(text)[0] ?? [];
  const head = headOf(cells);
  return head ? cells.filter((c, i) => c && !head.order[i]) : [];
}

/** The cells of a table; those that were guarded from being worked out are bare again. */
const cellsOf = (text: string): string[][] =>
  Papa.parse<string[]>(text.replace(/^\ufeff/, "").trim(), {
    delimiter: delimiterOf(text),
    skipEmptyLines: "greedy",
  }).data.map((r) => r.map((c) => c.trim().replace(/^'(?=[=+\-@|%'])/, "")));

/** What parts the cells of the first line: a tab wherever there is one, as what is copied from a table has them. */
function delimiterOf(text: string): string {
  const first = (text.trim().split(/\r?\n/)[0] ?? "").replace(/"[^"]*"/g, "");
  return first.includes("\t") ? "\t" : first.includes(";") ? ";" : ",";
}

const withUnit = (cell: string, unit = ""): string => (/^[\d.,]+$/.test(cell) ? `${cell} ${unit}`.trim() : cell);

/** What the columns of a head line are; nothing where the line is none. */
function headOf(cells: string[]): { order: (Column | AlsoColumn | undefined)[]; unit: string } | undefined {
  const order = cells.map((c) => {
    const word = plain(c.replace(/[([].*/, ""));
    return [...columns, ...alsoColumns].find((k) => listed(`table.head.${k}`).includes(word));
  });
  if (!order.includes("name") || order.filter(Boolean).length < Math.min(2, cells.length)) return undefined;
  const room = cells[order.indexOf("room")] ?? "";
  return { order, unit: /\((?:in )?(m|met(?:re|er)s?|ft|feet|foot|cars?)\)/i.exec(room)?.[1] ?? "" };
}

/** What a person must see to before the dogs can go out, each once and in their order. */
export function wants(list: OutingDog[], units: Units): { row: number; text: string }[] {
  const out = list.flatMap((d, row) => {
    const dog = cut(d.dog.name) || say("table.line", { n: row + 1 });
    const of: Record<Column, (value: string) => string> = {
      name: (value) =>
        value ? say("table.wants.name.long", { n: row + 1, most: mostName }) : say("table.wants.name", { n: row + 1 }),
      room: (value) =>
        !value
          ? say("table.wants.room", { dog })
          : readDistance(value, units)
            ? say("table.wants.room.far", { dog, value: cut(value), most: distance(mostRoomM, units) })
            : say("table.wants.room.bad", { dog, value: cut(value) }),
      minutes: (value) =>
        say("table.wants.minutes", { dog, value: cut(value), least: leastMinutes, most: mostMinutes }),
      who: (value) => say("table.wants.who", { dog, value: cut(value) }),
      bite: (value) => say("table.wants.bite", { dog, value: cut(value) }),
    };
    const twice = d.dog.name && list.findIndex((x) => x.dog.name === d.dog.name) < row;
    return [
      ...columns.flatMap((c) => (d.raw?.[c] === undefined ? [] : [{ row, text: of[c](d.raw[c]) }])),
      ...alsoColumns.flatMap((c) =>
        d.raw?.[c] === undefined
          ? []
          : [{ row, text: say("table.wants.also", { dog, column: say(`table.also.${c}`), value: cut(d.raw[c]) }) }],
      ),
      ...(twice ? [{ row, text: say("table.wants.twice", { dog }) }] : []),
    ];
  });
  if (list.length > mostDogs)
    out.push({ row: mostDogs, text: say("table.wants.fewer", { most: mostDogs, n: list.length - mostDogs }) });
  return out;
}

/** Puts pasted dogs among those there are: one whose name is there takes its place. */
export function merged(was: OutingDog[], read: OutingDog[]): OutingDog[] {
  const out = [...was];
  for (const d of read) {
    const i = d.dog.name ? was.findIndex((x) => x.dog.name === d.dog.name) : -1;
    if (i >= 0 && out[i] === was[i]) out[i] = d;
    else out.push(d);
  }
  return out;
}

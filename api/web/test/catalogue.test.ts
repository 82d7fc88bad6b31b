// The catalogue that Go and the page share: both read one syntax, round and pluralise
// alike, and the page gives every text the places that it names.

import "./device.ts";

import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { IntlMessageFormat } from "intl-messageformat";
import * as s from "../src/strings.ts";
import * as w from "../src/words.ts";

const src = new URL("../src/", import.meta.url);
const briefing = new URL("../../../routing/briefing/", import.meta.url);
const read = <T>(url: URL): T => JSON.parse(readFileSync(url, "utf8")) as T;

test("the page's library and the server's reader give one text", () => {
  const cases = read<
    { text: string; lang: string; places: Record<string, string | number>; want: string; from: string }[]
  >(new URL("message/testdata/messages.json", briefing));
  assert.ok(cases.length >= 40);
  for (const c of cases)
    assert.equal(
      String(new IntlMessageFormat(c.text, c.lang, undefined, { ignoreTag: true }).format(c.places)),
      c.want,
      `${c.from}: ${c.text}`,
    );
});

test("numbers are rounded and counted as on paper", () => {
  type Row = { what: string; of: number[]; units: w.Units; category: string; want: string };
  type Numbers = [number, number, number, number];
  const tell: Record<string, (of: Numbers, r: Row) => string> = {
    distance: ([m], r) => w.distance(m, r.units),
    own: ([m], r) => w.exact(m, r.units),
    far: ([m], r) => w.far(m, r.units),
    minutes: ([t]) => s.say("unit.min", { n: w.minutes(t) }),
    minutes_spelt: ([t]) => w.minutesSpelt(t),
    into: ([t]) => w.into(t),
    seconds: ([t]) => w.seconds(t),
    answer: ([p]) => w.answer(p),
    of: ([p]) => w.shortAnswer(p),
    range: ([low, high]) => w.range(low, high),
    treats: ([low, high]) => w.treats(low, high),
    near: ([inside, expected, m], r) => w.near(r.category, inside, expected, w.exact(m, r.units)),
    compare: ([x, other, p, otherP]) => w.compare(x, other, p, otherP, "B"),
    laps: ([n]) => s.say("walk.laps", { n }),
  };
  const rows = read<Row[]>(new URL("testdata/told.json", briefing));
  assert.ok(rows.length >= 200);
  for (const r of rows) {
    s.speakAmerican(r.units === "us");
    assert.equal(tell[r.what]?.(r.of as Numbers, r), r.want, JSON.stringify(r));
  }
  s.speakAmerican(false);
});

test("every text of both languages can be read by the page", () => {
  for (const us of [false, true]) {
    s.speakAmerican(us);
    for (const key of Object.keys(s.everyText) as s.Key[]) assert.equal(typeof s.say(key, { n: 2 }), "string", key);
  }
  s.speakAmerican(false);
});

/** The names of the places of a text. */
function places(text: string): string[] {
  type Parts = ReturnType<IntlMessageFormat["getAst"]>;
  const names = (parts: Parts): string[] =>
    parts.flatMap((p) => {
      if (p.type === 0 || p.type === 7) return []; // a text, or the number that is counted
      const inner = "options" in p ? Object.values(p.options).flatMap((c) => names(c.value)) : [];
      return [p.value, ...inner];
    });
  return [...new Set(names(new IntlMessageFormat(text, "en-GB", undefined, { ignoreTag: true }).getAst()))].sort();
}

/** The names given in an object written out at the beginning of a text; undefined where it is not. */
function given(code: string): string[] | undefined {
  const rest = code.match(/^\s*,\s*\{/);
  if (!rest) return /^\s*,?\s*\)/.test(code) ? [] : undefined;
  const found: string[] = [];
  let depth = 1;
  let begins = true;
  for (let i = rest[0].length; depth > 0 && i < code.length; i++) {
    const c = code[i]!;
    if (depth === 1 && begins) {
      const name = code.slice(i).match(/^\s*(\.\.\.|\}|([A-Za-z_]\w*)\s*[:,}])/);
      if (!name || name[1] === "...") return undefined;
      if (name[2]) found.push(name[2]);
      begins = false;
    }
    if (c === '"' || c === "`") i = end(code, i);
    else if ("{[(".includes(c)) depth++;
    else if ("}])".includes(c)) depth--;
    else if (c === "," && depth === 1) begins = true;
  }
  return found.sort();
}

/** Where a string that begins at i ends. */
function end(code: string, i: number): number {
  const quote = code[i];
  for (let j = i + 1; j < code.length; j++) {
    if (code[j] === "\\") j++;
    else if (code[j] === quote) return j;
    else if (quote === "`" && code.startsWith("${", j)) {
      let depth = 1;
      for (j += 2; depth > 0; j++) depth += code[j] === "{" ? 1 : code[j] === "}" ? -1 : 0;
      j--;
    }
  }
  return code.length;
}

test("the page gives each text the places that it names, no more and no fewer", () => {
  let checked = 0;
  for (const name of readdirSync(src, { recursive: true, encoding: "utf8" }).filter((f) => /\.tsx?$/.test(f))) {
    const code = readFileSync(new URL(name, src), "utf8");
    for (const m of code.matchAll(/\bsay\(\s*"([\w.]+)"/g)) {
      const text = (s.everyText as Record<string, string>)[m[1]!];
      assert.ok(text !== undefined, `${name}: no text for ${m[1]}`);
      const names = given(code.slice(m.index + m[0].length));
      if (!names) continue;
      checked++;
      assert.deepEqual(names, places(text), `${name}: ${m[1]}`);
    }
  }
  assert.ok(checked > 500, `only ${checked} were checked`);
});

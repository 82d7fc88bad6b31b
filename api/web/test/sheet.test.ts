// What is drawn and printed: sides, and hand-outs on either paper.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Page } from "playwright-core";
import type { Drawing, Position } from "../src/types.ts";
import { ask, door, open, origin, pagesOf, paperOf, planned, sheetDrawn, view, wholeProgram } from "./harness.ts";

wholeProgram();

type Side = "left" | "right";
type Beside = Drawing["beside"][number];

const mPerDeg = 111320;
const flat = ([lon, lat]: Position): [number, number] => [
  lon * mPerDeg * Math.cos((door.lat * Math.PI) / 180),
  lat * mPerDeg,
];

/** On which sides of a line, about where something is drawn beside it, places lie: by
 * the sign of the cross product where the walk passes each. No code of the drawing is in it. */
function sidesOf(line: [number, number][], b: Beside, places: Position[]): Set<Side> {
  const found = new Set<Side>();
  for (const [x, y] of places.map(flat)) {
    let gone = 0;
    for (let j = 1; j < line.length; j++) {
      const [ax, ay] = line[j - 1]!;
      const [bx, by] = line[j]!;
      const len = Math.hypot(bx - ax, by - ay);
      const t = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / len ** 2;
      const cross = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / len;
      const here = gone + len >= b.from_m - 5 && gone <= b.to_m + 5 && t >= 0 && t <= 1;
      if (here && Math.abs(cross) > b.near_m - 3 && Math.abs(cross) < b.far_m + 3)
        found.add(cross < 0 ? "right" : "left");
      gone += len;
    }
  }
  return found;
}

test("left on the sheet is left of who walks: against the places of the map", async () => {
  const sides = { left: 0, right: 0 };
  const dog = {
    name: "Kessa",
    needs: { dogs: { working_m: 60, reaction_m: 20 }, child: { working_m: 40, reaction_m: 15 } },
  };
  const others = [
    { lat: 47.2046, lon: -6.9964 },
    { lat: 47.1985, lon: -7.0052 },
  ];
  for (const from of [door, ...others])
    for (const [minutes, hour] of [
      [30, "17:20"],
      [30, "08:15"],
      [45, "08:15"],
      [60, "15:20"],
      [60, "08:15"],
      [45, "15:20"],
      [60, "17:20"],
      [20, "12:00"],
      [45, "12:00"],
    ] as const) {
      const depart = `2026-11-25T${hour}:00Z`;
      const { plan, drawings } = await ask("post", "/v1/drawings", {
        body: { wish: { from, minutes, depart, dog, walks: 3 } },
      });
      const { sources } = await ask("post", "/v1/sources", {
        body: { bbox: [-7.015, 47.192, -6.985, 47.21], depart, dog },
      });
      plan.walks.forEach((w, i) => {
        const line = w.legs.flatMap((l) => l.geometry.coordinates).map(flat);
        for (const b of drawings[i]!.beside) {
          const named = sources.filter((s) => (s.name || s.what) === b.name);
          const found = sidesOf(
            line,
            b,
            named.map((s) => s.at),
          );
          if (found.size !== 1) continue; // two stops that face each other, or a source beyond a corner
          const told: Side = b.right ? "right" : "left";
          assert.ok(
            found.has(told),
            `${b.name} from ${b.from_m} to ${b.to_m} m of walk ${i} of ${minutes} min at ${hour} from ${from.lat}, ${from.lon}: told ${told}, is ${[...found]}`,
          );
          sides[told]++;
        }
      });
    }
  console.log(`    sources compared: ${JSON.stringify(sides)}`);
  assert.ok(sides.left > 3 && sides.right > 3, JSON.stringify(sides));
});

test("hand-outs of 15 to 60 minutes fit one page on either paper, in metres and in feet", async () => {
  const { page, faults, done } = await open("desk");
  for (const minutes of [15, 30, 45, 60])
    for (const [paper, units, format] of [
      ["a4", "metric", "A4"],
      ["letter", "us", "Letter"],
    ] as const) {
      const name = "Bartholomew of the Long Meadow by the Old Mill Race";
      const from = "The Longest Name of a Lane That Anybody Thought of";
      const dog = { name, needs: { dogs: { working_m: 38, reaction_m: 15 } } };
      const wish = { from: door, minutes, depart: "2026-11-26T07:10:00Z", dog };
      const drawn = await fetch(`${origin}/v1/handouts`, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ wish, paper, units, from }),
      });
      const html = await drawn.text();
      const { walks } = await ask("post", "/v1/plans", { body: wish });
      await page.route("**/sheet", (r) => r.fulfill({ contentType: "text/html; charset=utf-8", body: html }));
      await page.goto(`${origin}/sheet`);
      const pdf = await page.pdf({ format, printBackground: true, tagged: true, preferCSSPageSize: true });
      assert.equal(pagesOf(pdf), 1, `${minutes} min on ${format}`);
      const text = await page.locator("body").innerText();
      let at = 0;
      for (const leg of walks[0]!.legs.filter(
        (l, i, all) => l.length_m > 120 && l.name && l.name !== all[i - 1]?.name,
      )) {
        const next = text.toLowerCase().indexOf(leg.name.toLowerCase(), at);
        assert.ok(next >= 0, `${minutes} min on ${format}: ${leg.name} is not in walking order`);
        at = next;
      }
      assert.match(text, units === "us" ? /\d\sft/ : /\d\sm/);
      if (units === "us") {
        assert.doesNotMatch(text, /\b(pavement|leads?|drive|turn round|\d\d:\d\d AM)\b/i);
        assert.match(text, /, 7:10 am\./);
      }
      await page.unroute("**/sheet");
    }
  assert.deepEqual(faults, []);
  await done();
});

for (const size of ["phone", "small"] as const)
  test(`the sheet lies straight and whole on a ${size}`, async () => {
    const { page, done } = await planned(size, { isMobile: true, hasTouch: true });
    await view(page, "handout");
    await sheetDrawn(page);
    const r = await page.evaluate(() => {
      const holder = document.querySelector(".sheetholder")!;
      const sheet = holder.shadowRoot!.querySelector(".sheet")!;
      const [box, inner] = [holder, sheet].map((e) => e.getBoundingClientRect().toJSON() as DOMRect) as [
        DOMRect,
        DOMRect,
      ];
      return { box, sheet: inner, wide: innerWidth, over: document.documentElement.scrollWidth };
    });
    assert.ok(r.over <= r.wide, JSON.stringify(r));
    assert.ok(r.box.left >= -0.5 && r.box.right <= r.wide + 0.5, JSON.stringify(r));
    const [left, right] = [r.sheet.left - r.box.left, r.box.right - r.sheet.right];
    assert.ok(Math.abs(left - right) < 4, `even margins: ${JSON.stringify(r)}`);
    assert.ok(r.sheet.width > 0.8 * r.wide, JSON.stringify(r));
    // What stands on it is painted: the head of the sheet has ink, and nothing lies over the words at the foot of the page.
    const head = await page.evaluate(() => {
      const h = document.querySelector(".sheetholder")!.shadowRoot!.querySelector("h1")!;
      h.scrollIntoView({ block: "center" });
      return h.getBoundingClientRect().toJSON() as DOMRect;
    });
    const shot = await page.screenshot({
      clip: { x: head.x, y: head.y, width: head.width, height: Math.max(8, head.height) },
    });
    assert.ok((await darkPixels(page, shot)) > 100, "the sheet's title is painted");
    await page.emulateMedia({ media: "print" });
    const lines = await page.evaluate(() =>
      [...document.querySelectorAll(".head, .foot-words, .screen, .sticky")]
        .filter((e) => e.checkVisibility() && e.getBoundingClientRect().height > 0)
        .map((e) => e.className),
    );
    assert.deepEqual(lines, [], "only the sheet is printed");
    await page.emulateMedia({ media: null });
    await done();
  });

const darkPixels = (page: Page, png: Buffer): Promise<number> =>
  page.evaluate(async (b64) => {
    const img = new Image();
    img.src = `data:image/png;base64,${b64}`;
    await img.decode();
    const c = document.createElement("canvas");
    [c.width, c.height] = [img.width, img.height];
    const g = c.getContext("2d", { willReadFrequently: true })!;
    g.drawImage(img, 0, 0);
    const px = g.getImageData(0, 0, c.width, c.height).data;
    let dark = 0;
    for (let i = 0; i < px.length; i += 4) if (px[i]! < 128) dark++;
    return dark;
  }, png.toString("base64"));

test("the hand-out prints on one page with the legs as text", async () => {
  const { page, faults, done } = await planned("desk");
  // The browser's own print of the plan is the hand-out.
  await page.locator(".printed.there").waitFor({ state: "attached" });
  const plain = await page.pdf({ printBackground: true, preferCSSPageSize: true });
  assert.deepEqual([pagesOf(plain), paperOf(plain)], [1, "A4"]);
  await page.emulateMedia({ media: "print" });
  assert.deepEqual(
    await page.evaluate(() =>
      [...document.querySelectorAll("main > *")].filter((e) => e.checkVisibility()).map((e) => e.className),
    ),
    ["printed there"],
  );
  await page.emulateMedia({ media: null });
  await view(page, "handout");
  await sheetDrawn(page);
  for (const format of ["A4", "Letter"]) {
    await page.getByRole("button", { name: format, exact: true }).click();
    await page.waitForFunction(
      (f) => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(`.${f.toLowerCase()} .sheet svg`),
      format,
    );
    await sheetDrawn(page);
    const pdf = await page.pdf({ printBackground: true, tagged: true, preferCSSPageSize: true });
    assert.deepEqual([pagesOf(pdf), paperOf(pdf)], [1, format], "the paper that was chosen");
  }
  const text = await page.locator(".sheetholder").evaluate((s) => s.shadowRoot!.textContent ?? "");
  for (const name of ["Weaver Row", "Race Walk", "Kessa", "OpenStreetMap contributors", "Calmer: "])
    assert.ok(text.includes(name), name);
  // What to do at each watch point is told as on the screen, broken into lines.
  await view(page, "plan");
  const bare = (said: string) => said.replace(/\s+/g, "");
  const deeds = await page.locator(".watchlow li").allInnerTexts();
  assert.ok(deeds.length > 1);
  for (const said of deeds) {
    const deed = /(Wait until|Swing wide|Stop, look|Keep to|Pass on|Look first)[^.]*\./.exec(said)?.[0];
    assert.ok(deed && bare(text).includes(bare(deed)), said);
  }
  await view(page, "handout");
  await sheetDrawn(page);
  const downloaded = page.waitForEvent("download");
  await page.getByRole("button", { name: "GPX file" }).click();
  assert.match(readFileSync(await (await downloaded).path(), "utf8"), /<gpx/);
  assert.deepEqual(faults, []);
  await done();
});

// Seen, reached and read by everybody: axe in light, dark and forced colours, focus,
// text at 200 %, narrow screens and gloves.

import assert from "node:assert/strict";
import { test } from "node:test";
import {
  getReady,
  mapIdle,
  planned,
  type Size,
  setOut,
  sheetDrawn,
  standing,
  unfold,
  view,
  violations,
  wholeProgram,
} from "./harness.ts";

wholeProgram();

for (const colorScheme of ["light", "dark"] as const) {
  test(`no accessibility violations in any view, ${colorScheme}`, async () => {
    const { page, done } = await planned("phone", { colorScheme, reducedMotion: "reduce" });
    await mapIdle(page);
    assert.deepEqual(await violations(page), [], "plan");
    await unfold(page);
    await page.locator(".sentence button").last().click();
    assert.deepEqual(await violations(page), [], "limits");
    await page.keyboard.press("Escape");
    for (const [name, ready] of [
      ["when", "table.week"],
      ["around", ".near .list li"],
      ["dog", "figure svg"],
      ["more", "select"],
      ["after", "main.panel"],
    ] as const) {
      await view(page, name);
      await page.locator(ready).first().waitFor();
      await page.evaluate(() => scrollTo(0, document.body.scrollHeight)); // at the end the foot covers no row by half
      assert.deepEqual(await violations(page), [], name);
    }
    await view(page, "handout");
    await sheetDrawn(page);
    assert.deepEqual(await violations(page), [], "handout");
    await done();
  });
}

test("forced colours, a phone lying on its side, and no WebGL: axe is content", async () => {
  const walk = await planned("phone", { forcedColors: "active", permissions: ["geolocation"] });
  const { page, context, line, done } = walk;
  assert.deepEqual(await violations(page), []);
  await context.setGeolocation(standing(line, 72));
  await getReady(walk);
  await setOut(walk);
  await page.setViewportSize({ width: 844, height: 390 });
  const [picture, way] = await Promise.all(
    [".go .picture", ".go .way"].map((s) =>
      page.locator(s).evaluate((e) => e.getBoundingClientRect().toJSON() as DOMRect),
    ),
  );
  assert.ok(picture && way && picture.right <= way.left + 1 && way.bottom <= 391, JSON.stringify({ picture, way }));
  await done();
  const still = await planned("phone", { plain: true });
  await still.page.locator(".mapbox .picture svg").waitFor();
  assert.deepEqual(await violations(still.page), []);
  await still.done();
});

test("focus is never hidden under what sticks to the foot", async () => {
  const { page, done } = await planned("phone");
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press("Tab");
    const hidden = await page.evaluate(() => {
      const e = document.activeElement;
      if (!e || e === document.body || e.closest(".foot-words, .sticky, .skip")) return "";
      const r = e.getBoundingClientRect();
      let shown = Math.min(r.bottom, innerHeight) - Math.max(r.top, 0);
      for (const bar of document.querySelectorAll(".sticky, .foot-words")) {
        const b = bar.getBoundingClientRect();
        shown -= Math.max(0, Math.min(r.bottom, b.bottom) - Math.max(r.top, b.top));
      }
      const enough = shown >= Math.min(20, r.height);
      return enough ? "" : `${e.tagName} ${e.textContent?.slice(0, 30)} ${JSON.stringify(r)}`;
    });
    assert.equal(hidden, "", `tab ${i + 1}`);
  }
  await done();
});

test("nothing scrolls sideways at 320 px and with text at 200 %", async () => {
  for (const [size, zoom] of [
    ["narrow", 100],
    ["phone", 200],
  ] as [Size, number][]) {
    const { page, done } = await planned(size);
    await page.evaluate((z) => {
      document.documentElement.style.fontSize = `${1.0625 * z}%`;
    }, zoom);
    for (const [name, ready] of [
      ["plan", "button.folded"],
      ["dog", "figure svg"],
      ["more", "select"],
      ["after", "main.panel"],
    ] as const) {
      await view(page, name);
      await page.locator(ready).first().waitFor();
      const over = await page.evaluate(() =>
        [...document.querySelectorAll("main *, header *")]
          .filter(
            (e) =>
              e.getBoundingClientRect().right > innerWidth + 1 &&
              !e.closest(".scroll, .week, .hours, .sheetbox, svg, .hidden, .mapbox"),
          )
          .map((e) => `${e.tagName}.${e.className} ${e.textContent?.slice(0, 30)}`)
          .slice(0, 3),
      );
      assert.deepEqual(over, [], `${name} at ${size} ${zoom} %`);
    }
    await done();
  }
});

test("targets are big enough for a glove", async () => {
  const { page, done } = await planned("phone");
  for (const name of ["plan", "when", "dog", "more"]) {
    await view(page, name);
    if (name === "when") await page.locator("table.week").waitFor();
    const small = await page.evaluate(() =>
      [...document.querySelectorAll("button, nav a, select, input:not([type=checkbox])")]
        .filter((e) => e.checkVisibility() && !e.closest(".sentence, .calmer, .maplibregl-ctrl"))
        .map((e) => ({ t: e.textContent?.slice(0, 20), r: e.getBoundingClientRect() }))
        .filter(({ r }) => r.width > 0 && (r.height < 47.5 || r.width < 47.5))
        .map(({ t, r }) => `${t} ${r.width}x${r.height}`),
    );
    assert.deepEqual(small, [], name);
  }
  await done();
});

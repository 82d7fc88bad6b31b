// The whole job by keyboard alone, no pointer anywhere.

import assert from "node:assert/strict";
import { test } from "node:test";
import type { Page } from "playwright-core";
import { ask, door, fortyMeetings, keptDog, open, planned, replanned, until, wholeProgram } from "./harness.ts";

wholeProgram();

test("ask, choose, walk along the strip", async () => {
  const { page, faults, done } = await open("desk");
  await page.getByRole("button", { name: "Show me a walk" }).focus();
  await page.keyboard.press("Enter");
  await page.getByRole("radio").nth(1).waitFor();
  await page.getByRole("radio").first().focus();
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => {
    const all = [...document.querySelectorAll('[role="radio"]')];
    return all.at(-2)?.getAttribute("aria-checked") === "true";
  });
  const strip = page.getByRole("slider");
  await strip.focus();
  await page.keyboard.press("ArrowUp");
  assert.equal(await strip.getAttribute("aria-valuenow"), "20");
  assert.match(
    (await strip.getAttribute("aria-valuetext")) ?? "",
    /min · room .* on your left, .* on your right · you see .* · (calm for here|middling|harder|hardest here)/,
  );
  await page.keyboard.press("End");
  assert.ok(Number(await strip.getAttribute("aria-valuenow")) > 1500);
  assert.deepEqual(faults, []);
  await done();
});

/** Tabs until what is wanted has the focus, then presses a key, and gives its words. */
async function reach(page: Page, wanted: RegExp, key = "Enter", back = false): Promise<string> {
  for (let i = 0; i < 150; i++) {
    const is = await page.evaluate(() => {
      const e = document.activeElement;
      return e?.checkVisibility() ? (e.getAttribute("aria-label") ?? e.textContent ?? "").trim() : "";
    });
    if (wanted.test(is)) {
      if (key) await page.keyboard.press(key);
      return is;
    }
    await page.keyboard.press(back ? "Shift+Tab" : "Tab");
  }
  const where = await page.evaluate(
    () => `${location.hash}: ${document.querySelector("main")?.innerText.slice(0, 80)}`,
  );
  throw new Error(`no way to ${wanted} by keyboard in ${where}`);
}

test("ask anew, choose, plan from the week, walk, log, accept a proposal, print", async () => {
  const { page, faults, done } = await open("desk", {
    geolocation: { latitude: door.lat, longitude: door.lon },
    permissions: ["geolocation"],
  });
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  await reach(page, /^Show me a walk$/);
  await page.getByRole("radio").nth(1).waitFor();
  // Ask anew by the sentence.
  await reach(page, /^30-minute$/);
  await reach(page, /^20$/);
  await page.getByRole("button", { name: "20-minute" }).waitFor();
  await page.getByRole("radio").nth(1).waitFor();
  // Choose B, walk along the strip.
  await reach(page, /^A[A-Z]/, ""); // the row, its letter before its name
  await page.waitForFunction(() => document.activeElement?.getAttribute("role") === "radio");
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => {
    const e = document.activeElement;
    return e?.getAttribute("aria-checked") === "true" && e.textContent?.startsWith("B");
  });
  const strip = page.getByRole("slider");
  await reach(page, new RegExp(`^${await strip.getAttribute("aria-label")}`), "ArrowUp", true);
  assert.equal(await strip.getAttribute("aria-valuenow"), "20");
  // Plan from a cell of the week.
  await page.locator("table.week button").first().waitFor();
  await reach(page, /^\w+day \d\d:\d\d, /, "ArrowDown");
  const cell = await page.evaluate(() => document.activeElement?.getAttribute("aria-label") ?? "");
  await replanned(page, () => page.keyboard.press("Enter"));
  assert.match(await page.locator(".sentence").innerText(), new RegExp(`${cell.match(/\d\d:\d\d/)?.[0]}`));
  // Go, log, end.
  await reach(page, /^Get ready with A$/);
  await reach(page, /^Start walk$/);
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await reach(page, /^Dog$/);
  await page.waitForTimeout(450); // two taps within 400 ms count once
  await reach(page, /^15 to 38\sm: took food$/);
  await page.getByText("Saved: dog, 15 to 38 m, took food.").waitFor();
  await page.waitForTimeout(450);
  await reach(page, /^End walk$/, "Enter", true);
  await page.getByText("End now?").waitFor();
  await reach(page, /^Walk on$/, "");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.getByText("1 meeting, none went over").waitFor();
  await reach(page, /^No, that was all$/);
  // A proposal, from meetings that the server has by then.
  const kessa = await keptDog("Kessa");
  await fortyMeetings(kessa);
  await reach(page, /^Kessa$/, "Enter", true);
  await page.getByRole("button", { name: /^Use \d+\sm/ }).waitFor();
  await reach(page, /^Use \d+\sm/);
  await page.getByRole("button", { name: /^Go back to 38\sm/ }).waitFor();
  await reach(page, /^Go back to 38\sm/);
  await until(
    async () => (await ask("get", "/v1/dogs/{id}", { at: { id: kessa.id } })).distances.dogs?.working_m,
    (m) => m === 38,
  );
  // Print, once what changed is on the page.
  await page.waitForLoadState("networkidle");
  await reach(page, /^More$/, "Enter", true);
  await page.locator("main.moreview").waitFor(); // the address changes first; tabbing on at once would go through the old view
  await reach(page, /^Hand-out$/);
  await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
  await page.evaluate(() => {
    window.print = () => {
      document.documentElement.dataset.printed = "yes";
    };
  });
  await reach(page, /^Print/);
  await page.waitForFunction(() => document.documentElement.dataset.printed === "yes");
  assert.deepEqual(faults, []);
  await done();
});

test("an hour of the week", async () => {
  const { page, faults, done } = await planned("phone");
  await page.getByRole("button", { name: "Week" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("table.week button").first().waitFor();
  const size = await page.locator("table.week td button").first().boundingBox();
  assert.ok(size && size.width >= 48 && size.height >= 48, JSON.stringify(size));
  await page.locator("table.week td button[tabindex='0']").focus();
  await page.keyboard.press("ArrowDown");
  const label = (await page.evaluate(() => document.activeElement?.getAttribute("aria-label"))) ?? "";
  assert.match(
    label,
    /^\w+day \d\d:00, (\d|more than 9|fewer than 1) of 10, (calm for here|middling|harder|hardest here)\./,
  );
  await replanned(page, () => page.keyboard.press("Enter"));
  assert.match(await page.locator("button.folded").innerText(), new RegExp(`${label.match(/\d\d:\d\d/)?.[0]}`));
  assert.equal(await page.locator("table.week").count(), 0, "the week closes on a choice");
  assert.deepEqual(faults, []);
  await done();
});

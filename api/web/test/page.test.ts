// The page in a real browser, on the real program with the invented town.

import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { gzipSync } from "node:zlib";
import type { DogFile, Step, Wish, WishBody } from "../src/types.ts";
import {
  ask,
  door,
  mapIdle,
  open,
  origin,
  planned,
  replanned,
  root,
  type Size,
  unfold,
  until,
  view,
  violations,
  wholeProgram,
} from "./harness.ts";

wholeProgram();

for (const size of ["phone", "small", "desk"] as Size[]) {
  test(`first visit to a walk in one tap, ${size}`, async () => {
    const begun = performance.now();
    const { page, faults, done } = await planned(size);
    console.log(`    first visit to walks on the screen, ${size}: ${Math.round(performance.now() - begun)} ms`);
    const walks = page.getByRole("radio");
    await walks.nth(1).click();
    assert.equal(await walks.nth(1).getAttribute("aria-checked"), "true");
    assert.equal(await walks.nth(0).getAttribute("aria-checked"), "false");
    await mapIdle(page);
    if (size !== "small") assert.match(await page.locator("body").innerText(), /Calm: no barking, lunging, freezing/);
    assert.match(await page.locator("body").innerText(), /OpenStreetMap contributors/);
    assert.deepEqual(faults, []);
    await done();
  });
}

test("the sentence plans anew", async () => {
  const { page, faults, done } = await planned("desk");
  await page.getByRole("button", { name: "30-minute" }).click();
  await replanned(page, () => page.getByRole("button", { name: "20", exact: true }).click());
  await page.getByRole("button", { name: "20-minute" }).waitFor();
  await page.getByRole("radio").first().waitFor({ state: "attached" });
  await page.waitForSelector("[data-looking]", { state: "detached" });
  const minutes = Number((await page.locator("button.walktable .num").nth(1).innerText()).trim());
  assert.ok(minutes >= 17 && minutes <= 23, `${minutes} minutes for 20`);
  await page.getByRole("button", { name: "no limits" }).click();
  await page.getByLabel("No steps").check();
  await page.getByRole("button", { name: "1 limit" }).waitFor();
  await page.keyboard.press("Escape");
  await page.waitForFunction(() => document.activeElement?.textContent === "1 limit"); // Escape returns to its word
  assert.deepEqual(faults, []);
  await done();
});

test("a walk from the place tapped on the map, and from the map's centre by button", async () => {
  const { page, faults, done } = await planned("desk");
  await mapIdle(page);
  await page.getByRole("button", { name: "Weaver Row 12" }).click();
  await page.getByRole("button", { name: "Choose on the map" }).click();
  // The choice pushes the map down: the click waits until the map stands still and is in view.
  const canvas = page.locator(".maplibregl-canvas");
  const box = await canvas.boundingBox();
  assert.ok(box);
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await canvas.click({ position: { x: box.width * 0.72, y: box.height * 0.6 } });
  const { wish } = (await answered).request().postDataJSON() as { wish: WishBody };
  const { from } = wish;
  assert.ok(from.lat > 47.19 && from.lat < 47.21 && from.lon > -7.02 && from.lon < -6.98, JSON.stringify(from));
  await page.getByRole("radio").first().waitFor({ state: "attached" });
  await page.waitForSelector("[data-looking]", { state: "detached" });
  await page.locator(".sentence button").nth(3).click();
  await page.getByRole("button", { name: "Choose on the map" }).click();
  const again = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await page.getByRole("button", { name: "Start at the map centre" }).click();
  assert.equal((await again).status(), 200);
  assert.deepEqual(faults, []);
  await done();
});

test("a street is found as it is typed: its beginning, its number, a wrong letter, nothing, no connection", async () => {
  const { page, faults, done } = await planned("phone", { expectFaults: /ERR_FAILED/ });
  await unfold(page);
  await page.getByRole("button", { name: "Weaver Row 12" }).click();
  const field = page.getByLabel("Street and number, town, park or postcode");
  const offered = page.locator(".found button b");
  const first = async (text: string) => {
    await field.fill(text);
    return until(
      () => offered.allInnerTexts(),
      (names) => names[0]?.startsWith("Hatch Street"),
    );
  };
  await first("hat");
  assert.match((await page.locator(".found button span").first().innerText()) ?? "", /^[\d.]+\s(m|km)\saway$/);
  await first("99999 Hatch St");
  await page.getByText("no 99999 on this map").first().waitFor();
  await first("hatsch stret");
  await page.getByText("Nothing is spelt quite like that. These come near:").waitFor();
  await field.fill("<b>nowhere</b>");
  await page.getByText("Nothing of that name on this map.").waitFor();
  assert.deepEqual(await violations(page), []);
  await page.route("**/v1/places", (r) => r.abort("failed"));
  await field.fill("hatch");
  await page.getByText("No connection to look places up.").waitFor();
  await page.unroute("**/v1/places");
  await page.getByRole("button", { name: "Choose on the map" }).click();
  const opened = await page.locator(".mapbox.picking").boundingBox();
  const [screen, take] = [page.viewportSize()!, page.getByRole("button", { name: "Take this place" })];
  assert.ok(opened && Math.abs(opened.height / screen.height - 0.6) < 0.03, "the map is there at once");
  assert.ok((await take.boundingBox())!.y + (await take.boundingBox())!.height <= screen.height);
  await page.getByRole("button", { name: "Leave the map" }).click();
  await page.locator(".mapbox.picking").waitFor({ state: "detached" });
  await first("hatch street");
  await replanned(page, () =>
    page
      .getByRole("button", { name: /^Hatch Street/ })
      .first()
      .click(),
  );
  await page.getByRole("button", { name: /Hatch Street Change$/ }).waitFor(); // the answer folds the sentence
  assert.deepEqual(faults, []);
  await done();
});

test("where one is: refused, known poorly, outside the map, and well", async () => {
  const { page, done } = await planned("phone");
  await unfold(page);
  await page.getByRole("button", { name: "Weaver Row 12" }).click();
  const here = (answer: string) =>
    page.evaluate((answer) => {
      navigator.geolocation.getCurrentPosition = (good, bad) => {
        if (answer === "refused") bad?.({ code: 1, PERMISSION_DENIED: 1 } as GeolocationPositionError);
        else {
          const [latitude, longitude, accuracy] = answer.split(" ").map(Number);
          good({ coords: { latitude, longitude, accuracy } } as GeolocationPosition);
        }
      };
      [...document.querySelectorAll("button")].find((b) => b.textContent === "Here")!.click();
    }, answer);
  await here("refused");
  await page.getByText("This device may not tell where it is.").waitFor();
  await here("10 10 5");
  await page.getByText("You are outside this map.").waitFor();
  await here(`${door.lat} ${door.lon} 400`);
  await page.getByText("Your position is known to within 400 m only.").waitFor();
  await replanned(page, () => page.getByRole("button", { name: "Start there all the same" }).click());
  await done();
});

test("the room beside the walk unrolled is what the server measured, to scale", async () => {
  const { page, done } = await planned("desk");
  const shown = await page.evaluate(() => {
    const svg = document.querySelector(".strip svg")!;
    const numbers = (p: Element) =>
      p
        .getAttribute("d")!
        .match(/-?[\d.]+/g)!
        .map(Number);
    const gauge = numbers(svg.querySelector("path.need")!);
    const lines = [...svg.querySelectorAll("g:first-of-type > path.ink")].slice(0, 2).flatMap((p) =>
      (p.getAttribute("d") ?? "")
        .split("M")
        .filter(Boolean)
        .map((d) => d.split("L")[0]!.trim().split(" ").map(Number)),
    );
    const bottom = Math.max(...lines.map(([, y]) => y!));
    return {
      wish: JSON.parse(localStorage.getItem("wideberth.wish")!) as Wish,
      dog: (JSON.parse(localStorage.getItem("wideberth.dogs")!) as DogFile[])[0]!,
      left: gauge[0]!,
      right: gauge[3]!,
      first: lines.find(([, y]) => y === bottom)![0]!,
    };
  });
  const { name, speed_mps, needs } = shown.dog;
  const dog: DogFile = { name, needs, ...(speed_mps ? { speed_mps } : {}) };
  const wish = { from: shown.wish.from!.at, minutes: 30, depart: shown.wish.depart, dog };
  const { drawings } = await ask("post", "/v1/drawings", { body: { wish } });
  const { profile, need } = drawings[0]!;
  const pxPerM = (shown.right - shown.left) / (2 * need.working_m);
  const line = (shown.left + shown.right) / 2;
  const ribbon = { 1: 12, 2: 9, 3: 7.5, 4: 6 }[profile.step[0] as Step] / 2 + 1.3 + 2; // it swallows no line
  const want = Math.max(ribbon, profile.left_m[0]! * pxPerM);
  assert.ok(Math.abs(line - shown.first - want) < 1, JSON.stringify({ ...shown, want }));
  assert.ok(Math.max(...profile.left_m, ...profile.right_m) <= need.working_m, "never wider than the room needed");
  await done();
});

test("what is near here, and a word on it", async () => {
  const { page, faults, done } = await planned("desk");
  await view(page, "around"); // the address of before
  await page.locator(".near summary.source").first().click();
  const sent = page.waitForResponse((r) => r.url().endsWith("/v1/reports"));
  await page
    .getByRole("button", { name: /^It was not there/ })
    .first()
    .click();
  assert.equal((await sent).status(), 200);
  await page.getByText("What makes it so").click();
  await page.locator(".near").getByRole("cell").first().waitFor();
  assert.equal(await page.getByRole("button", { name: "Streets", exact: true }).getAttribute("aria-pressed"), "true");
  assert.deepEqual(faults, []);
  await done();
});

test("without WebGL the server's picture is the map", async () => {
  const { page, faults, done } = await planned("phone", { plain: true });
  await page.locator(".mapbox .picture svg").waitFor();
  assert.ok((await page.locator(".mapbox .picture svg path").count()) > 10);
  await page.getByRole("button", { name: "Wider" }).click();
  await page.locator(".mapbox .picture svg").waitFor();
  assert.deepEqual(faults, []);
  await done();
});

test("without JavaScript it says what it needs", async () => {
  const { page, done } = await open("phone", { javaScriptEnabled: false });
  assert.match(await page.locator("body").innerText(), /needs JavaScript\. Walks already printed work without it\./);
  await done();
});

test("a start off the map, a very large distance, a name that is markup", async () => {
  const { page, faults, done } = await open("phone", { expectFaults: /status of 422/ });
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  const name = '<img src=x onerror="document.title=1"> \u05d0\u05d1\u05d2';
  await page.evaluate((name) => {
    const from = { name: "far", at: { lat: 47.2022, lon: -7.0018 } };
    const needs = { dogs: { working_m: 3000, reaction_m: 1500 } };
    localStorage.setItem(
      "wideberth.wish",
      JSON.stringify({ shape: "loop", minutes: 30, depart: "", limits: {}, from }),
    );
    localStorage.setItem("wideberth.dogs", JSON.stringify([{ name, needs }]));
  }, name);
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page
    .getByText(/3,000\sm: no place here is that far from everything/)
    .first()
    .waitFor();
  assert.ok((await page.locator("button.folded").innerText()).includes("<img src=x"), "a name is text");
  assert.equal(await page.locator("img").count(), 0);
  // Off the map the answer is in words that the page knows.
  const told = await fetch(`${origin}/v1/drawings`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ wish: { from: { lat: 48, lon: -7 }, minutes: 30 } }),
  });
  assert.equal(((await told.json()) as { reason: string }).reason, "off_the_map");
  assert.deepEqual(faults, []);
  await done();
});

test("a failed request says what happened, what is kept and what to do", async () => {
  const { page, done } = await open("phone");
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  const refuse = (status: number, more: object = {}) =>
    page.route("**/v1/drawings", (r) =>
      r.fulfill({
        status,
        contentType: "application/problem+json",
        body: JSON.stringify({ type: "x", title: "x", status, detail: "x", ...more }),
      }),
    );
  for (const [status, words] of [
    [500, /The planner did not answer\. Your wish is kept\./],
    [504, /took too long\. Your wish is kept\./],
    [401, /key has run out\. What you logged is kept here\./],
  ] as const) {
    await refuse(status);
    const button = page.getByRole("button", { name: /Show me a walk|Try again/ });
    if (await button.count()) await button.first().click();
    await page.getByText(words).waitFor();
    await page.unroute("**/v1/drawings");
  }
  // The hour offered is told by the place's clock.
  const zone = (await ask("get", "/v1/map")).time_zone;
  const depart = "2026-11-26T15:40:00Z";
  const hour = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" });
  const offers = [{ what: "leave_at", depart, calm_chance: 0.8 }];
  await refuse(422, { type: "urn:wideberth:no-walk", reason: "limits_forbid", limit: "school", offers });
  await view(page, "more");
  await view(page, "plan");
  await page.getByRole("button", { name: "30-minute" }).click();
  await page.getByRole("button", { name: "45", exact: true }).click();
  await page.getByText("keeps this limit: school").waitFor();
  await page.getByRole("button", { name: `Leave at ${hour.format(new Date(depart))}: 8 of 10` }).waitFor();
  await done();
});

test("feet change what is shown and not what is planned", async () => {
  const { page, done } = await planned("phone");
  // Names are shortened where feet are; the numbers are the same.
  const walks = () =>
    page
      .getByRole("radio")
      .evaluateAll((all) => all.map((e) => e.getAttribute("aria-label")?.split(", ").slice(-2).join()));
  const names = await walks();
  await view(page, "more");
  await page.getByRole("button", { name: "feet" }).click();
  await view(page, "plan");
  await page
    .getByText(/\d\sft/)
    .first()
    .waitFor();
  assert.deepEqual(await walks(), names);
  await done();
});

test("every file of the page comes with a policy, and unknown paths are still problems", async () => {
  const policy = (await fetch(`${origin}/`)).headers.get("content-security-policy") ?? "";
  assert.match(policy, /default-src 'none'/);
  assert.doesNotMatch(policy, /unsafe/);
  assert.equal((await fetch(`${origin}/nothing`)).headers.get("content-type"), "application/problem+json");
  assert.equal((await fetch(`${origin}/`, { method: "HEAD" })).status, 200);
});

test("the script stays under its budget", () => {
  const assets = join(root, "api/web/dist/assets");
  const scripts = readdirSync(assets).filter((f) => /\.m?js$/.test(f));
  assert.ok(scripts.length > 0);
  const bytes = scripts.reduce((n, f) => n + gzipSync(readFileSync(join(assets, f)), { level: 9 }).length, 0);
  console.log(`    script and map worker: ${Math.round(bytes / 1024)} KB gzipped`);
  assert.ok(bytes < 600 * 1024, `${Math.round(bytes / 1024)} KB gzipped`);
});

test("people are added, given a role and dogs, their keys end, and they are taken out again", async () => {
  const { page, faults, done } = await open("desk");
  const dog = await ask("post", "/v1/dogs", { key: "one", body: { name: "Oro", needs: { dogs: { working_m: 60 } } } });
  await view(page, "more");
  await page.reload();
  const button = (name: string | RegExp) => page.getByRole("button", { name });
  await page.getByLabel("Name", { exact: true }).fill("Robin");
  await button("Add").click();
  const row = page.getByRole("row", { name: /Robin/ });
  await button("Make a key: Robin").click();
  const token = await page.locator(".madekey").innerText();
  const knocks = async () =>
    (await fetch(`${origin}/v1/account`, { headers: { Authorization: `Bearer ${token}` } })).status;
  assert.equal(await knocks(), 200);
  await row.getByRole("button", { name: "Oro" }).click();
  await row.locator("button[aria-pressed=true]").waitFor();
  // The first key shuts out who has none: this device has been given its own.
  const mine = await page.evaluate(() => localStorage.getItem("wideberth.token"));
  assert.ok(mine && mine !== token);
  const robin = async () => {
    const r = await fetch(`${origin}/v1/people`, { headers: { Authorization: `Bearer ${mine}` } });
    return ((await r.json()) as { name: string; role: string; dogs: string[] }[]).find((p) => p.name === "Robin");
  };
  assert.deepEqual((await robin())?.dogs, [dog.id]);
  await row.getByLabel("Role: Robin").selectOption("trainer");
  await until(robin, (p) => p?.role === "trainer");
  await row.getByRole("button", { name: /^End Robin's key/ }).click();
  await row.getByRole("button", { name: /^End Robin's key/ }).waitFor({ state: "detached" });
  assert.equal(await knocks(), 401);
  assert.deepEqual(await violations(page), []);
  await button("Remove Robin").click();
  await button("Take them out").click();
  await row.waitFor({ state: "detached" });
  assert.equal(await robin(), undefined);
  assert.deepEqual(faults, []);
  await done();
});

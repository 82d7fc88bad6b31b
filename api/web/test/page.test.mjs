// The page in a real browser, on the real program with the invented town.
import { test } from "node:test";
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { mapIdle, noGraphics, open, origin, planned, root, sizes, view, violations, wholeProgram } from "./harness.mjs";

wholeProgram();

for (const size of ["phone", "small", "desk"]) {
  test(`first visit to a walk in one tap, ${size}`, async () => {
    const begun = Date.now();
    const { page, faults, done } = await planned(size);
    console.log(`    first visit to walks on the screen, ${size}: ${Date.now() - begun} ms`);
    const walks = page.getByRole("radio");
    await walks.nth(1).click();
    assert.equal(await walks.nth(1).getAttribute("aria-checked"), "true");
    assert.equal(await walks.nth(0).getAttribute("aria-checked"), "false");
    await mapIdle(page);
    assert.match(await page.locator("body").innerText(), /Calm means no barking, lunging or freezing/);
    assert.match(await page.locator("body").innerText(), /OpenStreetMap contributors/);
    assert.deepEqual(faults, []);
    await done();
  });
}

test("the first phone screen holds the question, the answer, two walks and the action", async () => {
  const { page, done } = await planned("phone");
  const inView = async (locator) => {
    const b = await locator.boundingBox();
    return b !== null && b.y >= 0 && b.y + b.height <= sizes.phone.height;
  };
  assert.ok(await inView(page.getByText(/walks like this stay calm/).first()), "answer");
  for (const i of [0, 1]) assert.ok(await inView(page.getByRole("radio").nth(i)), `walk ${i}`);
  assert.ok(await inView(page.getByRole("button", { name: "Get ready with A" })), "action");
  await done();
});

test("the sentence plans anew", async () => {
  const { page, faults, done } = await planned("desk");
  await page.getByRole("button", { name: "30-minute" }).click();
  await page.getByRole("button", { name: "20", exact: true }).click();
  await page.getByRole("button", { name: "20-minute" }).waitFor();
  await page.getByRole("radio").first().waitFor({ state: "attached" });
  const minutes = Number((await page.locator("button.walktable .num").nth(2).innerText()).trim());
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
  const { width, height } = await canvas.boundingBox();
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await canvas.click({ position: { x: width * 0.72, y: height * 0.6 } });
  const from = JSON.parse((await answered).request().postData()).from;
  assert.ok(from.lat > 47.19 && from.lat < 47.21 && from.lon > -7.02 && from.lon < -6.98, JSON.stringify(from));
  await page.getByRole("radio").first().waitFor({ state: "attached" });
  await page.locator(".sentence button").nth(3).click();
  await page.getByRole("button", { name: "Choose on the map" }).click();
  const again = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await page.getByRole("button", { name: "Start at the map centre" }).click();
  assert.equal((await again).status(), 200);
  assert.deepEqual(faults, []);
  await done();
});

test("a street is found by its name", async () => {
  const { page, faults, done } = await planned("phone");
  await page.getByRole("button", { name: "Weaver Row 12" }).click();
  await page.getByLabel("Street, with or without a number").fill("hatch street");
  await page.getByRole("button", { name: "Find", exact: true }).click();
  await page.getByRole("button", { name: "Hatch Street", exact: true }).click();
  await page.getByRole("button", { name: "Hatch Street" }).first().waitFor();
  await page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  assert.deepEqual(faults, []);
  await done();
});

test("what the band shows is what the server measured, at the map's scale", async () => {
  const { page, done } = await planned("desk");
  const got = await page.evaluate(async () => {
    const wish = JSON.parse(localStorage.getItem("wideberth.wish"));
    const dog = JSON.parse(localStorage.getItem("wideberth.dogs"))[0];
    const r = await fetch("/v1/drawings", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ from: wish.from.at, minutes: 30, depart: wish.depart, dog: { name: dog.name, speed_mps: dog.speed_mps, needs: dog.needs } }) });
    const d = (await r.json()).drawings[0];
    const svg = document.querySelector(".strip svg");
    const gauge = svg.querySelector("path.need").getAttribute("d").match(/-?[\d.]+/g).map(Number);
    const fills = [...svg.querySelectorAll("g:first-of-type > path")].filter((p) => p.style.fill);
    const xs = fills[0].getAttribute("d").match(/-?[\d.]+ -?[\d.]+/g).map((p) => Number(p.split(" ")[0]));
    return { profile: d.profile, need: d.need.working_m, left: gauge[0], right: gauge[3], first: xs[0], line: (gauge[0] + gauge[3]) / 2 };
  });
  const pxPerM = (got.right - got.left) / (2 * got.need);
  assert.ok(Math.abs(got.line - got.first - Math.max(4.5, got.profile.left_m[0] * pxPerM)) < 1, JSON.stringify({ ...got, profile: undefined }));
  assert.ok(Math.max(...got.profile.left_m, ...got.profile.right_m) <= got.need, "never wider than the room needed");
  await done();
});

test("the whole job by keyboard: ask, choose, walk along the strip", async () => {
  const { page, faults, done } = await open("desk");
  await page.getByRole("button", { name: "Show me a walk" }).focus();
  await page.keyboard.press("Enter");
  await page.getByRole("radio").nth(1).waitFor();
  await page.getByRole("radio").first().focus();
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => document.querySelectorAll('[role="radio"]')[document.querySelectorAll('[role="radio"]').length - 2]?.getAttribute("aria-checked") === "true");
  const strip = page.getByRole("slider");
  await strip.focus();
  await page.keyboard.press("ArrowUp");
  assert.equal(await strip.getAttribute("aria-valuenow"), "20");
  assert.match(await strip.getAttribute("aria-valuetext"), /min · room .* on your left, .* on your right · you see .* · (calm|some|tight|hard)/);
  await page.keyboard.press("End");
  assert.ok(Number(await strip.getAttribute("aria-valuenow")) > 1500);
  assert.deepEqual(faults, []);
  await done();
});

test("a calm hour from the table", async () => {
  const { page, faults, done } = await planned("phone");
  await view(page, "when");
  await page.locator("table.week").waitFor();
  assert.equal(await page.locator("table.week td button.named").count(), 3, "three windows are framed");
  const cell = page.locator("table.week td button").first();
  const size = await cell.boundingBox();
  assert.ok(size.width >= 48 && size.height >= 48, JSON.stringify(size));
  await page.locator("table.week td button[tabindex='0'], table.week td button").first().focus();
  await page.keyboard.press("ArrowDown");
  const label = await page.evaluate(() => document.activeElement.getAttribute("aria-label"));
  assert.match(label, /^\w+day \d\d, (\d|more than 9|fewer than 1) of 10, (calm|some|tight|hard)\./);
  await page.keyboard.press("Enter");
  await page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  assert.match(await page.locator(".sentence").innerText(), new RegExp(label.match(/\d\d/)[0] + ":00"));
  assert.deepEqual(faults, []);
  await done();
});

test("what is round here, and a word on it", async () => {
  const { page, faults, done } = await planned("desk");
  await view(page, "around");
  await page.getByRole("button", { name: /^There now/ }).first().waitFor();
  const sent = page.waitForResponse((r) => r.url().endsWith("/v1/reports"));
  await page.getByRole("button", { name: /^Not there/ }).first().click();
  assert.equal((await sent).status(), 200);
  for (const layer of ["room", "sight", "trouble"]) await page.getByRole("button", { name: layer, exact: true }).click();
  await page.getByText("What makes it so").click();
  await page.getByRole("cell").first().waitFor();
  assert.deepEqual(faults, []);
  await done();
});

test("without WebGL the server's picture is the map", async () => {
  const plain = await noGraphics();
  const { page, faults, done } = await planned("phone", { from: plain });
  await page.locator(".mapbox .picture svg").waitFor();
  assert.ok((await page.locator(".mapbox .picture svg path").count()) > 10);
  await page.getByRole("button", { name: "Wider" }).click();
  await page.locator(".mapbox .picture svg").waitFor();
  assert.deepEqual(faults, []);
  await done();
  await plain.close();
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
    localStorage.setItem("wideberth.wish", JSON.stringify({ shape: "loop", minutes: 30, depart: "", limits: {}, from: { name: "far", at: { lat: 47.2022, lon: -7.0018 } } }));
    localStorage.setItem("wideberth.dogs", JSON.stringify([{ name, needs: { dogs: { working_m: 3000, reaction_m: 1500 } } }]));
  }, name);
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByText(/3,000\sm: no place here is that far from everything/).first().waitFor();
  assert.ok((await page.locator(".sentence").innerText()).includes("<img src=x"), "a name is text");
  assert.equal(await page.locator("img").count(), 0);
  // Off the map: the wish is sent as it is and the answer is in words.
  await page.evaluate(() => document.dispatchEvent(new Event("dressed")));
  const told = await page.evaluate(async () => (await fetch("/v1/drawings", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ from: { lat: 48, lon: -7 }, minutes: 30 }) })).json());
  assert.equal(told.reason, "off_the_map");
  assert.deepEqual(faults, []);
  await done();
});

test("a failed request says what happened, what is kept and what to do", async () => {
  const { page, done } = await open("phone");
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  for (const [status, words] of [[500, /The planner did not answer\. Your wish is kept\./], [504, /took too long\. Your wish is kept\./], [401, /key has run out\. What you logged is kept here\./]]) {
    await page.route("**/v1/drawings", (r) => r.fulfill({ status, contentType: "application/problem+json", body: JSON.stringify({ type: "x", title: "x", status, detail: "x" }) }));
    const button = page.getByRole("button", { name: /Show me a walk|Try again/ });
    if (await button.count()) await button.first().click();
    await page.getByText(words).waitFor();
    await page.unroute("**/v1/drawings");
  }
  await page.route("**/v1/drawings", (r) => r.fulfill({ status: 422, contentType: "application/problem+json", body: JSON.stringify({ type: "urn:wideberth:no-walk", title: "x", status: 422, detail: "x", reason: "limits_forbid", limit: "school", offers: [{ what: "leave_at", depart: "2026-11-26T15:40:00Z", calm_chance: 0.8 }] }) }));
  await page.evaluate(() => (location.hash = "#/when"));
  await page.evaluate(() => (location.hash = "#/plan"));
  await page.getByRole("button", { name: "30-minute" }).click();
  await page.getByRole("button", { name: "45", exact: true }).click();
  await page.getByText("keeps this limit: school").waitFor();
  await page.getByRole("button", { name: "Leave at 15:40: 8 of 10" }).waitFor();
  await done();
});

test("the hand-out prints on one page with the legs as text", async () => {
  const { page, faults, done } = await planned("desk");
  await view(page, "handout");
  await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
  await page.waitForFunction(() => [...document.querySelector(".sheetholder").shadowRoot.querySelectorAll("link")].every((l) => l.sheet));
  for (const format of ["A4", "Letter"]) {
    await page.getByRole("button", { name: format, exact: true }).click();
    await page.waitForFunction((f) => document.querySelector(".sheetholder")?.shadowRoot?.querySelector("." + f.toLowerCase() + " .sheet svg"), format);
    await page.waitForFunction(() => [...document.querySelector(".sheetholder").shadowRoot.querySelectorAll("link")].every((l) => l.sheet));
    const pdf = await page.pdf({ format, printBackground: true, tagged: true, preferCSSPageSize: false });
    const pages = (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length;
    assert.equal(pages, 1, format);
  }
  const text = await page.evaluate(() => document.querySelector(".sheetholder").shadowRoot.textContent);
  for (const name of ["Weaver Row", "Race Walk", "Kessa", "OpenStreetMap contributors"]) assert.ok(text.includes(name), name);
  const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "GPX file" }).click()]);
  assert.match(readFileSync(await file.path(), "utf8"), /<gpx/);
  assert.deepEqual(faults, []);
  await done();
});

test("feet change what is shown and not what is planned", async () => {
  const { page, done } = await planned("phone");
  const names = await page.locator(".walk .title").allInnerTexts();
  await view(page, "more");
  await page.getByRole("button", { name: "feet" }).click();
  await view(page, "plan");
  await page.getByText(/\d\.\d\smi/).first().waitFor();
  assert.deepEqual(await page.locator(".walk .title").allInnerTexts(), names);
  await done();
});

for (const colorScheme of ["light", "dark"]) {
  test(`no accessibility violations in any view, ${colorScheme}`, async () => {
    const { page, done } = await planned("phone", { colorScheme, reducedMotion: "reduce" });
    await mapIdle(page);
    assert.deepEqual(await violations(page), [], "plan");
    await page.locator(".sentence button").last().click();
    assert.deepEqual(await violations(page), [], "limits");
    await page.keyboard.press("Escape");
    for (const [name, ready] of [["when", "table.week"], ["around", ".list li"], ["dog", "figure svg"], ["more", "select"], ["after", "main"]]) {
      await view(page, name);
      await page.locator(ready).first().waitFor();
      assert.deepEqual(await violations(page), [], name);
    }
    await view(page, "handout");
    await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
    assert.deepEqual(await violations(page), [], "handout");
    await done();
  });
}

test("nothing scrolls sideways at 320 px and with text at 200 %", async () => {
  for (const [size, zoom] of [["narrow", 100], ["phone", 200]]) {
    const { page, done } = await planned(size);
    await page.evaluate((z) => (document.documentElement.style.fontSize = 1.0625 * z + "%"), zoom);
    for (const name of ["plan", "dog", "more", "after"]) {
      await view(page, name);
      await page.waitForTimeout(300);
      const over = await page.evaluate(() => [...document.querySelectorAll("main *, header *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll, .week, .sheetbox, svg, .hidden, .mapbox")).map((e) => e.tagName + "." + e.className + " " + e.textContent.slice(0, 30)).slice(0, 3));
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
        .filter((e) => e.checkVisibility() && !e.closest(".sentence, .maplibregl-ctrl"))
        .map((e) => ({ t: e.textContent.slice(0, 20), r: e.getBoundingClientRect() }))
        .filter(({ r }) => r.width > 0 && (r.height < 47.5 || r.width < 47.5))
        .map(({ t, r }) => `${t} ${r.width}x${r.height}`),
    );
    assert.deepEqual(small, [], name);
  }
  await done();
});

test("every file of the page comes with a policy, and unknown paths are still problems", async () => {
  const r = await fetch(origin + "/");
  assert.match(r.headers.get("content-security-policy"), /default-src 'none'/);
  assert.doesNotMatch(r.headers.get("content-security-policy"), /unsafe/);
  assert.equal((await fetch(origin + "/nothing")).headers.get("content-type"), "application/problem+json");
  assert.equal((await fetch(origin + "/", { method: "HEAD" })).status, 200);
});

test("the script stays under its budget", () => {
  const assets = join(root, "api/web/dist/assets");
  const bytes = readdirSync(assets).filter((f) => /\.m?js$/.test(f)).reduce((n, f) => n + gzipSync(readFileSync(join(assets, f)), { level: 9 }).length, 0);
  console.log(`    script and map worker: ${Math.round(bytes / 1024)} KB gzipped`);
  assert.ok(bytes < 550 * 1024, `${Math.round(bytes / 1024)} KB gzipped`);
});


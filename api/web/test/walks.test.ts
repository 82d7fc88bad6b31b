// What an answer promises: the certificate that comes later, what every plan says, the
// words of every trouble, and names that must execute nothing.

import assert from "node:assert/strict";
import { test } from "node:test";
import type { Route } from "playwright-core";
import { ask, door, open, origin, planned, unfold, until, view, violations, wholeProgram } from "./harness.ts";

wholeProgram();

test("the certificate comes after the walks and only changes its line", async () => {
  const { page, context, faults, done } = await open("desk");
  let letGo = () => {};
  const held = new Promise<void>((r) => {
    letGo = r;
  });
  await context.route("**/v1/proofs", async (r) => {
    await held;
    await r.continue();
  });
  await page.getByRole("button", { name: "Show me a walk" }).click();
  const line = page.getByText("Still checking for a calmer one.");
  await line.waitFor();
  assert.equal(await line.getAttribute("role"), "status");
  await page.locator("table.week button").first().waitFor(); // the week comes by itself
  const heads = () =>
    page.evaluate(() => [...document.querySelectorAll("main h2")].map((h) => h.getBoundingClientRect().top + scrollY));
  const before = await heads();
  letGo();
  await page
    .getByText(
      /^(Checked against all (walks|loops) of this length from here|The calmest found; a calmer one may exist)\.$/,
    )
    .waitFor();
  const after = await heads();
  assert.equal(before.length, after.length);
  before.forEach((y, i) => {
    assert.ok(Math.abs(y - (after[i] ?? 0)) <= 48, `head ${i} jumped from ${y} to ${after[i]}`); // a line more or less of one column
  });
  assert.deepEqual(faults, []);
  await done();
});

test("every plan says what calm means, its interval, its evidence, its assumptions, its proof and the day of the map", async () => {
  const { page, done } = await planned("phone");
  const text = await page.locator("main").innerText();
  for (const said of [
    /Calm: no barking, lunging, freezing/,
    /Could be (\d+ to \d+|a little more or less)/,
    /Nobody has walked here yet: all from the map/,
    /Assumed: /,
    /(Checked against|Nearly the best|The calmest found|Still checking|Not checked)/,
    /Map of /,
    /A prediction from a map, not a promise/,
  ])
    assert.match(text, said);
  const assumed = await page.evaluate(
    () =>
      [...document.querySelectorAll("main li")].filter(
        (l) => l.checkVisibility() && /^Assumed: /.test(l.textContent ?? ""),
      ).length,
  );
  assert.ok(assumed <= 3, `${assumed} assumptions in view`);
  const legs = await page.locator("ol.legs > li").allInnerTexts();
  assert.ok(legs.length > 0);
  for (const leg of legs)
    assert.match(
      leg,
      /^\d+\. .+, (out|straight on|left|right|half left|half right|sharp left|sharp right|turn round), \d[\d,.]*\sk?m, from minute \d+ to \d+\. (Calm for here|Middling|Harder|Hardest here) \(\d of 4\)\. .*(room|needs).*(Way out|No way out)/,
    );
  await done();
});

interface Refused {
  headers?: Record<string, string>;
  body?: Record<string, unknown>;
}

/** An answer of a server in trouble. */
const problem = (status: number, more: Refused): Parameters<Route["fulfill"]>[0] => ({
  status,
  contentType: "application/problem+json",
  headers: more.headers ?? {},
  body: JSON.stringify({ type: "x", title: "x", status, detail: "x", ...more.body }),
});

test("every trouble in words that say what is kept and what to do", async () => {
  const { page, context, done } = await open("phone");
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByRole("radio").nth(1).waitFor();
  const minutes = async (n: string) => {
    await unfold(page);
    await page.locator(".sentence button").first().click();
    await page.getByRole("button", { name: n, exact: true }).click();
  };
  const answer = async (status: number, more: Refused, words: RegExp, after?: () => Promise<unknown>) => {
    await page.route("**/v1/drawings", (r) => r.fulfill(problem(status, more)));
    await minutes("45");
    await page.getByText(words).first().waitFor();
    await after?.();
    await page.unroute("**/v1/drawings");
  };
  const refusal = (reason: string, more: object = {}): Refused => ({ body: { reason, ...more } });
  const offers = [
    { what: "start_at", name: "Lime Lane", calm_chance: 0.7 },
    { what: "shape", shape: "there_and_back", calm_chance: 0.6 },
    { what: "without_limit", name: "school", calm_chance: 0.5 },
  ];
  await answer(503, { headers: { "Retry-After": "60" } }, /Many are planning now\. Trying again in 60 seconds\./);
  await answer(504, {}, /The search took too long\. Your wish is kept\./);
  await answer(422, refusal("off_the_map", { short: 4000 }), /That is 4\.0\skm outside the map loaded here\./);
  await answer(
    422,
    refusal("no_street_near", { short: 420 }),
    /The nearest path is 420\sm away\. Move the start nearer to one\./,
  );
  await answer(422, refusal("no_loop"), /No 45-minute loop starts here\. Try there and back/, () =>
    page.getByRole("button", { name: "There and back" }).waitFor(),
  );
  await answer(422, refusal("not_connected"), /No way that may be walked goes there\./);
  await answer(
    422,
    refusal("map_too_small", { short: 300 }),
    /The map knows only 300\sm of path here\. Start elsewhere\./,
  );
  await answer(
    422,
    refusal("limits_forbid", { limit: "15 m from the school", offers }),
    /keeps this limit: 15 m from the school/,
    async () => {
      for (const name of [
        "Start at Lime Lane: 7 of 10",
        "There and back: 6 of 10",
        "Without this limit (school): 5 of 10",
      ])
        await page.getByRole("button", { name }).waitFor();
      assert.deepEqual(await violations(page), []);
    },
  );
  await answer(500, { body: { instance: "ref-17" } }, /The planner did not answer\. Your wish is kept\./, async () => {
    await page.getByText("Details").click();
    await page.getByText("ref-17").waitFor();
  });
  await answer(401, {}, /This phone's key has run out\. What you logged is kept here\./, async () => {
    await page.getByRole("button", { name: "Enter a new key" }).click();
    await page.getByLabel("Key for this device").waitFor();
    await view(page, "plan");
  });
  await context.setOffline(true);
  await minutes("20");
  await page.getByText("No connection. The saved walk works; a new one needs the connection.").waitFor();
  assert.deepEqual(await violations(page), []);
  await context.setOffline(false);
  await page.getByRole("button", { name: "Try again" }).click();
  await page.getByRole("radio").nth(1).waitFor();
  // A poor hour is told soberly and with its number, laps as laps.
  const dog = { name: "Kessa", needs: { dogs: { working_m: 38, reaction_m: 15 } } };
  const real = await ask("post", "/v1/drawings", { body: { wish: { from: door, minutes: 30, dog } } });
  for (const w of real.plan.walks) Object.assign(w, { calm_chance: 0.2, calm_low: 0.1, calm_high: 0.3, laps: 2 });
  await page.route("**/v1/drawings", (r) => r.fulfill({ contentType: "application/json", body: JSON.stringify(real) }));
  await minutes("30");
  await page.getByText("Not a good hour: a garden or a drive may be kinder today.").first().waitFor();
  await page.getByText("2 of 10 stay calm").waitFor();
  await page.getByText("Best here: twice round the quiet block. It is laps.").first().waitFor();
  await done();
});

test("a name of 5,000 letters and markup written right to left: told whole in words, executed nowhere", async () => {
  const { page, faults, done } = await open("phone", { expectFaults: /status of (413|422|400)/ });
  await page.getByRole("button", { name: "Use my own dog" }).click();
  await page.getByRole("button", { name: "Another dog" }).click();
  const field = page.getByLabel("What is the dog called?");
  await field.fill(`\u202e<b onmouseover=document.title=1>\u05d3\u05d1 ${"x".repeat(5000)}`);
  const kept = (await field.inputValue()).length;
  await page.getByRole("button", { name: "Next", exact: true }).click();
  await page.getByRole("button", { name: "Next", exact: true }).click();
  assert.ok(kept <= 200, `${kept} letters are taken`);
  assert.equal(
    await page.evaluate(() => document.querySelectorAll("main b[onmouseover], h1 b[onmouseover]").length),
    0,
  );
  const over = () => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok((await over()) <= 0, "over the edge");
  // The same past the page, as an old copy of it would have kept it.
  const name = `<script>document.title='no'</script>\u05d0${"y".repeat(5000)}`;
  await page.evaluate((name) => {
    const dogs = [{ name, needs: { dogs: { working_m: 38, reaction_m: 15 } } }];
    localStorage.setItem("wideberth.dogs", JSON.stringify(dogs));
    localStorage.removeItem("wideberth.dogname");
  }, name);
  await page.goto(`${origin}/#/plan`);
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page
    .locator("main")
    .getByText(/This was refused: .+|of 10 stay calm/)
    .first()
    .waitFor();
  assert.notEqual(await page.title(), "no");
  assert.ok((await over()) <= 0, "over the edge");
  assert.deepEqual(faults, []);
  await done();
});

test("the page scrolls with one finger over the map until the map is made larger", async () => {
  const { page, done } = await planned("phone", { isMobile: true, hasTouch: true });
  await page.waitForSelector("html[data-map-idle]", { state: "attached" });
  const action = () =>
    page.locator(".maplibregl-canvas-container").evaluate((canvas) => getComputedStyle(canvas).touchAction);
  assert.match(await action(), /pan-y/);
  await page.getByRole("button", { name: "Larger" }).click();
  await until(action, (a) => !/pan-y/.test(a));
  await done();
});

test("a door too near to what the dog cannot bear is told with the first leg", async () => {
  const { page, context, faults, done } = await open("phone");
  // What stands round the door, from the server's own answer, at an hour when somebody is there and as if beside the door.
  await context.route("**/v1/sources", async (r) => {
    const answer = await r.fetch();
    const body = (await answer.json()) as { sources: unknown };
    const { bbox } = r.request().postDataJSON() as { bbox: [number, number, number, number] };
    const at = [(bbox[0] + bbox[2]) / 2, (bbox[1] + bbox[3]) / 2 - 9 / 111320];
    const school = { id: 1, osm: "way/1", sort: "school", what: "school", name: "Hatch School", at, kinds: ["child"] };
    body.sources = [{ ...school, active: 0.9, working_m: 25, assumed: false }];
    await r.fulfill({ response: answer, json: body });
  });
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page
    .getByText(
      /^Hatch School is \d+\sm from your door, somebody there: 9 of 10\. First leg: (straight away from|past) it, by Weaver Row\.$/,
    )
    .first()
    .waitFor();
  assert.deepEqual(await violations(page), []);
  // Farther off than what is too near, nothing is said.
  await context.unroute("**/v1/sources");
  await unfold(page);
  await page.locator(".sentence button").first().click();
  await page.getByRole("button", { name: "20", exact: true }).click();
  await page.getByText(/from your door, somebody there:/).waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
  await done();
});

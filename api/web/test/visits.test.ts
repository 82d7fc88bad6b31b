// Training visits in a browser: planned, walked, decided by a person, printed.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import type { Page } from "playwright-core";
import { along } from "../src/geo.ts";
import type { DogProfile, Position, Sequence, Visit } from "../src/types.ts";
import {
  ask,
  door,
  keptDocument,
  keptDocuments,
  keptDog,
  mapIdle,
  now,
  type Opened,
  type OpenOptions,
  open,
  pagesOf,
  root,
  type Size,
  until,
  view,
  violations,
  wholeProgram,
} from "./harness.ts";

wholeProgram();

/** A sequence as the server keeps it. */
interface SequenceBody {
  step: number;
  sequence: Sequence;
  decisions: { proposal: string }[];
}

type Role = "trainer" | "handler";

async function as(page: Page, role: Role, more: object = {}): Promise<void> {
  const settings = { units: "metric", theme: "auto", clock: "h24", buzz: false, aloud: false, role, ...more };
  await page.evaluate((s) => localStorage.setItem("wideberth.settings", s), JSON.stringify(settings));
  await page.reload();
}

const button = (page: Page, name: string | RegExp) =>
  page.getByRole("button", { name }).filter({ visible: true }).first();
const fits = (page: Page): Promise<boolean> => page.evaluate(() => document.documentElement.scrollWidth <= innerWidth);

async function trainer(size: Size, options: OpenOptions = {}, more: object = {}): Promise<Opened> {
  const p = await open(size, options);
  await as(p.page, "trainer", more);
  await view(p.page, "visits");
  await p.page.getByRole("heading", { name: "Training visits" }).waitFor({ state: "attached" });
  return p;
}

/** Two good visits of a sequence for Kessa, logged on the days before, and the second
 * step decided: what a trainer or a handler finds who comes to it later. */
async function atStepTwo(): Promise<void> {
  const profile = JSON.parse(readFileSync(join(root, "testdata/town/kessa.json"), "utf8")) as DogProfile;
  const dog = await ask("post", "/v1/dogs", { body: profile });
  const asked = { kind: "dogs", farthest: 2, nearest: 1, max_expected_reactions: 2 }; // as the page asks in the invented town
  const wish = { from: door, dog_id: dog.id, ...asked };
  const sequence = await ask("post", "/v1/visits", { body: wish });
  const body = { wish, sequence, step: 1, paused: false };
  const doc = await ask("put", "/v1/documents/{kind}/{id}", {
    at: { kind: "visits", id: "s" },
    body: { version: 0, dog: dog.id, body },
  });
  for (const [walk, daysAgo, seen] of [
    ["a", 2, 5],
    ["b", 1, 4],
  ] as const) {
    const started = new Date(now() - daysAgo * 864e5).toISOString();
    const at = { id: dog.id };
    const walked = { key: walk, started, all_told: true, sequence: doc.id, visit: 1 };
    await ask("post", "/v1/dogs/{id}/walks", { at, body: walked });
    const met = { walk, at: started, kind: "dogs", nearest: "farther_than", distance_m: 38, food: "taken" } as const;
    for (let i = 0; i < seen; i++) await ask("post", "/v1/dogs/{id}/encounters", { at, body: met, key: walk + i });
  }
  const moved = await ask("post", "/v1/visits/{id}/decisions", {
    at: { id: "s" },
    body: { version: doc.version, to: 2 },
  });
  assert.equal((moved.body as SequenceBody).decisions.at(-1)?.proposal, "on", "what was logged is evidence for it");
}

interface GroundMap {
  project: (p: Position) => { x: number; y: number };
  queryRenderedFeatures: (o: { layers: string[] }) => { properties: { is?: string } }[];
}

/** Waits until the map of a visit shows so much, and a place under the bar of who stands there;
 * says how far down that is. */
const groundAbout = async (page: Page, at: Position, shows: RegExp): Promise<number> => {
  const seen = await until(
    () =>
      page.evaluate((at) => {
        const box = document.querySelector<HTMLElement & { pageMap?: GroundMap }>(".go .gomap .canvas");
        const [map, bar] = [box?.pageMap, document.querySelector(".gomap .you .bar")?.getBoundingClientRect()];
        if (!box || !map || !bar) return undefined;
        const [you, top] = [map.project(at), box.getBoundingClientRect().top];
        const lines = map.queryRenderedFeatures({ layers: ["place-way", "place-out", "stand"] });
        return {
          off: Math.hypot(you.x - box.clientWidth / 2, you.y - (bar.y + bar.height / 2 - top)),
          low: you.y / box.clientHeight,
          shown: [...new Set(lines.map((f) => f.properties.is ?? "stand"))].sort().join(),
        };
      }, at),
    (got) => got && got.off < 12 && shows.test(got.shown),
  );
  return seen!.low;
};

/** On the way the ground round one, the way on it; at the place the ways out too. */
async function groundOfVisit({ page, context }: Opened, v: Visit): Promise<void> {
  const half = along(
    v.way_in.legs.flatMap((l) => l.geometry.coordinates),
    v.way_in.length_m / 2,
  ).at;
  await context.setGeolocation({ longitude: half[0], latitude: half[1], accuracy: 8 });
  assert.ok((await groundAbout(page, half, /way/)) > 2 / 3, "in the lower third");
  assert.deepEqual(await violations(page), [], "on the way");
  await button(page, "By street").click();
  await page.getByRole("heading", { name: "Way in" }).waitFor();
  await context.setGeolocation({ longitude: v.at[0], latitude: v.at[1], accuracy: 8 });
  await button(page, "I stand here").click();
  await page.waitForTimeout(420); // two taps within 0.4 s count once
  await button(page, /^Way out/).click();
  await groundAbout(page, v.at, /^out,stand/);
  await button(page, "Clear now, carry on").click();
}

/** One visit on the phone: so many dogs seen and handled, all told. */
async function walkVisit(p: Opened, seen: number, looks?: Visit): Promise<void> {
  const { page } = p;
  await button(page, "Get ready").click();
  await button(page, "Set out").click();
  if (looks) await groundOfVisit(p, looks);
  else await button(page, "I stand here").click();
  await page.waitForTimeout(420); // two taps within 0.4 s count once
  for (let i = 1; i <= seen; i++) {
    await button(page, "beyond 38 m: took food").click();
    await page.getByText(`${i} seen`).waitFor();
    await page.waitForTimeout(420); // two taps within 0.4 s count once
  }
  await button(page, "End visit").click();
  await page.getByRole("main").getByRole("button", { name: "End visit" }).click();
  await page.getByText(`${seen} seen, ${seen} handled, 0 went over.`).waitFor();
  await button(page, "No, that was all").click();
  await page
    .getByRole("heading", { name: /visit \d of \d/i })
    .first()
    .waitFor();
}

/** Only the next visit has a date; what costs more than the usual dose says so above its facts. */
async function datesAndDose(page: Page): Promise<void> {
  const steps = await page.locator(".steps > li").allInnerTexts();
  assert.match(steps[0]!, /next: [A-Z][a-z]{2} \d+ [A-Z][a-z]{2}, \d\d:\d\d/);
  let before = 0;
  for (const step of steps.slice(1)) {
    const first = step.match(/[A-Z][a-z]+days about \d\d:\d\d, at the earliest (\d+ [A-Z][a-z]{2})/);
    assert.ok(first && !/next:/.test(step), step);
    let t = Date.parse(`${first[1]} 2026 UTC`);
    if (t < now()) t = Date.parse(`${first[1]} 2027 UTC`);
    assert.ok(t >= Math.max(before, now()) + (before ? 13 : 14) * 864e5, `${step}: two visits a step, one a week`);
    before = t;
  }
  // What was allowed is over the usual dose, and said so.
  const [doc] = await keptDocuments<SequenceBody>("visits");
  const v = doc!.body.sequence.visits[0]!;
  assert.ok(v.besides_reactions > 0.25 && v.besides_reactions <= 0.5, `${v.besides_reactions}`);
  const caution = page.locator(".visitcard .caution").first();
  assert.ok((await caution.innerText()).includes(`About ${v.expected_reactions.toFixed(1)} reactions are expected`));
  const dose = `${v.besides_reactions.toFixed(2)} reactions expected besides what is watched, ${v.expected_reactions.toFixed(2)} in all`;
  await page.locator(".visitcard .facts").getByText(dose).waitFor();
  const [above, facts] = await Promise.all([caution.boundingBox(), page.locator(".visitcard .facts").boundingBox()]);
  assert.ok(above && facts && above.y + above.height <= facts.y, "above the facts");
  await button(page, "Keep it").click();
  await page.getByRole("button", { name: "Keep it" }).waitFor({ state: "detached" });
  assert.ok(await caution.isVisible(), "kept, and still said");
}

/** What is watched, the distance and the dog's own in the picture of the place; the same
 * metres in title, list and on the sheet, which has no discs. */
async function placeOnScreenAndPaper(page: Page): Promise<void> {
  const title = (await page.locator(".visitcard b").first().innerText()).match(/^(\d+\sm) from (.+), \d+ min/);
  assert.ok(title);
  const [, metres, watched] = title as unknown as [string, string, string];
  await page.waitForSelector(".placemap canvas");
  await mapIdle(page);
  const drawn = await page.evaluate(() => {
    const map = document.querySelector<HTMLElement & { pageMap: PlaceMap }>(".placemap .canvas")!.pageMap;
    const of = (layer: string) => map.queryRenderedFeatures({ layers: [layer] });
    return {
      said: of("place-names").map((f) => f.properties.said),
      counts: ["source-fill", "arc-works", "arc-near", "place-sight", "place-arc", "stand"].map((l) => of(l).length),
      tones: of("tone").length,
    };
  });
  const [area, ...rest] = drawn.counts;
  assert.ok(rest.every((n) => n > 0) && drawn.tones === 0, JSON.stringify(drawn));
  assert.equal(area! > 0, /Field|Run/.test(watched), "what is watched is an area, or a way"); // as the town's are called
  assert.ok(drawn.said.includes(metres) && drawn.said.includes(watched), drawn.said.join("; "));
  assert.ok(drawn.said.some((t) => /^still works 38\sm$/.test(t!)) && drawn.said.includes("stand here"));
  const step = page.locator(".steps > li.on");
  if (await step.count()) assert.ok((await step.innerText()).includes(metres));
  await page.locator(".visitcard").getByRole("button", { name: "Print" }).click();
  await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector("section"));
  const sheet = await page.evaluate(() => {
    const root = document.querySelector(".sheetholder")!.shadowRoot!;
    return {
      text: root.textContent,
      picture: root.querySelector("figure svg")?.textContent,
      discs: root.querySelectorAll("circle.disc-open, circle.disc-full, .columns").length,
    };
  });
  const plain = (t: string | null | undefined) => (t ?? "").replaceAll("\u202f", " ");
  assert.ok(plain(sheet.text).includes(`${plain(metres)} off`) && plain(sheet.text).includes(`watching ${watched}`));
  assert.ok(
    plain(sheet.picture).includes(plain(metres)) && plain(sheet.picture).toLowerCase().includes(watched.toLowerCase()),
  );
  assert.ok(!/of 10/.test(plain(sheet.text)) && sheet.discs === 0, "no discs");
  const fact = async (name: string) =>
    plain(await page.locator(".facts > div").filter({ hasText: name }).locator("dd").innerText());
  for (const name of ["Take", "Stand", "Move on"])
    assert.ok(
      plain(sheet.text).includes(await fact(name)),
      `${name} on paper: ${await fact(name)} in ${plain(sheet.text)}`,
    );
}

interface PlaceMap {
  queryRenderedFeatures: (o: { layers: string[] }) => { properties: { said?: string } }[];
}

test("a sequence is planned with one tap, walked, and moves on only when a person says so", async () => {
  const p = await trainer("phone", { permissions: ["geolocation"] });
  const { page, faults, done } = p;
  await button(page, "Plan visits for Kessa").click();
  const card = page.locator(".visitcard");
  // No whole sequence of the invented town keeps to the usual dose: nothing is loosened unasked.
  await page.getByRole("heading", { name: "What cannot be had" }).waitFor();
  assert.match(
    await page.locator(".lacks").first().innerText(),
    /costs 0\.\d+ expected reactions besides what is watched; the limit is 0\.25/,
  );
  await button(page, "Allow 0.5 a visit").click();
  await card.getByRole("heading", { name: /Next: visit 1 of [3-9]/ }).waitFor();
  await card.getByText("after 2 good visits in a row: 4 of 5 handled, none over").waitFor();
  const text = await card.innerText();
  assert.match(text, /[A-Z][a-z]{2} \d+ [A-Z][a-z]{2}, \d\d:\d\d/, "a day and an hour");
  assert.match(text, /\d+\sm from .+, \d+ minutes, then home/, "a place and a stay");
  assert.match(text, /Expect\s+(about \d+|one or none), .*\d+ to \d+ s/, "a dose");
  assert.match(text, /Take\s+about \d+0 treats/, "one figure for treats");
  assert.match(text, /Away\s+(by|over) .+, from the first refusal/, "a way out");
  assert.ok(await fits(page));
  await datesAndDose(page);

  const [doc] = await keptDocuments<SequenceBody>("visits");
  assert.ok(doc);
  assert.equal(doc.body.step, 1);
  const steps = doc.body.sequence.visits;
  for (let i = 1; i < steps.length; i++) {
    const [was, is] = [steps[i - 1]!.distance_m, steps[i]!.distance_m];
    assert.ok(is < was, "each step is nearer");
    assert.ok(was / is < 1.45, "and by no more than about a quarter");
  }

  await walkVisit(p, 5, steps[0]);
  await page.getByRole("heading", { name: /1 visit, 5 of 5 handled, none over\. Stay at this step\./ }).waitFor();
  await walkVisit(p, 4);
  await page
    .getByRole("heading", { name: /2 visits, 9 of 9 handled, none over\. Move to [\d.]+ times \(\d+\sm\)\?/ })
    .waitFor();
  const [on, stay] = await Promise.all(
    ["Move on", "Stay"].map((n) =>
      page.locator(".proposal").getByRole("button", { name: n, exact: true }).boundingBox(),
    ),
  );
  assert.ok(
    on && stay && Math.abs(on.width - stay.width) < 2 && Math.abs(on.height - stay.height) < 2,
    "neither button is the louder",
  );
  assert.equal((await keptDocument<SequenceBody>("visits", doc.id)).body.step, 1, "nothing moved by itself");
  await page.locator(".proposal").getByRole("button", { name: "Move on" }).click();
  await card.getByRole("heading", { name: /Next: visit 2 of/ }).waitFor();
  const moved = await keptDocument<SequenceBody>("visits", doc.id);
  assert.equal(moved.body.step, 2);
  assert.equal(moved.body.decisions.at(-1)?.proposal, "on");
  await page.getByText("2 visits, 9 of 9 handled.").filter({ visible: true }).waitFor();

  await button(page, "Pause").click();
  await page.getByText(/Paused at visit 2 of/).waitFor();
  assert.equal(await page.getByRole("button", { name: "Get ready" }).count(), 0);
  await button(page, "Go on with visits").click();
  await button(page, "Get ready").waitFor();

  // The trainer's own rule for moving on.
  await page.locator("summary", { hasText: "Change the rule" }).click();
  await page.getByLabel("Move on after so many good visits in a row").selectOption("3");
  await button(page, "Keep this rule").click();
  await card.getByText("after 3 good visits in a row: 4 of 5 handled, none over").waitFor();

  // Another hour: numbers are those of that hour, and the plan keeps them.
  const before = moved.body.sequence.visits[1]!.arrive;
  await button(page, "Not this week").click();
  await page.getByRole("button", { name: /A week on/ }).click();
  await page.getByRole("button", { name: /A week on/ }).waitFor({ state: "detached" });
  const after = (await keptDocument<SequenceBody>("visits", doc.id)).body.sequence.visits[1]!.arrive;
  assert.equal(Date.parse(after) - Date.parse(before), 7 * 864e5);
  assert.deepEqual(faults, []);
  await done();
});

test("the list of dogs says where each stands; a copy is planned for another dog", async () => {
  await atStepTwo();
  const { page, faults, done } = await trainer("desk");
  const needs = { dogs: { working_m: 45, reaction_m: 20 } };
  const name = "Bram <b>&amp;\u202E x";
  await ask("post", "/v1/dogs", { body: { name, needs, cautions: { bite_history: true } } });
  const { id, version, profile } = await keptDog("Kessa");
  const met = { kind: "dogs", at: new Date(now() - 36e5).toISOString(), nearest: "exact", distance_m: 30 } as const;
  await ask("post", "/v1/dogs/{id}/encounters", { at: { id }, body: { ...met, food: "refused" }, key: "refused" });
  const nearer = { ...profile.needs, dogs: { working_m: 34, reaction_m: 15 } };
  await ask("put", "/v1/dogs/{id}", { at: { id }, body: { version, profile: { ...profile, needs: nearer } } });
  await view(page, "dogs");
  await page.reload();
  const kessa = page.getByRole("listitem").filter({ hasText: "Kessa" });
  await kessa.getByText(/Next: visit 2 of \d/).waitFor();
  await kessa.getByText(/Last walk \d/).waitFor();
  await kessa.getByText("Food refused at 1 of the last 10 meetings.").waitFor();
  await kessa.getByText(/Last moved: .*: all dogs, from 38\sm to 34\sm\./).waitFor();
  const bram = page.getByRole("listitem").filter({ hasText: "Bram" });
  await bram.getByText("bite history").waitFor();
  await bram.getByText("No training visits planned.").waitFor();
  assert.deepEqual(await violations(page), []);
  await view(page, "dog");
  await page
    .locator(".adopter")
    .getByText(/^Works from 34\sm away from dogs/)
    .waitFor();
  assert.deepEqual(await violations(page), [], "what an adopter is told");
  await page.evaluate(() => {
    document.documentElement.dataset.print = "adopter";
  });
  await page.emulateMedia({ media: "print" });
  assert.match(
    await page.locator("main").innerText(),
    /^For whoever takes Kessa home[\s\S]*No aversive tools\.$/,
    "by itself",
  );
  await page.emulateMedia({ media: "screen" });
  await view(page, "dogs");
  await kessa.getByRole("button", { name: "Visits of Kessa" }).click();
  await page.locator(".visitcard").waitFor();
  await page.getByText("Copy to another dog").click();
  await button(page, /Copy to Bram/).click();
  await page
    .locator(".visitcard")
    .getByText(/times the room that Bram/)
    .waitFor();
  await page
    .locator(".steps")
    .getByRole("button", { name: /Show visit/ })
    .last()
    .click();
  await page.locator(".visitcard").getByText("Bite history: a trainer must set this step.").waitFor();
  assert.equal(await page.locator(".steps b b, .visitcard b b").count(), 0, "a name is never markup");
  assert.deepEqual(await violations(page), []);
  assert.deepEqual(faults, []);
  await done();
});

test("a handler sees the next visit only, also without a network; it prints on one page", async () => {
  await atStepTwo();
  const { page, context, faults, done } = await open("small", {
    expectFaults: /ERR_INTERNET_DISCONNECTED|Failed to load resource/,
  });
  await as(page, "handler");
  await page.waitForFunction(() => navigator.serviceWorker?.ready.then(Boolean));
  await view(page, "visits");
  await page.locator(".printed.there").waitFor({ state: "attached" });
  assert.equal(pagesOf(await page.pdf({ preferCSSPageSize: true })), 1, "the browser's own print is the visit's sheet");
  await view(page, "dog");
  const card = page.locator(".visitcard");
  await card.getByRole("heading", { name: /Next: visit 2 of/ }).waitFor();
  assert.equal(await page.locator(".steps, .proposal").count(), 0);
  assert.equal(await page.getByRole("button", { name: /Pin this place|Never this place|Move on/ }).count(), 0);
  await placeOnScreenAndPaper(page);
  assert.equal(pagesOf(await page.pdf({ format: "A4", preferCSSPageSize: true })), 1, "one page");
  await context.setOffline(true);
  await page.reload();
  await view(page, "dog");
  await card.getByRole("heading", { name: /Next: visit 2 of/ }).waitFor();
  await context.setOffline(false);
  assert.deepEqual(faults, []);
  await done();
});

/** Three columns on a desktop: steps, place, next visit. */
async function placeBesideSteps(page: Page): Promise<void> {
  const [steps, place, card] = await Promise.all(
    [".stepside", ".placepicture", ".cardside"].map((s) => page.locator(s).boundingBox()),
  );
  assert.ok(steps && place && card && steps.width === 300 && card.width === 420, JSON.stringify([steps, card]));
  assert.ok(steps.x + steps.width <= place.x && place.x + place.width <= card.x);
  assert.ok(place.y + place.height <= 800 && place.height > 600, "all of the place without scrolling");
}

/** A meeting with a known helper: ground, picture, minutes, and two sheets with the same. */
async function meeting(page: Page): Promise<void> {
  await button(page, "Meet a known helper").click();
  await button(page, "Find ground").click();
  await page.getByText(/were allowed\. Try another hour\./).waitFor(); // no park of the invented town is quiet enough
  await button(page, "Grass as well").click();
  await page.locator(".grounds li.on").waitFor();
  await page.locator(".setups .holder svg").waitFor();
  await page.getByText(/^Replayed 100 times, .* never nearer than \d+\sm/).waitFor();
  assert.deepEqual(await violations(page), [], "set-ups");
  const tables = await page.locator("table.minutes").allInnerTexts();
  assert.equal(tables.length, 2);
  const rows = await page.locator("table.minutes tr td").allInnerTexts();
  const words = (t: string | null) => (t ?? "").replaceAll(/\s+/g, " ");
  await button(page, "Print the two sheets").click();
  await page.waitForFunction(
    () => document.querySelector(".sheetholder")?.shadowRoot?.querySelectorAll("section.sheet").length === 2,
  );
  const sheets = words(await page.evaluate(() => document.querySelector(".sheetholder")!.shadowRoot!.textContent));
  for (const row of rows) assert.ok(sheets.includes(words(row)), `on paper: ${row}`);
  assert.equal(pagesOf(await page.pdf({ preferCSSPageSize: true })), 2, "a page for each of the two");
  assert.ok(await fits(page));
}

test("clean in light and dark, in feet, and at 320 px", async () => {
  await atStepTwo();
  for (const [size, colorScheme, units] of [
    ["narrow", "dark", "us"],
    ["desk", "light", "metric"],
    ["phone", "light", "metric"],
  ] as const) {
    const { page, faults, done } = await trainer(size, { colorScheme }, { units });
    await page.locator(".visitcard").waitFor();
    if (size === "desk") await placeBesideSteps(page);
    if (units === "us") assert.doesNotMatch(await page.locator("main").innerText(), /\d\sm\b/, "no metres among feet");
    assert.ok(await fits(page), size);
    await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight)); // at its end nothing lies under the words
    assert.deepEqual(await violations(page), [], `${size} ${colorScheme}`);
    await page.evaluate(() => scrollTo(0, 0));
    for (const word of ["dogs", "2.0"]) {
      await page.locator(".sentence").getByRole("button", { name: word }).click();
      assert.deepEqual(await violations(page), [], word);
      await page.keyboard.press("Escape");
    }
    assert.ok(await fits(page), size);
    if (size === "phone") await meeting(page);
    assert.deepEqual(faults, []);
    await done();
  }
});

test("what cannot be had is said with its numbers, and one tap allows more", async () => {
  await atStepTwo();
  const { page, faults, done } = await trainer("phone");
  await page.locator(".visitcard").waitFor();
  await page
    .locator(".sentence")
    .getByRole("button", { name: /each costing/ })
    .click();
  await page.getByRole("button", { name: "At most 0.25 expected reactions besides what is watched" }).click();
  await page.locator(".choice").getByRole("button", { name: "Plan the visits" }).click();
  await page.getByRole("heading", { name: "What cannot be had" }).waitFor();
  assert.match(await page.locator(".lacks").first().innerText(), /\d+\sm .*limit is 0\.25/);
  await button(page, /^Allow [\d.]+ a visit/).click();
  await page.getByRole("heading", { name: "What cannot be had" }).waitFor({ state: "detached" });
  assert.equal(
    (await keptDocuments<SequenceBody>("visits")).filter((d) => d.body.step === 2).length,
    1,
    "the plan with a log is still there",
  );
  assert.deepEqual(faults, []);
  await done();
});

test("a step with a helper shows its ground and the minutes of both, and prints their two sheets", async () => {
  const profile = JSON.parse(readFileSync(join(root, "testdata/town/kessa.json"), "utf8")) as DogProfile;
  const dog = await ask("post", "/v1/dogs", { body: profile });
  const days = [1, 2, 3].map((d) => new Date(now() + d * 864e5).toISOString().slice(0, 10));
  const times = days.flatMap((d) => ["06:30", "07:20", "10:00", "17:20"].map((t) => `${d}T${t}:00Z`));
  const helper = { helper: { kind: "dog_on_lead" }, ground: "green", max_expected_reactions: 0.5 } as const;
  const wish = { from: door, dog_id: dog.id, kind: "dogs", farthest: 2, nearest: 1, times, ...helper };
  const sequence = await ask("post", "/v1/visits", { body: wish });
  const n = sequence.visits.findIndex((v) => v.meeting) + 1;
  assert.ok(n > 0, JSON.stringify(sequence.lacks));
  const body = { wish, sequence, step: n, paused: false };
  await ask("put", "/v1/documents/{kind}/{id}", {
    at: { kind: "visits", id: "h" },
    body: { version: 0, dog: dog.id, body },
  });
  const { page, faults, done } = await trainer("phone");
  const card = page.locator(".visitcard");
  await card.getByText(/\d+\sm from your helper \(a dog on lead\)/).waitFor();
  for (const e of sequence.visits[n - 1]!.meeting!.setup.helper) await card.getByText(e.not_before).first().waitFor();
  assert.equal(await page.getByRole("button", { name: "Get ready" }).count(), 0);
  await page.locator(".placepicture .holder svg").waitFor();
  await button(page, /with a helper from half way, grass as well/).waitFor();
  assert.ok(await fits(page));
  assert.deepEqual(await violations(page), []);
  await card.getByRole("button", { name: "Print" }).click();
  await page.waitForFunction(
    () => document.querySelector(".sheetholder")?.shadowRoot?.querySelectorAll("section.sheet").length === 2,
  );
  assert.deepEqual(faults, []);
  await done();
});

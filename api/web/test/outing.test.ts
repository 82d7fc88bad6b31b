// The outing in a real browser, on the real program with the invented town.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Page } from "playwright-core";
import {
  keptDocuments,
  type Opened,
  type OpenOptions,
  open,
  origin,
  pagesOf,
  paperOf,
  type Size,
  until,
  violations,
  wholeProgram,
} from "./harness.ts";

wholeProgram();

/** The page of a shelter, with the demonstration's timetable on it. */
async function shelter(size: Size, options: OpenOptions = {}, more: object = {}): Promise<Opened> {
  const p = await open(size, options);
  const settings = { role: "shelter", units: "metric", theme: "auto", clock: "auto", ...more };
  await p.page.evaluate((s) => localStorage.setItem("wideberth.settings", s), JSON.stringify(settings));
  await p.page.goto(`${origin}/`, { waitUntil: "domcontentloaded" });
  await p.page.reload({ waitUntil: "domcontentloaded" });
  const go = p.page.getByRole("button", { name: "Show me an outing" });
  await Promise.any([go.waitFor(), p.page.locator(".screen .gatelist").waitFor()]);
  if (await go.count()) await go.click();
  await p.page.getByText(/Replayed 300 times/).waitFor();
  return p;
}

/** Waits until nothing is being planned and the check has spoken. */
async function settled(page: Page): Promise<void> {
  await page.getByRole("button", { name: "Stop" }).waitFor({ state: "detached" });
  await page.getByText(/Replayed 300 times/).waitFor();
}

/** An outing as the server keeps it. */
interface KeptOuting {
  wish: { dogs: { dog: { name: string } }[] };
}

/** Waits until the server keeps such an outing. */
const keptWith = (good: (k: KeptOuting) => boolean) =>
  until(
    () => keptDocuments<KeptOuting>("outings"),
    ([doc]) => doc && good(doc.body),
  );

async function staysIn(page: Page, dog: string): Promise<void> {
  await page.getByRole("button", { name: "A dog stays in" }).click();
  await page.getByRole("button", { name: `${dog} stays in` }).click();
}

const table = (page: Page) =>
  page.locator(".screen .gatelist").evaluate((t) => ({
    people: [...t.querySelectorAll("thead th")].slice(1).map((h) => h.textContent ?? ""),
    rows: [...t.querySelectorAll("tbody tr")].map((r) => ({
      time: r.querySelector("th")?.textContent ?? "",
      cells: [...r.querySelectorAll("td")].map((c) => c.textContent?.trim() ?? ""),
      on: [...r.querySelectorAll("td")].map((c) => c.classList.contains("on")),
    })),
  }));

test("a newcomer finds the outing and has a timetable at the first tap", async () => {
  const { page, faults, done } = await open("desk");
  await page.getByRole("link", { name: "More" }).click();
  await page.getByRole("button", { name: "shelter" }).click();
  await page.getByRole("link", { name: "Outing" }).click();
  const begun = performance.now();
  await page.getByRole("button", { name: "Show me an outing" }).click();
  await page.locator(".screen .gatelist").waitFor();
  console.log(`    first tap to the gate list: ${Math.round(performance.now() - begun)} ms`);
  const { people, rows } = await table(page);
  assert.deepEqual(people, ["Ada", "Jo", "Sam exp", "Lin"]);
  assert.equal(rows.length, 16, "eight dogs pass the gate twice");
  const seen: Record<string, string[]> = {};
  for (const r of rows) {
    const [said = "", ...more] = r.cells.filter(Boolean);
    assert.deepEqual(more, [], `${r.time}: two at once`);
    const [, way = "", dog = ""] = said.match(/^(OUT|IN)\s+(\S+)/) ?? [];
    const with_ = r.cells.indexOf(said);
    seen[dog] = [...(seen[dog] ?? []), way + with_];
    if (dog === "Oro") assert.match(said, /bite/);
    if (/bite/.test(said))
      assert.match(people[with_] ?? "", /exp$/, "a dog with a bite history goes with somebody experienced");
  }
  assert.equal(Object.keys(seen).length, 8);
  for (const [dog, ways] of Object.entries(seen)) {
    const person = ways[0]?.slice(3);
    assert.deepEqual(ways, [`OUT${person}`, `IN${person}`], `${dog} goes out and in with one person`);
  }
  assert.equal(new Set(rows.map((r) => r.time)).size, rows.length, "no minute twice");
  await page
    .getByText(
      /Replayed 300 times with people up to 3\smin late, slow or fast: never nearer than \d+\sm\. Rule: \d+\sm\./,
    )
    .waitFor();
  const [, least, rule] =
    (await page.getByText(/Replayed 300 times/).innerText()).match(/nearer than (\d+)\sm\. Rule: (\d+)\sm/) ?? [];
  assert.ok(Number(least) >= Number(rule), `${least} of ${rule}`);
  assert.match(
    await page.locator("main").innerText(),
    /A walk keeps the gate for [\d.]+ minutes, so at most \d+ walks fit in\. Wanted: 8\./,
  );
  const why = page.locator(".whythen");
  assert.match(await why.innerText(), new RegExp(`^First dog at ${rows[0]?.time}, not 09:00: people come at 09:00`));
  await why.getByRole("button", { name: "Another reason" }).click();
  assert.match(await why.innerText(), /^Only Sam may take .*Oro/);
  await page.getByRole("button", { name: "by dog" }).click();
  assert.equal(await page.locator(".screen .gatelist tbody tr").count(), 8);
  assert.match(await page.locator(".screen .gatelist").innerText(), /Bram[\s\S]*40\sm/);
  assert.deepEqual(faults, []);
  await done();
});

test("a table of forty dogs is pasted in one step; a line that lacks something is named; every cell can be changed", async () => {
  const { page, faults, done } = await open("desk");
  await page.evaluate((s) => localStorage.setItem("wideberth.settings", s), JSON.stringify({ role: "shelter" }));
  await page.goto(`${origin}/`, { waitUntil: "domcontentloaded" });
  await page.reload({ waitUntil: "domcontentloaded" });
  await page.getByLabel(/^Paste from a table/).waitFor();
  const lines = Array.from(
    { length: 40 },
    (_, i) =>
      `Dog ${i + 1}\t${i === 11 ? "" : `${20 + i} m`}\t${20 + (i % 3) * 5}\t${["any", "regular", "exp"][i % 3]}\t${i % 9 === 1 ? "bite" : ""}`,
  );
  const paste = (text: string) =>
    page.getByLabel(/^Paste from a table/).evaluate((box, pasted) => {
      const clipboardData = new DataTransfer();
      clipboardData.setData("text", pasted);
      box.dispatchEvent(new ClipboardEvent("paste", { clipboardData, bubbles: true, cancelable: true }));
    }, text);
  await paste(["name\troom\tminutes\twho\tbite", ...lines].join("\n"));
  const said = page.getByText(/^Read: /);
  assert.equal(await said.innerText(), "Read: 40 dogs. 1 needs you: Dog 12 has no distance.");
  const rows = page.locator(".dogtable tbody tr");
  assert.equal(await rows.count(), 40, "the demonstration's dogs gave way");
  assert.equal(await page.locator(".dogtable .wanting").count(), 1);
  await page.getByRole("button", { name: "See to the dogs" }).click();
  await page.waitForFunction(() => document.activeElement?.closest(".editing .cell-room"));
  await page.keyboard.type("45 m");
  await page.getByText(/needs you/).waitFor({ state: "detached" });
  await page.getByLabel("Dog", { exact: true }).fill("Arlo");
  await page.getByLabel("Minutes", { exact: true }).fill("15");
  await page.locator(".cell-who select").selectOption("regular");
  await page.getByLabel("Bite history").check();
  await page.getByLabel("Minutes", { exact: true }).fill("200");
  await page.getByText("1 needs you: Arlo: 200 is no number of minutes from 5 to 90.").waitFor();
  await page.getByLabel("Minutes", { exact: true }).fill("15");
  await page.getByRole("button", { name: "Done" }).click();
  await page.waitForFunction(() => document.activeElement?.textContent === "Arlo");
  assert.deepEqual(await rows.nth(11).locator("th, td").allInnerTexts(), [
    "Arlo",
    "45\u202fm",
    "15\u202fmin",
    "exp",
    "bite",
  ]);
  await page.getByRole("button", { name: "Plan the outing" }).waitFor();
  // A name that is there takes the new line; a file does what the clipboard does.
  await page.setInputFiles("input[type=file]", {
    name: "kennel.csv",
    mimeType: "text/csv",
    buffer: Buffer.from('room (ft);dog\n125;"Dog 3"\n100;Zoë', "latin1"),
  });
  await page.getByText("Read: 2 dogs.").waitFor();
  assert.equal(await rows.count(), 41);
  assert.match(await rows.nth(2).innerText(), /^Dog 3\s+38\u202fm/);
  assert.match(await rows.nth(40).innerText(), /^Zoë\s+30\u202fm/);
  await page.getByRole("button", { name: "Take it back" }).click();
  assert.equal(await rows.count(), 40);
  await page.getByRole("button", { name: "Dog 5", exact: true }).click();
  assert.deepEqual(await violations(page), [], "a line that is open");
  assert.deepEqual(faults, []);
  await done();
});

/** Three days with their loads; tables that can be pasted again. */
async function weekAndTables(page: Page): Promise<void> {
  await page.getByText("Several days").first().click();
  await page.getByRole("button", { name: "3 days" }).click();
  await page.getByRole("button", { name: "Plan these days" }).click();
  const week = page.locator(".outweek table");
  await week.nth(2).waitFor();
  assert.equal(await week.first().locator("tbody tr").count(), 3);
  assert.match(await week.nth(2).innerText(), /Fenn\s+0\s+0 of \d+\s+3\s+0/, "three days off");
  assert.match(await week.nth(2).innerText(), /Tilly\s+3\s/);
  await page.locator(".daybar").getByRole("button", { name: "Print" }).click();
  for (const [of, head] of [
    ["Dogs", /^name,room,.*\r?\nBram,40/],
    ["People", /^name,experience,/],
    ["Walks", /^name,with,/],
  ] as const) {
    const button = page.getByRole("group", { name: "As a table" }).getByRole("button", { name: of });
    const [file] = await Promise.all([page.waitForEvent("download"), button.click()]);
    assert.match(readFileSync(await file.path(), "utf8").replace("\uFEFF", ""), head);
  }
}

test("rules of a kennel come with the table and show in the gate list", async () => {
  const { page, faults, done } = await shelter("desk");
  await page.getByRole("button", { name: "8 dogs" }).click();
  await page.getByRole("button", { name: "Take all away" }).click();
  await page
    .getByLabel(/^Paste from a table/)
    .fill(
      [
        "dog,room,minutes,goes with,people,row,apart,rest,colour",
        "Bram,40 m,20,Tilly,,A,,,brown",
        "Tilly,20 m,20,,,,,,black",
        "Pip,30 m,15,,2,A,last,,grey",
        "Fenn,30 m,15,,,,,mon / tue / wed / thu / fri / sat / sun,red",
      ].join("\n"),
    );
  await page.getByRole("button", { name: "Add these lines" }).click();
  await page.getByText("Passed over, as no column is called so: colour.").waitFor();
  await page.getByText("Goes with: Tilly · Kennel row: A").waitFor();
  await page.getByRole("button", { name: "Fenn", exact: true }).click();
  await page.getByText("Rules of the house").click();
  await page.getByLabel("Days off").fill("someday");
  await page.getByText("1 needs you: Fenn, Days off: someday cannot be read.").waitFor();
  await page.getByLabel("Days off").fill("mon / tue / wed / thu / fri / sat / sun");
  assert.deepEqual(await violations(page), [], "the rules of a dog");
  await page.getByRole("button", { name: "Done" }).first().click();
  await page.keyboard.press("Escape");
  await page.getByRole("button", { name: "Plan anew" }).click();
  await settled(page);
  const { rows } = await table(page);
  const outs = rows.flatMap((r) => r.cells.filter((c) => c.startsWith("OUT"))).sort();
  assert.deepEqual(outs, ["OUT Bram + Tilly", "OUT Pip", "OUT Pip"], "two dogs once, two people each");
  assert.equal(await page.getByText(/Plan anew\.$/).count(), 0, "two that go together are no fault");
  await page.getByRole("button", { name: "by dog" }).click();
  const told = await page.locator(".screen .gatelist tbody tr").allInnerTexts();
  assert.match(told.find((r) => r.startsWith("Fenn")) ?? "", /rests today/);
  assert.match(told.find((r) => r.startsWith("Tilly")) ?? "", /beside Bram/);
  assert.match(told.find((r) => r.startsWith("Pip")) ?? "", /\w+ \+ \w+/);
  assert.ok(
    told.some((r) => /passes (Bram|Pip) in their kennels/.test(r)),
    "who is led past whom",
  );
  await weekAndTables(page);
  assert.deepEqual(await violations(page), [], "the list by dog, and several days");
  assert.deepEqual(faults, []);
  await done();
});

test("dogs are signed out and in on the day, late ones are told, and nothing is lost without a network", async () => {
  const { page, faults, done } = await shelter("phone", { colorScheme: "dark" });
  const board = page.locator(".signing li");
  const kept = (good: (signed: Record<string, { in?: string }>) => boolean) =>
    until(
      () => keptDocuments<{ signed?: Record<string, { in?: string }> }>("outings"),
      ([doc]) => !!doc && good(doc.body.signed ?? {}),
    );
  await page.getByText("Nobody is out.").waitFor();
  const first = board.first();
  const dog = (await first.locator("b").first().innerText()).trim();
  await first.getByRole("button", { name: `${dog} is out now` }).click();
  await page.getByText("1 walk is out.").waitFor();
  await kept((s) => dog in s && !s[dog]!.in);
  await page.evaluate(() => scrollTo(0, 0));
  assert.deepEqual(await violations(page), [], "out and in");
  await page.context().setOffline(true);
  await first.getByRole("button", { name: `${dog} is back` }).click();
  await page.getByText("Nobody is out.").waitFor();
  await page.getByText("Not kept for the others").waitFor();
  await page.context().setOffline(false);
  await kept((s) => !!s[dog]?.in);
  await page.getByText("Not kept for the others").waitFor({ state: "detached" });
  await first.getByRole("button", { name: `${dog} is not back yet` }).click();
  await page.getByText("1 walk is out.").waitFor();
  faults.splice(0, faults.length, ...faults.filter((f) => !/ERR_INTERNET_DISCONNECTED/.test(String(f))));
  assert.deepEqual(faults, []);
  await done();
});

test("where everybody is, minute by minute", async () => {
  const { page, faults, done } = await shelter("desk");
  assert.equal(
    await page
      .locator(".roomband path")
      .first()
      .evaluate((e) => getComputedStyle(e).fill),
    "rgb(255, 255, 255)",
    "room is open paper",
  );
  await page
    .getByRole("button", { name: /^Show \d\d:\d\d/ })
    .first()
    .click();
  const time = await page.locator(".bigclock").innerText();
  assert.match(
    (await page
      .getByRole("button", { name: /^Show \d\d:\d\d/ })
      .first()
      .getAttribute("aria-label")) ?? "",
    new RegExp(time),
  );
  const out = (await page.locator("#replay p").last().innerText()).match(/: (.*) are out/)?.[1]?.split(", ");
  assert.ok(out);
  const plates = await page.locator(".plates rect + text").allTextContents();
  assert.deepEqual(plates.sort(), out.sort(), "plates and words say the same");
  await page.getByRole("button", { name: "Later" }).click();
  assert.notEqual(await page.locator(".bigclock").innerText(), time);
  await page.getByRole("button", { name: "Play", exact: true }).click();
  await page.waitForFunction(
    (t) => (document.querySelector(".bigclock")?.textContent ?? "") > t,
    await page.locator(".bigclock").innerText(),
  );
  await page.getByRole("button", { name: "Pause" }).click();
  assert.deepEqual(faults, []);
  await done();
});

test("on the day: late, not coming, staying in, and what would help", async () => {
  const { page, faults, done } = await shelter("desk");
  const before = await table(page);
  assert.match(await page.locator(".daybar").innerText(), /Today, \d\d:\d\d\. First out at (\d\d:\d\d): \S+ with/);
  await page.getByRole("button", { name: "Somebody is late" }).click();
  await page.getByRole("button", { name: "45 min" }).click();
  await page.getByRole("button", { name: "Sam is 45 min late" }).click();
  await page.getByText(/Re-planned from 09:00\. Changed: .* with .*\. Unchanged: \d+ walks?\./).waitFor();
  const late = await table(page);
  const sam = late.people.findIndex((p) => p.startsWith("Sam"));
  for (const r of late.rows)
    if (/^OUT/.test(r.cells[sam] ?? "")) assert.ok(r.time.slice(0, 5) >= "09:45", `Sam goes out at ${r.time}`);
  assert.ok((await page.locator(".screen .gatelist td.changed .mark.new").count()) > 0, "changed cells say new");
  await page.getByText(/Replayed 300 times.*never nearer/).waitFor();
  await page.getByRole("button", { name: "Take it back" }).click();
  await page.getByText("Re-planned from").waitFor({ state: "detached" });
  assert.deepEqual(await table(page), before);
  await staysIn(page, "Tilly");
  await page.getByText("Re-planned from").waitFor();
  assert.ok(!(await table(page)).rows.some((r) => r.cells.join().includes("Tilly")));
  await page.getByRole("button", { name: "Take it back" }).click();
  await page.getByText("Re-planned from").waitFor({ state: "detached" });
  await page.getByRole("button", { name: "Somebody is late" }).click();
  await page.getByRole("button", { name: "Sam does not come" }).click();
  await page.getByText("Not every dog can go").waitFor();
  assert.match(await page.locator(".caution").first().innerText(), /Oro.*cannot go: too few people/s);
  await page.getByRole("button", { name: "3 people" }).waitFor();
  await page.getByRole("button", { name: "One more experienced person" }).click();
  await page.getByText(/8 of 8 dogs go out/).waitFor();
  assert.deepEqual((await table(page)).people, ["Ada", "Jo", "Lin", "Helper exp"]);
  await page.getByRole("button", { name: "4 people" }).click();
  await page.getByRole("button", { name: /^Helper/ }).click();
  await page.getByRole("button", { name: "Remove Helper" }).click();
  await page.getByLabel("Name", { exact: true }).fill("Sam");
  await page.getByLabel("Experience").last().selectOption("experienced");
  await page.getByRole("button", { name: "Add this person" }).click();
  await page.getByRole("button", { name: "Plan the outing" }).click();
  await page.locator(".screen .gatelist th", { hasText: "Helper" }).waitFor({ state: "detached" });
  await settled(page);
  assert.deepEqual(faults, []);
  await done();
});

test("a volunteer finds their own walks, gets ready and has the hand-out; a change reaches them", async () => {
  const { page, faults, done } = await shelter("phone");
  await page.getByLabel("Whose walks").selectOption("Sam");
  const mine = page.locator(".mine > li");
  await mine.first().waitFor();
  const text = await mine.first().innerText();
  assert.match(text, /^\d\d:\d\d to \d\d:\d\d/);
  assert.match(text, /At the gate at \d\d:\d\d, be there at \d\d:\d\d\./);
  assert.match(text, /Needs \d+\sm from dogs\./);
  assert.match(text, /not on before \d\d:\d\d/);
  const clocks = (await mine.allInnerTexts()).map((t) => t.slice(0, 5));
  assert.deepEqual(clocks, [...clocks].sort(), "in order");
  await page.getByRole("button", { name: "Hand-out for Oro" }).click();
  await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
  const sheet = await page.evaluate(() => document.querySelector(".sheetholder")?.shadowRoot?.textContent ?? "");
  for (const words of [
    "With Sam",
    "At the gate",
    "Wait there, not on before",
    "Bite history: experienced people only",
    "OpenStreetMap contributors",
  ])
    assert.ok(sheet.includes(words), words);
  const other = await shelter("desk");
  await staysIn(other.page, "Wisp");
  await other.page.getByText("Re-planned from").waitFor();
  await other.page.getByText(/Replayed 300 times/).waitFor();
  await keptWith((k) => !k.wish.dogs.some((d) => d.dog.name === "Wisp"));
  await page.evaluate(() => document.dispatchEvent(new Event("visibilitychange")));
  await page.getByText("Changed by somebody else just now").waitFor();
  await other.page.getByRole("button", { name: "Take it back" }).click();
  await keptWith((k) => k.wish.dogs.length === 8);
  await other.done();
  await page.getByRole("button", { name: "Get ready with Oro" }).click();
  await page.getByRole("button", { name: "Start walk" }).waitFor();
  assert.match(await page.locator("body").innerText(), /Ready for (09|10):/);
  assert.deepEqual(faults, []);
  await done();
});

test("the wall list on one page with names of 18 pt, then a sheet for each walk", async () => {
  const { page, faults, done } = await shelter("desk", { colorScheme: "dark" });
  await page.getByRole("button", { name: "Print", exact: true }).click();
  const turns = page.getByRole("group", { name: "Turns for calendars" }).getByRole("button");
  const person = await turns.first().innerText();
  const [file] = await Promise.all([page.waitForEvent("download"), turns.first().click()]);
  const calendar = readFileSync(await file.path(), "utf8");
  const list = await page.locator("table.gatelist").first().innerText();
  assert.ok(list.includes(person));
  assert.ok(calendar.split("BEGIN:VEVENT").length > 1 && calendar.includes("SUMMARY:Walk "), calendar);
  for (const paper of ["Letter", "A4"]) {
    await page.getByRole("button", { name: paper, exact: true }).click();
    const pdf = await page.pdf({ preferCSSPageSize: true });
    assert.deepEqual([pagesOf(pdf), paperOf(pdf)], [1, paper], "the browser's own print is the gate list");
  }
  await page.emulateMedia({ media: "print" });
  const wall = await page.locator(".wall").evaluate((w) => {
    const { fontSize, color } = getComputedStyle(w.querySelector(".outname")!);
    return { text: (w as HTMLElement).innerText, size: Number.parseFloat(fontSize), ink: color };
  });
  for (const dog of ["Bram", "Oro", "Tilly", "Miko", "Ruska", "Fenn", "Pell", "Wisp"])
    assert.ok(wall.text.includes(dog), dog);
  assert.ok(wall.size >= 24 - 0.01, `${wall.size} px are under 18 pt`);
  assert.equal(wall.ink, "rgb(0, 0, 0)", "black on paper in the dark theme too");
  await page.emulateMedia({ media: null });
  await page.evaluate(() => {
    window.print = () => {
      document.documentElement.dataset.printed = "yes";
    };
  });
  await page.getByRole("button", { name: "Print list and hand-outs" }).click();
  await page.waitForFunction(() => document.documentElement.dataset.printed === "yes");
  assert.equal(pagesOf(await page.pdf({ preferCSSPageSize: true })), 9, "one sheet a page");
  for (const paper of ["Letter", "A4"]) {
    await page.getByRole("button", { name: paper, exact: true }).click();
    await page.waitForFunction(
      (p) => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(`.${p.toLowerCase()} .sheet svg`),
      paper,
    );
    await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector("link")?.sheet);
    const over = await page.locator(".sheetholder").evaluate((holder) =>
      [...holder.shadowRoot!.querySelectorAll(".sheet")]
        .map((s) => {
          const [needs, advice] = [".needs", ".advice"].map((c) => s.querySelector(c)!.getBoundingClientRect());
          return needs!.bottom - advice!.top;
        })
        .filter((d) => d > 1),
    );
    assert.deepEqual(over, [], `${paper}: what to take runs into the advice`);
  }
  assert.deepEqual(faults, []);
  await done();
});

test("by keyboard alone: ask, plan, read, re-plan", async () => {
  const { page, faults, done } = await shelter("desk");
  const press = async (name: string) => {
    await page.getByRole("button", { name }).first().focus();
    await page.keyboard.press("Enter");
  };
  await press("8 dogs");
  await page.waitForFunction(() => document.activeElement?.closest(".choice")); // focus goes into the choice
  await page.keyboard.press("Escape");
  await page.waitForFunction(() => document.activeElement?.textContent === "8 dogs"); // and back to its word
  await press("09:00 to 11:00");
  await page.getByLabel("To", { exact: true }).fill("11:30");
  await press("Plan the outing");
  await page.getByRole("button", { name: "09:00 to 11:30" }).waitFor();
  await settled(page);
  await press("by dog");
  await press("by the gate");
  await press("Somebody is late");
  await press("Jo is 20 min late");
  await page.getByText("Re-planned from").waitFor();
  await settled(page);
  await press("Take it back");
  await page.getByText("Re-planned from").waitFor({ state: "detached" });
  await press("09:00 to 11:30");
  await page.getByLabel("To", { exact: true }).fill("11:00");
  await press("Plan the outing");
  await page.getByRole("button", { name: "09:00 to 11:00" }).waitFor();
  await settled(page);
  assert.deepEqual(faults, []);
  await done();
});

for (const [size, colorScheme] of [
  ["phone", "light"],
  ["desk", "dark"],
] as const) {
  test(`no accessibility violations and no motion, ${size}, ${colorScheme}`, async () => {
    const { page, done } = await shelter(size, { colorScheme, reducedMotion: "reduce" });
    assert.deepEqual(await violations(page), [], "gate list");
    assert.equal(
      await page.getByRole("button", { name: "Play", exact: true }).count(),
      0,
      "nothing moves by itself under reduced motion",
    );
    const before = await page.locator(".bigclock").innerText();
    await page.getByLabel("Minute of the outing").focus();
    await page.keyboard.press("ArrowRight");
    assert.notEqual(await page.locator(".bigclock").innerText(), before);
    for (const word of size === "phone" ? ["8 dogs", "4 people"] : []) {
      await page.getByRole("button", { name: word }).click();
      assert.deepEqual(await violations(page), [], word);
      await page.keyboard.press("Escape");
    }
    await page.getByLabel("Whose walks").selectOption("Ada");
    assert.deepEqual(await violations(page), [], "one person's walks");
    await page.getByLabel("Whose walks").selectOption("");
    await done();
  });
}

test("nothing scrolls sideways at 320 px, targets are big, and without WebGL the walks are drawn all the same", async () => {
  const { page, faults, done } = await shelter("narrow", { plain: true });
  for (const state of ["list", "dogs", "people", "mine"]) {
    if (state === "dogs") await page.getByRole("button", { name: "8 dogs" }).click();
    if (state === "people") await page.getByRole("button", { name: "4 people" }).click();
    if (state === "mine")
      await page.keyboard.press("Escape").then(() => page.getByLabel("Whose walks").selectOption("Sam"));
    const over = await page.evaluate(() =>
      [...document.querySelectorAll("main *, header *")]
        .filter(
          (e) =>
            e.checkVisibility() &&
            e.getBoundingClientRect().right > innerWidth + 1 &&
            !e.closest(".scroll, svg, .hidden"),
        )
        .map((e) => `${e.tagName}.${e.className} ${e.textContent?.slice(0, 30)}`)
        .slice(0, 3),
    );
    assert.deepEqual(over, [], state);
    const small = await page.evaluate(() =>
      [...document.querySelectorAll("button, nav a, select, input:not([type=checkbox], [type=range])")]
        .filter((e) => e.checkVisibility() && !e.closest(".sentence"))
        .map((e) => ({ t: e.textContent?.slice(0, 20), r: e.getBoundingClientRect() }))
        .filter(({ r }) => r.width > 0 && (r.height < 47.5 || r.width < 47.5))
        .map(({ t, r }) => `${t} ${r.width}x${r.height}`),
    );
    assert.deepEqual(small, [], state);
  }
  assert.ok((await page.locator(".plates rect").count()) > 0, "names on plates");
  assert.equal(await page.locator(".plates rect").count(), await page.locator(".plates rect + text").count());
  assert.deepEqual(faults, []);
  await done();
});

test("names are text; feet; a broken rule, a fault and a server that keeps nothing are said", async () => {
  const { page, faults, done } = await shelter("phone", { expectFaults: /status of (500|404)/ }, { units: "us" });
  assert.match(await page.locator("main").innerText(), /never nearer than \d+\sft\. Rule: \d+\sft\./);
  const name = '<img src=x onerror="document.title=1"> \u05d0\u05d1\u05d2 beyond forty letters';
  await page.evaluate((name) => {
    const k = JSON.parse(localStorage.getItem("wideberth.outing.kept") ?? "");
    const text = JSON.stringify(k.kept).replaceAll('"Oro"', JSON.stringify(name));
    k.kept = JSON.parse(text);
    k.version = 1e6; // what is on the device stays
    const [a, b] = k.kept.timetable.rows;
    b.leave = a.leave;
    b.meet = a.meet;
    localStorage.setItem("wideberth.outing.kept", JSON.stringify(k));
    localStorage.setItem("wideberth.outing.wish", JSON.stringify(k.kept.wish));
  }, name);
  await page.route("**/v1/dogs", (r) =>
    r.fulfill({
      status: 404,
      contentType: "application/problem+json",
      body: JSON.stringify({ type: "x", title: "x", status: 404, detail: "this server keeps no dogs" }),
    }),
  );
  await page.reload();
  await page
    .getByText(/^At \d\d:\d\d two dogs pass the gate/)
    .first()
    .waitFor();
  assert.ok((await page.locator(".screen tr.broken").count()) > 0);
  await page.getByText(/Do not use this timetable/).waitFor();
  assert.equal(await page.locator("img").count(), 0);
  assert.ok((await page.locator(".screen .gatelist").innerText()).includes("<img src=x"));
  assert.match(await page.locator(".screen .gatelist").innerText(), /…/, "cut in the list of the gate");
  await page.getByText("This server keeps nothing: the outing is on this device only.").waitFor();
  await page.route("**/v1/outings", (r) =>
    r.fulfill({
      status: 500,
      contentType: "application/problem+json",
      body: JSON.stringify({ type: "x", title: "x", status: 500, detail: "x" }),
    }),
  );
  await page.getByRole("button", { name: "8 dogs" }).click();
  await page.getByRole("button", { name: "Plan the outing" }).click();
  await page.getByText("The planner did not answer. Your wish is kept.").waitFor();
  assert.deepEqual(faults, []);
  await done();
});

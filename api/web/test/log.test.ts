// What is logged on a walk and after it: nothing is lost or doubled, whatever network,
// server and clock do.

import assert from "node:assert/strict";
import { test } from "node:test";
import type { KeptMeeting } from "../src/types.ts";
import {
  ask,
  fortyMeetings,
  keptDog,
  now,
  onTheWalk,
  open,
  origin,
  patience,
  startServer,
  stopServer,
  until,
  view,
  violations,
  wholeProgram,
} from "./harness.ts";

wholeProgram();

/** What the server keeps of Kessa, in the order of its times. */
const kept = async (): Promise<KeptMeeting[]> => {
  const dog = (await ask("get", "/v1/dogs")).find((d) => d.profile.name === "Kessa");
  if (!dog) return [];
  const all = await ask("get", "/v1/dogs/{id}/encounters", { at: { id: dog.id } });
  return all.filter((e) => !e.removed);
};
const keptOf = (n: number) => until(kept, (list) => list.length === n);

const onceMS = 450; // two taps within 400 ms count once

test("a log is two taps; two fast taps are one; offline it waits and arrives once", async () => {
  const { page, context, done } = await onTheWalk("phone");
  await context.setOffline(true);
  await page.getByRole("button", { name: "Dog", exact: true }).click();
  const cell = page.getByRole("button", { name: "15 to 38 m: took food" });
  await cell.waitFor();
  await page.waitForTimeout(onceMS);
  await cell.dblclick().catch(() => undefined); // the second tap finds the pad gone
  await page.getByText("Saved: dog, 15 to 38 m, took food.").waitFor();
  await page.getByText("1 entry waiting").waitFor();
  assert.deepEqual(await kept(), [], "nothing arrives without a network");
  await page.reload().catch(() => undefined); // the page itself comes from the device
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await page.getByText("1 entry waiting").waitFor();
  await context.setOffline(false);
  await keptOf(1);
  await page.getByText(/entry waiting/).waitFor({ state: "detached" }); // so that a second sending would have been
  const [last, ...more] = await kept();
  assert.deepEqual(more, [], "once and no more");
  assert.ok(last);
  assert.equal(last.kind, "dogs");
  assert.equal(last.nearest, "between");
  assert.deepEqual([last.distance_m, last.to_m, last.food], [15, 38, "taken"]);
  await done();
});

test("an entry of a wrong clock is kept and gets the server's time", async () => {
  const { page, done } = await onTheWalk("phone");
  await page.clock.setFixedTime(3e8); // a clock that was never set
  await page.getByRole("button", { name: "Dog", exact: true }).click();
  await page.clock.setFixedTime(3e8 + 5000);
  await page.getByRole("button", { name: "beyond 38 m: took food" }).click();
  const [entry] = await keptOf(1);
  const offMS = Math.abs(Date.parse(entry?.at ?? "") - now());
  assert.ok(offMS < patience, `${entry?.at} in the entry, ${new Date(now()).toISOString()} on the server`);
  await done();
});

test("undo takes an entry back that was sent", async () => {
  const { page, faults, done } = await onTheWalk("phone");
  await page.getByRole("button", { name: "Dog", exact: true }).click();
  await page.waitForTimeout(onceMS);
  await page.getByRole("button", { name: "under 15 m: went over" }).click();
  await keptOf(1);
  await page.waitForTimeout(onceMS);
  await page.getByRole("button", { name: "Undo" }).click();
  await keptOf(0);
  assert.deepEqual(faults, []);
  await done();
});

test("the server goes away during a walk and comes back: nothing is lost or doubled", async () => {
  const port = new URL(origin).host;
  const { page, done } = await onTheWalk("phone");
  await stopServer();
  for (const cell of ["beyond 38 m: turned back", "15 to 38 m: no food"]) {
    await page.waitForTimeout(onceMS);
    await page.getByRole("button", { name: "Dog", exact: true }).click();
    await page.waitForTimeout(onceMS);
    await page.getByRole("button", { name: cell }).click();
  }
  await page.getByText("2 entries waiting").waitFor();
  await startServer(port);
  await page.evaluate(() => dispatchEvent(new Event("online")));
  const got = await keptOf(2);
  assert.deepEqual(
    got.map((e) => [e.nearest, e.food, !!e.turned_back]),
    [
      ["farther_than", "taken", true],
      ["between", "refused", false],
    ],
  );
  await done();
});

test("other opens the whole table of kinds, six a screen, and the kind is what arrives", async () => {
  const { page, faults, done } = await onTheWalk("small");
  await page.getByRole("button", { name: "Other", exact: true }).click();
  const seen = new Set<string>();
  for (let screen = 0; screen < 3; screen++) {
    await page.getByRole("button", { name: "More kinds" }).waitFor();
    const boxes = await page.evaluate(() =>
      [...document.querySelectorAll(".go button")].map((b) => ({
        t: b.textContent ?? "",
        r: b.getBoundingClientRect().toJSON() as DOMRect,
      })),
    );
    for (const { t, r } of boxes)
      assert.ok(r.height >= 64 && r.bottom <= 640 && r.top >= 0, `${t}: ${JSON.stringify(r)}`);
    for (const { t } of boxes) if (!/Nothing|More kinds|Way out/.test(t)) seen.add(t);
    await page.waitForTimeout(onceMS);
    await page.getByRole("button", { name: "More kinds" }).click();
  }
  assert.equal(seen.size, 17, [...seen].join(", "));
  await page.waitForTimeout(onceMS);
  await page.getByRole("button", { name: "Child", exact: true }).click();
  await page.getByText("Child. How near did it come, and what did Kessa do?").waitFor();
  await page.waitForTimeout(onceMS);
  await page.getByRole("button", { name: "10 to 25 m: turned back" }).click(); // the child's own distances
  await page.getByText("Saved: child, 10 to 25 m, turned back.").waitFor();
  const [met] = await keptOf(1);
  assert.deepEqual([met?.kind, met?.distance_m, met?.to_m, met?.turned_back], ["child", 10, 25, true]);
  // After the walk: what was said, and the plan is kept with what it predicted.
  await page.waitForTimeout(onceMS);
  await page.getByRole("button", { name: "End walk" }).click();
  await page.getByRole("button", { name: "End walk" }).last().click();
  await page.getByText(/We had said: (\d|more than 9|fewer than 1) of 10 stay calm\./).waitFor();
  await page.getByRole("button", { name: "No, that was all" }).click();
  const dog = await keptDog("Kessa");
  const [walk] = await until(
    () => ask("get", "/v1/dogs/{id}/walks", { at: { id: dog.id } }),
    (list) => list.length > 0,
  );
  assert.ok(walk?.plan, "the walk knows its plan");
  const expected = walk.expected ?? [];
  assert.ok(expected.length > 0 && expected.every((x) => x.inside > 0), JSON.stringify(expected));
  assert.deepEqual(faults, []);
  await done();
});

test("after the walk: fill in, tell all, and the walk is kept", async () => {
  const { page, faults, done } = await onTheWalk("phone");
  await page.getByRole("button", { name: /^Way out/ }).click();
  await page.getByRole("button", { name: "Clear now, carry on" }).click();
  await page.getByRole("button", { name: "End walk" }).click();
  await page.getByRole("button", { name: "End walk" }).last().click();
  await page.getByRole("button", { name: "Fill in" }).click();
  await page.getByRole("button", { name: "People", exact: true }).click();
  await page.getByRole("button", { name: /^beyond/ }).click();
  await page.getByRole("button", { name: "took food" }).click();
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.getByText("1 meeting, none went over").waitFor();
  assert.deepEqual(await violations(page), []);
  const sent = page.waitForResponse((r) => /\/v1\/dogs\/[^/]+\/walks$/.test(r.url()));
  await page.getByRole("button", { name: "No, that was all" }).click();
  const answer = await sent;
  assert.equal(answer.status(), 200);
  assert.equal((answer.request().postDataJSON() as { all_told: boolean }).all_told, true);
  assert.deepEqual(faults, []);
  await done();
});

test("the dog: plain questions, then a proposal that is accepted and taken back", async () => {
  const { page, faults, done } = await open("phone");
  const next = () => page.getByRole("button", { name: "Next", exact: true }).click();
  await page.getByRole("button", { name: "Use my own dog" }).click();
  await page.getByRole("button", { name: "Another dog" }).click();
  await page.getByLabel("What is the dog called?").fill("Fenn");
  await next();
  await next();
  for (const answer of ["80", "50", "30", "20"]) {
    await page.getByLabel("Distance").fill(answer);
    await next();
  }
  await page.getByRole("button", { name: "Fear" }).click();
  await page.getByRole("button", { name: "No", exact: true }).click();
  await page.getByText("That is all. Fenn is ready.").waitFor();
  const fenn = await keptDog("Fenn");
  assert.equal(fenn.distances.dogs?.working_m, 50);
  await fortyMeetings(fenn);
  await page.reload();
  await view(page, "dog");
  await page.getByRole("heading", { name: /From 50\sm to \d+\sm\?/ }).waitFor();
  assert.match(
    await page.locator("main").innerText(),
    /The last 40 meetings with dogs say Fenn still works from about \d+\sm\. It could be \d+\sm to \d+\sm\. Nothing changes until you say so\./,
  );
  await page.getByRole("button", { name: /^Use \d+\sm/ }).click();
  await page.getByRole("button", { name: "Go back to 50 m" }).click();
  await until(
    async () => (await ask("get", "/v1/dogs/{id}", { at: { id: fenn.id } })).distances.dogs?.working_m,
    (m) => m === 50,
  );
  assert.deepEqual(faults, []);
  await done();
});

test("a walk of before is added with a watch's track and its meetings; a file that is no track is told", async () => {
  const { page, faults, done } = await open("phone");
  await view(page, "dog");
  await page.getByRole("button", { name: "Add a past walk" }).click();
  await page.getByText("What was met teaches Kessa’s distances").waitFor();
  const file = page.getByLabel("Track of a watch (GPX), if there is one");
  const named = (text: string) => ({ name: "walk.gpx", mimeType: "application/gpx+xml", buffer: Buffer.from(text) });
  await file.setInputFiles(named("<gpx><trk>"));
  await page.getByText("This file has no track with times.").waitFor();
  const begun = new Date(now() - 3 * 36e5);
  const points = [0, 1, 2, 3, 4].map(
    (i) =>
      `<trkpt lat="${47.2022 + i * 0.0005}" lon="-7.0018"><time>${new Date(begun.getTime() + i * 6e4).toISOString()}</time></trkpt>`,
  );
  await file.setInputFiles(
    named(
      `<gpx version="1.1" creator="a watch" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>${points.join("")}</trkseg></trk></gpx>`,
    ),
  );
  await page.getByText(/^5 points, /).waitFor();
  assert.equal(await page.getByLabel("Minutes", { exact: true }).inputValue(), "4");
  await page.getByRole("button", { name: "Add", exact: true }).click();
  await page.getByRole("button", { name: "15 to 38 m", exact: true }).click();
  await page.getByRole("button", { name: "turned back" }).click();
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.getByRole("button", { name: "Save this walk" }).click();
  await page.getByText("Saved. It goes to the server").waitFor();
  const [met] = await keptOf(1);
  assert.deepEqual([met!.nearest, met!.turned_back], ["between", true]);
  const dog = await keptDog("Kessa");
  const walks = await until(
    () => ask("get", "/v1/dogs/{id}/walks", { at: { id: dog.id } }),
    (list) => list.length === 1,
  );
  const track = await until(
    () => ask("get", "/v1/walks/{id}/track", { at: { id: walks[0]!.id } }).catch(() => []), // it goes after the walk
    (list) => list.length === 5,
  );
  assert.equal(Date.parse(track[0]!.at!), begun.getTime());
  assert.deepEqual(faults, []);
  await done();
});

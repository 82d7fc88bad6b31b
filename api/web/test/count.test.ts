// Counting at a corner, what the server makes of it, and the weather that a wish says.

import assert from "node:assert/strict";
import { test } from "node:test";
import { ask, door, mapIdle, now, planned, unfold, until, view, violations, wholeProgram } from "./harness.ts";

wholeProgram();

for (const size of ["phone", "desk"] as const)
  test(`minutes at a corner are tapped, outlive a reload, are kept and told, on a ${size}`, async () => {
    const { page, faults, done } = await planned(size);
    await mapIdle(page); // a frame that was asked for before the clock is set cannot be called off
    const begun = now() - 5 * 60e3;
    await page.clock.setFixedTime(begun);
    await view(page, "around");
    await page.getByRole("button", { name: "Count who passes, for ten minutes" }).click();
    const what = page.getByRole("group", { name: "What you count" });
    assert.equal(await what.getByRole("button", { pressed: true }).count(), 3);
    await what.getByRole("button", { name: "Bicycles and scooters" }).click();
    await page.getByRole("button", { name: "Begin at the start of the walk" }).click();
    await page.getByText("10 minutes to go").waitFor();
    assert.equal(await page.getByRole("button", { name: "Keep what was counted" }).isDisabled(), true); // too short
    for (const name of ["Dogs: 0", "Dogs: 1", "On foot, without a dog: 0", "Dogs: 2"])
      await page.getByRole("button", { name }).click();
    await page.getByRole("button", { name: "One too many: take it back" }).click();
    await page.getByRole("button", { name: "Dogs: 2" }).waitFor();
    assert.deepEqual(await violations(page), []);
    await page.reload(); // the address has kept that streets are shown
    await page.getByRole("button", { name: "Dogs: 2" }).waitFor();
    await page.clock.setFixedTime(begun + 5 * 60e3); // however long the machine took for the taps
    await page.getByText("5 minutes to go").waitFor();
    await page.getByRole("button", { name: "Keep what was counted" }).click();
    await page.getByText("Kept. It counts in the next plan.").waitFor();
    const [c] = await until(
      () => ask("get", "/v1/counts"),
      (l) => l.some((x) => Math.abs(Date.parse(x.start) - begun) < 1000),
    );
    assert.ok(c);
    assert.deepEqual([c.dogs, c.people, c.wheels, c.traffic], [2, 1, undefined, undefined]);
    assert.ok(c.minutes >= 4.9 && c.minutes <= 5.2 && Math.hypot(c.lat - door.lat, c.lon - door.lon) < 1e-3);
    await page.getByText(/, Dogs: 2 counted, [\d.]+ predicted/).waitFor();
    assert.deepEqual(await violations(page), []);
    await ask("post", "/v1/reports", { body: { kind: "dog_behind_fence", there: true, ...door } });
    await view(page, "more");
    // What the map was told stands there, and goes.
    const told = page.locator(".told");
    await told.getByText(/A dog behind a fence, /).waitFor();
    await told.getByText(/5 minutes: Dogs 2, On foot, without a dog 1/).waitFor();
    const table = page.waitForEvent("download");
    await told.getByRole("button", { name: "Counts, CSV" }).click();
    assert.match((await table).suggestedFilename(), /^counts\.csv$/);
    await told.getByRole("button", { name: "Met it again: A dog behind a fence" }).click();
    await told.getByText("How much can be kept").click();
    await told.getByRole("row", { name: /^Count \d+ account$/ }).waitFor();
    assert.deepEqual(await violations(page), []);
    await told.getByRole("button", { name: /^Remove: A dog behind a fence/ }).click();
    await told.getByText("Nothing yet. Tap a street on Plan to report something.").waitFor();
    await told.getByRole("button", { name: /^Remove: / }).click();
    await told.getByText("Nothing yet. On Plan, under Streets, you can count for ten minutes.").waitFor();
    assert.deepEqual([await ask("get", "/v1/counts"), await ask("get", "/v1/reports")], [[], []]);
    // So does the account with all that is in it, for who types its name.
    const account = await ask("get", "/v1/account");
    const away = page.getByRole("button", { name: "Delete the account" });
    assert.equal(await away.isDisabled(), true);
    await page.getByLabel(/^Type local to delete the account/).fill(account.name);
    const anew = page.waitForEvent("load"); // a page that is closed while it begins anew is never closed
    await away.click();
    await anew;
    await page.getByLabel("Key for this device").waitFor();
    await until(
      () => ask("get", "/v1/account"),
      (now) => now.you.id !== account.you.id,
    );
    assert.deepEqual(await ask("get", "/v1/dogs"), []);
    assert.deepEqual(faults, []);
    await done();
  });

test("dry, wet, hot and cold are said once, go with the wish and are not kept", async () => {
  const { page, faults, done } = await planned("phone");
  await unfold(page);
  const time = () => page.getByRole("button", { name: /^(now|today|Leaving when)/i }).first();
  await time().click();
  const weather = page.getByRole("group", { name: "Weather, if it is unusual" });
  const sent = page.waitForRequest(
    (r) => r.url().endsWith("/v1/drawings") && /"rain":"light"/.test(r.postData() ?? ""),
  );
  await weather.getByRole("button", { name: "wet" }).click();
  await sent;
  assert.equal(await weather.getByRole("button", { name: "wet" }).getAttribute("aria-pressed"), "true");
  assert.equal(await weather.getByRole("button", { name: "dry" }).getAttribute("aria-pressed"), "false");
  const both = page.waitForRequest((r) => /"weather":\{"rain":"light","feel":"cold"\}/.test(r.postData() ?? ""));
  await weather.getByRole("button", { name: "cold" }).click();
  await both;
  const neither = page.waitForRequest((r) => /"weather":\{"feel":"cold"\}/.test(r.postData() ?? ""));
  await weather.getByRole("button", { name: "wet" }).click();
  await neither;
  assert.deepEqual(await violations(page), []);
  assert.equal(await page.evaluate(() => /weather/.test(localStorage.getItem("wideberth.wish") ?? "")), false);
  assert.deepEqual(faults, []);
  await done();
});

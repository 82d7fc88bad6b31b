// On the walk: what is seen and reached with one thumb, with a good position, a poor
// one and none, by day and by night, with the network and without.

import assert from "node:assert/strict";
import { test } from "node:test";
import type { Page } from "playwright-core";
import type { AnswerOf } from "../src/api.ts";
import type { StretchOut, WishBody } from "../src/types.ts";
import { door, now, onTheWalk, open, place, planned, type Size, until, violations, wholeProgram } from "./harness.ts";

wholeProgram();

const at = (latitude: number, longitude: number, accuracy?: number) => ({
  ...place,
  geolocation: { latitude, longitude, ...(accuracy === undefined ? {} : { accuracy }) },
});

for (const size of ["phone", "small"] as Size[])
  test(`every control of Go is big, apart and in reach, ${size}`, async () => {
    const { page, faults, done } = await onTheWalk(size);
    const controls = await page.evaluate(() =>
      [...document.querySelectorAll(".go button")]
        .filter((e) => e.checkVisibility())
        .map((e) => ({ t: e.textContent ?? "", r: e.getBoundingClientRect().toJSON() as DOMRect })),
    );
    const high = await page.evaluate(() => innerHeight);
    for (const { t, r } of controls) {
      assert.ok(r.height >= 64 && r.width >= 64, `${t}: ${r.width}x${r.height}`);
      if (!/End walk|Map/.test(t)) assert.ok(r.top >= 0.55 * high - 20, `${t} at ${r.top}`);
    }
    for (const a of controls)
      for (const b of controls) {
        if (a === b) continue;
        const apartX = Math.max(a.r.left, b.r.left) - Math.min(a.r.right, b.r.right);
        const apartY = Math.max(a.r.top, b.r.top) - Math.min(a.r.bottom, b.r.bottom);
        assert.ok(Math.max(apartX, apartY) >= 7.5, `${a.t} and ${b.t}`);
      }
    const smallest = await page.evaluate(() =>
      Math.min(
        ...[...document.querySelectorAll(".go p:not(.hidden), .go button, .go h1:not(.hidden), .go span, .go svg text")]
          .filter((e) => e.checkVisibility() && e.textContent?.trim())
          .map((e) => Number.parseFloat(getComputedStyle(e).fontSize)),
      ),
    );
    assert.ok(smallest >= 16, `text of ${smallest} px`);
    const words = (await page.locator(".call").first().innerText()).split(/\s+/).length;
    assert.ok(words <= 14, `${words} words in the call`); // twelve, and a number with its unit counted as two
    assert.deepEqual(faults, []);
    await done();
  });

test("way out answers at once, offline too, and makes a draft", async () => {
  const { page, context, done } = await onTheWalk("phone");
  await context.setOffline(true);
  const ms = await page.evaluate(async () => {
    const begun = performance.now();
    document.querySelector<HTMLElement>(".way")!.click();
    while (!document.querySelector(".out")) await new Promise((r) => requestAnimationFrame(r));
    return performance.now() - begun;
  });
  console.log(`    way out after ${Math.round(ms)} ms`);
  assert.ok(ms < 1000, `${ms} ms`); // 100 ms wanted on a telephone; these machines draw in software
  for (const side of ["Left", "Right", "Behind", "Ahead"]) {
    const button = page.getByRole("button", { name: side, exact: true });
    await button.click();
    assert.equal(await button.getAttribute("aria-pressed"), "true");
    assert.match(await page.locator(".shout").innerText(), /\.$/);
  }
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "Clear now, carry on" }).click();
  await page.getByRole("button", { name: "End walk" }).click();
  await page.getByRole("button", { name: "End walk" }).last().click();
  await page.getByText(/Something at \d\d:\d\d/).waitFor();
  await context.setOffline(false);
  await done();
});

/** What is called out for the first move of a way out. */
const shouts: Record<StretchOut["ahead"]["first"], string> = {
  ahead: "Straight on.",
  back: "Turn round.",
  left: "Off to the left.",
  right: "Off to the right.",
  aside_left: "Step off to the left.",
  aside_right: "Step off to the right.",
  stay: "Stay here.",
};

test("way out without a network is what the server found for that stretch and side", async () => {
  const { page, context, faults, done } = await planned("phone", place);
  const stored = page.waitForResponse((r) => r.url().endsWith("/v1/ways-out/along"));
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  const { stretches } = (await (await stored).json()) as { stretches: StretchOut[] };
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await context.setOffline(true);
  await page.getByRole("button", { name: /^Way out/ }).click();
  await page.locator(".out").waitFor();
  // The place given lies on the walk's first stretches; whichever it is, the words are those of a stored one.
  const ms = [];
  for (const [side, button] of [
    ["left", "Left"],
    ["right", "Right"],
    ["behind", "Behind"],
    ["ahead", "Ahead"],
  ] as const) {
    ms.push(
      await page.evaluate(async (b) => {
        const begun = performance.now();
        [...document.querySelectorAll<HTMLElement>(".sides button")].find((x) => x.textContent === b)?.click();
        await new Promise((r) => requestAnimationFrame(r));
        return performance.now() - begun;
      }, button),
    );
    const shout = await page.locator(".shout").innerText();
    const detail = await page.locator(".out .call").innerText();
    const fits = stretches.map((s) => s[side]).filter((o) => shouts[o.first] === shout);
    assert.ok(fits.length > 0, `${side}: ${shout}`);
    const words = (o: StretchOut["ahead"]) =>
      o.hidden ? /There it cannot see you/ : o.works ? /There Kessa still works/ : /Nothing far enough/;
    assert.ok(
      fits.some((o) => words(o).test(detail)),
      `${side}: ${detail}`,
    );
  }
  console.log(`    way out for another side after ${ms.map(Math.round).join(", ")} ms`);
  assert.deepEqual(faults, []);
  await context.setOffline(false);
  await done();
});

test("after sunset Go starts dark and nothing in it is bright but buttons", async () => {
  const { page, done } = await planned("phone", place);
  await page.clock.setFixedTime(new Date(now()).setUTCHours(23, 30)); // half an hour before midnight at the place's longitude
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.locator(".go .picture svg").waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.dataset.theme), "dark");
  const bright = await page.evaluate(() =>
    [...document.querySelectorAll(".go, .go *")]
      .filter((e) => e.checkVisibility() && !e.closest("button, svg"))
      .map((e) => ({
        name: e.className,
        colour:
          getComputedStyle(e)
            .backgroundColor.match(/[\d.]+/g)
            ?.map(Number) ?? [],
      }))
      .filter(({ colour: c }) => c.length === 3 && c[0]! + c[1]! + c[2]! > 300)
      .map((e) => e.name),
  );
  assert.deepEqual(bright, []);
  await done();
});

/** What Go shows: no text under 16 px, no target under 64 px, nothing outside the screen. */
const fitsGo = (page: Page): Promise<string[]> =>
  page.evaluate(() => {
    const all = (what: string) =>
      [...document.querySelectorAll(what)].filter((e) => e.checkVisibility() && !e.closest(".hidden, .only-wide"));
    const box = (e: Element) => e.getBoundingClientRect();
    const small = all(".go p, .go button, .go h1, .go span, .go .picture > svg text").filter(
      (e) => e.textContent?.trim() && Number.parseFloat(getComputedStyle(e).fontSize) < 16,
    );
    const tight = all(".go button").filter((e) => {
      const r = box(e);
      const out = r.left < 0 || r.right > innerWidth || r.top < -0.5 || r.bottom > innerHeight + 0.5;
      return !e.closest(".picture ul") && (r.width < 64 || r.height < 64 || out);
    });
    const cut = all(".go .top p, .go .top span").filter((e) => {
      const over = e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline";
      return box(e).bottom > innerHeight || box(e).right > innerWidth + 0.5 || over;
    });
    return [...small, ...tight, ...cut].map(
      (e) => `${e.tagName} ${e.textContent?.slice(0, 40)} ${JSON.stringify(box(e))}`,
    );
  });

const minutesToGo = async (page: Page): Promise<number> =>
  Number.parseInt(await page.getByText(/^\d+\smin to go/).innerText(), 10);

test("a walk that ends at its door begins at its beginning", async () => {
  const { page, done } = await onTheWalk("small", at(door.lat, door.lon));
  await until(
    () => minutesToGo(page),
    (n) => n > 20,
  );
  assert.equal(await page.getByText("Home. Well walked, both of you.").count(), 0);
  await done();
});

test("a phone that may go dark says so at 360 x 640, with room for the picture and every button", async () => {
  const { page, context, done } = await open("small", place);
  await context.addInitScript(() =>
    Object.defineProperty(navigator, "wakeLock", { value: { request: () => Promise.reject(new Error("not now")) } }),
  );
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByText("Your phone may go dark. Walk anyway: one touch brings it back.").waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const picture = await page.locator(".go .picture").boundingBox();
  assert.ok(picture && picture.height >= 160, `${picture?.height} px of picture`);
  const over = await page.evaluate(() => document.documentElement.scrollHeight - innerHeight);
  assert.ok(over <= 0, "nothing to scroll");
  await done();
});

test("a very poor position is told, and a tap or a button says where one is", async () => {
  const { page, context, done } = await onTheWalk("small", at(47.203, -7.0019, 80));
  const poor = page.getByText(/^Position within 80\sm: tap where you are\.$/);
  await poor.waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const before = await minutesToGo(page);
  const picture = page.locator(".go .picture > svg");
  const box = await picture.boundingBox();
  assert.ok(box);
  await picture.click({ position: { x: box.width / 2 + 40, y: box.height * 0.3 } });
  await poor.waitFor({ state: "detached" });
  assert.ok((await minutesToGo(page)) <= before);
  // The twin of the tap, for those who do not tap on pictures.
  await context.setGeolocation({ latitude: 47.2031, longitude: -7.0019, accuracy: 90 });
  await page.getByText(/^Position within 90\sm/).waitFor();
  await page.getByRole("button", { name: "Map", exact: true }).click();
  await page.getByRole("button", { name: "I am here" }).last().click();
  await page.getByText(/^Position within/).waitFor({ state: "detached" });
  const last = await minutesToGo(page);
  assert.ok(last < 6, `${last} min to go on the last leg`);
  await done();
});

test("off the walk: how far, and a new walk from here", async () => {
  const { page, context, faults, done } = await onTheWalk("small");
  await context.setGeolocation({ latitude: 47.2045, longitude: -6.9965, accuracy: 8 });
  await page.getByText(/^You are \d[\d,.]*\sk?m off the walk\.$/).waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const button = page.getByRole("button", { name: /^New walk from here, \d+\smin$/ });
  await button.waitFor();
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await button.click();
  const answer = await answered;
  assert.equal(answer.status(), 200);
  const { wish } = answer.request().postDataJSON() as { wish: WishBody };
  assert.equal(wish.shape, "way");
  assert.ok(
    Math.abs(wish.from.lat - 47.2045) < 1e-6 && Math.abs(wish.from.lon + 6.9965) < 1e-6,
    JSON.stringify(wish.from),
  );
  assert.ok(((await answer.json()) as AnswerOf<"post", "/v1/drawings">).plan.walks.length > 0);
  await page.getByText(/off the walk\.$/).waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
  await done();
});

test("the door, the walk, the pad and the kinds pass axe in the dark", async () => {
  const { page, done } = await planned("phone", { ...place, colorScheme: "dark" });
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).waitFor();
  assert.deepEqual(await violations(page), [], "door");
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  assert.deepEqual(await violations(page), [], "walk");
  await page.getByRole("button", { name: "Dog", exact: true }).click();
  await page
    .getByRole("button", { name: /took food/ })
    .first()
    .waitFor();
  assert.deepEqual(await violations(page), [], "pad");
  await page.getByRole("button", { name: "Not this" }).click();
  await page.getByRole("button", { name: "Nothing, back" }).waitFor();
  assert.deepEqual(await violations(page), [], "kinds");
  await done();
});

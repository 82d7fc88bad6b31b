// Plan as one screen: what is seen without scrolling, the streets in their steps, the hours
// as a ribbon, and the plan in the address.

import assert from "node:assert/strict";
import { test } from "node:test";
import type { Map as Drawn } from "maplibre-gl";
import type { Page } from "playwright-core";
import { metres } from "../src/geo.ts";
import type { DogFile, Position, RankedStreets, Where, WishBody } from "../src/types.ts";
import { instant } from "../src/words.ts";
import {
  ask,
  door,
  mapIdle,
  open,
  planned,
  replanned,
  type Size,
  sizes,
  startServer,
  stopServer,
  unfold,
  view,
  violations,
  wholeProgram,
  zone,
} from "./harness.ts";

wholeProgram();

interface Mark {
  geometry: { coordinates: [number, number] };
  properties: { n: string };
}

test("what answers stands on one screen of a phone, nothing sideways, the map has its share", async () => {
  for (const size of ["phone", "small", "narrow"] as Size[]) {
    const { page, done } = await planned(size);
    await page.locator(".hours .hour").nth(3).waitFor();
    const { width, height } = sizes[size];
    const seen = await page.evaluate(() => {
      const box = (s: string) => document.querySelector(s)!.getBoundingClientRect();
      const foot = box(".foot-words");
      return {
        parts: [".answer", ".calmer", ".hours", ".mapbox", '[role="radiogroup"]', ".action .main"].map((s) => ({
          s,
          top: box(s).top,
          bottom: box(s).bottom,
        })),
        foot: foot.top,
        map: box(".mapbox").height,
        over: document.documentElement.scrollWidth - innerWidth,
      };
    });
    // The narrowest asks only that nothing runs over its edge.
    for (const p of size === "narrow" ? [] : seen.parts)
      assert.ok(
        p.top >= 0 && p.bottom <= seen.foot + 1,
        `${size}: ${p.s} from ${p.top} to ${p.bottom} of ${seen.foot}`,
      );
    assert.ok(seen.map >= 0.42 * height, `${size}: the map is ${seen.map} of ${height} px high`);
    assert.ok(seen.over <= 0, `${size}: ${seen.over} px over ${width}`);
    await done();
  }
});

/** The week comes after the answer: its room is kept for it. */
async function weekMovesNothing(page: Page): Promise<void> {
  let come = (): void => undefined;
  const held = new Promise<void>((free) => {
    come = free;
  });
  await page.route("**/v1/weeks", (route) => held.then(() => route.continue()));
  await page.reload();
  await page.locator(".weekroom").waitFor({ state: "attached" });
  await page.waitForSelector("[data-looking]", { state: "detached" }); // the kept answer gives way to the new one
  const top = () => page.evaluate(() => document.querySelector(".does")!.getBoundingClientRect().top);
  const before = await top();
  come();
  await page.locator("table.week button").first().waitFor();
  const after = await top();
  assert.ok(Math.abs(after - before) <= 2, `what stands below the week went from ${before} to ${after} px`);
}

test("what answers stands on one screen of a desk, and of a wide one the places to watch for too", async () => {
  for (const size of ["desk", "wide"] as Size[]) {
    const { page, done } = await planned(size);
    await page.locator("table.week button").first().waitFor();
    const seen = await page.evaluate(() => {
      const within = (e: Element) => {
        const b = e.getBoundingClientRect();
        return b.height > 0 && b.top >= 0 && b.bottom <= innerHeight + 1;
      };
      const all = (s: string) => [...document.querySelectorAll(s)].every(within);
      return {
        number: all(".answer"),
        map: all(".mapbox"),
        week: all("table.week tr"),
        walks: all('[role="radio"]'),
        action: all(".action button"),
        watch: all(".watchwide li"),
        wide: Math.max(...[...document.querySelectorAll(".action button")].map((e) => e.clientWidth)),
        black: [...document.querySelectorAll("main button")].filter(
          (e) =>
            e.checkVisibility() &&
            getComputedStyle(e).backgroundColor === getComputedStyle(document.body).color &&
            !e.closest(".week"),
        ).length,
      };
    });
    const { watch, wide, black, ...rest } = seen;
    for (const [what, is] of Object.entries(rest)) assert.ok(is, `${size}: ${what}`);
    if (size === "wide") assert.ok(watch, "places to watch for");
    assert.ok(wide <= 500, `${size}: a button of ${wide} px`);
    assert.equal(black, 1, `${size}: one filled block`);
    if (size === "desk") await weekMovesNothing(page);
    await done();
  }
});

test("the key says the bounds that drew the map, its shares are the whole; pan and zoom change neither", async () => {
  const { page, done } = await planned("phone");
  await mapIdle(page);
  const depart = await page.evaluate(() => new URLSearchParams(location.hash.split("?")[1]).get("at")!);
  const dog = JSON.parse((await page.evaluate(() => localStorage.getItem("wideberth.dogs")))!)[0] as DogFile;
  const got = (await ask("post", "/v1/streets", { body: { from: door, depart, dog } })) as RankedStreets;
  const key = () =>
    page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>(".keybar li")].map((li) => ({
        share: Number(li.dataset.share),
        said: li.innerText.trim(),
      })),
    );
  const before = await key();
  const [c1, c2, c3] = got.rank.minutes;
  assert.ok(c1 > c2 && c2 > c3, JSON.stringify(got.rank));
  assert.ok(Math.abs(before.reduce((n, k) => n + k.share, 0) - 1) < 1e-3);
  const numbers = before.map((k) => k.said.match(/\d+/g)?.map(Number));
  assert.deepEqual(numbers, [[c1], [c2, c1], [c3, c2], [c3]]);
  await page.evaluate(() => {
    const map = (document.querySelector(".mapbox .canvas") as HTMLElement & { pageMap: Drawn }).pageMap;
    map.jumpTo({ zoom: map.getZoom() + 1.5, center: [-7.004, 47.203] });
  });
  await mapIdle(page);
  assert.deepEqual(await key(), before);
  // Names as on a map of this size at zoom 15; then so far out that most of it is not ranked.
  const jump = (zoom: number) =>
    page.evaluate(async (zoom) => {
      const map = (document.querySelector(".mapbox .canvas") as HTMLElement & { pageMap: Drawn }).pageMap;
      const idle = new Promise((done) => map.once("idle", done));
      map.jumpTo({ zoom, center: [-7.0018, 47.2022] });
      await idle;
      return [
        ...new Set(map.queryRenderedFeatures({ layers: ["street-name"] }).map((f) => f.properties.name as string)),
      ];
    }, zoom);
  const names = await jump(15);
  console.log(`    names at zoom 15: ${names.length}`);
  assert.ok(names.length >= 8, names.join());
  const far = page.getByText("Too far to rank.");
  assert.equal(await far.count(), 0);
  await jump(12);
  await far.waitFor();
  await replanned(page, () => page.getByRole("button", { name: "Start here" }).click());
  await far.waitFor({ state: "detached" });
  await done();
});

/** Where the shares of the steps are held: the invented town, and a state where its file is given. */
const state = process.env.WIDEBERTH_DELAWARE;
const town = { dense: door };
const places = state
  ? {
      "dense grid": { lat: 39.7461, lon: -75.5497 },
      suburb: { lat: 39.733, lon: -75.698 },
      village: { lat: 38.7746, lon: -75.1393 },
    }
  : town;

test(`three steps and more have a tenth each of the streets about a start, by day and in the evening${state ? "" : " (the town)"}`, async () => {
  if (state) {
    await stopServer();
    await startServer(undefined, state);
  }
  const dog = {
    name: "Kessa",
    needs: { dogs: { working_m: 38, reaction_m: 15 }, child: { working_m: 25, reaction_m: 10 } },
  };
  for (const [name, from] of Object.entries(places))
    for (const hour of ["08:10", "21:00"]) {
      const depart = instant("2026-11-25", hour, state ? "America/New_York" : zone).toISOString();
      const got = (await ask("post", "/v1/streets", { body: { from, depart, dog } })) as RankedStreets;
      // What 390 by 400 px show at zoom 15 (Web Mercator: 78,271.5 m a pixel at zoom 0 of 512 px tiles).
      const perPX = (78271.5 / 2 ** 15) * Math.cos((from.lat * Math.PI) / 180);
      const seen = [0, 0, 0, 0, 0];
      for (const f of got.features) {
        const line = f.geometry.coordinates as Position[];
        for (let i = 1; i < line.length; i++) {
          const [x, y] = metres([from.lon, from.lat], line[i]!);
          if (Math.abs(x) < 195 * perPX && Math.abs(y) < 200 * perPX)
            seen[f.properties.step ?? 0]! += Math.hypot(...metres(line[i - 1]!, line[i]!));
        }
      }
      const all = seen.slice(1).reduce((a, b) => a + b, 0);
      const shares = seen.slice(1).map((m) => Math.round((100 * m) / all));
      console.log(`    ${name} ${hour}: ${shares.join(" ")} of ${Math.round(all)} m`);
      assert.ok(shares.filter((s) => s >= 10).length >= 3, `${name} ${hour}: ${shares}`);
      const about = got.rank.share.map((s) => Math.round(100 * s));
      if (hour === "08:10")
        assert.ok(
          about.every((s) => s >= 15 && s <= 40),
          `${name}: ${about} of all within reach`,
        );
    }
});

test("streets are drawn at every zoom, ranked ones in three steps and more, wide where calm, without a pattern", async () => {
  const { page, done } = await planned("desk");
  await mapIdle(page);
  const drawn = await page.evaluate(async () => {
    const map = (document.querySelector(".mapbox .canvas") as HTMLElement & { pageMap: Drawn }).pageMap;
    const idle = () => new Promise((done) => map.once("idle", done));
    const at: { zoom: number; base: number; tones: Record<string, number> }[] = [];
    for (const zoom of [13, 14, 15, 16, 17, 18]) {
      const wait = idle();
      map.jumpTo({ zoom, center: [-7.0018, 47.2022] });
      await wait;
      const tones: Record<string, number> = {};
      for (const f of map.queryRenderedFeatures({ layers: ["tone"] }))
        tones[f.properties.k as string] = (tones[f.properties.k as string] ?? 0) + 1;
      at.push({ zoom, base: map.queryRenderedFeatures({ layers: ["street"] }).length, tones });
    }
    const style = map.getStyle();
    const css = getComputedStyle(document.documentElement);
    const k1 = css.getPropertyValue("--k1").trim();
    const base = style.layers.filter((l) => "source" in l && l.source === "ground");
    return {
      at,
      patterns: style.layers.filter((l) => l.type === "line" && "line-pattern" in (l.paint ?? {})).map((l) => l.id),
      white: base.filter((l) =>
        Object.entries(l.paint ?? {}).some(([n, v]) => /^(line|fill|background)-color$/.test(n) && v === k1),
      ).length,
      most: style.layers.find((l) => l.id === "street")?.maxzoom,
      width: JSON.stringify(map.getPaintProperty("tone", "line-width")),
    };
  });
  for (const { zoom, base } of drawn.at) assert.ok(base > 0, `no streets at zoom ${zoom}`);
  const at15 = drawn.at.find((a) => a.zoom === 15)!;
  assert.ok(Object.keys(at15.tones).length >= 3, JSON.stringify(at15));
  assert.deepEqual(drawn.patterns, []);
  assert.equal(drawn.white, 0);
  assert.equal(drawn.most, undefined);
  const factors = drawn.width
    .match(/"match",\["get","k"\],1,([\d.]+),2,([\d.]+),3,([\d.]+),([\d.]+)/)!
    .slice(1)
    .map(Number);
  assert.ok(factors[0]! >= 1.4 * factors[1]! && factors[1]! >= 1.15 * factors[2]!, factors.join());
  await done();
});

test("plates stand beside the walk and off each other, heads say the way from the door on", async () => {
  for (const size of ["phone", "desk"] as Size[]) {
    const { page, line, done } = await planned(size);
    await mapIdle(page);
    const seen = await page.evaluate(async (line) => {
      const map = (document.querySelector(".mapbox .canvas") as HTMLElement & { pageMap: Drawn }).pageMap;
      const points = async (id: string) => {
        const got = (await (map.getSource(id) as unknown as { getData: () => Promise<{ features: Mark[] }> }).getData())
          .features;
        return got.map((f) => {
          const c = f.geometry.coordinates;
          const p = map.project(c);
          return { x: p.x, y: p.y, c, n: f.properties.n };
        });
      };
      return {
        plates: await points("watch"),
        heads: await points("heads"),
        line: line.map((p) => {
          const q = map.project(p as [number, number]);
          return [q.x, q.y] as [number, number];
        }),
        box: [map.getContainer().clientWidth, map.getContainer().clientHeight] as [number, number],
      };
    }, line);
    assert.ok(seen.plates.length <= 4, `${seen.plates.length} plates`);
    const off = (x: number, y: number) =>
      Math.min(
        ...seen.line.slice(1).map(([bx, by], i) => {
          const [ax, ay] = seen.line[i]!;
          const len2 = (bx - ax) ** 2 + (by - ay) ** 2 || 1;
          const t = Math.min(1, Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / len2));
          return Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay));
        }),
      );
    seen.plates.forEach((p, i) => {
      assert.ok(off(p.x, p.y) > 12, `${size}: plate ${p.n} is ${off(p.x, p.y)} px off the line`);
      for (const q of seen.plates.slice(i + 1))
        assert.ok(Math.hypot(p.x - q.x, p.y - q.y) >= 24, `${size}: plates ${p.n} and ${q.n} meet`);
    });
    const inView = seen.heads.filter((h) => h.x > 0 && h.y > 0 && h.x < seen.box[0] && h.y < seen.box[1]);
    assert.ok(inView.length >= 3, `${size}: ${inView.length} heads`);
    const first = seen.heads[0]!.c;
    const m = Math.hypot(
      (first[0] - line[0]![0]) * 111320 * Math.cos((47.2 * Math.PI) / 180),
      (first[1] - line[0]![1]) * 111320,
    );
    assert.ok(m <= 60, `${size}: the first head is ${m} m from the door`);
    await done();
  }
});

test("an hour of the row changes number, key, streets and address together; Back returns, a reload keeps it", async () => {
  const { page, faults, done } = await planned("phone");
  await page.locator(".hours .hour").nth(3).waitFor();
  const state = () =>
    page.evaluate(() => ({
      hash: location.hash,
      number: document.querySelector(".answer")!.textContent,
      key: (document.querySelector(".key") as HTMLElement).innerText,
    }));
  const before = await state();
  // Tone and number of every hour agree.
  const hours = await page.evaluate(() =>
    [...document.querySelectorAll(".hours .hour button")].map((b) => ({
      n: b.querySelector("b")!.textContent!,
      tone: b.querySelector(".ribbon")!.className,
    })),
  );
  for (const { n, tone } of hours) {
    const v = n === "9+" ? 9.5 : n === "<1" ? 0.5 : Number(n);
    assert.ok(tone.includes(v >= 9 ? "k1" : v >= 7 ? "k2" : v >= 5 ? "k3" : "k4"), `${n}: ${tone}`);
  }
  const labels = await page
    .locator(".hours .hour button")
    .evaluateAll((all) => all.map((b) => b.getAttribute("aria-label")!));
  assert.ok(!labels.some((l) => /^\w+ 0[0-5](–|,)/.test(l)), labels.join("; "));
  // Another hour with another number.
  const other = hours.findIndex((h) => h.n !== hours[0]!.n);
  await replanned(page, () => page.locator(".hours .hour button").nth(other).click());
  await page.waitForFunction((h) => location.hash !== h, before.hash);
  const after = await state();
  assert.notEqual(after.key, before.key);
  await replanned(page, () => page.goBack());
  await page.waitForFunction((h) => location.hash === h, before.hash);
  assert.deepEqual(await state(), before);
  await replanned(page, () => page.goForward());
  assert.deepEqual(await state(), after);
  await replanned(page, () => page.reload());
  assert.deepEqual(await state(), after);
  // Which walk, and what the map shows, are in it too, without an entry of their own.
  await page.getByRole("radio").nth(1).click();
  await page.getByRole("button", { name: "Streets", exact: true }).click();
  await page.waitForFunction(() => /walk=B/.test(location.hash) && /show=streets/.test(location.hash));
  assert.deepEqual(faults, []);
  await done();
});

test("much calmer hours are told, and the week begins with today", async () => {
  const { page, done } = await planned("desk");
  await page.locator("table.week button").first().waitFor();
  const week = await page.evaluate(() =>
    [...document.querySelectorAll("table.week tbody tr")].map((tr) => ({
      day: tr.querySelector("th")!.textContent,
      cells: [...tr.querySelectorAll("td")].map((td) => td.textContent),
    })),
  );
  assert.equal(week.length, 7);
  assert.equal(week[0]!.day, "Today");
  assert.ok(week.every((d) => d.cells.some(Boolean)));
  for (let c = 0; c < week[0]!.cells.length; c++)
    assert.ok(
      week.some((d) => d.cells[c]),
      `column ${c} is empty`,
    );
  const chosen = Number(await page.locator("table.week td.chosen").innerText());
  const until = [...week[0]!.cells.slice(week[0]!.cells.findIndex((_, i) => i > 1)), ...week[1]!.cells].map(Number);
  const much = until.some((n) => n >= chosen + 2);
  const text = await page.locator(".calmer").innerText();
  assert.match(text, much ? /^Calmer: / : /about the calmest hour/);
  await done();
});

test("a street that is tapped says what it is like, now and later, and can be left out", async () => {
  const { page, faults, done } = await planned("desk");
  await mapIdle(page);
  await page.getByRole("button", { name: "Streets", exact: true }).click();
  await mapIdle(page);
  const at = await page.evaluate(() => {
    const map = (document.querySelector(".mapbox .canvas") as HTMLElement & { pageMap: Drawn }).pageMap;
    const p = map.project([-7.0018, 47.2025]);
    const b = map.getContainer().getBoundingClientRect();
    return [b.left + p.x, b.top + p.y] as const;
  });
  await page.mouse.click(at[0], at[1]);
  await page
    .getByText(/: one reaction in|one reaction in \d+ minutes? at 07:10\./)
    .first()
    .waitFor();
  const sent = page.waitForRequest((r) => /avoid_ways/.test(r.postData() ?? ""));
  await page.getByRole("button", { name: "Keep off it" }).click();
  await sent;
  assert.deepEqual(faults, []);
  await done();
});

test("nobody's dog at no door: two plain questions, three taps, and the first number", async () => {
  const { page, context, done } = await open("phone", {
    ...{ serviceWorkers: "block", first: () => localStorage.clear() }, // the lent dog too
    ...{ permissions: ["geolocation"], geolocation: { latitude: door.lat, longitude: door.lon, accuracy: 9 } },
  });
  await context.route("**/v1/map", async (r) => {
    const answer = await r.fetch();
    const { demo, ...map } = (await answer.json()) as { demo: unknown };
    void demo;
    await r.fulfill({ response: answer, json: map });
  });
  await page.goto(page.url().split("#")[0]!);
  await page.reload();
  await page.getByRole("heading", { name: "Where do you start?" }).waitFor();
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "Here", exact: true }).click();
  await page.getByText("From how far does your dog still take food?").first().waitFor();
  assert.doesNotMatch(await page.locator("body").innerText(), /of 10/);
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "8", exact: true }).click();
  await page.getByText("For a dog of 8 cars.").waitFor();
  await page.getByText(/of 10 stays? calm/).waitFor();
  await page.getByRole("button", { name: "Add yours" }).waitFor();
  await page.locator(".hours .hour").nth(3).waitFor();
  for (const size of ["phone", "small"] as const) {
    await page.setViewportSize(sizes[size]);
    const [action, foot] = await Promise.all(
      [".action .main", ".foot-words"].map((s) => page.locator(s).first().boundingBox()),
    );
    assert.ok(action && foot && action.y + action.height <= foot.y + 1, `${size}: the first action without scrolling`);
  }
  await done();
});

test("forced colours keep the four ribbons apart and frame what is chosen", async () => {
  const { page, done } = await planned("phone", { forcedColors: "active" });
  await page.locator(".hours .hour").nth(3).waitFor();
  const seen = await page.evaluate(() => {
    const bars = [...document.querySelectorAll<HTMLElement>(".keybar .ribbon")];
    const framed = (s: string) => getComputedStyle(document.querySelector(s)!).outlineStyle;
    return {
      colours: new Set(bars.map((b) => getComputedStyle(b).backgroundColor)).size,
      heights: new Set(bars.map((b) => b.style.height)).size,
      n: bars.length,
      frames: [".hours .chosen button", '[role="radio"][aria-checked="true"]', '.atop [aria-pressed="true"]'].map(
        framed,
      ),
    };
  });
  assert.equal(seen.colours, seen.n);
  assert.equal(seen.heights, seen.n);
  assert.deepEqual(seen.frames, ["solid", "solid", "solid"]);
  await done();
});

test("an answer folds the sentence, Change unfolds it, Escape folds it again; a choice stays open", async () => {
  const { page, done } = await planned("phone");
  assert.match(await page.locator("button.folded").innerText(), /^\w{3} 07:10 · 30-min/);
  await unfold(page);
  await page.locator(".sentence").waitFor();
  await page.keyboard.press("Escape");
  await page.locator("button.folded").waitFor();
  await view(page, "plan");
  await page.getByRole("radio").first().waitFor();
  await done();
});

test("an address of another map, and one that is markup, break nothing", async () => {
  const { page, faults, done } = await open("phone", { expectFaults: /status of 422/ });
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  const base = page.url().split("#")[0];
  for (const [query, said] of [
    ["from=48.9,2.3&fromname=Far", /outside the map loaded here/],
    [
      `from=${door.lat},${door.lon}&fromname=%3Cimg%20src%3Dx%20onerror%3D%22document.title%3D1%22%3E&minutes=9999&shape=spiral&limits=%5B1%5D&walk=Z&at=never`,
      /of 10 stays? calm/,
    ],
  ] as const) {
    await page.goto(`${base}#/plan?${query}`);
    await page.reload();
    await page.getByText(said).first().waitFor();
    assert.equal(await page.locator("img").count(), 0);
  }
  assert.deepEqual(faults, []);
  await done();
});

test("the last plans are kept: opened without a network, seen at once after a reload, forgotten on wish", async () => {
  const { page, done } = await planned("phone", { expectFaults: /ERR_INTERNET_DISCONNECTED|Failed to fetch/ });
  const said = () => page.locator(".number .answer").innerText();
  const first = await said();
  await unfold(page);
  await page.getByRole("button", { name: "30-minute" }).click();
  await replanned(page, () => page.getByRole("button", { name: "45", exact: true }).click());
  await page.evaluate(() => navigator.serviceWorker.ready);
  const last = page.locator(".recent a");
  assert.match(await last.first().innerText(), /07:10 · 30-min walk · Kessa · Weaver Row 12/);
  await page.context().setOffline(true);
  await last.first().click();
  await page.getByText(/^No connection. This is the answer for 07:10/).waitFor();
  assert.equal(await said(), first);
  await page.reload();
  await page.getByText(/^No connection. This is the answer for 07:10/).waitFor();
  assert.equal(await said(), first);
  await page.context().setOffline(false);
  await view(page, "more");
  await Promise.all([
    page.waitForEvent("load"), // it begins anew
    page.getByRole("button", { name: "Forget everything on this device" }).click(),
  ]);
  await view(page, "plan");
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  assert.equal(await page.locator(".recent a").count(), 0);
  await done();
});

test("calm places by themselves, to sit and to practise from, each with a walk to it", async () => {
  const { page, faults, done } = await planned("phone");
  await page.getByRole("button", { name: "Streets", exact: true }).click();
  const places = page.locator(".quiet li");
  await places.first().waitFor();
  const calm = await places.allInnerTexts();
  const minutes = calm.map((t) => Number(t.match(/one reaction in (?:over )?(\d+) minutes/)?.[1]));
  assert.ok(
    minutes.length > 1 && minutes.every((m, i) => m > 0 && m <= (minutes[i - 1] ?? m)),
    `calmest first: ${calm}`,
  );
  await page.getByRole("button", { name: "To practise" }).click();
  await page.getByText(/Places in sight of dogs at about 1\.5 times/).waitFor();
  for (const t of await places.allInnerTexts()) {
    const off = Number(t.match(/(\d+)\sm from /)?.[1]);
    assert.ok(Math.abs(off / (1.5 * 38) - 1) < 0.25, t);
  }
  assert.deepEqual(await violations(page), []);
  const asked = page.waitForRequest((r) => r.url().endsWith("/v1/drawings"));
  await places
    .first()
    .getByRole("button", { name: /^Walk to/ })
    .click();
  const { wish } = (await asked).postDataJSON() as { wish: WishBody };
  assert.equal(wish.shape, "way");
  assert.ok(wish.to);
  assert.deepEqual(faults, []);
  await done();
});

test("where to go: the door, a better hour, places by car, ranked with what they spare; one is planned", async () => {
  const { page, faults, done } = await planned("phone", { locale: "en-US" });
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/where"));
  await page.getByRole("button", { name: "Where shall we go?" }).click();
  const told = (await (await answered).json()) as Where;
  const options = page.locator(".options > li");
  await options.first().waitFor();
  assert.equal(await options.count(), told.options.length);
  assert.ok(told.options.length > 1, JSON.stringify(told.notes));
  const said = await options.allInnerTexts();
  assert.match(said[0]!, /^calmest of these/i);
  for (const [i, o] of told.options.entries()) {
    const spared = Math.round(100 * o.saves.share);
    if (spared > 0) assert.ok(said[i]!.includes(`spares ${spared} in 100`), said[i]);
    if (o.kind === "by_car")
      assert.ok(said[i]!.includes(o.name) && said[i]!.includes(`${o.drive_minutes} min by car`), said[i]);
  }
  const text = await page.locator("body").innerText();
  assert.doesNotMatch(text, /\d\s(m|km)\b|\b(lead|car park|pavement)\b/, "for Americans, what the server says too");
  assert.match(text, /leash/);
  assert.equal(await page.evaluate(() => document.documentElement.lang), "en-US");
  assert.deepEqual(await violations(page), []);
  const foot = page.waitForResponse((r) => r.url().endsWith("/v1/where"));
  await page.getByRole("button", { name: "No car" }).click();
  const doors = (await (await foot).json()) as Where;
  assert.ok(doors.options.length > 0 && doors.options.every((o) => o.kind !== "by_car"));
  await page.getByRole("button", { name: "15 min", exact: true }).click();
  await options.nth(told.options.length - 1).waitFor();
  const best = told.options[0]!;
  await options.first().getByRole("button", { name: "Plan this walk" }).click();
  await page.getByRole("radio").first().waitFor({ state: "attached" });
  await page.waitForFunction(
    (at) => new URLSearchParams(location.hash.split("?")[1]).get("at") === at,
    new Date(best.begin).toISOString(),
  );
  const q = await page.evaluate(() => location.hash);
  assert.equal(/away=1/.test(q), best.kind === "by_car");
  assert.deepEqual(faults, []);
  await done();
});

// What the design of the page promises, where a machine can tell: the certificate
// that comes later, ways out from the device, kinds, kept plans, words of every
// trouble, and faults that must lose and execute nothing.
import { test } from "node:test";
import assert from "node:assert/strict";
import { mapIdle, noGraphics, now, open, origin, planned, view, violations, wholeProgram } from "./harness.mjs";

wholeProgram();

const place = { geolocation: { latitude: 47.203, longitude: -7.0019 }, permissions: ["geolocation"] };
const json = { "Content-Type": "application/json" };
const post = async (path, body) => (await fetch(origin + path, { method: "POST", headers: json, body: JSON.stringify(body) })).json();
const until = async (what, good) => {
  for (let i = 0; i < 120; i++) {
    const got = await what();
    if (good(got)) return got;
    await new Promise((r) => setTimeout(r, 250));
  }
  throw new Error("waited in vain: " + JSON.stringify(await what()));
};
const problem = (status, more) => ({ status, contentType: "application/problem+json", headers: more?.headers ?? {}, body: JSON.stringify({ type: "x", title: "x", status, detail: "x", ...more?.body }) });

test("the certificate comes after the walks and only changes its line", async () => {
  const { page, context, faults, done } = await open("desk");
  let letGo;
  const held = new Promise((r) => (letGo = r));
  await context.route("**/v1/proofs", async (r) => { await held; await r.continue(); });
  await page.getByRole("button", { name: "Show me a walk" }).click();
  const line = page.getByText("Still checking for a calmer one.");
  await line.waitFor();
  assert.equal(await line.getAttribute("role"), "status");
  const before = await page.evaluate(() => [...document.querySelectorAll("main h2")].map((h) => h.getBoundingClientRect().top + scrollY));
  letGo();
  await page.getByText(/^(Proved: no loop from this door is calmer|Nearly the best: another could be calmer by at most \d+ in 100 reactions)\.$/).waitFor();
  const after = await page.evaluate(() => [...document.querySelectorAll("main h2")].map((h) => h.getBoundingClientRect().top + scrollY));
  assert.equal(before.length, after.length);
  before.forEach((y, i) => assert.ok(Math.abs(y - after[i]) <= 48, `head ${i} jumped from ${y} to ${after[i]}`)); // a line more or less of one column
  assert.deepEqual(faults, []);
  await done();
});

test("every plan says what calm means, its interval, its evidence, its assumptions, its proof and the day of the map", async () => {
  const { page, done } = await planned("phone");
  const text = await page.locator("main").innerText();
  for (const said of [/Calm means no barking, lunging or freezing/, /Could be (\d+ to \d+|a little more or less)/, /Nobody has walked here yet: all from the map/, /Assumed: /, /(Proved|Nearly the best|Still checking|Not checked)/, /Map of /, /A prediction from a map, not a promise/])
    assert.match(text, said);
  const assumed = await page.evaluate(() => [...document.querySelectorAll("main li")].filter((l) => l.checkVisibility() && /^Assumed: /.test(l.textContent)).length);
  assert.ok(assumed <= 3, `${assumed} assumptions in view`);
  for (const leg of await page.locator("ol.legs > li").allInnerTexts())
    assert.match(leg, /^\d+\. .+, (out|straight on|left|right|half left|half right|sharp left|sharp right|turn round), \d[\d,.]* k?m, from minute \d+ to \d+\. (Calm|Some|Tight|Hard) \(\d of 4\)\. .*(room|needs).*(Way out|No way out)/);
  await done();
});

test("way out without a network is what the server found for that stretch and side", async () => {
  const { page, context, faults, done } = await planned("phone", place);
  const stored = page.waitForResponse((r) => r.url().endsWith("/v1/ways-out/along"));
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  const { stretches } = await (await stored).json();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await context.setOffline(true);
  await page.getByRole("button", { name: /^Way out/ }).click();
  await page.locator(".out").waitFor();
  // The place given lies on the walk's first stretches; whichever it is, the words are those of a stored one.
  const shouts = { ahead: "Straight on.", back: "Turn round.", left: "Off to the left.", right: "Off to the right.", aside_left: "Step off to the left.", aside_right: "Step off to the right.", stay: "Stay here." };
  const ms = [];
  for (const [side, button] of [["left", "Left"], ["right", "Right"], ["behind", "Behind"], ["ahead", "Ahead"]]) {
    ms.push(await page.evaluate(async (b) => {
      const begun = performance.now();
      [...document.querySelectorAll(".sides button")].find((x) => x.textContent === b).click();
      await new Promise((r) => requestAnimationFrame(r));
      return performance.now() - begun;
    }, button));
    const words = { shout: await page.locator(".shout").innerText(), detail: await page.locator(".out .call").innerText() };
    const fits = stretches.filter((s) => shouts[s[side].first] === words.shout);
    assert.ok(fits.length > 0, `${side}: ${words.shout}`);
    assert.ok(fits.some((s) => (s[side].hidden ? /There it cannot see you/ : s[side].works ? /There Kessa still works/ : /Nothing far enough/).test(words.detail)), `${side}: ${words.detail}`);
  }
  console.log(`    way out for another side after ${ms.map(Math.round).join(", ")} ms`);
  assert.deepEqual(faults, []);
  await context.setOffline(false);
  await done();
});

test("other opens the whole table of kinds, six a screen, and the kind is what arrives", async () => {
  const { page, faults, done } = await planned("small", place);
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: "Other", exact: true }).click();
  const seen = new Set();
  for (let screen = 0; screen < 3; screen++) {
    await page.getByRole("button", { name: "More kinds" }).waitFor();
    const boxes = await page.evaluate(() => [...document.querySelectorAll(".go button")].map((b) => ({ t: b.textContent, r: b.getBoundingClientRect().toJSON() })));
    for (const { t, r } of boxes) assert.ok(r.height >= 64 && r.bottom <= 640 && r.top >= 0, `${t}: ${JSON.stringify(r)}`);
    boxes.filter((b) => !/Nothing|More kinds|Way out/.test(b.t)).forEach((b) => seen.add(b.t));
    await page.waitForTimeout(450); // two taps within 400 ms count once
    await page.getByRole("button", { name: "More kinds" }).click();
  }
  assert.equal(seen.size, 17, [...seen].join(", "));
  await page.waitForTimeout(450);
  await page.getByRole("button", { name: "Child", exact: true }).click();
  await page.getByText("Child. How near did it come, and what did Kessa do?").waitFor();
  await page.waitForTimeout(450);
  await page.getByRole("button", { name: "10 to 25 m: turned back" }).click(); // the child's own distances
  await page.getByText("Saved: child, 10 to 25 m, turned back.").waitFor();
  const dog = await until(async () => (await (await fetch(origin + "/v1/dogs")).json()).find((d) => d.profile.name === "Kessa"), Boolean); // sent by the outbox
  await until(async () => (await fetch(`${origin}/v1/dogs/${dog.id}/encounters`)).json(), (list) => list.some((e) => e.kind === "child" && e.distance_m === 10 && e.to_m === 25 && e.turned_back));
  // After the walk: what was said, and the plan is kept with what it predicted.
  await page.waitForTimeout(450);
  await page.getByRole("button", { name: "End walk" }).click();
  await page.getByRole("button", { name: "End walk" }).last().click();
  await page.getByText(/We had said: (\d|more than 9|fewer than 1) of 10 stay calm\./).waitFor();
  await page.getByRole("button", { name: "All told" }).click();
  const id = (await (await fetch(origin + "/v1/dogs")).json()).find((d) => d.profile.name === "Kessa").id;
  const [walk] = await until(async () => (await fetch(`${origin}/v1/dogs/${id}/walks`)).json(), (list) => list.length > 0);
  assert.ok(walk.plan, "the walk knows its plan");
  assert.ok(walk.expected.length > 0 && walk.expected.every((x) => x.inside > 0), JSON.stringify(walk.expected));
  assert.deepEqual(faults, []);
  await done();
});

test("in grey the line alone tells the four levels", async () => {
  const { page, done } = await open("phone");
  // The samples of the key without their fills: ink on paper as in a street of 4 m.
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.locator("ul.key:visible li svg").first().waitFor();
  const forms = await page.evaluate(async () => {
    const out = [];
    for (const svg of [...document.querySelectorAll("ul.key")].find((k) => k.checkVisibility()).querySelectorAll("li svg")) {
      if (out.length === 4) break;
      const copy = svg.cloneNode(true);
      for (const f of copy.querySelectorAll("rect")) f.remove();
      const real = [...svg.querySelectorAll("path")];
      [...copy.querySelectorAll("path")].forEach((p, i) => {
        const css = getComputedStyle(real[i]);
        const grey = (c) => { const n = c.match(/[\d.]+/g); return n ? `rgb(${Array(3).fill(Math.round(0.2126 * n[0] + 0.7152 * n[1] + 0.0722 * n[2])).join()})` : "none"; };
        p.removeAttribute("class");
        p.removeAttribute("style");
        p.setAttribute("fill", css.fill.includes("url") ? "none" : css.fill === "none" ? "none" : grey(css.fill));
        p.setAttribute("stroke", css.stroke === "none" ? "none" : grey(css.stroke));
        p.setAttribute("stroke-width", css.strokeWidth);
      });
      const w = svg.clientWidth || 60, h = svg.clientHeight || 40;
      copy.setAttribute("width", w);
      copy.setAttribute("height", h);
      copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
      const img = new Image();
      await new Promise((r, no) => { img.onload = r; img.onerror = no; img.src = "data:image/svg+xml," + encodeURIComponent(new XMLSerializer().serializeToString(copy)); });
      const c = document.createElement("canvas");
      c.width = w; c.height = h;
      const g = c.getContext("2d", { willReadFrequently: true });
      g.fillStyle = "#fff";
      g.fillRect(0, 0, w, h);
      g.drawImage(img, 0, 0, w, h);
      const px = g.getImageData(0, 0, w, h).data;
      let rows = 0, ink = 0;
      for (let y = 0; y < h; y++) {
        let dark = 0;
        for (let x = 4; x < w - 4; x++) dark += (255 - px[4 * (y * w + x)]) / 255;
        ink += dark;
        if (dark > 0.05 * (w - 8)) rows++;
      }
      out.push({ thick: ink / (w - 8), rows });
    }
    return out;
  });
  const [calm, some, tight, hard] = forms;
  assert.ok(some.thick > 1.4 * calm.thick, JSON.stringify(forms)); // still, thin against thick
  assert.ok(tight.rows > some.rows + 2 && hard.rows > tight.rows + 2, JSON.stringify(forms)); // still against shaking, shaking against shaking hard
  await done();
});

test("left on the sheet is left of who walks: against the places of the map", async () => {
  const sides = { left: 0, right: 0 };
  for (const [minutes, hour] of [[30, "17:20"], [30, "08:15"], [45, "08:15"], [60, "15:20"], [60, "08:15"], [45, "15:20"], [60, "17:20"], [20, "12:00"], [45, "12:00"]]) {
    const wish = { from: { lat: 47.2022085, lon: -7.0018089 }, minutes, depart: `2026-11-25T${hour}:00Z`, dog: { name: "Kessa", needs: { dogs: { working_m: 60, reaction_m: 20 }, child: { working_m: 40, reaction_m: 15 } } }, walks: 3 };
    const { plan, drawings } = await post("/v1/drawings", wish);
    const k = Math.cos((47.2 * Math.PI) / 180) * 111320;
    const flat = ([lon, lat]) => [lon * k, lat * 111320];
    const { sources } = await post("/v1/sources", { bbox: [-7.015, 47.192, -6.985, 47.21], depart: wish.depart, dog: wish.dog });
    plan.walks.forEach((w, i) => {
      const line = w.legs.flatMap((l) => l.geometry.coordinates).map(flat);
      for (const b of drawings[i].beside) {
        // Side by the sign of the cross product where the walk passes the source: no code of the drawing in it.
        const found = new Set();
        for (const s of sources.filter((x) => (x.name || x.what) === b.name)) {
          const p = flat(s.at);
          let gone = 0;
          for (let j = 1; j < line.length; j++) {
            const [ax, ay] = line[j - 1], [bx, by] = line[j];
            const len = Math.hypot(bx - ax, by - ay);
            const t = ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / len ** 2;
            const cross = ((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / len;
            if (gone + len >= b.from_m - 5 && gone <= b.to_m + 5 && t >= 0 && t <= 1 && Math.abs(cross) > b.near_m - 3 && Math.abs(cross) < b.far_m + 3) found.add(cross < 0 ? "right" : "left");
            gone += len;
          }
        }
        if (found.size !== 1) continue; // two stops that face each other, or a source beyond a corner
        const [best] = found;
        assert.equal(b.right ? "right" : "left", best, `${b.name} from ${b.from_m} to ${b.to_m} m of walk ${i}`);
        sides[best]++;
      }
    });
  }
  console.log(`    sources compared: ${JSON.stringify(sides)}`);
  assert.ok(sides.left > 3 && sides.right > 3, JSON.stringify(sides));
});

test("hand-outs of 15 to 60 minutes fit one page on either paper, in metres and in feet", async () => {
  const { page, faults, done } = await open("desk");
  for (const minutes of [15, 30, 45, 60]) for (const [paper, units, format] of [["a4", "metric", "A4"], ["letter", "us", "Letter"]]) {
    const name = "Bartholomew of the Long Meadow by the Old Mill Race";
    const body = { wish: { from: { lat: 47.2022085, lon: -7.0018089 }, minutes, depart: "2026-11-26T07:10:00Z", dog: { name, needs: { dogs: { working_m: 38, reaction_m: 15 } } } }, paper, units, from: "The Longest Name of a Lane That Anybody Thought of" };
    const [html, { walks }] = await Promise.all([fetch(origin + "/v1/handouts", { method: "POST", headers: json, body: JSON.stringify(body) }).then((r) => r.text()), post("/v1/plans", body.wish)]);
    await page.route("**/sheet", (r) => r.fulfill({ contentType: "text/html; charset=utf-8", body: html }));
    await page.goto(origin + "/sheet");
    const pdf = await page.pdf({ format, printBackground: true, tagged: true, preferCSSPageSize: true });
    assert.equal((pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length, 1, `${minutes} min on ${format}`);
    const text = await page.locator("body").innerText();
    let at = 0;
    for (const leg of walks[0].legs.filter((l, i, all) => l.length_m > 120 && l.name && l.name !== all[i - 1]?.name)) {
      const next = text.toLowerCase().indexOf(leg.name.toLowerCase(), at);
      assert.ok(next >= 0, `${minutes} min on ${format}: ${leg.name} is not in walking order`);
      at = next;
    }
    assert.match(text, units === "us" ? /\d\sft/ : /\d\sm/);
    await page.unroute("**/sheet");
  }
  assert.deepEqual(faults, []);
  await done();
});

for (const size of ["phone", "small"])
  test(`the sheet lies straight and whole on a ${size}`, async () => {
    const { page, done } = await planned(size, { isMobile: true, hasTouch: true });
    await view(page, "handout");
    await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
    await page.waitForFunction(() => [...document.querySelector(".sheetholder").shadowRoot.querySelectorAll("link")].every((l) => l.sheet));
    const r = await page.evaluate(() => {
      const holder = document.querySelector(".sheetholder");
      const rect = (e) => e.getBoundingClientRect().toJSON();
      return { box: rect(holder), sheet: rect(holder.shadowRoot.querySelector(".sheet")), wide: innerWidth, over: document.documentElement.scrollWidth };
    });
    assert.ok(r.over <= r.wide, JSON.stringify(r));
    assert.ok(r.box.left >= -0.5 && r.box.right <= r.wide + 0.5, JSON.stringify(r));
    assert.ok(Math.abs(r.sheet.left - r.box.left - (r.box.right - r.sheet.right)) < 4, "even margins: " + JSON.stringify(r));
    assert.ok(r.sheet.width > 0.8 * r.wide, JSON.stringify(r));
    // What stands on it is painted: the head of the sheet has ink, and nothing lies over the words at the foot of the page.
    const inked = async (clip) => page.evaluate(async (b64) => {
      const img = new Image();
      img.src = "data:image/png;base64," + b64;
      await img.decode();
      const c = document.createElement("canvas");
      [c.width, c.height] = [img.width, img.height];
      const g = c.getContext("2d", { willReadFrequently: true });
      g.drawImage(img, 0, 0);
      const px = g.getImageData(0, 0, c.width, c.height).data;
      let dark = 0;
      for (let i = 0; i < px.length; i += 4) if (px[i] < 128) dark++;
      return dark;
    }, (await page.screenshot({ clip })).toString("base64"));
    const head = await page.evaluate(() => { const h = document.querySelector(".sheetholder").shadowRoot.querySelector("h1"); h.scrollIntoView({ block: "center" }); return h.getBoundingClientRect().toJSON(); });
    assert.ok((await inked({ x: head.x, y: head.y, width: head.width, height: Math.max(8, head.height) })) > 100, "the sheet's title is painted");
    await page.emulateMedia({ media: "print" });
    const lines = await page.evaluate(() => [...document.querySelectorAll(".head, .foot-words, .screen, .sticky")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height > 0).map((e) => e.className));
    assert.deepEqual(lines, [], "only the sheet is printed");
    await page.emulateMedia({ media: null });
    await done();
  });

test("every trouble in words that say what is kept and what to do", async () => {
  const { page, context, done } = await open("phone");
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByRole("radio").nth(1).waitFor();
  const answer = async (status, more, words, after) => {
    await page.route("**/v1/drawings", (r) => r.fulfill(problem(status, more)));
    await page.locator(".sentence button").first().click();
    await page.getByRole("button", { name: "45", exact: true }).click();
    await page.getByText(words).first().waitFor();
    await after?.();
    await page.unroute("**/v1/drawings");
  };
  const refusal = (reason, more) => ({ body: { reason, ...more } });
  await answer(503, { headers: { "Retry-After": "60" } }, /Many are planning now\. Trying again in 60 seconds\./);
  await answer(504, {}, /The search took too long\. Your wish is kept\./);
  await answer(422, refusal("off_the_map", { short: 4000 }), /That is 4\.0\skm outside the map loaded here\./);
  await answer(422, refusal("no_street_near", { short: 420 }), /The nearest path is 420\sm away\. Move the start nearer to one\./);
  await answer(422, refusal("no_loop"), /No 45-minute loop starts here\. Try there and back/, () => page.getByRole("button", { name: "There and back" }).waitFor());
  await answer(422, refusal("not_connected"), /No way that may be walked goes there\./);
  await answer(422, refusal("map_too_small", { short: 300 }), /The map knows only 300\sm of path here\. Start elsewhere\./);
  await answer(422, refusal("limits_forbid", { limit: "15 m from the school", offers: [{ what: "start_at", name: "Lime Lane", calm_chance: 0.7 }, { what: "shape", shape: "there_and_back", calm_chance: 0.6 }, { what: "without_limit", name: "school", calm_chance: 0.5 }] }), /keeps this limit: 15 m from the school/, async () => {
    for (const b of ["Start at Lime Lane: 7 of 10", "There and back: 6 of 10", "Without this limit (school): 5 of 10"]) await page.getByRole("button", { name: b }).waitFor();
    assert.deepEqual(await violations(page), []);
  });
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
  await page.locator(".sentence button").first().click();
  await page.getByRole("button", { name: "20", exact: true }).click();
  await page.getByText("No connection. The saved walk works; a new one needs the connection.").waitFor();
  assert.deepEqual(await violations(page), []);
  await context.setOffline(false);
  await page.getByRole("button", { name: "Try again" }).click();
  await page.getByRole("radio").nth(1).waitFor();
  // A poor hour is told soberly and with its number, laps as laps.
  const real = await post("/v1/drawings", { from: { lat: 47.2022085, lon: -7.0018089 }, minutes: 30, dog: { name: "Kessa", needs: { dogs: { working_m: 38, reaction_m: 15 } } } });
  for (const w of real.plan.walks) Object.assign(w, { calm_chance: 0.2, calm_low: 0.1, calm_high: 0.3, laps: 2 });
  await page.route("**/v1/drawings", (r) => r.fulfill({ contentType: "application/json", body: JSON.stringify(real) }));
  await page.locator(".sentence button").first().click();
  await page.getByRole("button", { name: "30", exact: true }).click();
  await page.getByText("Not a good hour. The best walk now stays calm 2 of 10 times. A garden or a drive may be kinder today.").first().waitFor();
  await page.getByText("Best here: 2 times round the quiet block. It is laps.").first().waitFor();
  await done();
});

test("a name of 5,000 letters and markup written right to left: told whole in words, executed nowhere", async () => {
  const { page, faults, done } = await open("phone", { expectFaults: /status of (413|422|400)/ });
  await page.getByRole("button", { name: "Use my own dog" }).click();
  await page.getByRole("button", { name: "Another dog" }).click();
  const field = page.getByLabel("What is the dog called?");
  await field.fill("\u202e<b onmouseover=document.title=1>\u05d3\u05d1 " + "x".repeat(5000));
  const kept = (await field.inputValue()).length;
  await page.getByRole("button", { name: "Next", exact: true }).click();
  await page.getByRole("button", { name: "Next", exact: true }).click();
  assert.ok(kept <= 200, `${kept} letters are taken`);
  assert.equal(await page.evaluate(() => document.querySelectorAll("main b[onmouseover], h1 b[onmouseover]").length), 0);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(over <= 0, `${over} px over the edge`);
  // The same past the page, as an old copy of it would have kept it.
  const name = "<script>document.title='no'</script>\u05d0" + "y".repeat(5000);
  await page.evaluate((name) => {
    localStorage.setItem("wideberth.dogs", JSON.stringify([{ name, needs: { dogs: { working_m: 38, reaction_m: 15 } } }]));
    localStorage.removeItem("wideberth.dogname");
  }, name);
  await page.goto(origin + "/#/plan");
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.locator("main").getByText(/This was refused: .+|walks like this stay calm/).first().waitFor();
  assert.notEqual(await page.title(), "no");
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
  assert.deepEqual(faults, []);
  await done();
});

test("the page scrolls with one finger over the map until the map is opened", async () => {
  const { page, done } = await planned("phone", { isMobile: true, hasTouch: true });
  await mapIdle(page);
  const action = () => page.evaluate(() => getComputedStyle(document.querySelector(".maplibregl-canvas-container")).touchAction);
  assert.match(await action(), /pan-y/);
  await page.getByRole("button", { name: "Open map" }).click();
  await until(action, (a) => !/pan-y/.test(a));
  await done();
});

test("after sunset Go starts dark and nothing in it is bright but buttons", async () => {
  const { page, done } = await planned("phone", place);
  await page.clock.setFixedTime(new Date(now()).setUTCHours(23, 30)); // half an hour before midnight at the place's longitude
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.locator(".go .picture svg").waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.dataset.theme), "dark");
  const bright = await page.evaluate(() => [...document.querySelectorAll(".go, .go *")].filter((e) => e.checkVisibility() && !e.closest("button, svg")).map((e) => [e.className, getComputedStyle(e).backgroundColor.match(/[\d.]+/g).map(Number)]).filter(([, c]) => c.length < 4 && c[0] + c[1] + c[2] > 300).map(([n]) => n));
  assert.deepEqual(bright, []);
  await done();
});

test("forced colours, a phone lying on its side, and no WebGL: axe is content", async () => {
  const { page, done } = await planned("phone", { forcedColors: "active", ...place });
  assert.deepEqual(await violations(page), []);
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await page.setViewportSize({ width: 844, height: 390 });
  const [picture, way] = await page.evaluate(() => [".go .picture", ".go .way"].map((s) => document.querySelector(s).getBoundingClientRect().toJSON()));
  assert.ok(picture.right <= way.left + 1 && way.bottom <= 391, JSON.stringify({ picture, way }));
  await done();
  const plain = await noGraphics();
  const still = await planned("phone", { from: plain });
  await still.page.locator(".mapbox .picture svg").waitFor();
  assert.deepEqual(await violations(still.page), []);
  await still.done();
  await plain.close();
});

test("focus is never hidden under what sticks to the foot", async () => {
  const { page, done } = await planned("phone");
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press("Tab");
    const hidden = await page.evaluate(() => {
      const e = document.activeElement;
      if (!e || e === document.body || e.closest(".foot-words, .sticky, .skip")) return "";
      const r = e.getBoundingClientRect();
      let shown = Math.min(r.bottom, innerHeight) - Math.max(r.top, 0);
      for (const bar of document.querySelectorAll(".sticky, .foot-words")) {
        const b = bar.getBoundingClientRect();
        shown -= Math.max(0, Math.min(r.bottom, b.bottom) - Math.max(r.top, b.top));
      }
      return shown < Math.min(20, r.height) ? `${e.tagName} ${e.textContent.slice(0, 30)} ${JSON.stringify(r.toJSON())}` : "";
    });
    assert.equal(hidden, "", `tab ${i + 1}`);
  }
  await done();
});

const onTheWalk = async (size, options = {}) => {
  const p = await planned(size, { ...place, ...options });
  await p.page.getByRole("button", { name: "Get ready with A" }).first().click();
  await p.page.getByRole("button", { name: "Start walk" }).click();
  await p.page.getByRole("button", { name: /^Way out/ }).waitFor();
  return p;
};

/** What Go shows: no text under 16 px, no target under 64 px, nothing outside the screen. */
const fitsGo = (page) => page.evaluate(() => {
  const seen = (e) => e.checkVisibility() && !e.closest(".hidden, .only-wide");
  const small = [...document.querySelectorAll(".go p, .go button, .go h1, .go span, .go .picture > svg text")].filter((e) => seen(e) && e.textContent.trim() && parseFloat(getComputedStyle(e).fontSize) < 16);
  const tight = [...document.querySelectorAll(".go button")].filter(seen).filter((e) => { const r = e.getBoundingClientRect(); return !e.closest(".picture ul") && (r.width < 64 || r.height < 64 || r.left < 0 || r.right > innerWidth || r.top < -0.5 || r.bottom > innerHeight + 0.5); });
  const cut = [...document.querySelectorAll(".go .top p, .go .top span")].filter(seen).filter((e) => { const r = e.getBoundingClientRect(); return r.bottom > innerHeight || r.right > innerWidth + 0.5 || e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline"; });
  return [...small, ...tight, ...cut].map((e) => `${e.tagName} ${e.textContent.slice(0, 40)} ${JSON.stringify(e.getBoundingClientRect().toJSON())}`);
});

test("a walk that ends at its door begins at its beginning", async () => {
  const { page, done } = await onTheWalk("small", { ...place, geolocation: { latitude: 47.2022085, longitude: -7.0018089 } });
  const toGo = page.getByText(/^\d+ min to go/);
  await until(async () => parseInt(await toGo.innerText()), (n) => n > 20);
  assert.equal(await page.getByText("Home. Well walked, both of you.").count(), 0);
  await done();
});

test("a phone that may go dark says so at 360 x 640, with room for the picture and every button", async () => {
  const { page, context, done } = await open("small", place);
  await context.addInitScript(() => Object.defineProperty(navigator, "wakeLock", { value: { request: () => Promise.reject(new Error("not now")) } }));
  await page.reload();
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  await page.getByRole("button", { name: "Get ready with A" }).first().click();
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByText("Your phone may go dark. Walk anyway: one touch brings it back.").waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const { height } = await page.locator(".go .picture").boundingBox();
  assert.ok(height >= 160, `${height} px of picture`);
  assert.ok((await page.evaluate(() => document.documentElement.scrollHeight - innerHeight)) <= 0, "nothing to scroll");
  await done();
});

test("a very poor position is told, and a tap or a button says where one is", async () => {
  const { page, context, done } = await onTheWalk("small", { ...place, geolocation: { latitude: 47.203, longitude: -7.0019, accuracy: 80 } });
  const poor = page.getByText(/^Position within 80\sm: tap where you are\.$/);
  await poor.waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const toGo = async () => parseInt(await page.getByText(/^\d+ min to go/).innerText());
  const before = await toGo();
  const { width, height } = await page.locator(".go .picture > svg").boundingBox();
  await page.locator(".go .picture > svg").click({ position: { x: width / 2 + 40, y: height * 0.3 } });
  await poor.waitFor({ state: "detached" });
  assert.ok((await toGo()) <= before);
  // The twin of the tap, for those who do not tap on pictures.
  await context.setGeolocation({ latitude: 47.2031, longitude: -7.0019, accuracy: 90 });
  await page.getByText(/^Position within 90\sm/).waitFor();
  await page.getByRole("button", { name: "Map", exact: true }).click();
  await page.getByRole("button", { name: "I am here" }).last().click();
  await page.getByText(/^Position within/).waitFor({ state: "detached" });
  assert.ok((await toGo()) < 6, `${await toGo()} min to go on the last leg`);
  await done();
});

test("off the walk: how far, and a new walk from here", async () => {
  const { page, context, faults, done } = await onTheWalk("small", place);
  await context.setGeolocation({ latitude: 47.2045, longitude: -6.9965, accuracy: 8 });
  await page.getByText(/^You are \d[\d,.]* k?m off the walk\.$/).waitFor();
  assert.deepEqual(await fitsGo(page), []);
  const button = page.getByRole("button", { name: /^New walk from here, \d+ min$/ });
  await button.waitFor();
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await button.click();
  const answer = await answered;
  assert.equal(answer.status(), 200);
  const wish = JSON.parse(answer.request().postData());
  assert.equal(wish.shape, "way");
  assert.ok(Math.abs(wish.from.lat - 47.2045) < 1e-6 && Math.abs(wish.from.lon + 6.9965) < 1e-6, JSON.stringify(wish.from));
  await page.getByText(/off the walk\.$/).waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
  await done();
});

test("a door too near to what the dog cannot bear is told with the first leg", async () => {
  const { page, context, faults, done } = await open("phone");
  // What stands round the door, from the server's own answer, at an hour when somebody is there and as if beside the door.
  await context.route("**/v1/sources", async (r) => {
    const answer = await r.fetch();
    const body = await answer.json();
    const [west, south, east, north] = JSON.parse(r.request().postData()).bbox;
    const [lon, lat] = [(west + east) / 2, (south + north) / 2];
    body.sources = [{ id: 1, osm: "way/1", sort: "school", what: "school", name: "Hatch School", at: [lon, lat - 9 / 111320], kinds: ["child"], active: 0.9, working_m: 25, assumed: false }];
    await r.fulfill({ response: answer, json: body });
  });
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByText(/^Hatch School is \d+ m from your door, somebody there then: 9 of 10\. First leg: (straight away from|past) it, by Weaver Row\.$/).first().waitFor();
  assert.deepEqual(await violations(page), []);
  // Farther off than what is too near, nothing is said.
  await context.unroute("**/v1/sources");
  await page.locator(".sentence button").first().click();
  await page.getByRole("button", { name: "20", exact: true }).click();
  await page.getByText(/from your door, somebody there then/).waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
  await done();
});

test("the whole job by keyboard alone", async () => {
  const { page, context, faults, done } = await open("desk", place);
  /** Tab until what is wanted has the focus, then a key; no pointer anywhere. */
  const reach = async (wanted, key = "Enter", back = false) => {
    for (let i = 0; i < 150; i++) {
      const is = await page.evaluate(() => { const e = document.activeElement; return e && e.checkVisibility() ? (e.getAttribute("aria-label") ?? e.textContent).trim() : ""; });
      if (wanted.test(is)) {
        if (key) await page.keyboard.press(key);
        return is;
      }
      await page.keyboard.press(back ? "Shift+Tab" : "Tab");
    }
    throw new Error(`no way to ${wanted} by keyboard in ${await page.evaluate(() => location.hash + ": " + document.querySelector("main").innerText.slice(0, 80))} ${JSON.stringify(faults)}`);
  };
  await page.getByRole("button", { name: "Show me a walk" }).waitFor();
  await reach(/^Show me a walk$/);
  await page.getByRole("radio").nth(1).waitFor();
  // Ask anew by the sentence.
  await reach(/^30-minute$/);
  await reach(/^20$/);
  await page.getByRole("button", { name: "20-minute" }).waitFor();
  await page.getByRole("radio").nth(1).waitFor();
  // Choose B, walk along the strip.
  await reach(/^A[A-Z]/, ""); // the row, its letter before its name
  await page.waitForFunction(() => document.activeElement.getAttribute("role") === "radio");
  await page.keyboard.press("ArrowDown");
  await page.waitForFunction(() => document.activeElement.getAttribute("aria-checked") === "true" && document.activeElement.textContent.startsWith("B"));
  await reach(new RegExp("^" + (await page.getByRole("slider").getAttribute("aria-label"))), "ArrowUp", true);
  assert.equal(await page.getByRole("slider").getAttribute("aria-valuenow"), "20");
  // Plan from a cell of the week.
  await reach(/^When$/, "Enter", true);
  await page.locator("table.week").waitFor();
  const cell = await reach(/^\w+day \d\d, /);
  await page.getByRole("radio").nth(1).waitFor();
  assert.match(await page.locator(".sentence").innerText(), new RegExp(cell.match(/\d\d/)[0] + ":00"));
  // Go, log, end.
  await reach(/^Get ready with A$/);
  await reach(/^Start walk$/);
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
  await reach(/^Dog$/);
  await page.waitForTimeout(450); // two taps within 400 ms count once
  await reach(/^15 to 38 m: took food$/);
  await page.getByText("Saved: dog, 15 to 38 m, took food.").waitFor();
  await page.waitForTimeout(450);
  await reach(/^End walk$/, "Enter", true);
  await page.getByText("End now?").waitFor();
  await reach(/^Walk on$/, "");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.getByText("1 meeting, 0 went over").waitFor();
  await reach(/^All told$/);
  // A proposal, from meetings that the server has by then.
  const kessa = await until(async () => (await (await fetch(origin + "/v1/dogs")).json()).find((d) => d.profile.name === "Kessa"), Boolean);
  for (let i = 0; i < 40; i++) {
    const r = await fetch(`${origin}/v1/dogs/${kessa.id}/encounters`, { method: "POST", headers: { ...json, "Idempotency-Key": "key" + i }, body: JSON.stringify({ kind: "dogs", at: new Date(now() - (i + 1) * 13 * 36e5).toISOString(), nearest: "exact", distance_m: 10 + 2 * (i % 8), ...(i % 4 === 0 ? { over: "bark" } : { food: "taken" }) }) });
    assert.equal(r.status, 200);
  }
  await reach(/^Kessa$/, "Enter", true);
  await page.getByRole("button", { name: /^Use \d+ m/ }).waitFor();
  await reach(/^Use \d+ m/);
  await page.getByRole("button", { name: /^Go back to 38 m/ }).waitFor();
  await reach(/^Go back to 38 m/);
  await until(async () => (await (await fetch(`${origin}/v1/dogs/${kessa.id}`)).json()).distances.dogs.working_m, (m) => m === 38);
  // Print, once what changed is on the page.
  await page.waitForLoadState("networkidle");
  await reach(/^More$/, "Enter", true);
  await page.locator("main.moreview").waitFor(); // the address changes first; tabbing on at once would go through the old view
  await reach(/^Hand-out$/);
  await page.waitForFunction(() => document.querySelector(".sheetholder")?.shadowRoot?.querySelector(".sheet svg"));
  await page.evaluate(() => { window.print = () => (document.documentElement.dataset.printed = "yes"); });
  await reach(/^Print/);
  await page.waitForFunction(() => document.documentElement.dataset.printed === "yes");
  assert.deepEqual(faults, []);
  await done();
});

// The page in a real browser, on the real program with the invented town.
import { after, before, test } from "node:test";
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { chromium } from "playwright-core";
import AxeBuilder from "@axe-core/playwright";

const root = new URL("../../..", import.meta.url).pathname;
const program = process.env.WIDEBERTH_BIN ?? join(root, "bin/wideberth");
const flags = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
const sizes = { phone: { width: 390, height: 844 }, small: { width: 360, height: 640 }, desk: { width: 1280, height: 800 } };

let dir, server, origin, browser;

before(async () => {
  dir = mkdtempSync(join(tmpdir(), "wideberth-page-"));
  execFileSync(program, ["import", "--out", join(dir, "town.wb")]);
  server = spawn(program, ["serve", "--snapshot", join(dir, "town.wb"), "--listen", "127.0.0.1:0", "--quiet"]);
  origin = await new Promise((found, lost) => {
    let said = "";
    server.stdout.on("data", (b) => {
      said += b;
      const m = said.match(/http:\/\/127\.0\.0\.1:\d+/);
      if (m) found(m[0]);
    });
    server.on("exit", (code) => lost(new Error(`the program ended with ${code}: ${said}`)));
  });
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
});

after(async () => {
  await browser?.close();
  server?.kill();
  if (dir) rmSync(dir, { recursive: true, force: true });
});

// open gives a page that notes every fault: console errors, refused content,
// requests that leave the server.
async function open(size, options = {}) {
  const context = await browser.newContext({ viewport: sizes[size], locale: "en-GB", timezoneId: "UTC", ...options });
  const page = await context.newPage();
  const faults = [];
  page.on("console", (m) => m.type() === "error" && faults.push("console: " + m.text() + " " + m.location().url));
  page.on("pageerror", (e) => faults.push("page: " + e.message));
  page.on("request", (r) => !r.url().startsWith(origin) && !r.url().startsWith("data:") && faults.push("foreign: " + r.url()));
  await page.addInitScript(() => addEventListener("securitypolicyviolation", (e) => console.error("policy: " + e.violatedDirective + " " + e.blockedURI)));
  await page.goto(origin + "/", { waitUntil: "domcontentloaded" });
  return { page, faults, done: () => context.close() };
}

async function planned(size, options) {
  const p = await open(size, options);
  await p.page.getByRole("button", { name: "Show me a walk" }).click();
  await p.page.getByRole("radio").nth(1).waitFor({ timeout: 30_000, state: "attached" });
  return p;
}

for (const size of Object.keys(sizes)) {
  test(`first visit to a walk in one tap, ${size}`, async () => {
    const { page, faults, done } = await planned(size);
    const walks = page.getByRole("radio");
    assert.ok((await walks.count()) >= 2, "walks to choose from");
    await walks.nth(1).check({ force: true });
    assert.ok(await walks.nth(1).isChecked());
    assert.match(await page.locator("body").innerText(), /OpenStreetMap contributors|Calm means/);
    assert.deepEqual(faults, []);
    await done();
  });
}

test("the sentence plans anew", async () => {
  const { page, faults, done } = await planned("desk");
  await page.getByRole("button", { name: /30-minute/ }).first().click();
  await page.getByRole("button", { name: /^45/ }).first().click();
  await page.getByRole("button", { name: /45-minute/ }).first().waitFor({ timeout: 30_000 });
  await page.getByRole("radio").nth(0).waitFor({ timeout: 30_000, state: "attached" });
  assert.deepEqual(faults, []);
  await done();
});

test("works without WebGL", async () => {
  const plain = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: [...flags.slice(0, 6), "--disable-3d-apis"] });
  const page = await (await plain.newContext({ viewport: sizes.phone, locale: "en-GB" })).newPage();
  await page.goto(origin + "/", { waitUntil: "domcontentloaded" });
  await page.getByRole("button", { name: "Show me a walk" }).click();
  await page.getByText(/of 10 walks like this stay calm/).first().waitFor({ timeout: 30_000 });
  await plain.close();
});

for (const colorScheme of ["light", "dark"]) {
  test(`no accessibility violations, ${colorScheme}`, async () => {
    const { page, done } = await planned("phone", { colorScheme });
    const found = await new AxeBuilder({ page }).withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]).analyze();
    assert.deepEqual(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(", ")}`), []);
    await done();
  });
}

test("getting ready for a walk and back", async () => {
  const { page, faults, done } = await planned("phone");
  await page.getByRole("button", { name: /Get ready with A/ }).click();
  await page.getByRole("button", { name: /Start walk/ }).waitFor({ timeout: 30_000 });
  assert.deepEqual(faults, []);
  await done();
});

test("the script stays under its budget", () => {
  const assets = join(root, "api/web/dist/assets");
  const bytes = readdirSync(assets).filter((f) => /\.m?js$/.test(f)).reduce((n, f) => n + gzipSync(readFileSync(join(assets, f))).length, 0);
  assert.ok(bytes < 550 * 1024, `${Math.round(bytes / 1024)} KB gzipped`);
});

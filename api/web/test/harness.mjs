// What the browser tests share: the real program on the invented town, for each test
// one of its own with a store of its own, on a day that is given; one browser; and
// pages that note every fault.
import { after, afterEach, before, beforeEach } from "node:test";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import AxeBuilder from "@axe-core/playwright";

export const root = new URL("../../..", import.meta.url).pathname;
const program = process.env.WIDEBERTH_BIN ?? join(root, "bin/wideberth");
const executablePath = process.env.CHROMIUM ?? "/usr/bin/chromium";
const plainFlags = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const drawnFlags = [...plainFlags, "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
export const noGraphics = () => chromium.launch({ executablePath, args: [...plainFlags, "--disable-3d-apis"] });
export const sizes = { phone: { width: 390, height: 844 }, small: { width: 360, height: 640 }, desk: { width: 1280, height: 800 }, narrow: { width: 320, height: 640 } };
export const patience = 60_000; // the machines that run this are small and busy

/** When every test begins, for server and page; their clocks run on from there. The
 * machine's own day is never asked. */
const begins = Date.parse(process.env.WIDEBERTH_CLOCK ?? "2026-11-25T06:40:00Z");
/** The zone of place and device. */
export const zone = process.env.WIDEBERTH_ZONE ?? "UTC";

export let dir, origin, browser;
let server, aheadMS;

/** What the clocks of server and page show, in milliseconds since 1970. */
export const now = () => Date.now() + aheadMS;

export async function startServer(listen = "127.0.0.1:0") {
  const clock = new Date(now()).toISOString();
  server = spawn(program, ["serve", "--snapshot", join(dir, "town.wb"), "--store", join(dir, "store.db"), "--listen", listen, "--clock", clock, "--quiet"]);
  origin = await new Promise((found, lost) => {
    let said = "";
    const hear = (b) => {
      said += b;
      const m = said.match(/http:\/\/127\.0\.0\.1:\d+/);
      if (m) found(m[0]);
    };
    server.stdout.on("data", hear);
    server.stderr.on("data", hear);
    server.on("exit", (code) => lost(new Error(`the program ended with ${code}: ${said}`)));
  });
}

export async function stopServer() {
  if (server.exitCode !== null || server.signalCode !== null) return;
  await new Promise((ended) => { server.on("exit", ended); server.kill(); });
}

export function wholeProgram() {
  before(async () => {
    dir = mkdtempSync(join(tmpdir(), "wideberth-page-"));
    execFileSync(program, ["import", "--time-zone", zone, "--out", join(dir, "town.wb")]);
    browser = await chromium.launch({ executablePath, args: drawnFlags });
  });
  beforeEach(async () => {
    aheadMS = begins - Date.now();
    await startServer();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((c) => c.close())); // of a test that failed
    await stopServer();
    for (const end of ["", "-wal", "-shm"]) rmSync(join(dir, "store.db" + end), { force: true });
  });
  after(async () => {
    await browser?.close();
    if (dir) rmSync(dir, { recursive: true, force: true });
  });
}

/** Lets a page's clock show what the server's does; its timers stay the browser's. */
const shiftClock = (aheadMS) => {
  const machine = Date;
  const shown = () => machine.now() + aheadMS;
  globalThis.Date = new Proxy(machine, {
    construct: (_, given, as) => Reflect.construct(machine, given.length ? given : [shown()], as),
    apply: () => new machine(shown()).toString(),
    get: (_, name) => (name === "now" ? shown : machine[name]),
  });
};

/** A page that notes console errors, refused content and requests that leave the server. */
export async function open(size, options = {}) {
  const { from = browser, expectFaults = /^$/, ...rest } = options;
  const context = await from.newContext({ viewport: sizes[size], locale: "en-GB", timezoneId: zone, ...rest });
  await context.addInitScript(shiftClock, aheadMS);
  const page = await context.newPage();
  page.setDefaultTimeout(patience);
  const faults = [];
  const note = (text) => expectFaults.test(text) || faults.push(text);
  page.on("console", (m) => m.type() === "error" && note("console: " + m.text() + " " + m.location().url));
  page.on("pageerror", (e) => note("page: " + e.message));
  page.on("request", (r) => !/^(data|blob):/.test(r.url()) && !r.url().startsWith(origin) && note("foreign: " + r.url()));
  await page.addInitScript(() => addEventListener("securitypolicyviolation", (e) => console.error("policy: " + e.violatedDirective + " " + e.blockedURI)));
  await page.goto(origin + "/", { waitUntil: "domcontentloaded" });
  return { page, context, faults, done: () => context.close() };
}

/** The same with the demo's walks on the screen. */
export async function planned(size, options) {
  const p = await open(size, options);
  await p.page.getByRole("button", { name: "Show me a walk" }).click();
  await p.page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  return p;
}

export const view = async (page, name) => {
  await page.evaluate((v) => (location.hash = "#/" + v), name);
};

export const mapIdle = (page) => page.waitForSelector("html[data-map-idle]", { state: "attached" });

/** What axe finds against WCAG 2.2 AA and good practice, in words. */
export async function violations(page) {
  const found = await new AxeBuilder({ page }).withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]).analyze();
  return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ") + " " + (n.any[0]?.message ?? "")).join("; ")}`);
}

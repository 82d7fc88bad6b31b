// What the browser tests share: the real program on the invented town, for each test
// one of its own with a store of its own, on a day that is given; one browser; and
// pages that note every fault.

import assert from "node:assert/strict";
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, afterEach, before, beforeEach } from "node:test";
import { fileURLToPath } from "node:url";
import AxeBuilder from "@axe-core/playwright";
import {
  type Browser,
  type BrowserContext,
  type BrowserContextOptions,
  chromium,
  type Geolocation,
  type Page,
} from "playwright-core";
import { type AnswerOf, type Asked, filled, type PathWith, type Rest, type Verb } from "../src/api.ts";
import { along, walkLine } from "../src/geo.ts";
import type { Doc, KeptDog, Plan, Position } from "../src/types.ts";

export const root = fileURLToPath(new URL("../../..", import.meta.url));
const program = process.env.WIDEBERTH_BIN ?? join(root, "bin/wideberth");
const executablePath = process.env.CHROMIUM ?? "/usr/bin/chromium";
const plainFlags = [
  "--no-sandbox",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
const drawnFlags = [...plainFlags, "--use-angle=swiftshader", "--enable-unsafe-swiftshader"];
export const sizes = {
  phone: { width: 390, height: 844 },
  small: { width: 360, height: 640 },
  desk: { width: 1280, height: 800 },
  wide: { width: 1600, height: 1000 },
  narrow: { width: 320, height: 640 },
};
export type Size = keyof typeof sizes;
export const patience = 60_000; // the machines that run this are small and busy

/** When every test begins, for server and page; their clocks run on from there. The
 * machine's own day is never asked. */
const begins = Date.parse(process.env.WIDEBERTH_CLOCK ?? "2026-11-25T06:40:00Z");
/** The zone of place and device. */
export const zone = process.env.WIDEBERTH_ZONE ?? "UTC";

/** The door of the invented dog. */
export const door = { lat: 47.2022085, lon: -7.0018089 };

export let origin: string;
let dir: string;
let browser: Browser;
let without: Browser | undefined; // graphics
let server: ChildProcess;
let aheadMS: number;

/** What the clocks of server and page show, in milliseconds since 1970. */
export const now = (): number => Date.now() + aheadMS;

/** Starts the program, on the town or on the map that is given. */
export async function startServer(listen = "127.0.0.1:0", snapshot = join(dir, "town.wb")): Promise<void> {
  const clock = new Date(now()).toISOString();
  const made = spawn(program, [
    ...["serve", "--quiet", "--snapshot", snapshot, "--store", join(dir, "store.db")],
    ...["--listen", listen, "--clock", clock],
  ]);
  server = made;
  origin = await new Promise((found, lost) => {
    let said = "";
    const hear = (b: Buffer) => {
      said += b;
      const m = said.match(/http:\/\/127\.0\.0\.1:\d+/);
      if (m) found(m[0]);
    };
    made.stdout.on("data", hear);
    made.stderr.on("data", hear);
    made.on("exit", (code) => lost(new Error(`the program ended with ${code}: ${said}`)));
  });
}

export async function stopServer(): Promise<void> {
  if (server.exitCode !== null || server.signalCode !== null) return;
  await new Promise((ended) => {
    server.on("exit", ended);
    server.kill();
  });
}

export function wholeProgram(): void {
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
    // What a test that failed left open.
    await Promise.all(browser.contexts().map((c) => c.close()));
    await without?.close();
    without = undefined;
    await stopServer();
    for (const end of ["", "-wal", "-shm"]) rmSync(join(dir, `store.db${end}`), { force: true });
  });
  after(async () => {
    await browser?.close();
    if (dir) rmSync(dir, { recursive: true, force: true });
  });
}

/** Lets a page's clock show what the server's does; its timers stay the browser's. */
const shiftClock = (aheadMS: number): void => {
  const machine = Date;
  const shown = () => machine.now() + aheadMS;
  globalThis.Date = new Proxy(machine, {
    construct: (_, given, as) => Reflect.construct(machine, given.length ? given : [shown()], as),
    apply: () => new machine(shown()).toString(),
    get: (_, name) => (name === "now" ? shown : Reflect.get(machine, name)),
  });
};

export interface OpenOptions extends BrowserContextOptions {
  /** no WebGL */
  plain?: boolean;
  /** done to the page before its own scripts */
  first?: () => void;
  /** what may be noted without being a fault */
  expectFaults?: RegExp;
}

export interface Opened {
  page: Page;
  context: BrowserContext;
  /** console errors, refused content, requests that leave the server */
  faults: string[];
  done: () => Promise<void>;
}

export async function open(size: Size, options: OpenOptions = {}): Promise<Opened> {
  const { plain = false, first, expectFaults = /^$/, ...rest } = options;
  if (plain) without ??= await chromium.launch({ executablePath, args: [...plainFlags, "--disable-3d-apis"] });
  const context = await (plain && without ? without : browser).newContext({
    viewport: sizes[size],
    locale: "en-GB",
    timezoneId: zone,
    ...rest,
  });
  await context.addInitScript(shiftClock, aheadMS);
  if (first) await context.addInitScript(first);
  const page = await context.newPage();
  page.setDefaultTimeout(patience);
  const faults: string[] = [];
  const note = (text: string) => expectFaults.test(text) || faults.push(text);
  page.on("console", (m) => m.type() === "error" && note(`console: ${m.text()} ${m.location().url}`));
  page.on("pageerror", (e) => note(`page: ${e.message}`));
  page.on("request", (r) => {
    if (!/^(data|blob):/.test(r.url()) && !r.url().startsWith(origin)) note(`foreign: ${r.url()}`);
  });
  await page.addInitScript(() =>
    document.addEventListener("securitypolicyviolation", (e) =>
      console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`),
    ),
  );
  await page.goto(`${origin}/`, { waitUntil: "domcontentloaded" });
  return { page, context, faults, done: () => context.close() };
}

export interface Planned extends Opened {
  plan: Plan;
  /** of walk A */
  line: Position[];
}

/** The same with the demo's walks on the screen. */
export async function planned(size: Size, options?: OpenOptions): Promise<Planned> {
  const p = await open(size, options);
  const answered = p.page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await p.page.getByRole("button", { name: "Show me a walk" }).click();
  const { plan } = (await (await answered).json()) as AnswerOf<"post", "/v1/drawings">;
  await p.page.getByRole("radio").nth(1).waitFor({ state: "attached" });
  const [walk] = plan.walks;
  assert.ok(walk);
  return { ...p, plan, line: walkLine(walk) };
}

/** Unfolds the sentence, which an answer folds on a phone. */
export async function unfold(page: Page): Promise<void> {
  const folded = page.locator("button.folded");
  if (await folded.count()) await folded.click();
}

/** Does what plans anew, and waits until all of the answer is on the page. */
export async function replanned(page: Page, act: () => Promise<unknown>): Promise<void> {
  const answered = page.waitForResponse((r) => r.url().endsWith("/v1/drawings"));
  await act();
  await answered;
  await page.waitForSelector("[data-looking]", { state: "detached" });
  await page.getByRole("radio").first().waitFor({ state: "attached" });
}

/** What the receiver tells so many metres into a walk. */
export function standing(line: Position[], m: number, accuracy = 8): Geolocation {
  const [longitude, latitude] = along(line, m).at;
  return { longitude, latitude, accuracy };
}

/** Gets ready with walk A. */
export const getReady = ({ page }: Planned): Promise<void> =>
  page.getByRole("button", { name: "Get ready with A" }).first().click();

/** Begins it. */
export async function setOut({ page }: Planned): Promise<void> {
  await page.getByRole("button", { name: "Start walk" }).click();
  await page.getByRole("button", { name: /^Way out/ }).waitFor();
}

/** A minute into walk A, or where the receiver says. */
export async function onTheWalk(
  size: Size,
  options: OpenOptions = {},
  where: (line: Position[]) => Geolocation = (line) => standing(line, 72),
): Promise<Planned> {
  const p = await planned(size, { ...options, permissions: ["geolocation"] });
  await p.context.setGeolocation(where(p.line));
  await getReady(p);
  await setOut(p);
  return p;
}

export const view = async (page: Page, name: string): Promise<void> => {
  await page.evaluate((v) => {
    location.hash = `#/${v}`;
  }, name);
};

export const mapIdle = (page: Page) => page.waitForSelector("html[data-map-idle]", { state: "attached" });

/** Waits until the hand-out is drawn and dressed. */
export async function sheetDrawn(page: Page): Promise<void> {
  await page.waitForFunction(() => {
    const sheet = document.querySelector(".sheetholder")?.shadowRoot;
    return sheet?.querySelector(".sheet svg") && [...sheet.querySelectorAll("link")].every((l) => l.sheet);
  });
}

/** How many pages a PDF has. */
export const pagesOf = (pdf: Buffer): number => (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length;

/** The paper of a PDF's pages, by ISO 216 and ANSI sizes in points; else what they measure. */
export function paperOf(pdf: Buffer): string {
  const boxes = [...pdf.toString("latin1").matchAll(/\/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]/g)];
  const sizes = new Set(boxes.map(([, w, h]) => `${Math.round(Number(w))} x ${Math.round(Number(h))}`));
  const named: Record<string, string> = { "595 x 842": "A4", "612 x 792": "Letter" };
  return [...sizes].map((s) => named[s] ?? s).join();
}

/** What axe finds against WCAG 2.2 AA and good practice, in words. */
export async function violations(page: Page): Promise<string[]> {
  const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
  // No rule of these needs the sheets' styles, and to preload those of a shadow root axe writes
  // a style of its own, which the page's policy refuses aloud.
  const found = await new AxeBuilder({ page }).options({ preload: false }).withTags(tags).analyze();
  return found.violations.map(
    (v) => `${v.id}: ${v.nodes.map((n) => `${n.target.join(" ")} ${n.any[0]?.message ?? ""}`).join("; ")}`,
  );
}

/** Asks the server past the page, typed like the page's own calls by the server's
 * description. Whatever is refused fails the test. */
export async function ask<V extends Verb, P extends PathWith<V>>(
  verb: V,
  path: P,
  ...[o]: Rest<Asked<V, P> & { key?: string }>
): Promise<AnswerOf<V, P>> {
  const { at = {}, body, key } = (o ?? {}) as { at?: Record<string, string>; body?: unknown; key?: string };
  const headers: Record<string, string> = key ? { "Idempotency-Key": key } : {};
  if (body !== undefined) headers["Content-Type"] = "application/json";
  const init = { method: verb.toUpperCase(), headers, ...(body === undefined ? {} : { body: JSON.stringify(body) }) };
  const r = await fetch(origin + filled(path, at), init);
  const text = await r.text();
  assert.ok(r.ok, `${path}: ${r.status} ${text}`);
  return JSON.parse(text) as AnswerOf<V, P>;
}

/** The documents of a kind that the server keeps, whole: a list names them only. */
export async function keptDocuments<Body>(kind: "outings" | "visits"): Promise<Doc<Body>[]> {
  const heads = await ask("get", "/v1/documents/{kind}", { at: { kind } });
  return Promise.all(heads.map(({ id }) => keptDocument<Body>(kind, id)));
}

export const keptDocument = async <Body>(kind: "outings" | "visits", id: string): Promise<Doc<Body>> =>
  (await ask("get", "/v1/documents/{kind}/{id}", { at: { kind, id } })) as Doc<Body>;

/** Asks again and again until it is as wanted. */
export async function until<T>(what: () => Promise<T>, good: (got: T) => unknown): Promise<T> {
  const end = Date.now() + patience;
  for (;;) {
    const got = await what();
    if (good(got)) return got;
    if (Date.now() > end) throw new Error(`waited in vain: ${JSON.stringify(got)}`);
    await new Promise((r) => setTimeout(r, 100));
  }
}

/** A dog that the server keeps, once it does. */
export const keptDog = async (name: string): Promise<KeptDog> => {
  const find = async () => (await ask("get", "/v1/dogs")).find((d) => d.profile.name === name);
  const dog = await until(find, Boolean);
  assert.ok(dog);
  return dog;
};

/** Forty meetings with dogs over the weeks before, ten of which went over. */
export async function fortyMeetings(dog: KeptDog): Promise<void> {
  for (let i = 0; i < 40; i++) {
    const at = new Date(now() - (i + 1) * 13 * 36e5).toISOString();
    const told = i % 4 === 0 ? { over: "bark" as const } : { food: "taken" as const };
    const body = { kind: "dogs", at, nearest: "exact" as const, distance_m: 10 + 2 * (i % 8), ...told };
    await ask("post", "/v1/dogs/{id}/encounters", { at: { id: dog.id }, body, key: `forty${i}` });
  }
}

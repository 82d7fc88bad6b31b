// What the page costs a phone and a machine without graphics: measured and printed, on
// the invented town or on a state whose file is given; never part of the daily run.

import { test } from "node:test";
import { mapIdle, type Opened, open, planned, startServer, stopServer, wholeProgram } from "./harness.ts";

const skip = !process.env.WIDEBERTH_FIGURES;
const state = process.env.WIDEBERTH_DELAWARE;
/** A start for the state: a dense grid of streets. */
const grid = { lat: 39.7461, lon: -75.5497 };
const rounds = 5;

if (!skip) wholeProgram();

async function onState(): Promise<void> {
  if (!state) return;
  await stopServer();
  await startServer(undefined, state);
}

const median = (all: number[]): number => all.toSorted((a, b) => a - b)[Math.floor(all.length / 2)] ?? Number.NaN;
const p95 = (all: number[]): number => all.toSorted((a, b) => a - b)[Math.floor(0.95 * all.length)] ?? Number.NaN;
const inSeconds = (ms: number[]): string =>
  `${(median(ms) / 1000).toFixed(1)} (at most ${(Math.max(...ms) / 1000).toFixed(1)})`;

/** A phone four times slower than this machine, at 1.6 Mbit/s and 150 ms a round trip
 * (the usual "slow 4G" of browsers' own tools). */
async function slowed({ page, context }: Opened): Promise<void> {
  const c = await context.newCDPSession(page);
  await c.send("Network.enable");
  await c.send("Network.emulateNetworkConditions", {
    offline: false,
    latency: 150,
    downloadThroughput: 1.6e6 / 8,
    uploadThroughput: 0.75e6 / 8,
  });
  await c.send("Emulation.setCPUThrottlingRate", { rate: 4 });
}

/** From an address that holds a wish to its first number and to its drawn map. */
test("Figures: the first walk on a slow phone", { skip }, async () => {
  await onState();
  const cold = { number: [] as number[], drawn: [] as number[] };
  const again = { number: [] as number[], drawn: [] as number[] };
  for (let i = 0; i < rounds; i++) {
    const p = await planned(
      "phone",
      state ? { permissions: ["geolocation"], geolocation: { latitude: grid.lat, longitude: grid.lon } } : {},
    );
    const address = p.page.url();
    const device = await p.context.storageState({ indexedDB: true });
    await p.done();
    const phone = await open("phone", { storageState: device, serviceWorkers: "allow" });
    await phone.page.goto("about:blank");
    await slowed(phone);
    for (const into of [cold, again]) {
      const begun = performance.now();
      await phone.page.goto(address, { waitUntil: "commit" });
      await phone.page.getByRole("radio").first().waitFor({ state: "attached" });
      into.number.push(performance.now() - begun);
      await mapIdle(phone.page);
      into.drawn.push(performance.now() - begun);
      await phone.page.goto("about:blank");
    }
    await phone.done();
  }
  console.log(
    `    first walk, nothing kept: number after ${inSeconds(cold.number)} s, map drawn after ${inSeconds(cold.drawn)} s`,
  );
  console.log(
    `    once more, page kept:     number after ${inSeconds(again.number)} s, map drawn after ${inSeconds(again.drawn)} s`,
  );
});

/** Frames while the streets are dragged about, drawn by software. */
test("Figures: panning the streets", { skip }, async () => {
  await onState();
  const p = await planned("desk");
  await mapIdle(p.page);
  await p.page.getByRole("button", { name: "Streets", exact: true }).click();
  await mapIdle(p.page);
  const box = await p.page.locator(".mapbox .canvas").boundingBox();
  if (!box) throw new Error("no map");
  await p.page.evaluate(() => {
    const frames: number[] = [];
    let last = performance.now();
    const frame = (t: number) => {
      frames.push(t - last);
      last = t;
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
    Object.assign(globalThis, { frames });
  });
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  for (let i = 0; i < 4; i++) {
    await p.page.mouse.move(x, y);
    await p.page.mouse.down();
    for (let k = 1; k <= 40; k++) await p.page.mouse.move(x + (i % 2 ? -5 : 5) * k, y + 2 * k);
    await p.page.mouse.up();
  }
  const frames = await p.page.evaluate(() => (globalThis as unknown as { frames: number[] }).frames);
  console.log(
    `    frames while panning at 1280 x 800: median ${median(frames).toFixed(0)} ms, p95 ${p95(frames).toFixed(0)} ms of ${frames.length}`,
  );
  await p.done();
});

// A device without a browser, for tests of what runs on one: words that are kept, a
// database, a place, a network that comes and goes, and a server at its other end.
// Imported before the page's own modules, which look at the device when they are loaded.

import "fake-indexeddb/auto";

/** What of the device a test may change. */
export const device = { online: true };

const kept = new Map<string, string>();
const storage: Storage = {
  get length() {
    return kept.size;
  },
  key: (i) => [...kept.keys()][i] ?? null,
  getItem: (key) => kept.get(key) ?? null,
  setItem: (key, value) => void kept.set(key, value),
  removeItem: (key) => void kept.delete(key),
  clear: () => kept.clear(),
};

let watching: PositionCallback | undefined;
let lost: PositionErrorCallback | undefined | null;
const geolocation = {
  watchPosition: (found: PositionCallback, fault?: PositionErrorCallback | null): number => {
    [watching, lost] = [found, fault];
    return 1;
  },
  clearWatch: () => {
    watching = undefined;
  },
};

/** Moves the device, as its receiver tells it. */
export function moveTo(longitude: number, latitude: number, accuracy: number): void {
  watching?.({ coords: { longitude, latitude, accuracy } } as GeolocationPosition);
}

/** Takes the receiver's sight of the sky. */
export const losePlace = (): void => lost?.({} as GeolocationPositionError);

/** Whether the device is asked for its place. */
export const isWatched = (): boolean => watching !== undefined;

/** A request that reached the network. */
export interface Asked {
  method: string;
  path: string;
  headers: Headers;
  body: unknown;
}
export const asked: Asked[] = [];
/** The server: answers a request, or throws where the network fails. */
export const answer: { with: (a: Asked) => Response | Promise<Response> } = { with: () => json(200, {}) };

export const json = (status: number, body: unknown): Response =>
  new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });

async function fetched(path: string, init: RequestInit = {}): Promise<Response> {
  if (!device.online) throw new TypeError("fetch failed");
  const body = init.body === undefined ? undefined : (JSON.parse(String(init.body)) as unknown);
  const a: Asked = { method: init.method ?? "GET", path, headers: new Headers(init.headers), body };
  asked.push(a);
  return answer.with(a);
}

const events = new EventTarget();
const document = Object.assign(new EventTarget(), { visibilityState: "visible", documentElement: { dataset: {} } });
const navigator = {
  language: "en-GB",
  geolocation,
  get onLine() {
    return device.online;
  },
};

for (const [name, value] of Object.entries({
  localStorage: storage,
  navigator,
  document,
  location: { hash: "" },
  fetch: fetched,
  addEventListener: events.addEventListener.bind(events),
  removeEventListener: events.removeEventListener.bind(events),
  dispatchEvent: events.dispatchEvent.bind(events),
}))
  Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });

/** Waits until the device has nothing more to do by itself: its database works from one
 * turn of the event loop to the next. */
export async function settle(): Promise<void> {
  for (let i = 0; i < 200; i++) await new Promise((r) => setImmediate(r));
}

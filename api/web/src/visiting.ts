// The training visit that is under way: what was saved for it, and its log.
import { type ReadonlySignal, signal } from "@preact/signals";
import { maySleep, stayAwake } from "./awake.ts";
import { dogNow } from "./dogs.ts";
import { keepGround } from "./ground.ts";
import type { Book, Log } from "./log.ts";
import { type PlaceShown, placeOf } from "./map_place.ts";
import { newID, post, store, stored, wrongClock } from "./outbox.ts";
import { receive, type Told } from "./receiver.ts";
import type { Position, Visit } from "./types.ts";
import { goTo } from "./view.ts";
import { drawnVisit, placePicture, type VisitsDoc, visitOf, visitZone } from "./visits.ts";

/** A training visit as it lies on the device: a log with its place in place of a walk. */
export interface SavedVisit extends Log {
  visit: { sequence: string; number: number; of: number; kind: string; stand: Visit };
  arrived?: string;
  picture?: string;
  /** the same for a map */
  place?: PlaceShown;
}

const own = signal<SavedVisit | undefined>(undefined);
export const visiting: ReadonlySignal<SavedVisit | undefined> = own;

async function change(how: (s: SavedVisit) => SavedVisit): Promise<void> {
  if (!own.value) return;
  const next = how(own.value);
  own.value = next;
  await store("visit", next);
}
export const visitBook: Book<SavedVisit> = { log: own, change };

/** Puts a visit on the device with everything that is needed without a network. */
export async function readyVisit(d: VisitsDoc, n: number): Promise<void> {
  const dog = dogNow();
  const s: SavedVisit = {
    id: newID(),
    dog: dog?.name ?? "",
    needs: { ...dog?.needs },
    zone: visitZone(d),
    meetings: [],
    visit: {
      sequence: d.version > 0 ? d.id : "",
      number: n,
      of: d.body.sequence.visits.length,
      kind: d.body.wish.kind ?? "dogs",
      stand: visitOf(d, n),
    },
  };
  own.value = s;
  await store("visit", s);
  goTo("visit");
  const add = (more: Partial<SavedVisit>) => change((now) => (now.id === s.id ? { ...now, ...more } : now));
  const picture = async () => {
    const svg = await placePicture(d, n, { width_px: 390, height_px: 420 });
    await add({ picture: new XMLSerializer().serializeToString(svg) });
  };
  const map = async () => {
    const place = placeOf(await drawnVisit(d, n));
    await add({ place });
    await keepGround([...place.way, ...homeOf(s), ...place.out.flat()], nearM);
  };
  await Promise.allSettled([picture(), map()]); // the names of the ways out are with the visit
}

const nearM = 300; // more of the ground is never seen on the way

/** The line of the way home. */
export const homeOf = (s: SavedVisit): Position[] => s.visit.stand.way_home.legs.flatMap((l) => l.geometry.coordinates);

const stand = signal<Told | undefined>(undefined);
/** Where one is while a visit is on, as far as is known. */
export const standing: ReadonlySignal<Told | undefined> = stand;

let unreceive: (() => void) | undefined;

function follow(): void {
  unreceive ??= receive(
    (told) => {
      stand.value = told;
    },
    () => {
      stand.value = undefined;
    },
  );
  stayAwake("visit");
}

/** Where the handler says to be. */
export function putOn(at: Position): void {
  stand.value = { at, accuracyM: 10, known: true, heading: undefined };
}

/** Takes up the visit that was on when the page was closed; true if it was under way. */
export async function resumeVisit(): Promise<boolean> {
  const s = await stored<SavedVisit>("visit").catch(() => undefined);
  if (!s || s.finished || own.value) return false;
  own.value = s;
  if (s.started && !s.ended) follow();
  return !!s.started;
}

export function setOut(): void {
  void change((s) => ({ ...s, started: new Date().toISOString() }));
  follow();
}

export const standHere = (): void => void change((s) => ({ ...s, arrived: new Date().toISOString() }));

export function endVisit(): void {
  void change((s) => ({ ...s, ended: new Date().toISOString() }));
  unreceive?.();
  unreceive = undefined;
  stand.value = undefined;
  maySleep("visit");
}

/** Leaves a visit that was never begun, or whose log is done. */
export async function leaveVisit(): Promise<void> {
  await change((s) => ({ ...s, finished: true }));
  own.value = undefined;
}

/** Sends the visit once, with whether all was told. */
export async function finishVisit(allTold: boolean): Promise<void> {
  const s = own.value;
  if (!s || s.finished) return;
  await change((now) => ({ ...now, allTold }));
  const { sequence, number } = s.visit;
  if (s.started && !wrongClock(s.started)) {
    await post({
      id: s.id,
      at: Date.now(),
      path: "/v1/dogs/{dog}/walks",
      dog: s.dog,
      body: { started: s.started, ended: s.ended, all_told: allTold, ...(sequence ? { sequence, visit: number } : {}) },
    });
  }
  await leaveVisit();
}

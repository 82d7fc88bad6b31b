// The training visit that is under way: what was saved for it, and its log.
import { newID, post, store, stored, wrongClock } from "./outbox.ts";
import { dogNow, goTo, set } from "./state.ts";
import { placePicture, type VisitsDoc, visitOf, visitZone } from "./visits.ts";
import type { SavedVisit } from "./walking.ts";

export const visiting: { saved?: SavedVisit } = {};

const save = (s: SavedVisit): Promise<unknown> => store("visit", s);

/** Puts a visit on the device with everything that is needed without a network. */
export async function readyVisit(d: VisitsDoc, n: number): Promise<void> {
  const dog = dogNow();
  const s: SavedVisit = {
    id: newID(),
    dog: dog?.name ?? "",
    needs: { ...dog?.needs } as SavedVisit["needs"],
    zone: visitZone(d),
    meetings: [],
    visit: {
      sequence: d.version > 0 ? d.id : "",
      number: n,
      of: d.body.sequence.visits.length,
      kind: String(d.body.wish.kind ?? "dogs"),
      stand: visitOf(d, n),
    },
  };
  visiting.saved = s;
  await save(s);
  goTo("visit");
  try {
    s.picture = new XMLSerializer().serializeToString(await placePicture(d, n, { width_px: 390, height_px: 420 }));
    await save(s);
  } catch {
    // the names of the ways out are with the visit
  }
}

/** Takes up the visit that was on when the page was closed; true if it was under way. */
export async function resumeVisit(): Promise<boolean> {
  const s = await stored<SavedVisit>("visit").catch(() => undefined);
  if (!s || s.finished) return false;
  visiting.saved = s;
  if (s.started && !s.ended) void stayAwake();
  set({});
  return !!s.started;
}

async function change(patch: Partial<SavedVisit>): Promise<void> {
  if (!visiting.saved) return;
  Object.assign(visiting.saved, patch);
  set({});
  await save(visiting.saved);
}

export function setOut(): void {
  void change({ started: new Date().toISOString() });
  void stayAwake();
}
export const standHere = (): void => void change({ arrived: new Date().toISOString() });
export function endVisit(): void {
  void change({ ended: new Date().toISOString() });
  document.removeEventListener("visibilitychange", again);
  void lock?.release();
}

/** Leaves a visit that was never begun, or whose log is done. */
export async function leaveVisit(): Promise<void> {
  if (visiting.saved) await change({ finished: true });
  delete visiting.saved;
  set({});
}

/** Sends the visit once, with whether all was told. */
export async function finishVisit(allTold: boolean): Promise<void> {
  const s = visiting.saved;
  if (!s || s.finished) return;
  await change({ allTold });
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

let lock: WakeLockSentinel | undefined;
const again = () => document.visibilityState === "visible" && void stayAwake();

async function stayAwake(): Promise<void> {
  document.addEventListener("visibilitychange", again);
  try {
    lock = await navigator.wakeLock?.request("screen");
  } catch {
    // the screen goes dark, the log goes on
  }
}

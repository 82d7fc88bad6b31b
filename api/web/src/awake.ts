// Keeps the screen on while something is under way.
import { type ReadonlySignal, signal } from "@preact/signals";

const own = signal(false);
/** The screen goes dark by itself: the device does not let the page keep it on. */
export const goesDark: ReadonlySignal<boolean> = own;

const wanting = new Set<string>();
let lock: WakeLockSentinel | undefined;

async function hold(): Promise<void> {
  if (!("wakeLock" in navigator)) {
    own.value = true;
    return;
  }
  try {
    lock = await navigator.wakeLock.request("screen");
    own.value = false;
  } catch {
    own.value = true; // said on the screen: what is under way goes on without it
  }
}

/** A device lets go whenever the page is not seen. */
const again = () => document.visibilityState === "visible" && void hold();

/** Keeps the screen on for what is named, until that may sleep. */
export function stayAwake(what: string): void {
  wanting.add(what);
  document.addEventListener("visibilitychange", again);
  void hold();
}

export function maySleep(what: string): void {
  wanting.delete(what);
  if (wanting.size > 0) return;
  document.removeEventListener("visibilitychange", again);
  void lock?.release();
  lock = undefined;
}

// Which view is shown, as the address says, and whether there is a network.
import { type ReadonlySignal, signal } from "@preact/signals";

const own = signal("plan");
export const view: ReadonlySignal<string> = own;

export function goTo(name: string): void {
  location.hash = `#/${name}`;
}

/** Follows the address from now on; one that names no view shows the plan. */
export function followAddress(known: (name: string) => boolean, first: () => string): void {
  const on = () => {
    const name = location.hash.replace(/^#\//, "").split("?")[0] || first();
    const now = known(name) ? name : "plan";
    if (now !== own.value) window.scrollTo(0, 0);
    own.value = now;
  };
  on();
  addEventListener("hashchange", on);
}

const network = signal(navigator.onLine);
export const online: ReadonlySignal<boolean> = network;

/** Looks after the network from now on. */
export function followNetwork(): void {
  const on = () => {
    network.value = navigator.onLine;
  };
  addEventListener("online", on);
  addEventListener("offline", on);
}

const wideFrom = globalThis.matchMedia?.("(min-width: 1000px)");
const isWide = signal(!!wideFrom?.matches);
/** Whether columns stand side by side; the same width as in the style sheets. */
export const wide: ReadonlySignal<boolean> = isWide;
wideFrom?.addEventListener("change", (e) => {
  isWide.value = e.matches;
});

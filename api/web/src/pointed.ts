// The place of a walk that is pointed at, on map and strip alike.
import { type ReadonlySignal, signal } from "@preact/signals";

const own = signal<number | undefined>(undefined);
/** Metres into the walk. */
export const pointed: ReadonlySignal<number | undefined> = own;

export function point(m: number | undefined): void {
  own.value = m;
}

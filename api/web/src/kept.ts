// Small things that the device keeps as text, each under a key of the page's own.
import type { ReadonlySignal, Signal } from "@preact/signals";

const under = (key: string): string => `wideberth.${key}`;

/** What was kept under a key; nothing where there is nothing, or nothing readable. */
export function kept<T>(key: string): T | undefined {
  try {
    return (JSON.parse(localStorage.getItem(under(key)) ?? "null") as T | null) ?? undefined;
  } catch {
    return undefined;
  }
}

export const keep = (key: string, value: unknown): void => localStorage.setItem(under(key), JSON.stringify(value));

/** Signals as those see them who do not own them: read, never set. */
export type Shown<T> = { readonly [K in keyof T]: T[K] extends Signal<infer V> ? ReadonlySignal<V> : never };

// The last plans, kept on the device: to be seen at once after a reload, and without a
// network.
import { type ReadonlySignal, signal } from "@preact/signals";
import { drop, store, stored } from "./outbox.ts";
import type { There } from "./plan.ts";
import type { Wish } from "./types.ts";

/** What the list says of a kept plan. */
export interface Head {
  /** what was asked, as text: wish and dog */
  key: string;
  wish: Wish;
  dog: string;
  depart: string;
  calm: number;
  /** RFC 3339, when it was answered */
  answered: string;
}

const most = 8;
const heads = signal<Head[]>([]);
/** The newest first. */
export const recent: ReadonlySignal<Head[]> = heads;

const nameOf = (key: string): string => `answer ${key}`;

/** Reads which are kept. */
export async function loadRecent(): Promise<void> {
  heads.value = (await stored<Head[]>("answers").catch(() => undefined)) ?? [];
}

/** Keeps an answer in place of an older one to the same question; a device that has no
 * room for it goes without. */
export async function keepAnswer(head: Head, there: There): Promise<void> {
  const others = heads.value.filter((h) => h.key !== head.key);
  try {
    await store(nameOf(head.key), there);
    const list = [head, ...others].slice(0, most);
    await store("answers", list);
    for (const h of others.slice(most - 1)) await drop(nameOf(h.key));
    heads.value = list;
  } catch {
    // a kept plan is a comfort, not a need
  }
}

export const isKept = (key: string): boolean => heads.value.some((h) => h.key === key);

/** The answer to a question, if it is kept. */
export async function keptAnswer(key: string): Promise<There | undefined> {
  const head = heads.value.find((h) => h.key === key);
  const there = head && (await stored<There>(nameOf(key)).catch(() => undefined));
  return there && { ...there, checking: false, answered: head.answered };
}

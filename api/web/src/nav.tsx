// The words by which one gets from view to view.

import { dogName } from "./dogs.ts";
import { type Settings, settings } from "./settings.ts";
import { type Key, say } from "./strings.ts";
import { view } from "./view.ts";
import "./nav.css";

const wordsOf: Record<Settings["role"], string[]> = {
  handler: ["plan", "go", "dog", "more"],
  trainer: ["dogs", "visits", "plan", "more"],
  shelter: ["outing", "dogs", "plan", "more"],
};

/** The view that a role begins with. */
export const firstView = (role: Settings["role"]): string => (role === "handler" ? "plan" : wordsOf[role][0]!);

/** Views that have no word of their own stand under another's. */
const under: Record<string, string[]> = {
  handout: ["plan"],
  after: ["go"],
  dog: ["dog", "dogs"],
  visits: ["visits", "dogs", "dog"],
  setups: ["visits", "dogs", "dog"],
  dogs: ["dogs", "dog"],
  go: ["go", "visits", "plan"],
};

export function Words() {
  const name = dogName();
  const words = wordsOf[settings.value.role];
  const wordFor = (v: string) => (v === "dog" && name && [...name].length <= 8 ? name : say(`nav.${v}` as Key));
  const current = (under[view.value] ?? [view.value]).find((v) => words.includes(v));
  return (
    <nav class="words" aria-label={say("nav.label")}>
      <ul>
        {words.map((v) => (
          <li key={v}>
            <a href={`#/${v}`} aria-current={v === current ? "page" : undefined} dir="auto">
              {wordFor(v)}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

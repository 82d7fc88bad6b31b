// The paper that everything is printed on: asked once, beside each button that prints.
import { computed, effect, type ReadonlySignal, signal } from "@preact/signals";
import { keep, kept } from "./kept.ts";
import { Choose } from "./parts.tsx";
import { settings } from "./settings.ts";
import { say } from "./strings.ts";

export type Paper = "a4" | "letter";
const names = { a4: "A4", letter: "Letter" } as const;

const chosen = signal(kept<Paper>("paper"));
/** What was chosen, else what goes with the units. */
export const paper: ReadonlySignal<Paper> = computed(
  () => chosen.value ?? (settings.value.units === "us" ? "letter" : "a4"),
);

function setPaper(p: Paper): void {
  keep("paper", p);
  chosen.value = p;
}

/** Tells the printer the paper from now on, whoever asks it to print. */
export function dressPaper(): void {
  const page = new CSSStyleSheet();
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, page];
  effect(() => page.replaceSync(`@page { size: ${names[paper.value]}; margin: 10mm; }`));
}

/** Prints one part of a view and leaves out the others; "" prints what the view prints. */
export function printPart(part: "" | "wall" | "sheets" | "adopter"): void {
  if (part) document.documentElement.dataset.print = part;
  print();
  delete document.documentElement.dataset.print;
}

/** Which paper; stands beside every button that prints. */
export function PaperChoice() {
  return (
    <Choose
      label={say("hand.paper")}
      of={
        [
          ["a4", names.a4],
          ["letter", names.letter],
        ] as const
      }
      is={paper.value}
      pick={setPaper}
    />
  );
}

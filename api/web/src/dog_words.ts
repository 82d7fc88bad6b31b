// A dog's distances in words.
import { type Category, categories } from "./kinds.ts";
import { zone } from "./mapinfo.ts";
import { settings } from "./settings.ts";
import { say } from "./strings.ts";
import type { Change } from "./types.ts";
import { dateWords, exact } from "./words.ts";

/** What a distance is kept from: a category, or one kind of it. */
export const kindWord = (k: string): string =>
  categories.includes(k as Category)
    ? say("dog.kind.all", { category: say(`category.${k as Category}.row`).toLowerCase() })
    : k.replace(/_/g, " ");

/** When a distance changed, from what to what. */
export const changeWords = (c: Change): string =>
  say("dog.history.line", {
    date: dateWords(new Date(c.at), zone()),
    what: kindWord(c.name),
    from: exact(c.from.working_m, settings.value.units),
    to: exact(c.to.working_m, settings.value.units),
  });

// Every text of the page comes from the catalogue that the server reads too
// (routing/briefing/text): British English by key, and the words that American
// English has instead. The syntax is that of ICU MessageFormat.
import { signal } from "@preact/signals";
import { type Formatters, IntlMessageFormat } from "intl-messageformat";
import en from "../../../routing/briefing/text/en-GB.json" with { type: "json" };
import american from "../../../routing/briefing/text/en-US.json" with { type: "json" };

export type Key = keyof typeof en;

const americanWords: Record<string, string> = american.words;
const americanTexts: Record<string, string> = american.texts;
// Phrases go before the words in them.
const british = new RegExp(
  `\\b(${Object.keys(americanWords)
    .sort((a, b) => b.length - a.length)
    .join("|")})\\b`,
  "gi",
);

function americanText(key: Key): string {
  return (
    americanTexts[key] ??
    en[key].replace(british, (word) => {
      const small = word.toLowerCase();
      const swapped = americanWords[small]!;
      return word === small ? swapped : swapped.charAt(0).toUpperCase() + swapped.slice(1);
    })
  );
}

/** One of each for a language, made when first needed, not one for each text. */
function formatters(lang: string): Formatters {
  const rules: Partial<Record<string, Intl.PluralRules>> = {};
  const numbers = new Intl.NumberFormat(lang);
  return {
    getNumberFormat: () => numbers,
    getDateTimeFormat: (...of) => new Intl.DateTimeFormat(...of),
    getPluralRules: (_, o) => (rules[o?.type ?? "cardinal"] ??= new Intl.PluralRules(lang, o)),
  };
}

/** A text that was read, with the names of the places that stand in it. */
interface Text {
  message: IntlMessageFormat;
  places: string[];
}

type Parts = ReturnType<IntlMessageFormat["getAst"]>;

// What the library calls these parts of a text.
const literal = 0;
const pound = 7;

/** The names of places, those in the cases of a plural too. */
function placesIn(parts: Parts): string[] {
  return parts.flatMap((p) =>
    p.type === literal || p.type === pound
      ? []
      : [p.value, ...("options" in p ? Object.values(p.options).flatMap((c) => placesIn(c.value)) : [])],
  );
}

/** A language and what was read of it so far. */
class Language {
  private readonly texts = new Map<Key, Text>();
  private readonly lang: string;
  private readonly source: (key: Key) => string;
  private readonly formatters: Formatters;

  constructor(lang: string, source: (key: Key) => string) {
    this.lang = lang;
    this.source = source;
    this.formatters = formatters(lang);
  }

  text(key: Key): Text {
    let text = this.texts.get(key);
    if (!text) {
      const o = { ignoreTag: true, formatters: this.formatters };
      const message = new IntlMessageFormat(this.source(key), this.lang, undefined, o);
      text = { message, places: placesIn(message.getAst()) };
      this.texts.set(key, text);
    }
    return text;
  }
}

const languages = {
  gb: new Language("en-GB", (key) => en[key]),
  us: new Language("en-US", americanText),
};
// Whoever says anything is drawn anew when the words change.
const language = signal(languages.gb);

/** Chooses American words; feet and miles are chosen with them. */
export function speakAmerican(on: boolean): void {
  language.value = on ? languages.us : languages.gb;
}

/** Whether words are American now. */
export const speaksAmerican = (): boolean => language.value === languages.us;

/** The language of the texts (BCP 47). */
export const spoken = (): string => (speaksAmerican() ? "en-US" : "en-GB");

/** The text of a key with its named places filled; one that is not given stays empty. */
export function say(key: Key, places: Record<string, string | number> = {}): string {
  const text = language.value.text(key);
  const filled: Record<string, string | number> = {};
  for (const name of text.places) filled[name] = places[name] ?? "";
  return String(text.message.format(filled));
}

/** The pieces of a text, so that a place can be filled by a control. */
export function pieces(key: Key): { text?: string; place?: string }[] {
  return language.value
    .text(key)
    .message.getAst()
    .map((p) => (p.type === literal ? { text: p.value } : { place: "value" in p ? p.value : "" }));
}

/** Every text, by its key. */
export const everyText: Record<string, string> = en;

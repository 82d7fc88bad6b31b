// How this device wants the page: units, clock, colours, role.
import { batch, computed, effect, type ReadonlySignal, signal } from "@preact/signals";
import { keep, kept } from "./kept.ts";
import { speakAmerican, spoken } from "./strings.ts";
import type { Units } from "./words.ts";

export interface Settings {
  units: Units;
  theme: "auto" | "light" | "dark";
  clock: "auto" | "h24" | "h12";
  buzz: boolean;
  aloud: boolean;
  role: "handler" | "trainer" | "shelter";
}

const region = (() => {
  try {
    return new Intl.Locale(navigator.language).region;
  } catch {
    return undefined;
  }
})();
const inFeet = region === "US" || region === "LR";

const own = signal<Settings>({
  units: inFeet ? "us" : "metric",
  theme: "auto",
  clock: "auto",
  buzz: false,
  aloud: false,
  role: "handler",
  ...kept<Partial<Settings>>("settings"),
});
export const settings: ReadonlySignal<Settings> = own;
speakAmerican(own.value.units === "us");

export function setSettings(patch: Partial<Settings>): void {
  const next = { ...own.value, ...patch };
  keep("settings", next);
  batch(() => {
    speakAmerican(next.units === "us"); // never seen with the other's units
    own.value = next;
  });
}

const darkDevice = signal(false);
const night = signal(false);

/** Light or dark, as the page is dressed. */
export type Theme = "light" | "dark";
export const theme: ReadonlySignal<Theme> = computed(() => {
  const t = settings.value.theme;
  return t === "dark" || (t === "auto" && (night.value || darkDevice.value)) ? "dark" : "light";
});

/** Says whether what is shown is looked at in the dark, whatever the device thinks. */
export function setNight(is: boolean): void {
  night.value = is;
}

/** Puts light or dark on the page from now on. */
export function dress(): void {
  const device = matchMedia("(prefers-color-scheme: dark)");
  const look = () => {
    darkDevice.value = device.matches;
  };
  look();
  device.addEventListener("change", look);
  effect(() => {
    document.documentElement.dataset.theme = theme.value;
    document.documentElement.lang = spoken();
  });
}

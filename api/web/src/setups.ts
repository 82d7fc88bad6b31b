// Meetings with a known helper, as asked and answered: kept nowhere, as the next hour is
// another question.
import { batch, signal } from "@preact/signals";
import { ask, type BodyOf, call, type Fault, faultOf } from "./api.ts";
import { dogNow, idOf, plainDog, serverKeeps } from "./dogs.ts";
import type { Shown } from "./kept.ts";
import { mapInfo, zone } from "./mapinfo.ts";
import { readPicture } from "./pictures.ts";
import { settings, theme } from "./settings.ts";
import type { Place, Setup, SetupList } from "./types.ts";
import { visits } from "./visits.ts";
import { dayOf, instant, weekday } from "./words.ts";

type Body = BodyOf<"post", "/v1/setups">;

/** What is asked: the words of the sentence. */
export interface SetupWish {
  kind: string;
  calmness: "calm" | "usual" | "lively";
  from?: Place | undefined;
  /** when both stand on the first line */
  at: string;
  steps: Steps;
  driveMin: number;
  ground: "parks" | "green";
  /** expected reactions to everything else */
  most: number;
}

type Steps = NonNullable<Body["steps"]>;

export const stepsOf: readonly Steps[] = [
  [2, 1.5, 1.25, 1],
  [2, 1.75, 1.5],
  [1.5, 1.25, 1],
  [1.5, 1],
];

/** Early: then little else is about. */
const early = "06:30";
const usualDriveMin = 15;
const usualMost = 0.2;

/** The next Saturday, when most helpers have time. */
function saturday(): string {
  let t = Date.now();
  do t += 864e5;
  while (weekday(new Date(t), zone()) !== "Sat");
  return instant(dayOf(new Date(t), zone()), early, zone()).toISOString();
}

const own = {
  wish: signal<SetupWish>({
    kind: "dog_on_lead",
    calmness: "usual",
    at: "",
    steps: stepsOf[0]!,
    driveMin: usualDriveMin,
    ground: "parks",
    most: usualMost,
  }),
  found: signal<SetupList | undefined>(undefined),
  /** what the answer was asked by: its ground is drawn and printed by the same */
  asked: signal<Body | undefined>(undefined),
  at: signal(0),
  looking: signal(false),
  fault: signal<Fault | undefined>(undefined),
};
export const setups: Shown<typeof own> = own;

/** Fills in what nobody has said yet. */
export function beginSetups(): void {
  const w = own.wish.peek();
  own.wish.value = {
    ...w,
    from: w.from ?? visits.wish.peek().from ?? mapInfo.peek()?.demo?.from,
    at: w.at && Date.parse(w.at) > Date.now() ? w.at : saturday(),
  };
}

/** Changes what is asked; what was found answered another question. */
export function setSetupWish(patch: Partial<SetupWish>): void {
  batch(() => {
    own.wish.value = { ...own.wish.value, ...patch };
    own.found.value = undefined;
    own.fault.value = undefined;
  });
}

async function bodyOf(w: SetupWish): Promise<Body> {
  const d = dogNow()!;
  const who = serverKeeps.value
    ? { dog_id: await idOf(d.name) }
    : { dog: plainDog(d), ...(d.caution ? { bite_history: true } : {}) };
  return {
    from: w.from!.at,
    ...who,
    helper: { kind: w.kind, calmness: w.calmness },
    at: w.at,
    steps: w.steps,
    drive_minutes: w.driveMin,
    ground: w.ground,
    max_expected_reactions: w.most,
    units: settings.value.units,
  };
}

let stop: AbortController | undefined;

/** Looks for ground and lays out the minutes. */
export async function findSetups(): Promise<void> {
  const w = own.wish.value;
  if (!w.from || !dogNow()) return;
  stop?.abort();
  const mine = new AbortController();
  stop = mine;
  batch(() => {
    own.looking.value = true;
    own.fault.value = undefined;
    own.found.value = undefined;
    own.at.value = 0;
  });
  try {
    const body = await bodyOf(w);
    const found = await ask("post", "/v1/setups", { body, signal: mine.signal });
    if (mine.signal.aborted) return;
    batch(() => {
      own.found.value = found;
      own.asked.value = body;
      own.looking.value = false;
    });
  } catch (err) {
    if (mine.signal.aborted) return;
    batch(() => {
      own.looking.value = false;
      own.fault.value = faultOf(err);
    });
  }
}

/** Shows another ground; its timetables are replayed when somebody looks at it. */
export async function showGround(i: number): Promise<void> {
  own.at.value = i;
  const found = own.found.value;
  const one = found?.setups[i];
  if (!found || !one || one.replay) return;
  try {
    const [proved] = (await ask("post", "/v1/setups", { body: { ...own.asked.value!, car: one.car } })).setups;
    if (!proved || own.found.value !== found) return;
    own.found.value = { ...found, setups: found.setups.map((s, k) => (k === i ? proved : s)) };
  } catch {
    // it stands without its replay, and is not said to have one
  }
}

/** What names one ground to the server. */
const named = (s: Setup): Body => ({ ...own.asked.value!, car: s.car });

/** Its picture, made for the room that there is. */
export async function groundPicture(
  s: Setup,
  size: { width_px: number; height_px: number },
  signal: AbortSignal,
): Promise<SVGElement> {
  const body = { ...named(s), theme: theme.value, ...size };
  const r = await call("post", "/v1/setups/pictures", { body, accept: "image/svg+xml", signal });
  return readPicture(await r.text());
}

/** Its two sheets, as HTML. */
export async function groundSheets(s: Setup, paper: "a4" | "letter", signal: AbortSignal): Promise<string> {
  const body = { ...named(s), paper };
  return (await call("post", "/v1/setups/handouts", { body, accept: "text/html", signal })).text();
}

// What is put down on the way, whatever the way is: meetings, each of which goes
// into the outbox once it says what it was.
import type { ReadonlySignal } from "@preact/signals";
import type { BodyOf } from "./api.ts";
import { categoryOf } from "./kinds.ts";
import { newID, post, takeBack } from "./outbox.ts";
import type { DogFile, Need } from "./types.ts";

export type Outcome = "turned_back" | "took_food" | "no_food" | "over" | "snap" | "bite";

/** Whether a dog went over, however. */
export const wentOver = (o: Outcome | undefined): boolean => o === "over" || harm(o);

/** A snap or a bite. */
export const harm = (o: Outcome | undefined): boolean => o === "snap" || o === "bite";
export type Band = "beyond" | "between" | "under";

/** One meeting; without a kind it is a draft to be filled in. */
export interface Meeting {
  id: string;
  at: string;
  category?: string;
  kind?: string | undefined;
  band?: Band;
  outcome?: Outcome;
  sudden?: boolean;
  lat?: number;
  lon?: number;
  /** metres into the walk, as far as was known */
  walkedM?: number;
  sent: boolean;
}

export interface Log {
  id: string;
  dog: string;
  needs: DogFile["needs"];
  zone: string;
  started?: string;
  ended?: string;
  meetings: Meeting[];
  allTold?: boolean;
  finished?: boolean;
}

/** A log that is open: as it is now, and how it is changed, on the device too. */
export interface Book<L extends Log> {
  readonly log: ReadonlySignal<L | undefined>;
  change(how: (log: L) => L): Promise<void>;
}

/** Adds a meeting, in place of a draft if one is named. */
export async function meet<L extends Log>(book: Book<L>, m: Meeting, draft?: string): Promise<void> {
  await book.change((l) => ({ ...l, meetings: [...l.meetings.filter((x) => x.id !== draft), m] }));
  const log = book.log.value;
  if (!log || !m.category || !m.outcome || !m.band) return;
  await post({
    id: m.id,
    at: Date.now(),
    path: "/v1/dogs/{dog}/encounters",
    dog: log.dog,
    body: encounter(log, m, m.kind ?? m.category, m.band, m.outcome),
  });
  await book.change((l) => ({ ...l, meetings: l.meetings.map((x) => (x.id === m.id ? { ...x, sent: true } : x)) }));
}

/** Takes a meeting back. */
export async function unmeet<L extends Log>(book: Book<L>, id: string): Promise<void> {
  const m = book.log.value?.meetings.find((x) => x.id === id);
  if (m?.sent && !(await takeBack(id)))
    await post({ id: newID(), at: Date.now(), path: `/v1/encounters/{id ${id}}/removal`, body: {} });
  await book.change((l) => ({ ...l, meetings: l.meetings.filter((x) => x.id !== id) }));
}

/** Fills in or mends a meeting. */
export async function mend<L extends Log>(book: Book<L>, id: string, patch: Partial<Meeting>): Promise<void> {
  const m = book.log.value?.meetings.find((x) => x.id === id);
  if (!m) return;
  await unmeet(book, id);
  await meet(book, { ...m, ...patch, id: newID(), sent: false });
}

type Encounter = BodyOf<"post", "/v1/dogs/{id}/encounters">;

function encounter(log: Log, m: Meeting, what: string, band: Band, outcome: Outcome): Encounter {
  return {
    walk: log.id,
    at: m.at,
    kind: what,
    ...nearest(log, what, band),
    ...told[outcome],
    sudden: m.sudden ?? false,
    ...(m.lat === undefined || m.lon === undefined ? {} : { lat: m.lat, lon: m.lon }),
  };
}

/** What each outcome says of food and of going over. */
const told: Record<Outcome, Pick<Encounter, "food" | "turned_back" | "over">> = {
  turned_back: { food: "taken", turned_back: true },
  took_food: { food: "taken" },
  no_food: { food: "refused" },
  over: { over: "other" },
  snap: { over: "snap" },
  bite: { over: "bite" },
};

/** How near a meeting was, from the row that was tapped; nothing where the dog has no distances for it. */
function nearest(log: Log, what: string, band: Band): Pick<Encounter, "nearest" | "distance_m" | "to_m"> {
  const n = needFor(log.needs, what);
  if (!n) return {};
  const w = n.working_m;
  const r = n.reaction_m ?? w / 2;
  if (band === "beyond") return { nearest: "farther_than", distance_m: w };
  return band === "between"
    ? { nearest: "between", distance_m: r, to_m: w }
    : { nearest: "nearer_than", distance_m: r };
}

/** A dog's distances for a kind or a category: its own, else those of the kind's category, else those of one of the category's kinds. */
export function needFor(needs: DogFile["needs"], what: string): Need | undefined {
  return (
    needs[what] ??
    needs[categoryOf[what] ?? ""] ??
    Object.entries(needs).find(([k, v]) => v && categoryOf[k] === what)?.[1] ??
    undefined
  );
}

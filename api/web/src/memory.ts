// Dogs as the server keeps them. A server that keeps nothing leaves them on the
// device; the page works either way.
import { ask, Fault } from "./api.ts";
import { type PageDog, plainDog, set, setDogs, state } from "./state.ts";
import type { NeedFile } from "./types.ts";

export interface Distance {
  calm?: boolean;
  working_m: number;
  reaction_m: number;
  from: "said" | "intake" | "unknown" | "learnt";
  since: string;
}
export interface ServerDog {
  id: string;
  version: number;
  profile: {
    name: string;
    speed_mps?: number;
    needs?: Record<string, NeedFile | null>;
    drive?: PageDog["drive"];
    cautions?: { bite_history?: boolean };
  };
  distances: Record<string, Distance>;
}
export interface Evidence {
  working_low_m: number;
  working_high_m: number;
  effective_encounters: number;
  encounters: number;
}
export interface Proposal {
  name: string;
  change: "keep" | "nearer" | "farther" | "too_few";
  from_working_m: number;
  to_working_m: number;
  evidence?: Evidence;
  have?: number;
  need?: number;
}
export interface Change {
  id: string;
  at: string;
  name: string;
  from: Distance;
  to: Distance;
  why: "said" | "learnt" | "reverted";
  evidence?: Evidence;
}
export interface KeptMeeting {
  id: string;
  at: string;
  kind?: string;
  distance_m?: number;
  nearest?: string;
  food?: string;
  over?: string;
  turned_back?: boolean;
  removed?: boolean;
}

export interface Answers {
  notices_at: number | null;
  takes_food_at: number | null;
  stops_eating_at: number | null;
  reacts_at: number | null;
}

export function fromServer(d: ServerDog): PageDog {
  const needs: PageDog["needs"] = {};
  for (const [name, x] of Object.entries(d.distances))
    needs[name] = x.calm ? null : { working_m: x.working_m, reaction_m: x.reaction_m };
  const out: PageDog = {
    id: d.id,
    version: d.version,
    name: d.profile.name,
    needs,
    said: d.profile.needs ?? {},
    from: Object.fromEntries(Object.entries(d.distances).map(([n, x]) => [n, x.from])),
  };
  if (d.profile.speed_mps) out.speed_mps = d.profile.speed_mps;
  if (d.profile.drive) out.drive = d.profile.drive;
  if (d.profile.cautions?.bite_history) out.caution = true;
  return out;
}

/** Whether this server keeps dogs and walks, and whether it has been asked. */
export const memory = { there: false, asked: false };

/** Asks for the account's dogs; those only on the device stay beside them. */
export async function loadDogs(): Promise<void> {
  try {
    const dogs = (await ask<ServerDog[]>("/v1/dogs")).map(fromServer);
    memory.there = true;
    const name = state.dogs[state.dog]?.name;
    const device = state.dogs.filter((d) => !d.id && !dogs.some((x) => x.name === d.name));
    const all = [...dogs, ...device];
    const i = all.findIndex((d) => d.name === name);
    if (all.length > 0) setDogs(all, Math.max(0, i));
  } catch (err) {
    if (err instanceof Fault && err.kind === "refused") memory.there = false;
  }
  memory.asked = true;
  set({});
}

function profile(d: PageDog): Record<string, unknown> {
  const p: Record<string, unknown> = { name: d.name, needs: d.said ?? plainDog(d).needs };
  if (d.speed_mps) p.speed_mps = d.speed_mps;
  if (d.drive) p.drive = d.drive;
  if (d.caution) p.cautions = { bite_history: true };
  return p;
}

/** The server's id of a dog, which is made there if it is not yet. */
export async function idOf(name: string): Promise<string> {
  const d = state.dogs.find((x) => x.name === name);
  if (d?.id) return d.id;
  const there = (await ask<ServerDog[]>("/v1/dogs")).find((x) => x.profile.name === name);
  if (!there && !d) throw new Fault("refused");
  const made = fromServer(there ?? (await ask<ServerDog>("/v1/dogs", { body: profile(d!) })));
  memory.there = true;
  const i = state.dogs.findIndex((x) => x.name === name);
  setDogs(i < 0 ? [...state.dogs, made] : state.dogs.map((x, k) => (k === i ? made : x)));
  return made.id!;
}

/** Keeps what is said of a dog; on the device where the server keeps nothing. */
export async function keepDog(d: PageDog, index: number, intake?: Record<string, Answers>): Promise<void> {
  let kept = d;
  if (memory.there) {
    const body = { ...profile(d), ...(intake ? { intake } : {}) };
    const got = d.id
      ? await ask<ServerDog>(`/v1/dogs/${d.id}`, { method: "PUT", body: { version: d.version, profile: body } })
      : await ask<ServerDog>("/v1/dogs", { body });
    kept = fromServer(got);
  }
  const dogs = index < state.dogs.length ? state.dogs.map((x, i) => (i === index ? kept : x)) : [...state.dogs, kept];
  setDogs(dogs, index);
}

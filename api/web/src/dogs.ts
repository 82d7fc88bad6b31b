// The dogs, and which of them is looked at. A server that keeps nothing leaves
// them on the device; the page works either way.
import { type ReadonlySignal, signal } from "@preact/signals";
import { ask, Fault } from "./api.ts";
import { keep, kept } from "./kept.ts";
import type { Answers, DogFile, DogProfile, KeptDog } from "./types.ts";

/** A dog as the page has it: with the server's id once the server keeps it. */
export interface PageDog extends DogFile {
  id?: string;
  version?: number;
  /** what was said, where needs holds what counts now */
  said?: DogFile["needs"];
  /** where each distance comes from */
  from?: Record<string, string>;
  drive?: NonNullable<DogProfile["drive"]>;
  caution?: boolean;
  /** the other things whoever walks it must know, as the server keeps them */
  cautions?: NonNullable<DogProfile["cautions"]>;
  food?: string;
  reward_interval_s?: number;
  /** it snapped or bit on a walk */
  flag?: NonNullable<KeptDog["flag"]>;
  /** nobody's dog yet: from so many parked cars it still takes food */
  cars?: number;
}

const nameKey = "wideberth.dogname";

const own = {
  dogs: signal<PageDog[]>(kept("dogs") ?? []),
  at: signal(0),
  keeps: signal(false),
  asked: signal(false),
};
own.at.value = Math.max(
  0,
  own.dogs.value.findIndex((d) => d.name === localStorage.getItem(nameKey)),
);

export const dogs: ReadonlySignal<PageDog[]> = own.dogs;
/** The index of the dog that is looked at. */
export const dogAt: ReadonlySignal<number> = own.at;
/** Whether this server keeps dogs and walks. */
export const serverKeeps: ReadonlySignal<boolean> = own.keeps;
/** Whether it has been asked. */
export const serverAsked: ReadonlySignal<boolean> = own.asked;

export const dogNow = (): PageDog | undefined => dogs.value[dogAt.value];
export const dogName = (): string => dogNow()?.name ?? "";

export function setDogs(list: PageDog[], at = own.at.value): void {
  const i = Math.min(at, Math.max(0, list.length - 1));
  keep("dogs", list);
  localStorage.setItem(nameKey, list[i]?.name ?? "");
  own.dogs.value = list;
  own.at.value = i;
}

/** Shows a dog to somebody who has none; it is kept once something is done with it. */
export function lendDog(d: DogFile): void {
  if (own.dogs.value.length === 0) own.dogs.value = [{ ...d }];
}

/** The dog without what only the page needs. */
export function plainDog(d: PageDog | undefined): DogFile {
  if (!d) return { name: "", needs: {} };
  const out: DogFile = { name: d.name, needs: d.needs };
  if (d.speed_mps) out.speed_mps = d.speed_mps;
  if (d.food) out.food = d.food;
  const cautions = { ...d.cautions, ...(d.caution ? { bite_history: true } : {}) };
  if (Object.keys(cautions).length > 0) out.cautions = cautions;
  return out;
}

function fromServer(d: KeptDog): PageDog {
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
  if (d.profile.cautions) out.cautions = d.profile.cautions;
  if (d.profile.food) out.food = d.profile.food;
  if (d.profile.reward_interval_s) out.reward_interval_s = d.profile.reward_interval_s;
  if (d.flag) out.flag = d.flag;
  if (d.flag || d.profile.cautions?.bite_history) out.caution = true;
  return out;
}

/** Asks for the account's dogs; those only on the device, when first is done, stay beside them. */
export async function loadDogs(first?: Promise<unknown>): Promise<void> {
  try {
    const [list] = await Promise.all([ask("get", "/v1/dogs"), first]);
    const there = list.map(fromServer);
    own.keeps.value = true;
    const name = dogNow()?.name;
    const device = dogs.value.filter((d) => !d.id && !there.some((x) => x.name === d.name));
    const all = [...there, ...device];
    const i = all.findIndex((d) => d.name === name);
    if (all.length > 0) setDogs(all, Math.max(0, i));
  } catch (err) {
    if (err instanceof Fault && err.kind === "refused") own.keeps.value = false;
  }
  own.asked.value = true;
}

function profile(d: PageDog): DogProfile {
  const p: DogProfile = { name: d.name, needs: d.said ?? plainDog(d).needs };
  if (d.speed_mps) p.speed_mps = d.speed_mps;
  if (d.drive) p.drive = d.drive;
  if (d.food) p.food = d.food;
  if (d.reward_interval_s) p.reward_interval_s = d.reward_interval_s;
  const { bite_history: said, ...others } = d.cautions ?? {};
  const bite = d.flag ? said : d.caution; // a flag is the server's, and no word of a person's
  if (bite || Object.keys(others).length > 0) p.cautions = { ...others, ...(bite ? { bite_history: true } : {}) };
  return p;
}

/** The server's id of a dog, which is made there if it is not yet. */
export async function idOf(name: string): Promise<string> {
  const d = dogs.value.find((x) => x.name === name);
  if (d?.id) return d.id;
  const there = (await ask("get", "/v1/dogs")).find((x) => x.profile.name === name);
  if (!there && !d) throw new Fault("refused");
  const made = fromServer(there ?? (await ask("post", "/v1/dogs", { body: profile(d!) })));
  own.keeps.value = true;
  const i = dogs.value.findIndex((x) => x.name === name);
  setDogs(i < 0 ? [...dogs.value, made] : dogs.value.map((x, k) => (k === i ? made : x)));
  return made.id!;
}

/** Keeps what is said of a dog; on the device where the server keeps nothing. */
export async function keepDog(d: PageDog, index: number, intake?: Record<string, Answers>): Promise<void> {
  let said = d;
  if (serverKeeps.value) {
    const body = { ...profile(d), ...(intake ? { intake } : {}) };
    const got = d.id
      ? await ask("put", "/v1/dogs/{id}", { at: { id: d.id }, body: { version: d.version ?? 0, profile: body } })
      : await ask("post", "/v1/dogs", { body });
    said = fromServer(got);
  }
  const list = index < dogs.value.length ? dogs.value.map((x, i) => (i === index ? said : x)) : [...dogs.value, said];
  setDogs(list, index);
}

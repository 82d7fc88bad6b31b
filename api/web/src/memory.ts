// Dogs as the server keeps them. A server that keeps nothing leaves them on the
// device; the page works either way.
import { ask, Fault } from "./api.ts";
import { type PageDog, plainDog, set, setDogs, state } from "./state.ts";
import type { Answers, DogProfile, KeptDog } from "./types.ts";

export function fromServer(d: KeptDog): PageDog {
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
    const dogs = (await ask("get", "/v1/dogs")).map(fromServer);
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

function profile(d: PageDog): DogProfile {
  const p: DogProfile = { name: d.name, needs: d.said ?? plainDog(d).needs };
  if (d.speed_mps) p.speed_mps = d.speed_mps;
  if (d.drive) p.drive = d.drive;
  if (d.caution) p.cautions = { bite_history: true };
  return p;
}

/** The server's id of a dog, which is made there if it is not yet. */
export async function idOf(name: string): Promise<string> {
  const d = state.dogs.find((x) => x.name === name);
  if (d?.id) return d.id;
  const there = (await ask("get", "/v1/dogs")).find((x) => x.profile.name === name);
  if (!there && !d) throw new Fault("refused");
  const made = fromServer(there ?? (await ask("post", "/v1/dogs", { body: profile(d!) })));
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
      ? await ask("put", "/v1/dogs/{id}", { at: { id: d.id }, body: { version: d.version ?? 0, profile: body } })
      : await ask("post", "/v1/dogs", { body });
    kept = fromServer(got);
  }
  const dogs = index < state.dogs.length ? state.dogs.map((x, i) => (i === index ? kept : x)) : [...state.dogs, kept];
  setDogs(dogs, index);
}

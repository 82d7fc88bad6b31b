// What was logged is kept on the device first and sent when it can be: nothing
// is lost, and the key that each entry carries lets the server take it once.
import { signal } from "@preact/signals";
import { ask, Fault, filled, request } from "./api.ts";
import { idOf } from "./dogs.ts";
import type { Shown } from "./kept.ts";

export interface Entry {
  /** also the idempotency key */
  id: string;
  /** order of sending */
  at: number;
  /** may hold {dog}, and {id KEY} for what the server called an entry sent before */
  path: string;
  body: unknown;
  /** media type of a body that is a text and no JSON */
  type?: string;
  /** fields of the body that hold what the server called entries sent before, by their keys */
  ids?: Record<string, string>;
  /** name of the dog that {dog} stands for */
  dog?: string;
  /** it went out, and no answer said that the server did not take it */
  tried?: true;
}

const dbName = "wideberth";

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const r = indexedDB.open(dbName, 1);
    r.onupgradeneeded = () => {
      r.result.createObjectStore("outbox", { keyPath: "id" });
      r.result.createObjectStore("kept");
    };
    r.onsuccess = () => resolve(r.result);
    r.onerror = () => reject(r.error);
  });
}

async function within<T>(
  store: string,
  mode: IDBTransactionMode,
  work: (s: IDBObjectStore) => IDBRequest<T>,
): Promise<T> {
  const db = await open();
  try {
    return await new Promise<T>((resolve, reject) => {
      const t = db.transaction(store, mode);
      const r = work(t.objectStore(store));
      t.oncomplete = () => resolve(r.result);
      t.onerror = () => reject(t.error);
      t.onabort = () => reject(t.error);
    });
  } finally {
    db.close();
  }
}

/** Keeps a value on the device under a name. */
export const store = (name: string, value: unknown): Promise<unknown> =>
  within("kept", "readwrite", (s) => s.put(value, name));
export const stored = <T>(name: string): Promise<T | undefined> =>
  within("kept", "readonly", (s) => s.get(name) as IDBRequest<T | undefined>);
export const drop = (name: string): Promise<unknown> => within("kept", "readwrite", (s) => s.delete(name));
export const dropAll = async (): Promise<void> => {
  await within("kept", "readwrite", (s) => s.clear());
  await within("outbox", "readwrite", (s) => s.clear());
};

/** An entry that the server refused for good, and what it said. */
export interface Refused {
  entry: Entry;
  why?: string;
}

const own = { waiting: signal(0), sent: signal(0), refused: signal<Refused[]>([]) };
/** How many entries wait, how many were sent just now, and which were refused for good. */
export const outbox: Shown<typeof own> = own;
const tellSentMS = 8000;

async function count(): Promise<void> {
  own.waiting.value = await within("outbox", "readonly", (s) => s.count());
  own.refused.value = await within("kept", "readonly", (s) => s.getAll(refusedOnes) as IDBRequest<Refused[]>);
}

const refusedOnes = IDBKeyRange.bound("refused.", "refused.\uffff");

/** Drops an entry that was refused. */
export async function giveUp(id: string): Promise<void> {
  await drop(`refused.${id}`);
  await count();
}

/** Sends an entry that was refused once more, as one that never went out. */
export async function offerAgain(r: Refused): Promise<void> {
  const { tried: _, ...entry } = r.entry;
  await within("outbox", "readwrite", (s) => s.put(entry));
  await giveUp(entry.id);
  void send();
}

/** Keeps an entry and tries to send. */
export async function post(e: Entry): Promise<void> {
  await within("outbox", "readwrite", (s) => s.put(e));
  await count();
  void send();
}

/** Takes back what has not been sent; false if it has gone out, as far as is known. */
export async function takeBack(id: string): Promise<boolean> {
  let gone = false;
  // One transaction, so that sending finds the entry or finds it gone.
  await within("outbox", "readwrite", (s) => {
    const r = s.get(id) as IDBRequest<Entry | undefined>;
    r.onsuccess = () => {
      gone = r.result !== undefined && !r.result.tried;
      if (gone) s.delete(id);
    };
    return r;
  });
  await count();
  return gone;
}

let sending = false;

/** The keys of the entries that one refers to. */
const refersTo = (e: Entry): string[] => [...Object.values(e.ids ?? {}), ...(idIn.exec(e.path)?.slice(1) ?? [])];
const idIn = /\{id ([^}]+)\}/;

/** What goes next, marked as tried: the oldest that refers to nothing that still waits,
 * whatever the clock did meanwhile, and was not passed by. */
async function next(passed: Set<string>): Promise<Entry | undefined> {
  let first: Entry | undefined;
  await within("outbox", "readwrite", (s) => {
    const r = s.getAll() as IDBRequest<Entry[]>;
    r.onsuccess = () => {
      const waiting = new Set(r.result.map((e) => e.id));
      first = r.result
        .sort((a, b) => a.at - b.at)
        .find((e) => !passed.has(e.id) && !refersTo(e).some((key) => waiting.has(key)));
      if (first) s.put({ ...first, tried: true });
    };
    return r;
  });
  return first;
}

/** Sends what waits, oldest first; stops at the first that the network or the server does not take,
 * and goes past what is refused for now for its own sake. */
export async function send(): Promise<void> {
  if (sending || !navigator.onLine) return;
  sending = true;
  let sent = 0;
  const passed = new Set<string>();
  try {
    for (let e = await next(passed); e; e = await next(passed)) {
      const { id } = e;
      const fate = await offered(e);
      if (fate === "later") break;
      if (fate === "passed") {
        passed.add(id);
        continue;
      }
      await within("outbox", "readwrite", (s) => s.delete(id));
      sent++;
    }
  } finally {
    sending = false;
  }
  if (sent > 0) {
    own.sent.value = sent;
    await count();
    setTimeout(() => {
      own.sent.value = 0;
    }, tellSentMS);
  }
}

/** Refused today and maybe not tomorrow, and no matter of the entries behind it: a dog that is
 * no longer this person's, or gone; a moment that is still to come by a server's clock that is
 * behind. */
const forNow = ["forbidden", "not-found", "ahead"].map((type) => `urn:wideberth:${type}`);

/** Sends an entry: taken, or set aside as it is refused for good; passed by until the queue is
 * gone through again; or to be sent later, and all behind it too. */
async function offered(e: Entry): Promise<"done" | "passed" | "later"> {
  try {
    const path = await resolved(e);
    if (path === undefined) return "done"; // what it is about was refused, so there is nothing to change
    const key = { "Idempotency-Key": e.id };
    const r = await (e.type
      ? request("post", path, { text: String(e.body), headers: { ...key, "Content-Type": e.type } })
      : request("post", path, { body: { ...(await righted(e.body)), ...(await known(e.ids)) }, headers: key }));
    const told = r.status === 204 ? undefined : ((await r.json()) as { id?: string });
    if (told?.id) await store(`id.${e.id}`, told.id);
  } catch (err) {
    // A server that keeps nothing yet, or no longer, is asked again later.
    const refused = err instanceof Fault && err.kind === "refused";
    const passed = refused && forNow.includes(err.problem?.type ?? "");
    if (!(refused && !passed && [400, 409, 413, 422].includes(err.problem?.status ?? 0))) {
      const notTaken = err instanceof Fault && ["busy", "token", "refused"].includes(err.kind);
      if (notTaken) await within("outbox", "readwrite", (s) => s.put(e));
      return passed ? "passed" : "later";
    }
    await store(`refused.${e.id}`, { entry: e, why: err.problem?.detail });
  }
  return "done";
}

/** A clock that was never set. */
export const wrongClock = (at: string): boolean => Date.parse(at) < Date.parse("2024-01-01");

/** An entry of a wrong clock gets the server's time. */
async function righted(body: unknown): Promise<object> {
  const b = body as { at?: string };
  if (!b.at || !wrongClock(b.at)) return b;
  return { ...b, at: (await ask("get", "/v1/map")).now };
}

/** What the server called entries that were sent; one that it refused is left out. */
async function known(ids: Record<string, string> = {}): Promise<Record<string, string>> {
  const out: Record<string, string> = {};
  for (const [field, key] of Object.entries(ids)) {
    const id = await stored<string>(`id.${key}`);
    if (id) out[field] = id;
  }
  return out;
}

/** The path with what the server called what it names; nothing if the server never took that. */
async function resolved(e: Entry): Promise<string | undefined> {
  const at: Record<string, string> = {};
  if (e.path.includes("{dog}")) at.dog = await idOf(e.dog ?? "");
  const key = idIn.exec(e.path)?.[1];
  if (key !== undefined) {
    const id = await stored<string>(`id.${key}`);
    if (!id) return undefined;
    at[`id ${key}`] = id;
  }
  return filled(e.path, at);
}

export async function startOutbox(): Promise<void> {
  addEventListener("online", () => void send());
  setInterval(() => void send(), 15000);
  await count();
  await send();
}

export const newID = (): string =>
  crypto.randomUUID?.() ??
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");

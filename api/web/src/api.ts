// Calls of the public API, and nothing else of it. Paths, what is sent and what
// comes back are typed by the server's own description of them.
import type { paths } from "./api.gen.ts";
import { spoken } from "./strings.ts";
import type { Problem } from "./types.ts";

/** A call that did not give what was asked for. */
export class Fault extends Error {
  readonly kind: "offline" | "busy" | "token" | "slow" | "server" | "refused";
  readonly problem: Problem | undefined;
  readonly retryS: number;

  constructor(kind: Fault["kind"], problem?: Problem, retryS = 0) {
    super(problem?.detail ?? kind);
    this.kind = kind;
    this.problem = problem;
    this.retryS = retryS;
  }
}

/** What went wrong, also where it was no call. */
export const faultOf = (err: unknown): Fault => (err instanceof Fault ? err : new Fault("server"));

const tokenKey = "wideberth.token";

export function token(): string {
  return localStorage.getItem(tokenKey) ?? "";
}

export function setToken(value: string): void {
  if (value) localStorage.setItem(tokenKey, value);
  else localStorage.removeItem(tokenKey);
}

export type Verb = "get" | "post" | "put" | "delete";
export type PathWith<V extends Verb> = {
  [P in keyof paths]: paths[P] extends { [K in V]: object } ? P : never;
}[keyof paths];
type Operation<V extends Verb, P extends PathWith<V>> = paths[P] extends { [K in V]: infer O } ? O : never;

/** What an operation takes. */
export type BodyOf<V extends Verb, P extends PathWith<V>> =
  Operation<V, P> extends { requestBody: { content: { "application/json": infer B } } } ? B : never;
/** What it answers with, of those that answer in JSON. */
export type AnswerOf<V extends Verb, P extends PathWith<V>> =
  Operation<V, P> extends { responses: { 200: { content: { "application/json": infer A } } } } ? A : undefined;
type Places<V extends Verb, P extends PathWith<V>> =
  Operation<V, P> extends { parameters: { path: infer Q } } ? Q : never;

interface Common {
  signal?: AbortSignal;
  /** another form of the answer than JSON */
  accept?: string;
}
type Given<K extends string, T> = [T] extends [never] ? unknown : { [X in K]: T };
export type Asked<V extends Verb, P extends PathWith<V>> = Common &
  Given<"body", BodyOf<V, P>> &
  Given<"at", Places<V, P>>;
export type Rest<O> = Common extends O ? [o?: O] : [o: O];

/** Asks an operation and gives the response if it is good. */
export function call<V extends Verb, P extends PathWith<V>>(
  verb: V,
  path: P,
  ...[o]: Rest<Asked<V, P>>
): Promise<Response> {
  const { at, ...rest } = (o ?? {}) as Common & { body?: unknown; at?: Record<string, string> };
  return request(verb, filled(path, at ?? {}), rest);
}

/** The same for what it says in JSON. */
export async function ask<V extends Verb, P extends PathWith<V>>(
  verb: V,
  path: P,
  ...o: Rest<Asked<V, P>>
): Promise<AnswerOf<V, P>> {
  const r = await call(verb, path, ...o);
  return (r.status === 204 ? undefined : await r.json()) as AnswerOf<V, P>;
}

/** A path with its {places} taken. */
export const filled = (path: string, at: Record<string, string>): string =>
  path.replace(/\{([^}]+)\}/g, (place, name: string) => (name in at ? encodeURIComponent(at[name] ?? "") : place));

/** Fetches a path, whatever it is, and gives the response if it is good. */
export async function request(
  verb: Verb,
  path: string,
  o: Common & {
    body?: unknown;
    /** in place of a body: what is sent is no JSON */
    text?: string;
    headers?: Record<string, string>;
  } = {},
): Promise<Response> {
  const accept = o.accept ?? "application/json";
  const headers: Record<string, string> = { Accept: accept, "Accept-Language": spoken(), ...o.headers };
  if (o.body !== undefined) headers["Content-Type"] = "application/json";
  if (token()) headers.Authorization = `Bearer ${token()}`;
  let r: Response;
  try {
    const init: RequestInit = { method: verb.toUpperCase(), headers };
    if (o.text !== undefined) init.body = o.text;
    else if (o.body !== undefined) init.body = JSON.stringify(o.body);
    if (o.signal) init.signal = o.signal;
    r = await fetch(path, init);
  } catch (err) {
    if (err instanceof DOMException && err.name === "AbortError") throw err;
    throw new Fault("offline");
  }
  if (r.ok) return r;
  const problem = (await r.json().catch(() => undefined)) as Problem | undefined;
  const retry = Number(r.headers.get("Retry-After") ?? 5);
  switch (true) {
    case r.status === 401:
      throw new Fault("token", problem);
    case r.status === 503:
      throw new Fault("busy", problem, retry);
    case r.status === 504:
      throw new Fault("slow", problem);
    case r.status >= 500:
      throw new Fault("server", problem);
  }
  throw new Fault("refused", problem);
}

// Calls of the public API, and nothing else of it.
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

const tokenKey = "wideberth.token";

export function token(): string {
  return localStorage.getItem(tokenKey) ?? "";
}

export function setToken(value: string): void {
  if (value) localStorage.setItem(tokenKey, value);
  else localStorage.removeItem(tokenKey);
}

export interface CallOptions {
  method?: string;
  body?: unknown;
  headers?: Record<string, string>;
  signal?: AbortSignal;
  accept?: string;
}

/** Fetches a path and gives the response if it is good. */
export async function call(path: string, o: CallOptions = {}): Promise<Response> {
  const headers: Record<string, string> = { Accept: o.accept ?? "application/json", ...o.headers };
  if (o.body !== undefined) headers["Content-Type"] = "application/json";
  if (token()) headers.Authorization = `Bearer ${token()}`;
  let r: Response;
  try {
    const init: RequestInit = { method: o.method ?? (o.body === undefined ? "GET" : "POST"), headers };
    if (o.body !== undefined) init.body = typeof o.body === "string" ? o.body : JSON.stringify(o.body);
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

export async function ask<T>(path: string, o: CallOptions = {}): Promise<T> {
  const r = await call(path, o);
  return (r.status === 204 ? undefined : await r.json()) as T;
}

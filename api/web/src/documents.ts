// Documents that the server keeps for the whole account. What is in them is the
// page's own; a version that is not the latest is refused.
import { ask, call } from "./api.ts";
import type { Doc } from "./types.ts";

/** The documents of a kind with what the page puts into them. */
export const documents = <Body>(kind: "visits" | "outings") => ({
  /** All of them, newest first. */
  all: async () => (await ask("get", "/v1/documents/{kind}", { at: { kind } })) as Doc<Body>[],
  one: async (id: string) => (await ask("get", "/v1/documents/{kind}/{id}", { at: { kind, id } })) as Doc<Body>,
  /** Keeps one in place of its version, 0 for a new one. */
  put: async (id: string, d: { version: number; dog?: string; body: Body }) =>
    (await ask("put", "/v1/documents/{kind}/{id}", { at: { kind, id }, body: d })) as Doc<Body>,
  drop: (id: string) => call("delete", "/v1/documents/{kind}/{id}", { at: { kind, id } }),
});

// Documents that the server keeps for the whole account. What is in them is the
// page's own; a version that is not the latest is refused.
import { ask, call } from "./api.ts";
import type { Doc } from "./types.ts";

/** The documents of a kind with what the page puts into them. */
export const documents = <Body>(kind: "visits" | "outings") => ({
  /** The newest, at most so many. The server lists them without their bodies: those
   * that are not known, or are of another version by now, are asked for one by one. */
  all: async <D extends Pick<Doc<Body>, "id" | "version" | "body">>(known: D[], most = Infinity) => {
    const heads = (await ask("get", "/v1/documents/{kind}", { at: { kind } })).slice(0, most);
    const same = (h: { id: string; version: number }) => known.find((d) => d.id === h.id && d.version === h.version);
    return Promise.all(
      heads.map(
        async (h) =>
          same(h) ?? ((await ask("get", "/v1/documents/{kind}/{id}", { at: { kind, id: h.id } })) as Doc<Body>),
      ),
    );
  },
  one: async (id: string) => (await ask("get", "/v1/documents/{kind}/{id}", { at: { kind, id } })) as Doc<Body>,
  /** Keeps one in place of its version, 0 for a new one. */
  put: async (id: string, d: { version: number; dog?: string; body: Body }) =>
    (await ask("put", "/v1/documents/{kind}/{id}", { at: { kind, id }, body: d })) as Doc<Body>,
  drop: (id: string) => call("delete", "/v1/documents/{kind}/{id}", { at: { kind, id } }),
});

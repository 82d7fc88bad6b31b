// Kept sequences and timetables. The server lists them without their bodies: those
// that are not there yet, or are of another version by now, are asked for one by one.
import { ask } from "./api.ts";

interface Head {
  id: string;
  version: number;
}

/** The documents of a kind, latest first, at most so many. */
export async function documents<T extends Head>(kind: "visits" | "outings", known: T[], most = Infinity): Promise<T[]> {
  const heads = (await ask<Head[]>(`/v1/documents/${kind}`)).slice(0, most);
  return Promise.all(heads.map((h) => known.find((d) => d.id === h.id && d.version === h.version) ?? ask<T>(`/v1/documents/${kind}/${encodeURIComponent(h.id)}`)));
}

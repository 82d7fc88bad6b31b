// A walk that was walked without the page, put down afterwards.

import { signal } from "@preact/signals";
import { type Log, type Meeting, meet } from "./log.ts";
import { newID, post } from "./outbox.ts";
import type { DogFile } from "./types.ts";

/** A recorded track, as far as the page reads it. */
export interface Track {
  gpx: string;
  points: number;
  begins: Date;
  ends: Date;
}

const point = /<(?:\w+:)?trkpt\b[^>]*>([\s\S]*?)<\/(?:\w+:)?trkpt>/g;
const stamp = /<(?:\w+:)?time>([^<]+)</;

/** Reads when a GPX file's track begins and ends; nothing where it has no points with
 * times. The rest of the file is the server's to check; the browser's own reader of XML
 * answers a fault with a page whose styles break the content policy. */
export function readTrack(gpx: string): Track | undefined {
  if (!/<\/(?:\w+:)?gpx>\s*$/.test(gpx)) return undefined;
  const times = [...gpx.matchAll(point)]
    .map((p) => Date.parse(stamp.exec(p[1]!)?.[1]?.trim() ?? ""))
    .filter((t) => !Number.isNaN(t));
  if (times.length < 2) return undefined;
  const [first, last] = times.reduce(([a, b], t) => [Math.min(a, t), Math.max(b, t)], [Infinity, -Infinity] as [
    number,
    number,
  ]);
  return { gpx, points: times.length, begins: new Date(first), ends: new Date(last) };
}

/** What was walked. */
export interface PastWalk {
  dog: string;
  needs: DogFile["needs"];
  zone: string;
  started: Date;
  ended: Date;
  met: Meeting[];
  track?: Track | undefined;
}

/** Puts it into the outbox: the walk, its meetings, its track. All of it is told. */
export async function keepPast(w: PastWalk): Promise<void> {
  const log = signal<Log>({ id: newID(), dog: w.dog, needs: w.needs, zone: w.zone, meetings: [] });
  const book = {
    log,
    change: async (how: (l: Log) => Log) => {
      log.value = how(log.value);
    },
  };
  for (const m of w.met) await meet(book, m);
  const walk = log.value.id;
  await post({
    id: walk,
    at: Date.now() + 1,
    path: "/v1/dogs/{dog}/walks",
    dog: w.dog,
    body: { started: w.started.toISOString(), ended: w.ended.toISOString(), all_told: true },
  });
  if (w.track)
    await post({
      id: newID(),
      at: Date.now() + 2,
      path: `/v1/walks/{id ${walk}}/track`,
      type: "application/gpx+xml",
      body: w.track.gpx,
    });
}

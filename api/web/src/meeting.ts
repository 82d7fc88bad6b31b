// What was met, in words: the rows of the pad and the lines of a log.
import { type Band, type Log, type Meeting, needFor } from "./log.ts";
import { settings } from "./settings.ts";
import { type Key, say } from "./strings.ts";

import { carM, clock, exact } from "./words.ts";

/** One line of a log. */
export function meetingWords(s: Log, m: Meeting): string {
  if (!m.category) return say("go.draft", { time: clock(new Date(m.at), s.zone, settings.value.clock) });
  return [
    say(`go.kind.${m.kind ?? m.category}` as Key).toLowerCase(),
    bandWords(s, m.kind ?? m.category, m.band!).name,
    say(`outcome.${m.outcome!}`),
  ].join(", ");
}

/** What a row of the pad is called for this dog, and the same in parked cars. */
export function bandWords(s: Log, what: string, band: Band): { name: string; cars: string } {
  const u = settings.value.units;
  const n = needFor(s.needs, what);
  if (!n)
    return {
      name: say({ beyond: "go.log.far", between: "go.log.near", under: "go.log.verynear" }[band] as Key),
      cars: "",
    };
  const far = n.working_m;
  const near = n.reaction_m ?? far / 2;
  const cars = (m: number) => Math.round(m / carM);
  const ok = (c: number) => c >= 2 && c <= 20;
  switch (band) {
    case "beyond":
      return {
        name: say("go.log.beyond", { distance: exact(far, u) }),
        cars: ok(cars(far)) ? say("go.cars.more", { n: cars(far) }) : "",
      };
    case "between":
      return {
        name: say("go.log.between", { near: exact(near, u).split(/\s/)[0]!, far: exact(far, u) }),
        cars: ok(cars(far)) && cars(near) >= 1 ? say("go.cars.between", { a: cars(near), b: cars(far) }) : "",
      };
    case "under":
      return {
        name: say("go.log.under", { distance: exact(near, u) }),
        cars: ok(cars(near)) ? say("go.cars.less", { n: cars(near) }) : "",
      };
  }
}

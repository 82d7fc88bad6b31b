import { Glyph } from "../draw.tsx";
import type { Band, Log, Outcome } from "../log.ts";
import { bandWords } from "../meeting.ts";
import { say } from "../strings.ts";
import { capital } from "../words.ts";

/** One cell says how near it was and how it went. */
export function PadRows(props: { log: Log; what: string; tap: (b: Band, o: Outcome) => void }) {
  return (
    <>
      {(["beyond", "between", "under"] as const).map((band) => {
        const words = bandWords(props.log, props.what, band);
        return (
          <section key={band}>
            <h2 class={band === "under" ? "broken" : ""}>
              {words.name} <span>{words.cars}</span>
            </h2>
            <div class="four">
              {(["turned_back", "took_food", "no_food", "over"] as const).map((o) => (
                <button key={o} aria-label={`${words.name}: ${say(`outcome.${o}`)}`} onClick={() => props.tap(band, o)}>
                  <Glyph of={o} />
                  {say(`outcome.${o}`)}
                </button>
              ))}
            </div>
          </section>
        );
      })}
      <div class="four harm" role="group" aria-label={say("pad.harm")}>
        {(["snap", "bite"] as const).map((o) => (
          <button key={o} onClick={() => props.tap("under", o)}>
            {capital(say(`outcome.${o}`))}
          </button>
        ))}
      </div>
    </>
  );
}

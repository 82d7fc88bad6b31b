// One visit on the screen and on paper.

import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { Choose, FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { revisit, type VisitsDoc, visitOf, visits } from "../visits.ts";
import { fillSheets } from "./handout.tsx";

/** The server's sheet of a visit: way in, where to stand and what for, way home. */
export function VisitSheet(props: { doc: VisitsDoc; n: number; close: () => void }) {
  const box = useRef<HTMLDivElement>(null);
  const [paper, setPaper] = useState<"a4" | "letter">(settings.value.units === "us" ? "letter" : "a4");
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const v = visitOf(props.doc, props.n);
  const rule = visits.progress.value[props.doc.id]?.rule ?? props.doc.body.rule;
  const key = props.doc.id + props.n + v.arrive + v.at.join();
  useEffect(() => {
    const stop = new AbortController();
    setFault(undefined);
    setThere(false);
    call("post", "/v1/visits/handouts", {
      body: {
        ...revisit(props.doc, props.n),
        visit: props.n,
        of: props.doc.body.sequence.visits.length,
        ...(rule ? { rule } : {}),
        paper,
        units: settings.value.units,
      },
      accept: "text/html",
      signal: stop.signal,
    })
      .then(async (r) => {
        await fillSheets(box.current!, await r.text(), paper);
        setThere(true);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, paper, asked, settings.value.units, JSON.stringify(rule)]);
  return (
    <section class="sheets" aria-label={say("hand.title")}>
      <div class="onpage stack screen">
        <h2>{say("hand.title")}</h2>
        <div class="row">
          <button class="main" disabled={!there} onClick={() => print()}>
            {say("hand.print")}
          </button>
          <Choose
            label={say("hand.paper")}
            of={
              [
                ["a4", "A4"],
                ["letter", "Letter"],
              ] as const
            }
            is={paper}
            pick={setPaper}
          />
          <button onClick={props.close}>{say("outing.hand.close")}</button>
        </div>
        {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
        <p role="status">{!there && !fault && say("hand.loading")}</p>
      </div>
      <div class="sheetbox">
        <div ref={box} class="sheetholder" />
      </div>
    </section>
  );
}

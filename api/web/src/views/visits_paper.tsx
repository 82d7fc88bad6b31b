// One visit on the screen and on paper.

import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { revisit, type VisitsDoc, visitOf, visits } from "../visits.ts";
import { fillSheets } from "./handout.tsx";

/** The server's sheet of a visit: way in, where to stand and what for, way home. */
export function VisitSheet(props: { doc: VisitsDoc; n: number; close: () => void }) {
  const box = useRef<HTMLDivElement>(null);
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
        paper: paper.value,
        units: settings.value.units,
      },
      accept: "text/html",
      signal: stop.signal,
    })
      .then(async (r) => {
        await fillSheets(box.current!, await r.text(), paper.value);
        setThere(true);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, paper.value, asked, settings.value.units, JSON.stringify(rule)]);
  return (
    <section class="sheets" aria-label={say("hand.title")}>
      <div class="onpage stack screen">
        <h2>{say("hand.title")}</h2>
        <div class="row">
          <button class="main" disabled={!there} onClick={() => printPart("")}>
            {say("hand.print")}
          </button>
          <PaperChoice />
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

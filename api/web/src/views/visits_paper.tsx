// One visit on the screen and on paper.

import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { revisit, type VisitsDoc, visitOf, visits } from "../visits.ts";
import { Printed } from "./printed.tsx";
import { fillSheets } from "./sheets.ts";

/** By which a step is taken: what moves on and what goes back. */
const ruleOf = (doc: VisitsDoc) => visits.progress.value[doc.id]?.rule ?? doc.body.rule;

/** The sheet of a visit, as the server draws it. */
async function sheetOf(doc: VisitsDoc, n: number, signal: AbortSignal): Promise<string> {
  const rule = ruleOf(doc);
  const body = {
    ...revisit(doc, n),
    visit: n,
    of: doc.body.sequence.visits.length,
    ...(rule ? { rule } : {}),
    paper: paper.value,
    units: settings.value.units,
  };
  return (await call("post", "/v1/visits/handouts", { body, accept: "text/html", signal })).text();
}

const keyOf = (doc: VisitsDoc, n: number): string => {
  const v = visitOf(doc, n);
  return [doc.id, n, v.arrive, v.at.join(), settings.value.units, JSON.stringify(ruleOf(doc))].join();
};

/** What the browser prints of the visits: the next one. */
export function PrintedVisit(props: { doc: VisitsDoc }) {
  const { doc } = props;
  const n = doc.body.step;
  return <Printed of={keyOf(doc, n)} paper={paper.value} draw={(signal) => sheetOf(doc, n, signal)} />;
}

/** The server's sheet of a visit: way in, where to stand and what for, way home. */
export function VisitSheet(props: { doc: VisitsDoc; n: number; close: () => void }) {
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const key = keyOf(props.doc, props.n);
  useEffect(() => {
    const stop = new AbortController();
    setFault(undefined);
    setThere(false);
    sheetOf(props.doc, props.n, stop.signal)
      .then(async (html) => {
        await fillSheets(box.current!, html, paper.value);
        setThere(true);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, paper.value, asked]);
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

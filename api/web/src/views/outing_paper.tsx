// Hand-outs of an outing on the screen and on paper.

import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { handOutBody } from "../outing.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { fillSheets } from "./sheets.ts";

/** The server's sheets of some walks, of all if none is named. */
export function Sheets(props: { dogs: string[]; print: boolean; close: () => void }) {
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const printed = useRef(false);
  const whole = useRef<HTMLElement>(null);
  useEffect(() => whole.current?.scrollIntoView(), [props.dogs]);
  /** One person's sheet goes without the list for the wall. */
  const onPaper = () => printPart(props.dogs.length ? "sheets" : "");
  const key = props.dogs.join("\n");
  useEffect(() => {
    const stop = new AbortController();
    setFault(undefined);
    setThere(false);
    call("post", "/v1/outings/handouts", {
      body: handOutBody(props.dogs, paper.value),
      accept: "text/html",
      signal: stop.signal,
    })
      .then(async (r) => {
        await fillSheets(box.current!, await r.text(), paper.value);
        setThere(true);
        if (props.print && !printed.current) {
          printed.current = true;
          onPaper();
        }
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, paper.value, asked, settings.value.units]);
  return (
    <section class="sheets" ref={whole} aria-label={say("outing.hand.title")}>
      <div class="onpage stack screen">
        <h2>{say("outing.hand.title")}</h2>
        <div class="row">
          <button class="main" disabled={!there} onClick={onPaper}>
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

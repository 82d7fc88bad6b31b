// Hand-outs of an outing on the screen and on paper.

import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { handOutBody } from "../outing.ts";
import { Choose, FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { fillSheets } from "./handout.tsx";

/** The server's sheets of some walks, of all if none is named. */
export function Sheets(props: { dogs: string[]; print: boolean; close: () => void }) {
  const box = useRef<HTMLDivElement>(null);
  const [paper, setPaper] = useState<"a4" | "letter">(settings.value.units === "us" ? "letter" : "a4");
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const printed = useRef(false);
  const whole = useRef<HTMLElement>(null);
  useEffect(() => whole.current?.scrollIntoView(), [props.dogs]);
  /** One person's sheet goes without the list for the wall. */
  const onPaper = () => {
    if (props.dogs.length) document.documentElement.dataset.print = "sheets";
    print();
    delete document.documentElement.dataset.print;
  };
  const key = props.dogs.join("\n");
  useEffect(() => {
    const stop = new AbortController();
    setFault(undefined);
    setThere(false);
    call("post", "/v1/outings/handouts", {
      body: handOutBody(props.dogs, paper),
      accept: "text/html",
      signal: stop.signal,
    })
      .then(async (r) => {
        await fillSheets(box.current!, await r.text(), paper);
        setThere(true);
        if (props.print && !printed.current) {
          printed.current = true;
          onPaper();
        }
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, paper, asked, settings.value.units]);
  return (
    <section class="sheets" ref={whole} aria-label={say("outing.hand.title")}>
      <div class="onpage stack screen">
        <h2>{say("outing.hand.title")}</h2>
        <div class="row">
          <button class="main" disabled={!there} onClick={onPaper}>
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

// The server's sheets under a view, with what prints them.
import { useEffect, useRef, useState } from "preact/hooks";
import { type Fault, faultOf } from "../api.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { fillSheets } from "./sheets.ts";

export function ShownSheets(props: {
  title: string;
  /** what they are of: other sheets are drawn when it is another */
  of: string;
  draw: (signal: AbortSignal) => Promise<string>;
  /** what of the view is printed; all that it prints if it is left out */
  part?: "sheets" | "";
  /** prints them once, as soon as they are there */
  print?: boolean;
  close: () => void;
}) {
  const whole = useRef<HTMLElement>(null);
  const box = useRef<HTMLDivElement>(null);
  const printed = useRef(false);
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const onPaper = () => printPart(props.part ?? "");
  useEffect(() => whole.current?.scrollIntoView({ block: "nearest" }), [props.of]);
  useEffect(() => {
    const stop = new AbortController();
    setFault(undefined);
    setThere(false);
    props
      .draw(stop.signal)
      .then(async (html) => {
        await fillSheets(box.current!, html, paper.value);
        setThere(true);
        if (props.print && !printed.current) {
          printed.current = true;
          onPaper();
        }
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [props.of, paper.value, asked, settings.value.units]);
  return (
    <section class="sheets" ref={whole} aria-label={props.title}>
      <div class="onpage stack screen">
        <h2>{props.title}</h2>
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

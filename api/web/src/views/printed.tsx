// What the browser prints of a view when nobody has pressed a button: its sheet, drawn
// before it is wanted, as a printer waits for nobody.

import { useEffect, useRef, useState } from "preact/hooks";
import { online } from "../view.ts";
import { fillSheets } from "./sheets.ts";
import "./printed.css";

const quietMS = 1500; // after the last change: who is still choosing prints nothing

/** A sheet that only paper shows; drawn anew when what it is of changes, and not while its key is empty.
 * What is known besides lets it be drawn anew as well, but what was drawn holds until then. */
export function Printed(props: {
  of: string;
  besides?: string;
  paper: string;
  draw: (signal: AbortSignal) => Promise<string>;
}) {
  const box = useRef<HTMLDivElement>(null);
  const [drawn, setDrawn] = useState("");
  const { of, paper } = props;
  useEffect(() => {
    if (!of || !online.value) return;
    const stop = new AbortController();
    const t = setTimeout(() => {
      props
        .draw(stop.signal)
        .then(async (html) => {
          if (stop.signal.aborted || !box.current) return;
          await fillSheets(box.current, html, paper);
          setDrawn(of);
        })
        .catch(() => undefined); // the view itself is printed then
    }, quietMS);
    return () => {
      clearTimeout(t);
      stop.abort();
    };
  }, [of, props.besides, paper, online.value]);
  return (
    <div class={of && drawn === of ? "printed there" : "printed"} aria-hidden="true">
      <div ref={box} class="sheetholder" />
    </div>
  );
}

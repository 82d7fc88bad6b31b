import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { dogNow } from "../dogs.ts";
import { download } from "../download.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel, Head } from "../parts.tsx";
import { answered, chosen, letter, planGiven, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { goTo } from "../view.ts";
import { AsText } from "./plan_text.tsx";
import "./handout.css";

const sheetPX = (230 * 96) / 25.4; // 210 mm and some paper about it

/** Makes the whole sheet fit the screen's width; the printer takes it as it is. */
function fit(box: HTMLElement): void {
  box.style.setProperty("--fit", String(Math.min(1, (box.parentElement?.clientWidth ?? sheetPX) / sheetPX)));
}

/** Puts the server's sheets into a holder; done when they are dressed. */
export async function fillSheets(target: HTMLElement, html: string, paper: string): Promise<void> {
  const doc = new DOMParser().parseFromString(html, "text/html");
  const root = target.shadowRoot ?? target.attachShadow({ mode: "open" });
  const style = document.createElement("link");
  style.rel = "stylesheet";
  style.href = "/handout.css";
  const dressed = new Promise((done) => {
    style.onload = style.onerror = done;
  });
  const sheet = document.createElement("div");
  sheet.className = paper;
  sheet.append(...[...doc.body.childNodes].map((n) => document.importNode(n, true)));
  // One main a page: inside the view the sheets are sections.
  for (const m of sheet.querySelectorAll("main")) {
    const section = document.createElement("section");
    section.className = m.className;
    section.append(...m.childNodes);
    m.replaceWith(section);
  }
  root.replaceChildren(style, sheet);
  fit(target);
  await dressed;
}

/** Whether the sheet names the street only. */
const hideAddress = signal(false);

/** See the page before it is printed. */
export function HandOut() {
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const answer = answered.value;
  const planned = !!answer;
  const from = wish.value.from?.name ?? "";
  useEffect(() => {
    if (!planned || !box.current) return;
    const target = box.current;
    const stop = new AbortController();
    setFault(undefined);
    const drive = dogNow()?.drive;
    const street = from.replace(/\s+\d+\s*[a-z]?$/i, "");
    call("post", "/v1/handouts", {
      body: {
        given: planGiven()!,
        walk: chosen.value,
        paper: paper.value,
        units: settings.value.units,
        from: hideAddress.value ? street : from,
        ...(drive && drive !== "unknown" ? { driver: drive } : {}),
      },
      accept: "text/html",
      signal: stop.signal,
    })
      .then(async (r) => {
        await fillSheets(target, await r.text(), paper.value);
        setThere(true);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [planned, paper.value, hideAddress.value, chosen.value, asked, settings.value.units]);
  const file = async (accept: string, name: string) => {
    try {
      const r = await call("post", "/v1/plans/told", { body: { given: planGiven()! }, accept });
      download(name, await r.blob());
    } catch (err) {
      setFault(faultOf(err));
    }
  };
  return (
    <>
      <Head title={say("hand.title")} shown={true} />
      <main id="answer" tabIndex={-1}>
        <div class="onpage stack screen">
          {!planned ? (
            <>
              <p>{say("hand.none")}</p>
              <button class="main" onClick={() => goTo("plan")}>
                {say("go.plan")}
              </button>
            </>
          ) : (
            <>
              <div class="row">
                <button class="main" disabled={!there} onClick={() => printPart("")}>
                  {say("hand.print")} {letter(chosen.value)}
                </button>
                <PaperChoice />
                <button onClick={() => void file("application/gpx+xml", "walk.gpx")}>{say("hand.gpx")}</button>
                <button onClick={() => void file("application/geo+json", "walk.geojson")}>{say("hand.geojson")}</button>
              </div>
              <div class="row">
                <p>{say("hand.address")}</p>
                <button
                  class="plain"
                  onClick={() => {
                    hideAddress.value = !hideAddress.value;
                  }}
                >
                  {say(hideAddress.value ? "hand.show" : "hand.hide")}
                </button>
              </div>
              {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
              <p role="status">{!there && !fault && say("hand.loading")}</p>
            </>
          )}
        </div>
        <div class="sheetbox">
          <div ref={box} class="sheetholder" />
        </div>
        {answer && (
          <section class="panel stack screen">
            <h2>{say("text.title")}</h2>
            <AsText
              walk={answer.plan.walks[chosen.value]!}
              drawing={answer.drawings[chosen.value]!}
              rank={answer.plan.rank!}
            />
          </section>
        )}
      </main>
    </>
  );
}

import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { call, type Fault, faultOf } from "../api.ts";
import { dogNow } from "../dogs.ts";
import { download } from "../download.ts";
import { calmer, hours } from "../hours.ts";
import { PaperChoice, paper, printPart } from "../paper.tsx";
import { FaultPanel, Head } from "../parts.tsx";
import { answered, chosen, planGiven, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { goTo } from "../view.ts";
import { ofTen } from "../words.ts";
import { AsText } from "./plan_text.tsx";
import { Printed } from "./printed.tsx";
import { fillSheets } from "./sheets.ts";

/** Whether the sheet names the street only. */
const hideAddress = signal(false);

/** The sheet of the walk that is chosen, as the server draws it. */
async function handOutOf(signal: AbortSignal): Promise<string> {
  const drive = dogNow()?.drive;
  const from = wish.value.from?.name ?? "";
  const { plan } = answered.value!;
  const kinder = hours.value
    ? calmer(hours.value, new Date(plan.depart), Math.floor(ofTen(plan.walks[chosen.value]!.calm_chance))).at(-1)
    : undefined;
  const body = {
    given: planGiven()!,
    walk: chosen.value,
    paper: paper.value,
    units: settings.value.units,
    from: hideAddress.value ? from.replace(/\s+\d+\s*[a-z]?$/i, "") : from,
    ...(drive && drive !== "unknown" ? { driver: drive } : {}),
    ...(kinder ? { calmer: { depart: kinder.depart, calm_chance: kinder.calm_chance } } : {}),
  };
  return (await call("post", "/v1/handouts", { body, accept: "text/html", signal })).text();
}

/** What the browser prints of a plan. */
export function PrintedHandOut() {
  const plan = answered.value?.plan;
  const key = plan ? [plan.depart, chosen.value, settings.value.units, hideAddress.value, wish.value.from?.name] : [];
  return (
    <Printed
      of={plan ? JSON.stringify([plan.given, ...key]) : ""}
      besides={String(!!hours.value)}
      paper={paper.value}
      draw={handOutOf}
    />
  );
}

/** See the page before it is printed. */
export function HandOut() {
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState<Fault | undefined>();
  const [there, setThere] = useState(false);
  const [asked, setAsked] = useState(0);
  const answer = answered.value;
  const planned = !!answer;
  useEffect(() => {
    if (!planned || !box.current) return;
    const target = box.current;
    const stop = new AbortController();
    setFault(undefined);
    handOutOf(stop.signal)
      .then(async (html) => {
        await fillSheets(target, html, paper.value);
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
                  {say("hand.print")}
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

// One visit on the screen and on paper.

import { call } from "../api.ts";
import { paper } from "../paper.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { meetingBody, shownVisit, type VisitsDoc, visitOf, visits } from "../visits.ts";
import { Printed } from "./printed.tsx";
import { ShownSheets } from "./sheets_shown.tsx";

/** By which a step is taken: what moves on and what goes back. */
const ruleOf = (doc: VisitsDoc) => visits.progress.value[doc.id]?.rule ?? doc.body.rule;

/** The sheet of a visit, as the server draws it. */
async function sheetOf(doc: VisitsDoc, n: number, signal: AbortSignal): Promise<string> {
  const rule = ruleOf(doc);
  const v = visitOf(doc, n);
  if (v.meeting) {
    const body = { ...meetingBody(doc, v), paper: paper.value };
    return (await call("post", "/v1/setups/handouts", { body, accept: "text/html", signal })).text();
  }
  const body = {
    ...shownVisit(doc, n),
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
  const { doc, n } = props;
  return (
    <ShownSheets
      title={say("hand.title")}
      of={keyOf(doc, n)}
      draw={(signal) => sheetOf(doc, n, signal)}
      close={props.close}
    />
  );
}

import { useEffect, useState } from "preact/hooks";
import { ask, call } from "../api.ts";
import { counted } from "../counting.ts";
import { download } from "../download.ts";
import { named } from "../finding.tsx";
import { zone } from "../mapinfo.ts";
import { giveUp, offerAgain, outbox, type Refused } from "../outbox.ts";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Account, KeptCount, KeptLimit, KeptReport } from "../types.ts";
import { capital, clock, dateWords } from "../words.ts";

/** What this account's people told the map, and what the server did not take. */
export function Told(props: { account: Account | undefined }) {
  const [reports, setReports] = useState<KeptReport[]>([]);
  const [counts, setCounts] = useState<KeptCount[]>([]);
  const [limits, setLimits] = useState<KeptLimit[]>([]);
  const [fault, setFault] = useState("");
  const load = async () => {
    setReports(await ask("get", "/v1/reports"));
    setCounts(await ask("get", "/v1/counts"));
    setLimits(await ask("get", "/v1/limits"));
    setFault("");
  };
  const told = (err: Error) => setFault(err.message);
  const attempt = (work: Promise<unknown>) => void work.then(load).catch(told);
  useEffect(() => {
    if (props.account) void load().catch(told);
  }, [props.account, outbox.sent.value]);
  const { account } = props;
  const refused = outbox.refused.value;
  if (!account && refused.length === 0) return null;
  return (
    <section class="panel stack told">
      {refused.length > 0 && (
        <>
          <h2>{say("told.refused", { n: refused.length })}</h2>
          <ul class="plainlist stack">
            {refused.map((r) => (
              <NotTaken key={r.entry.id} refused={r} />
            ))}
          </ul>
        </>
      )}
      {account && (
        <>
          <h2>{say("told.reports")}</h2>
          {reports.length === 0 && <p class="small">{say("told.reports.none")}</p>}
          <ul class="plainlist stack">
            {reports.map((r) => (
              <Reported key={r.id} report={r} attempt={attempt} />
            ))}
          </ul>
          <h2>{say("told.counts")}</h2>
          {counts.length === 0 && <p class="small">{say("told.counts.none")}</p>}
          <ul class="plainlist stack">
            {counts.map((c) => (
              <CountLine key={c.id} count={c} attempt={attempt} />
            ))}
          </ul>
          {counts.length > 0 && (
            <button
              onClick={() =>
                void call("get", "/v1/counts/export.csv")
                  .then((r) => r.blob())
                  .then((file) => download(`${say("told.counts.file")}.csv`, file))
                  .catch(told)
              }
            >
              {say("told.counts.export")}
            </button>
          )}
          <Limits limits={limits} />
        </>
      )}
      <p role="alert">{fault}</p>
    </section>
  );
}

/** What a place is called, once that is known. */
function useStreet({ lat, lon }: { lat?: number; lon?: number }): string {
  const [street, setStreet] = useState("");
  useEffect(() => {
    if (lat === undefined || lon === undefined) return;
    let here = true;
    void named({ lat, lon }).then((p) => here && setStreet(p.name));
    return () => {
      here = false;
    };
  }, [lat, lon]);
  return street;
}

/** When something was, in the words of this place. */
const when = (time: string) =>
  `${dateWords(new Date(time), zone())}, ${clock(new Date(time), zone(), settings.value.clock)}`;

const entries: [part: string, what: Key][] = [
  ["/encounters", "told.entry.meeting"],
  ["/plans", "told.entry.plan"],
  ["/track", "told.entry.track"],
  ["/walks", "told.entry.walk"],
  ["/reports", "told.entry.report"],
  ["/counts", "told.entry.count"],
];

function NotTaken(props: { refused: Refused }) {
  const { entry, why } = props.refused;
  const what = say(entries.find(([part]) => entry.path.includes(part))?.[1] ?? "told.entry");
  const which = `${what}, ${when(new Date(entry.at).toISOString())}`;
  return (
    <li class="stack">
      <p>
        <b>{which}</b>
      </p>
      {why && <p class="small">{why}</p>}
      <div class="row">
        <button aria-label={`${say("told.again")}: ${which}`} onClick={() => void offerAgain(props.refused)}>
          {say("told.again")}
        </button>
        <button class="plain" aria-label={`${say("told.drop")}: ${which}`} onClick={() => void giveUp(entry.id)}>
          {say("told.drop")}
        </button>
      </div>
    </li>
  );
}

function Reported(props: { report: KeptReport; attempt: (work: Promise<unknown>) => void }) {
  const { report: r, attempt } = props;
  const at = { id: r.id };
  const what = capital(r.what || (r.kind ? say(`kind.${r.kind}.one` as Key) : say("told.mapped")));
  const street = useStreet(r);
  const state = !r.live ? "told.report.faded" : r.there ? "told.report.there" : "told.report.gone";
  return (
    <li class="stack">
      <p>
        <b dir="auto">{what}</b>
        {street && `, ${street}`}.{" "}
        <span class="small">{say(state, { date: dateWords(new Date(r.spoken), zone()) })}</span>
      </p>
      <div class="row">
        {r.there && (
          <>
            <button
              aria-label={`${say("told.report.still")}: ${what}`}
              onClick={() => attempt(ask("post", "/v1/reports/{id}/confirmation", { at }))}
            >
              {say("told.report.still")}
            </button>
            <button
              aria-label={`${say("told.report.not")}: ${what}`}
              onClick={() => attempt(ask("post", "/v1/reports/{id}/dispute", { at }))}
            >
              {say("told.report.not")}
            </button>
          </>
        )}
        <button
          class="plain"
          aria-label={`${say("after.remove")}: ${what}`}
          onClick={() => attempt(ask("delete", "/v1/reports/{id}", { at }))}
        >
          {say("after.remove")}
        </button>
      </div>
    </li>
  );
}

function CountLine(props: { count: KeptCount; attempt: (work: Promise<unknown>) => void }) {
  const { count: c, attempt } = props;
  const which = when(c.start);
  const street = useStreet(c);
  return (
    <li class="row">
      <span class="grow">
        {street && `${street}, `}
        {which}, {say("told.minutes", { n: Math.round(c.minutes) })}:{" "}
        <span class="num">
          {counted.flatMap((k) => (c[k] === undefined ? [] : [`${say(`count.${k}`)} ${c[k]}`])).join(", ")}
        </span>
      </span>
      <button
        class="plain"
        aria-label={`${say("after.remove")}: ${which}`}
        onClick={() => attempt(ask("delete", "/v1/counts/{id}", { at: { id: c.id } }))}
      >
        {say("after.remove")}
      </button>
    </li>
  );
}

/** How much can be kept: nobody reads it before it is reached, so it is folded. */
function Limits(props: { limits: KeptLimit[] }) {
  return (
    <details>
      <summary>
        <b>{say("told.limits")}</b>
      </summary>
      <div class="scroll" tabIndex={0} role="region" aria-label={say("told.limits")}>
        <table class="num">
          <thead>
            <tr>
              <th scope="col">{say("told.limits.what")}</th>
              <th scope="col">{say("told.limits.most")}</th>
              <th scope="col">{say("told.limits.of")}</th>
            </tr>
          </thead>
          <tbody>
            {props.limits.map((x) => (
              <tr key={x.what + x.of}>
                <th scope="row">{capital(x.what)}</th>
                <td>{x.unit === "bytes" ? say("told.limits.bytes", { kb: Math.round(x.most / 1024) }) : x.most}</td>
                <td>{say(`told.limits.of.${x.of}`)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}

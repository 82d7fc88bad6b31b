import { useEffect, useState } from "preact/hooks";
import { ask } from "../api.ts";
import {
  beginCount,
  type Counted,
  counted,
  counting,
  dropCount,
  fullMS,
  keepCount,
  leastMS,
  passes,
  ranMS,
  takeBack,
} from "../counting.ts";
import { zone } from "../mapinfo.ts";
import { outbox } from "../outbox.ts";
import { mapCentre } from "../pick.ts";
import { wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { useTick } from "../tick.ts";
import type { CountReport } from "../types.ts";
import { clock, weekday } from "../words.ts";

const nameOf = (k: Counted): string => say(`count.${k}`);

/** For anybody who wants the map to know their street: what passes in ten minutes. */
export function Count(props: { done: () => void }) {
  const c = counting.value;
  useTick(1000, () => !counting.value);
  const [said, setSaid] = useState("");
  const save = async () => {
    await keepCount();
    setSaid(say(navigator.onLine ? "count.thanks" : "report.later"));
  };
  if (!c)
    return (
      <Ask
        said={said}
        done={props.done}
        begin={() => {
          setSaid("");
        }}
      />
    );
  const left = fullMS - ranMS(c);
  return (
    <div class="choice stack">
      <p role="timer" class="num">
        {say("count.left", { minutes: Math.ceil(left / 6e4) })}
      </p>
      <div class="stack">
        {counted
          .filter((k) => c.n[k] !== undefined)
          .map((k) => (
            <button key={k} class="wide" disabled={left === 0} onClick={() => passes(k)}>
              {nameOf(k)}: {c.n[k]}
            </button>
          ))}
      </div>
      <div class="row">
        <button disabled={c.taps.length === 0} onClick={takeBack}>
          {say("count.back")}
        </button>
        <button class="main" disabled={ranMS(c) < leastMS} onClick={() => void save()}>
          {say("count.keep")}
        </button>
        <button class="plain" onClick={dropCount}>
          {say("count.drop")}
        </button>
      </div>
    </div>
  );
}

/** Where and what, before it begins; and what earlier counts say of the model. */
function Ask(props: { said: string; done: () => void; begin: () => void }) {
  const [of, setOf] = useState<Counted[]>(["dogs", "people", "wheels"]);
  const [report, setReport] = useState<CountReport | undefined>();
  useEffect(() => {
    ask("get", "/v1/counts/report")
      .then(setReport)
      .catch(() => undefined); // a comfort, not a need
  }, [props.said, outbox.sent.value]); // anew once it was sent
  const from = wish.value.from?.at;
  const begin = (at: { lat: number; lon: number } | undefined) => {
    if (!at) return;
    props.begin();
    beginCount(at, of);
  };
  return (
    <div class="choice stack">
      <p>{say("count.how")}</p>
      <div class="row" role="group" aria-label={say("count.what")}>
        {counted.map((k) => (
          <button
            key={k}
            aria-pressed={of.includes(k)}
            onClick={() => setOf(of.includes(k) ? of.filter((x) => x !== k) : [...of, k])}
          >
            {nameOf(k)}
          </button>
        ))}
      </div>
      <div class="row">
        <button class="main" disabled={of.length === 0 || !from} onClick={() => begin(from)}>
          {say("count.begin.start")}
        </button>
        <button disabled={of.length === 0 || !mapCentre.value} onClick={() => begin(mapCentre.value?.())}>
          {say("count.begin.map")}
        </button>
        <button class="plain" onClick={props.done}>
          {say("choice.close")}
        </button>
      </div>
      <p role="status">{props.said}</p>
      {report && report.lines.length > 0 && (
        <ul class="small">
          {report.lines.slice(0, 12).map((l, i) => {
            const t = new Date(l.start);
            return (
              <li key={i} dir="auto">
                {say("count.line", {
                  street: l.street,
                  day: weekday(t, zone()),
                  time: clock(t, zone(), settings.value.clock),
                  what: nameOf(l.what),
                  counted: l.counted,
                  predicted: l.predicted,
                })}
              </li>
            );
          })}
        </ul>
      )}
    </div>
  );
}

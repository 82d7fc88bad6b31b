// The outing on several days: who is out when, what everybody walks, what each dog has.
import { useEffect, useRef, useState } from "preact/hooks";
import { type AnswerOf, type Fault, faultOf } from "../api.ts";
import { zone } from "../mapinfo.ts";
import { lacks, outing, planWeek } from "../outing.ts";
import { Choose, FaultPanel, Status } from "../parts.tsx";
import { say } from "../strings.ts";
import { walksOf } from "../timetable.ts";
import { cut, dayOf, joined } from "../words.ts";
import { dayWord } from "./outing_ask.tsx";
import { at } from "./outing_list.tsx";

type Week = AnswerOf<"post", "/v1/outings/weeks">;
const lengths = ["3", "5", "7"] as const;

/** Asked for when it is wanted: a week takes as long as its days. */
export function OutingWeek() {
  const [days, setDays] = useState<(typeof lengths)[number]>("5");
  const [week, setWeek] = useState<Week | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const running = useRef<AbortController>();
  const [busy, setBusy] = useState(false);
  const w = outing.wish.value;
  const asked = JSON.stringify([w, days]);
  useEffect(() => {
    setWeek(undefined); // it is of another question
    running.current?.abort();
    setBusy(false);
  }, [asked]);
  useEffect(() => () => running.current?.abort(), []);
  const plan = () => {
    const mine = new AbortController();
    running.current = mine;
    setBusy(true);
    setFault(undefined);
    planWeek(Number(days), mine.signal)
      .then(setWeek)
      .catch((err) => !mine.signal.aborted && setFault(faultOf(err)))
      .finally(() => !mine.signal.aborted && setBusy(false));
  };
  return (
    <details class="panel outweek">
      <summary>
        <b>{say("week.title")}</b>
      </summary>
      <div class="stack">
        <p class="small">{say("week.text", { day: dayWord(w.day) })}</p>
        <div class="row">
          <Choose
            label={say("week.days")}
            of={lengths.map((n) => [n, say("week.of", { n: Number(n) })] as const)}
            is={days}
            pick={setDays}
          />
          <button disabled={busy || !!lacks(w)} onClick={plan}>
            {say("week.plan")}
          </button>
        </div>
        <Status>
          {busy && (
            <p class="row">
              <span class="grow">{say("week.wait")}</span>
              <button
                onClick={() => {
                  running.current?.abort();
                  setBusy(false);
                }}
              >
                {say("outing.stop")}
              </button>
            </p>
          )}
        </Status>
        {fault && <FaultPanel fault={fault} again={plan} />}
        {week && <Told week={week} />}
      </div>
    </details>
  );
}

function Told(props: { week: Week }) {
  const { week } = props;
  return (
    <>
      <Table
        head={["day", "first", "last", "walks", "in"]}
        caption={say("week.title")}
        rows={week.days.map((d) => {
          const t = d.timetable;
          const day = dayWord(dayOf(new Date(d.start), zone()));
          if (!t) return [day, say("week.none")];
          const rows = [...t.rows].sort((a, b) => a.leave.localeCompare(b.leave));
          const last = rows
            .map((r) => r.back_by)
            .sort()
            .at(-1);
          const stays = joined(t.unserved.map(cut));
          return [day, rows[0] ? at(rows[0].leave) : "", last ? at(last) : "", String(walksOf(t).length), stays];
        })}
      />
      <Table
        head={["person", "walked", "there", "walks"]}
        caption={say("week.people")}
        rows={week.loads.map((l) => [
          cut(l.person),
          say("unit.min", { n: l.walk_minutes }),
          say("unit.min", { n: l.there_minutes }),
          String(l.walks),
        ])}
      />
      <p class="small">{say("week.fair", { n: Math.round(100 * week.fairness) })}</p>
      <Table
        head={["dog", "walks", "minutes", "rests", "left"]}
        caption={say("week.dogs")}
        rows={week.dogs.map((d) => [
          cut(d.dog),
          String(d.walks),
          say("outing.minutes.of", { n: Math.round(d.granted_minutes), wished: Math.round(d.wished_minutes) }),
          String(d.rests),
          String(d.left_in),
        ])}
      />
    </>
  );
}

type Column =
  | "day"
  | "first"
  | "last"
  | "walks"
  | "in"
  | "person"
  | "walked"
  | "there"
  | "dog"
  | "minutes"
  | "rests"
  | "left";

function Table(props: { head: Column[]; caption: string; rows: string[][] }) {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={props.caption}>
      <table class="num">
        <caption>
          <b>{props.caption}</b>
        </caption>
        <thead>
          <tr>
            {props.head.map((c) => (
              <th key={c} scope="col">
                {say(`week.col.${c}`)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {props.rows.map((r) => (
            <tr key={r[0]}>
              <th scope="row" dir="auto">
                {r[0]}
              </th>
              {r.slice(1).map((cell, i) => (
                <td key={i} dir="auto" colSpan={r.length === 2 ? props.head.length - 1 : 1}>
                  {cell}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

// Who has which dog on the day: signed out when it leaves, signed in when it is home.

import { outing, sign } from "../outing.ts";
import { say } from "../strings.ts";
import { useTick } from "../tick.ts";
import { dogsOf, handsOf, type Kept, lateMin, signState, walksOf } from "../timetable.ts";
import { cut } from "../words.ts";
import { at } from "./outing_list.tsx";

const tickMS = 20_000;

/** The walks of the day by start, each with the one thing that comes next. */
export function Signing(props: { kept: Kept }) {
  const k = props.kept;
  useTick(tickMS);
  const now = Date.now();
  const rows = walksOf(k.timetable);
  const out = rows.filter((r) => signState(k, r) === "out");
  return (
    <section class="panel stack">
      <h2>{say("outing.sign")}</h2>
      <p role="status">
        <b>{say("outing.sign.out", { n: out.length })}</b>
      </p>
      <ul class="plainlist signing">
        {rows.map((r) => {
          const state = signState(k, r);
          const late = lateMin(k, r, now);
          const dog = dogsOf(r)
            .map((n) => cut(n))
            .join(" + ");
          const person = handsOf(r)
            .map((n) => cut(n))
            .join(" + ");
          const s = k.signed?.[r.dog];
          return (
            <li key={r.dog} class={late > 0 ? "row needwash" : "row"}>
              <span class="grow" dir="auto">
                <b>{dog}</b>{" "}
                {state === "in"
                  ? say("outing.sign.was", { person, from: at(s!.out), to: at(s!.in!) })
                  : state === "out"
                    ? say("outing.sign.has", { person, from: at(s!.out), by: at(r.back_by) })
                    : say("outing.sign.due", { person, time: at(r.leave) })}
                {late > 0 && (
                  <b role="alert"> {say(state === "out" ? "outing.sign.late" : "outing.sign.notout", { n: late })}</b>
                )}
              </span>
              {state === "in" ? (
                <button aria-label={say("outing.sign.undo.for", { dog })} onClick={() => void sign(r.dog, "out")}>
                  {say("outing.sign.undo")}
                </button>
              ) : (
                <button
                  disabled={outing.doing.value !== "nothing"}
                  aria-label={say(state === "out" ? "outing.sign.in.for" : "outing.sign.goes.for", { dog })}
                  onClick={() => void sign(r.dog, state === "out" ? "in" : "out")}
                >
                  {say(state === "out" ? "outing.sign.in" : "outing.sign.goes")}
                </button>
              )}
            </li>
          );
        })}
      </ul>
    </section>
  );
}

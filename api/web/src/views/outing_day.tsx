// The day itself: what is next at the gate, what comes up, and one person's own morning.

import { useState } from "preact/hooks";
import { Fault, faultOf } from "../api.ts";
import { toCalendar } from "../calendar.ts";
import { download } from "../download.ts";
import { zone } from "../mapinfo.ts";
import { beginMorning, outing, outingTable, replan, undoReplan, walkOf } from "../outing.ts";
import { PaperChoice } from "../paper.tsx";
import { Choose } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { useTick } from "../tick.ts";
import {
  changeFrom,
  dogsOf,
  handsOf,
  type Kept,
  nextPassing,
  outWith,
  over,
  underWay,
  walkedBy,
} from "../timetable.ts";
import type { TimeRow } from "../types.ts";
import { ready } from "../walking.ts";
import { cut, dayOf, exact, minutes } from "../words.ts";
import { dayWord, hourOf } from "./outing_ask.tsx";
import { at, Passes } from "./outing_list.tsx";
import { least, need } from "./outing_room.tsx";
import "./outing_day.css";

const tickMS = 20_000; // what is over and what is next goes by the minute
const lateSteps = ["10", "20", "30", "45"] as const;

/** Late: out with a dog and coming back late, or not set out; asked only where both can be. */
function Late(props: { kept: Kept; person: string; label: string; minutes: number; done?: () => void }) {
  const [asked, setAsked] = useState(false);
  const out = outWith(props.kept, props.person, changeFrom(props.kept));
  const tell = (notOut: boolean) => {
    setAsked(false);
    props.done?.();
    void replan({ is: "late", person: props.person, minutes: props.minutes, notOut });
  };
  const busy = outing.doing.value !== "nothing";
  return asked && out ? (
    <>
      <button onClick={() => tell(false)}>{say("outing.late.back", { dog: cut(out.dog) })}</button>
      <button onClick={() => tell(true)}>{say("outing.late.notout")}</button>
    </>
  ) : (
    <button disabled={busy} onClick={() => (out ? setAsked(true) : tell(true))}>
      {props.label}
    </button>
  );
}

/** Each person's turns as a file for calendars; the same again when the plan has changed. */
function Turns(props: { kept: Kept }) {
  const { timetable, wish } = props.kept;
  const people = [...new Set(timetable.rows.flatMap(handsOf))];
  const give = (person: string) =>
    toCalendar(
      "turns",
      timetable.rows
        .filter((r) => walkedBy(r, person))
        .map((r, i) => ({
          uid: `${wish.day}.${person}.${i}@wideberth`,
          title: say("calendar.turn.title", { dog: cut(r.dog) }),
          begins: new Date(r.leave),
          ends: new Date(r.back_by),
          place: wish.gate && { name: wish.gate.name, ...wish.gate.at },
          remindMin: 10,
        })),
    );
  return (
    <div class="row" role="group" aria-label={say("calendar.turns")}>
      <span>{say("calendar.turns")}</span>
      {people.map((person) => (
        <button key={person} dir="auto" onClick={() => void give(person)}>
          {cut(person)}
        </button>
      ))}
    </div>
  );
}

/** Dogs, people and walks as files for a spreadsheet. */
function Tables() {
  const [fault, setFault] = useState("");
  const give = async (of: "dogs" | "people" | "walks") => {
    try {
      setFault("");
      download(`${of}.csv`, await outingTable(of));
    } catch (err) {
      const f = faultOf(err);
      const what = f.problem?.errors?.[0]?.message ?? f.problem?.detail;
      setFault(f.kind === "offline" ? say("fault.offline") : what ? say("fault.field", { what }) : say("fault.server"));
    }
  };
  return (
    <div class="row" role="group" aria-label={say("outing.tables")}>
      <span>{say("outing.tables")}</span>
      {(["dogs", "people", "walks"] as const).map((of) => (
        <button key={of} onClick={() => void give(of)}>
          {say(`outing.tables.${of}`)}
        </button>
      ))}
      <span role="alert">{fault}</span>
    </div>
  );
}

/** What is at hand at the gate, and what may come up; stays in view. */
export function DayBar(props: { kept: Kept; plain: boolean; print: (dogs: boolean) => void }) {
  const k = props.kept;
  const [open, setOpen] = useState<"" | "late" | "dog" | "print">("");
  useTick(tickMS);
  const now = new Date();
  const today = k.wish.day === dayOf(now, zone());
  const done = over(k);
  const begun = underWay(k);
  const next = nextPassing(k.timetable, now.getTime());
  const places = next && {
    time: at(next.at),
    dog: dogsOf(next.row)
      .map((n) => cut(n))
      .join(" + "),
    person: handsOf(next.row)
      .map((n) => cut(n))
      .join(" + "),
  };
  const said = !places
    ? say("outing.over")
    : begun
      ? say(next.out ? "outing.bar.next.out" : "outing.bar.next.in", places)
      : say("outing.bar.first", places);
  const word = (v: "late" | "dog" | "print", main = false) => (
    <button
      class={main && !props.plain ? "main" : ""}
      aria-expanded={open === v}
      onClick={() => setOpen(open === v ? "" : v)}
    >
      {say(`outing.bar.${v}`)}
    </button>
  );
  return (
    <section class="daybar" aria-label={say("outing.title")}>
      <div class="row">
        <p class="grow num">
          <b>{today ? say("outing.bar.today", { now: at(now) }) : `${dayWord(k.wish.day)}.`}</b> {said}
        </p>
        <div class="row barkeys">
          {today && !done && (
            <>
              {word("late")}
              {word("dog")}
            </>
          )}
          {word("print", !today || done)}
          {today && !done && (
            <button
              class={props.plain || outing.morning.value ? "" : "main"}
              onClick={() => beginMorning(!outing.morning.value)}
            >
              {say(outing.morning.value ? "outing.bar.stop" : "outing.bar.start")}
            </button>
          )}
        </div>
      </div>
      {open && (
        // biome-ignore lint/a11y/noStaticElementInteractions: Escape closes what is open, whichever of its fields has the focus
        <div class="choice stack" onKeyDown={(e) => e.key === "Escape" && setOpen("")}>
          {open === "late" && <LatePeople kept={k} done={() => setOpen("")} />}
          {open === "dog" && <DogStaysIn kept={k} done={() => setOpen("")} />}
          {open === "print" && (
            <div class="row">
              {[false, true].map((all) => (
                <button
                  key={String(all)}
                  onClick={() => {
                    setOpen("");
                    props.print(all);
                  }}
                >
                  {say(all ? "outing.print" : "outing.print.wall")}
                </button>
              ))}
              <PaperChoice />
            </div>
          )}
          {open === "print" && <Turns kept={k} />}
          {open === "print" && <Tables />}
          <button class="plain" onClick={() => setOpen("")}>
            {say("choice.close")}
          </button>
        </div>
      )}
      {outing.morning.value && <p class="small">{say("outing.bar.started")}</p>}
    </section>
  );
}

/** Who is late, or does not come. */
function LatePeople(props: { kept: Kept; done: () => void }) {
  const k = props.kept;
  const [by, setBy] = useState<(typeof lateSteps)[number]>("20");
  const busy = outing.doing.value !== "nothing";
  return (
    <>
      <div class="row">
        <b>{say("outing.late.by")}</b>
        <Choose
          label={say("outing.late.by")}
          of={lateSteps.map((m) => [m, say("unit.min", { n: m })] as const)}
          is={by}
          pick={setBy}
        />
      </div>
      <ul class="plainlist dayrows">
        {k.wish.people
          .filter((p) => !k.gone.includes(p.name))
          .map((p) => (
            <li key={p.name} class="row" dir="auto">
              <Late
                kept={k}
                person={p.name}
                minutes={Number(by)}
                label={say("outing.late", { person: cut(p.name), n: by })}
                done={props.done}
              />
              <button
                disabled={busy}
                onClick={() => {
                  props.done();
                  void replan({ is: "gone", person: p.name });
                }}
              >
                {say("outing.gone", { person: cut(p.name) })}
              </button>
            </li>
          ))}
      </ul>
      <p class="small">{say("outing.today.text")}</p>
    </>
  );
}

function DogStaysIn(props: { kept: Kept; done: () => void }) {
  const now = changeFrom(props.kept).getTime();
  const busy = outing.doing.value !== "nothing";
  const waiting = props.kept.timetable.rows
    .filter((r) => Date.parse(r.leave) > now)
    .map((r) => r.dog)
    .sort();
  return (
    <div class="row" role="group" aria-label={say("outing.dogout.label")}>
      {waiting.map((d) => (
        <button
          key={d}
          dir="auto"
          disabled={busy}
          aria-label={say("outing.dogout.do", { dog: d })}
          onClick={() => {
            props.done();
            void replan({ is: "out", dog: d });
          }}
        >
          {cut(d)}
        </button>
      ))}
      {waiting.length === 0 && <p>{say("outing.dogout.none")}</p>}
    </div>
  );
}

/** On another day, what is known already: opened only where it is wanted. */
export function CameUp(props: { kept: Kept }) {
  const k = props.kept;
  if (over(k) || k.wish.day === dayOf(new Date(), zone())) return null;
  return (
    <details class="panel">
      <summary>{say("outing.came")}</summary>
      <div class="stack">
        <LatePeople kept={k} done={() => undefined} />
        <b>{say("outing.bar.dog")}</b>
        <DogStaysIn kept={k} done={() => undefined} />
      </div>
    </details>
  );
}

/** What the last change did. */
export function Note(props: { kept: Kept }) {
  const { note, timetable } = props.kept;
  if (!note && timetable.unavoidable.length === 0) return null;
  return (
    <div class="stack note">
      {note && (
        <p>
          <b>{say("outing.note", { time: note.from })}</b>{" "}
          {note.changed.length
            ? say("outing.note.changed", {
                list: note.changed
                  .map((c) => say("outing.note.with", { dog: cut(c.dog), person: cut(c.person) }))
                  .join(", "),
              })
            : say("outing.note.nothing")}{" "}
          {say("outing.note.same", { n: note.same })}
        </p>
      )}
      {timetable.unavoidable.map((p) => (
        <p key={p.dogs.join()} class="caution">
          {say("outing.unavoidable", {
            a: cut(p.dogs[0]),
            b: cut(p.dogs[1]),
            least: least(p),
            time: hourOf(props.kept.wish.day, p.at),
            need: need(p),
          })}
        </p>
      ))}
      {outing.before.value && (
        <button disabled={outing.doing.value !== "nothing"} onClick={undoReplan}>
          {say("outing.note.undo")}
        </button>
      )}
    </div>
  );
}

/** One person's walks in order, with the times at the gate. */
export function Mine(props: { kept: Kept; person: string; handOut: (dog: string) => void }) {
  const k = props.kept;
  const [sure, setSure] = useState(false);
  const [fault, setFault] = useState("");
  useTick(tickMS);
  const rows = k.timetable.rows.filter((r) => walkedBy(r, props.person)).sort((a, b) => a.leave.localeCompare(b.leave));
  const next = rows.findIndex((r) => Date.parse(r.leave) > Date.now());
  const word = (r: TimeRow, i: number) =>
    i === next
      ? say("outing.mine.next")
      : Date.parse(r.leave) > Date.now()
        ? ""
        : Date.parse(r.back_by) > Date.now()
          ? say("outing.mine.now")
          : say("outing.mine.done");
  const get = async (r: TimeRow) => {
    try {
      setFault("");
      const got = await walkOf(r.dog);
      const d = k.wish.dogs.find((x) => x.dog.name === r.dog);
      await ready(got.plan.walks[0]!, got.drawing, got.plan, d?.dog ?? { name: r.dog, needs: {} });
    } catch (err) {
      setFault(
        err instanceof Fault && err.kind === "offline"
          ? say("fault.offline")
          : err instanceof Fault && err.problem
            ? say("fault.field", { what: err.problem.errors?.[0]?.message ?? err.problem.detail })
            : say("fault.server"),
      );
    }
  };
  return (
    <section class="panel stack">
      <h2 dir="auto">{say("outing.mine", { person: cut(props.person), n: rows.length })}</h2>
      <ol class="plainlist mine">
        {rows.map((r, i) => (
          <li key={r.dog} class="stack">
            <p class="mineline">
              <b class="num">{say("outing.mine.time", { from: at(r.leave), to: at(r.back_by) })}</b>{" "}
              <strong dir="auto">{cut(r.dog)}</strong>
              {r.bite_history && <span class="mark">{say("outing.bite")}</span>}
              {r.changed && <span class="mark new">{say("outing.new")}</span>}
              {word(r, i) && <span class="mark">{word(r, i)}</span>}
            </p>
            <p>{say("outing.mine.meet", { leave: at(r.leave), meet: at(r.meet) })}</p>
            <Passes row={r} />
            <p>{say("outing.mine.need", { distance: exact(r.need_m, settings.value.units) })}</p>
            <p dir="auto">
              {say("outing.mine.way", {
                name: k.walks[r.dog] ?? "",
                n: minutes(r.progress_s[r.progress_s.length - 1] ?? 0),
              })}
            </p>
            {r.holds.length > 0 && (
              <p class="num">{say("outing.mine.wait", { times: r.holds.map((h) => at(h.not_before)).join(", ") })}</p>
            )}
            <div class="row">
              <button
                class={i === Math.max(0, next) ? "main" : ""}
                aria-label={say("outing.mine.ready.for", { dog: r.dog })}
                onClick={() => void get(r)}
              >
                {say("outing.mine.ready")}
              </button>
              <button aria-label={say("outing.mine.hand.for", { dog: r.dog })} onClick={() => props.handOut(r.dog)}>
                {say("outing.mine.hand")}
              </button>
            </div>
          </li>
        ))}
      </ol>
      <p role="alert">{fault}</p>
      {rows.length > 0 && (
        <p class="small">
          {say("outing.rule")} {rows.some((r) => r.bite_history) && say("caution.outing")}
        </p>
      )}
      {!over(k) && rows.length > 0 && (
        <div class="row">
          {sure ? (
            <>
              <p class="grow">
                <b>{say("outing.mine.sure")}</b>
              </p>
              <button onClick={() => setSure(false)}>{say("outing.mine.sure.no")}</button>
              <button
                class="main"
                onClick={() => {
                  setSure(false);
                  void replan({ is: "gone", person: props.person });
                }}
              >
                {say("outing.mine.sure.yes")}
              </button>
            </>
          ) : (
            <MyLate
              kept={k}
              person={props.person}
              gone={() => {
                setSure(true);
              }}
            />
          )}
        </div>
      )}
    </section>
  );
}

function MyLate(props: { kept: Kept; person: string; gone: () => void }) {
  const [by, setBy] = useState(false);
  return by ? (
    <>
      <b>{say("outing.late.by")}</b>
      {lateSteps.map((m) => (
        <Late key={m} kept={props.kept} person={props.person} minutes={Number(m)} label={say("unit.min", { n: m })} />
      ))}
    </>
  ) : (
    <>
      <button disabled={outing.doing.value !== "nothing"} onClick={() => setBy(true)}>
        {say("outing.mine.late")}
      </button>
      <button disabled={outing.doing.value !== "nothing"} onClick={props.gone}>
        {say("outing.mine.gone")}
      </button>
    </>
  );
}

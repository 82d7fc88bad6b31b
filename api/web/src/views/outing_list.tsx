// The gate list: a row is one passing of the gate and holds one dog.

import { useEffect, useRef } from "preact/hooks";
import { zone } from "../mapinfo.ts";
import { outing } from "../outing.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { useTick } from "../tick.ts";
import { aloneX, dogsOf, handsOf, type Kept, type Passing, passings, underWay, walkedBy } from "../timetable.ts";
import type { TimeRow } from "../types.ts";
import { clock, cut, exact, joined } from "../words.ts";
import "./outing_list.css";

export const at = (t: Date | string): string => clock(new Date(t), zone(), settings.value.clock);
const served = (k: Kept): string[] => k.timetable.rows.flatMap(handsOf);

/** Names side by side, each short enough. */
const names = (list: string[]): string => list.map((n) => cut(n)).join(" + ");

function Marks(props: { p: Passing }) {
  const { row, out } = props.p;
  return (
    <>
      {row.bite_history && <span class="mark">{say("outing.bite")}</span>}
      {row.changed && out && <span class="mark new">{say("outing.new")}</span>}
    </>
  );
}

function PassingWords(props: { p: Passing }) {
  return (
    <>
      <span class={props.p.out ? "outword" : "inword"}>{say(props.p.out ? "outing.out" : "outing.in")}</span>{" "}
      <span class={props.p.out ? "dogname outname" : "dogname"} dir="auto">
        {names(dogsOf(props.p.row))}
      </span>{" "}
      <Marks p={props.p} />
    </>
  );
}

const tickMS = 20_000;

/** Columns are people, a bar joins out and in; on the day it says what is next. */
export function GateList(props: { kept: Kept; hidden?: boolean }) {
  const k = props.kept;
  const rows = passings(k.timetable);
  const people = k.wish.people.filter((p) => !k.gone.includes(p.name) || served(k).includes(p.name));
  const two = rows.filter((r) => r.list.length > 1);
  const follows = !props.hidden && underWay(k);
  const now = Date.now();
  const next = follows ? rows.findIndex((r) => r.at.getTime() > now) : -1;
  const row = useRef<HTMLTableRowElement>(null);
  useTick(tickMS, () => !follows);
  useEffect(() => {
    if (outing.morning.value) row.current?.scrollIntoView({ block: "center" });
  }, [next, outing.morning.value]);
  return (
    <>
      <table class="gatelist">
        <caption class="hidden">{say("outing.list.caption")}</caption>
        <thead>
          <tr>
            <th scope="col">{say("outing.col.gate")}</th>
            {people.map((p) => (
              <th key={p.name} scope="col">
                <bdi>{cut(p.name)}</bdi>
                {p.experience === "experienced" && <span class="exp"> {say("outing.exp.short")}</span>}
                {k.gone.includes(p.name) && <span class="exp"> {say("outing.gone.is")}</span>}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((r, i) => (
            <tr
              key={i}
              ref={i === next ? row : null}
              class={r.list.length > 1 ? "broken" : i < next ? "past" : i === next ? "nextrow" : ""}
            >
              <th scope="row" class="num">
                {at(r.at)}
                {i === next && <span class="mark">{say("outing.next")}</span>}
                {r.list.length > 1 && <span class="mark new">{say("outing.two")}</span>}
              </th>
              {people.map((p) => {
                const here = r.list.filter((x) => walkedBy(x.row, p.name));
                const on = k.timetable.rows.some(
                  (x) =>
                    walkedBy(x, p.name) &&
                    Date.parse(x.leave) <= r.at.getTime() &&
                    r.at.getTime() < Math.floor(Date.parse(x.back_by) / 60000) * 60000,
                );
                return (
                  <td
                    key={p.name}
                    class={[on ? "on" : "", here.some((x) => x.row.changed && x.out) ? "changed" : ""].join(" ").trim()}
                  >
                    {here.map((x) => (
                      <PassingWords key={x.row.dog} p={x} />
                    ))}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
      {two.map((r) => (
        <p key={+r.at} class="caution" role="alert">
          {say("outing.two.text", { time: at(r.at), names: r.list.map((x) => x.row.dog).join(", ") })}
        </p>
      ))}
    </>
  );
}

/** Whose kennels the dog is led past going out. */
export const Passes = (props: { row: TimeRow }) => {
  const dogs = props.row.passes ?? [];
  return dogs.length > 0 && <p class="small">{say("outing.passes", { dogs: joined(dogs.map(cut)) })}</p>;
};

/** The same, a dog a row. */
export function DogList(props: { kept: Kept }) {
  const k = props.kept;
  const rows = [...k.timetable.rows].sort((a, b) => a.dog.localeCompare(b.dog));
  return (
    <table class="gatelist">
      <caption class="hidden">{say("outing.dogs.caption")}</caption>
      <thead>
        <tr>
          {(["dog", "out", "in", "with", "minutes", "need", "expect", "where"] as const).map((c) => (
            <th key={c} scope="col">
              {say(`outing.col.${c}`)}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {rows.map((r) => (
          <tr key={r.dog}>
            <th scope="row">
              <bdi>{r.dog}</bdi>
              {r.bite_history && <span class="mark">{say("outing.bite")}</span>}
              {r.changed && <span class="mark new">{say("outing.new")}</span>}
              <Passes row={r} />
            </th>
            <td class="num">{at(r.leave)}</td>
            <td class="num">{at(r.back_by)}</td>
            <td dir="auto">
              {names(handsOf(r))}
              {r.with && <span class="small"> {say("outing.beside", { dog: cut(r.with) })}</span>}
            </td>
            <td class="num">
              {r.granted_minutes >= r.wished_minutes - 1
                ? Math.round(r.granted_minutes)
                : say("outing.minutes.of", { n: Math.round(r.granted_minutes), wished: r.wished_minutes })}
            </td>
            <td class="num">{exact(r.need_m, settings.value.units)}</td>
            <td class="num">
              {say("outing.expect.row", { x: r.expected_reactions.toFixed(2), alone: aloneX(r).toFixed(2) })}
            </td>
            <td dir="auto">{k.walks[r.dog] ?? ""}</td>
          </tr>
        ))}
        {(k.timetable.resting ?? []).map((d) => (
          <tr key={d}>
            <th scope="row" dir="auto">
              {d}
            </th>
            <td colSpan={7}>{say("outing.rests")}</td>
          </tr>
        ))}
        {[...k.timetable.unserved, ...k.out].map((d) => (
          <tr key={d}>
            <th scope="row" dir="auto">
              {d}
            </th>
            <td colSpan={7}>{say("outing.staysin")}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const mostColumns = 4; // people side by side on paper with names of 18 pt; more are told line by line

/** The gate list for the wall, to be read two metres off. */
export function WallList(props: { day: string }) {
  const k = outing.kept.value;
  if (!k) return null;
  const people = new Set(served(k));
  const resting = (k.timetable.resting ?? []).map(cut);
  const staying = [...k.timetable.unserved, ...k.out].map(cut);
  return (
    <section class="wall">
      <h2>{say("outing.wall.title", { day: props.day })}</h2>
      {people.size <= mostColumns ? (
        <GateList
          hidden={true}
          kept={{ ...k, wish: { ...k.wish, people: k.wish.people.filter((p) => people.has(p.name)) } }}
        />
      ) : (
        <table class="gatelist">
          <thead>
            <tr>
              {(["gate", "way", "dog", "with"] as const).map((c) => (
                <th key={c} scope="col">
                  {say(`outing.col.${c}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {passings(k.timetable).flatMap((r) =>
              r.list.map((p) => (
                <tr key={p.row.dog + p.out} class={r.list.length > 1 ? "broken" : ""}>
                  <th scope="row" class="num">
                    {at(r.at)}
                  </th>
                  <td>{say(p.out ? "outing.out" : "outing.in")}</td>
                  <td class={p.out ? "outname" : ""}>
                    <bdi>{names(dogsOf(p.row))}</bdi> <Marks p={p} />
                  </td>
                  <td dir="auto">{names(handsOf(p.row))}</td>
                </tr>
              )),
            )}
          </tbody>
        </table>
      )}
      {resting.length > 0 && <p>{say("outing.wall.rests", { dogs: joined(resting) })}</p>}
      {staying.length > 0 && <p>{say("outing.wall.stays", { dogs: joined(staying) })}</p>}
      <p>
        {say("outing.rule")} {k.timetable.rows.some((r) => r.bite_history) && say("caution.outing")}
      </p>
      <p>
        {say("outing.caution")} {say("map.attribution")}
      </p>
    </section>
  );
}

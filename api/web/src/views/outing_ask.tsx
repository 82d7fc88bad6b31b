// The asking sentence of an outing and the choices behind its words.

import { useState } from "preact/hooks";
import { experiences } from "../dogtable.ts";
import { PlaceChoice } from "../finding.tsx";
import { zone } from "../mapinfo.ts";
import { lacks, minutesOf, outing, planOuting, setWish } from "../outing.ts";
import { Asking, ChoiceFoot } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { OutingPerson } from "../timetable.ts";
import type { Experience } from "../types.ts";
import { clock, cut, dayOf, instant, weekday } from "../words.ts";
import { DogTable } from "./outing_dogs.tsx";
import "./outing_ask.css";

/** The words of the sentence, in its order. */
export const parts = ["day", "hours", "dogs", "people", "gate"] as const;
type Part = (typeof parts)[number];

export const hourOf = (day: string, hour: string): string =>
  clock(instant(day, hour, zone()), zone(), settings.value.clock);
export const dayWord = (day: string): string =>
  day === dayOf(new Date(), zone())
    ? say("outing.day.today")
    : weekday(instant(day, "12:00", zone()), zone()) +
      " " +
      new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", timeZone: zone() }).format(
        instant(day, "12:00", zone()),
      );
export const dogsWord = (n: number): string => say("outing.dogs", { n });

export function OutingSentence() {
  const w = outing.wish.value;
  const text: Record<Part, () => string> = {
    day: () => dayWord(w.day),
    hours: () => say("outing.hours", { from: hourOf(w.day, w.from), to: hourOf(w.day, w.to) }),
    dogs: () => dogsWord(w.dogs.length),
    people: () => say("outing.people", { n: w.people.length }),
    gate: () => (w.gate ? cut(w.gate.name) : say("outing.nogate")),
  };
  return (
    <Asking
      of="outing.ask"
      parts={parts}
      text={(part) => text[part]()}
      label={(part) => say(`outing.choice.${part}`)}
      choices={(part, close) => (
        <>
          {part === "day" && (
            <label class="field">
              <span>{say("choice.time.date")}</span>
              <input
                type="date"
                value={w.day}
                min={dayOf(new Date(), zone())}
                onInput={(e) => e.currentTarget.value && setWish({ day: e.currentTarget.value })}
              />
            </label>
          )}
          {part === "hours" && <Hours />}
          {part === "dogs" && <DogTable />}
          {part === "people" && <PeopleChoice />}
          {part === "gate" && (
            <PlaceChoice
              goal={false}
              mapless={false}
              use={(p) => {
                if (p.from) setWish({ gate: p.from });
                close();
              }}
            />
          )}
          <ChoiceFoot can={!lacks(w)} word={say("outing.plan")} act={() => void planOuting()} close={close} />
        </>
      )}
    />
  );
}

function Hours() {
  const w = outing.wish.value;
  const good = minutesOf(w) >= 15 && minutesOf(w) <= 720;
  return (
    <>
      <div class="row">
        <label class="field">
          <span>{say("outing.from")}</span>
          <input
            type="time"
            value={w.from}
            aria-invalid={!good}
            onInput={(e) => e.currentTarget.value && setWish({ from: e.currentTarget.value })}
          />
        </label>
        <label class="field">
          <span>{say("outing.to")}</span>
          <input
            type="time"
            value={w.to}
            aria-invalid={!good}
            onInput={(e) => e.currentTarget.value && setWish({ to: e.currentTarget.value })}
          />
        </label>
      </div>
      <p role="alert">{!good && say("outing.hours.bad")}</p>
    </>
  );
}

export function PeopleChoice() {
  const w = outing.wish.value;
  const [name, setName] = useState("");
  const [experience, setExperience] = useState<Experience>("regular");
  const [open, setOpen] = useState(-1);
  const twice = w.people.some((p) => p.name === name.trim());
  const at = (i: number, patch: Partial<OutingPerson>) =>
    setWish({ people: w.people.map((p, k) => (k === i ? { ...p, ...patch } : p)) });
  const hour = (i: number, key: "from" | "to", v: string) => {
    const { [key]: _, ...rest } = w.people[i]!;
    setWish({ people: w.people.map((p, k) => (k === i ? (v ? { ...rest, [key]: v } : rest) : p)) });
  };
  return (
    <>
      <label class="line">
        <input
          type="checkbox"
          checked={!!w.heat}
          onChange={(e) => setWish({ heat: e.currentTarget.checked || undefined })}
        />
        {say("outing.heat")}
      </label>
      <ul class="plainlist outpeople">
        {w.people.map((p, i) =>
          i === open ? (
            <li key={p.name} class="row top editing">
              <b class="grow" dir="auto">
                {p.name}
              </b>
              <label class="field short">
                <span>{say("outing.person.exp")}</span>
                <select
                  value={p.experience}
                  onChange={(e) => at(i, { experience: e.currentTarget.value as Experience })}
                >
                  {experiences.map((x) => (
                    <option key={x} value={x}>
                      {say(`outing.is.${x}`)}
                    </option>
                  ))}
                </select>
              </label>
              <label class="field short">
                <span>{say("outing.person.from")}</span>
                <input
                  type="time"
                  value={p.from ?? w.from}
                  onInput={(e) => hour(i, "from", e.currentTarget.value === w.from ? "" : e.currentTarget.value)}
                />
              </label>
              <label class="field short">
                <span>{say("outing.person.to")}</span>
                <input
                  type="time"
                  value={p.to ?? w.to}
                  onInput={(e) => hour(i, "to", e.currentTarget.value === w.to ? "" : e.currentTarget.value)}
                />
              </label>
              <button
                class="low"
                aria-label={say("outing.remove", { name: p.name })}
                onClick={() => {
                  setOpen(-1);
                  setWish({ people: w.people.filter((_, k) => k !== i) });
                }}
              >
                {say("after.remove")}
              </button>
              <button onClick={() => setOpen(-1)}>{say("limit.done")}</button>
            </li>
          ) : (
            <li key={p.name}>
              <button class="cellname" onClick={() => setOpen(i)}>
                <b dir="auto">{cut(p.name)}</b>
                <span class="num">
                  {say(p.from || p.to ? "outing.person.line.hours" : "outing.person.line", {
                    experience: say(`outing.is.${p.experience}`),
                    from: hourOf(w.day, p.from ?? w.from),
                    to: hourOf(w.day, p.to ?? w.to),
                  })}
                </span>
              </button>
            </li>
          ),
        )}
      </ul>
      <form
        class="row top"
        onSubmit={(e) => {
          e.preventDefault();
          if (name.trim() && !twice) {
            setWish({ people: [...w.people, { name: name.trim(), experience }] });
            setName("");
          }
        }}
      >
        <label class="field grow">
          <span>{say("outing.person.name")}</span>
          <input
            value={name}
            maxLength={60}
            dir="auto"
            aria-invalid={twice}
            onInput={(e) => setName(e.currentTarget.value)}
          />
        </label>
        <label class="field short">
          <span>{say("outing.person.exp")}</span>
          <select value={experience} onChange={(e) => setExperience(e.currentTarget.value as Experience)}>
            {experiences.map((x) => (
              <option key={x} value={x}>
                {say(`outing.is.${x}`)}
              </option>
            ))}
          </select>
        </label>
        <button class="low" disabled={!name.trim() || twice}>
          {say("outing.person.add")}
        </button>
      </form>
      <p role="alert">{twice && say("outing.person.twice")}</p>
    </>
  );
}

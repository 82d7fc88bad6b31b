// The asking sentence of an outing and the choices behind its words.

import { useState } from "preact/hooks";
import { dogs } from "../dogs.ts";
import { Where } from "../finding.tsx";
import { zone } from "../mapinfo.ts";
import { asOutingDog, lacks, minutesOf, outing, planOuting, setWish } from "../outing.ts";
import { Asking } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { OutingDog, OutingPerson } from "../timetable.ts";
import type { Experience } from "../types.ts";
import { clock, cut, dayOf, exact, instant, readDistance, weekday } from "../words.ts";
import "./outing_ask.css";

/** The words of the sentence, in its order. */
export const parts = ["day", "hours", "dogs", "people", "gate"] as const;
type Part = (typeof parts)[number];
const experiences: Experience[] = ["new", "regular", "experienced"];

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
          {part === "dogs" && <DogsChoice />}
          {part === "people" && <PeopleChoice />}
          {part === "gate" && (
            <Where
              goal={false}
              mapless={false}
              use={(p) => {
                if (p.from) setWish({ gate: p.from });
                close();
              }}
            />
          )}
          <div class="row">
            {!lacks(w) && (
              <button
                class="main"
                onClick={() => {
                  close();
                  void planOuting();
                }}
              >
                {say("outing.plan")}
              </button>
            )}
            <button class="plain" onClick={close}>
              {say("limit.done")}
            </button>
          </div>
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

/** What a dog needs, in one line. */
function dogLine(d: OutingDog): string {
  const need =
    d.dog.needs.dogs?.working_m ??
    Math.max(0, ...["dog_on_lead", "dog_off_lead"].map((k) => d.dog.needs[k]?.working_m ?? 0));
  return say(d.bite ? "outing.dog.line.bite" : "outing.dog.line", {
    minutes: d.minutes,
    distance: exact(need, settings.value.units),
    who: say(`outing.exp.${d.bite ? "experienced" : d.experience}`),
  });
}

function DogsChoice() {
  const w = outing.wish.value;
  const us = settings.value.units === "us";
  const [name, setName] = useState("");
  const [need, setNeed] = useState(us ? "125" : "38");
  const [near, setNear] = useState(us ? "50" : "15");
  const [minutes, setMinutes] = useState("30");
  const [who, setWho] = useState<Experience>("new");
  const [bite, setBite] = useState(false);
  const working = readDistance(need, settings.value.units);
  const reaction = readDistance(near, settings.value.units);
  const n = Number(minutes);
  const twice = w.dogs.some((d) => d.dog.name === name.trim());
  const order = working !== undefined && reaction !== undefined && reaction >= working;
  const good =
    name.trim() && working && working <= 400 && reaction !== undefined && !order && n >= 5 && n <= 90 && !twice;
  const kept = dogs.value.filter((d) => !w.dogs.some((x) => x.dog.name === d.name));
  const add = (d: OutingDog) => setWish({ dogs: [...w.dogs, d] });
  const at = (i: number, patch: Partial<OutingDog>) =>
    setWish({ dogs: w.dogs.map((d, k) => (k === i ? { ...d, ...patch } : d)) });
  return (
    <>
      <ul class="plainlist outdogs">
        {w.dogs.map((d, i) => (
          <li key={d.dog.name} class="row">
            <span class="grow">
              <b dir="auto">{d.dog.name}</b> <span class="small">{dogLine(d)}</span>
            </span>
            <select
              aria-label={`${say("outing.dog.minutes")}: ${d.dog.name}`}
              value={String(d.minutes)}
              onChange={(e) => at(i, { minutes: Number(e.currentTarget.value) })}
            >
              {[...new Set([10, 15, 20, 25, 30, 40, 45, 60, 90, d.minutes])]
                .sort((a, b) => a - b)
                .map((m) => (
                  <option key={m} value={String(m)}>
                    {say("unit.min", { n: m })}
                  </option>
                ))}
            </select>
            <button
              aria-label={say("outing.remove", { name: d.dog.name })}
              onClick={() => setWish({ dogs: w.dogs.filter((_, k) => k !== i) })}
            >
              {say("after.remove")}
            </button>
          </li>
        ))}
      </ul>
      {kept.length > 0 && (
        <div>
          <p>
            <b>{say("outing.dog.kept")}</b>
          </p>
          <div class="row">
            {kept.map((d) => (
              <button key={d.name} dir="auto" onClick={() => add(asOutingDog(d))}>
                {cut(d.name)}
              </button>
            ))}
          </div>
        </div>
      )}
      <form
        class="stack"
        onSubmit={(e) => {
          e.preventDefault();
          if (!good) return;
          add({
            dog: { name: name.trim(), needs: { dogs: { working_m: working, reaction_m: reaction } } },
            minutes: n,
            experience: bite ? "experienced" : who,
            bite,
          });
          setName("");
          setBite(false);
        }}
      >
        <p>
          <b>{say("outing.dog.new")}</b>
        </p>
        <div class="row top">
          <label class="field grow">
            <span>{say("outing.dog.name")}</span>
            <input
              value={name}
              maxLength={60}
              dir="auto"
              aria-invalid={twice}
              onInput={(e) => setName(e.currentTarget.value)}
            />
          </label>
          <label class="field short">
            <span>{say("outing.dog.need")}</span>
            <input value={need} aria-invalid={!working || order} onInput={(e) => setNeed(e.currentTarget.value)} />
          </label>
          <label class="field short">
            <span>{say("outing.dog.near")}</span>
            <input
              value={near}
              aria-invalid={reaction === undefined || order}
              onInput={(e) => setNear(e.currentTarget.value)}
            />
          </label>
          <label class="field short">
            <span>{say("outing.dog.minutes")}</span>
            <input
              inputMode="numeric"
              value={minutes}
              aria-invalid={!(n >= 5 && n <= 90)}
              onInput={(e) => setMinutes(e.currentTarget.value)}
            />
          </label>
          <label class="field">
            <span>{say("outing.dog.who")}</span>
            <select
              value={bite ? "experienced" : who}
              disabled={bite}
              onChange={(e) => setWho(e.currentTarget.value as Experience)}
            >
              {experiences.map((x) => (
                <option key={x} value={x}>
                  {say(`outing.exp.${x}`)}
                </option>
              ))}
            </select>
          </label>
        </div>
        <label class="line">
          <input type="checkbox" checked={bite} onChange={(e) => setBite(e.currentTarget.checked)} />
          {say("outing.dog.bite")}
        </label>
        {bite && <p class="small">{say("caution.outing")}</p>}
        <p role="alert">{twice ? say("outing.dog.twice") : order ? say("intake.order", { near, far: need }) : ""}</p>
        <button disabled={!good}>{say("outing.dog.add")}</button>
      </form>
    </>
  );
}

function PeopleChoice() {
  const w = outing.wish.value;
  const [name, setName] = useState("");
  const [experience, setExperience] = useState<Experience>("regular");
  const twice = w.people.some((p) => p.name === name.trim());
  const at = (i: number, patch: Partial<OutingPerson>) =>
    setWish({ people: w.people.map((p, k) => (k === i ? { ...p, ...patch } : p)) });
  const hour = (i: number, key: "from" | "to", v: string) => {
    const { [key]: _, ...rest } = w.people[i]!;
    setWish({ people: w.people.map((p, k) => (k === i ? (v ? { ...rest, [key]: v } : rest) : p)) });
  };
  return (
    <>
      <ul class="plainlist">
        {w.people.map((p, i) => (
          <li key={p.name} class="row top">
            <b class="grow" dir="auto">
              {p.name}
            </b>
            <label class="field short">
              <span>{say("outing.person.exp")}</span>
              <select value={p.experience} onChange={(e) => at(i, { experience: e.currentTarget.value as Experience })}>
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
              onClick={() => setWish({ people: w.people.filter((_, k) => k !== i) })}
            >
              {say("after.remove")}
            </button>
          </li>
        ))}
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

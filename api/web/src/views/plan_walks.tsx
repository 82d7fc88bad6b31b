// The walks to choose from, and what the chosen one is worth.
import { useEffect, useState } from "preact/hooks";
import { ask } from "../api.ts";
import { dogNow, plainDog } from "../dogs.ts";
import { along, metres, offArea, walkLine } from "../geo.ts";
import { needFor } from "../log.ts";
import { choose, chosen, departure, letter, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Drawing, Plan as PlanAnswer, Position, Walk } from "../types.ts";
import {
  capital,
  compareShort,
  distance,
  exact,
  into,
  metOf,
  minutes,
  minutesSpelt,
  shortAnswer,
  streetName,
  walkName,
} from "../words.ts";
import "./plan_walks.css";

/** What else must be known of the chosen walk. */
export function Remarks(props: { walk: Walk }) {
  const w = props.walk;
  return (
    <>
      {w.laps > 1 && <p>{say("walk.laps", { n: w.laps })}</p>}
      <p class="small num">{groundWords(w)}</p>
      <VeryFar />
      <StartInside walk={w} />
    </>
  );
}

/** What there is beside the reactions, and told apart from them: traffic, soft ground, and the form of the walk. */
function groundWords(w: Walk): string {
  const parts = [
    w.main_road_s >= 30 ? say("walk.road", { n: minutes(w.main_road_s) }) : say("walk.road.none"),
    say("walk.soft", { n: Math.round(w.soft_ground_s / 60) }),
  ];
  if (w.shape === "there_and_back") parts.push(say("walk.form.back"));
  else if (w.tail_s >= 60) parts.push(say("walk.form.tail", { n: minutes(w.tail_s) }));
  if (w.shape !== "there_and_back" && w.turns > 0) parts.push(say("walk.form.turns", { n: w.turns }));
  return `${capital(parts.join(" · "))}.`;
}

/** A door that lies nearer to a source than the dog can bear: said before the first step. */
function StartInside(props: { walk: Walk }) {
  const [near, setNear] = useState<
    { name: string; off: number; active: number; from: (p: Position) => number } | undefined
  >();
  const line = walkLine(props.walk);
  const door = line[0]!;
  const depart = departure(wish.value);
  useEffect(() => {
    const stop = new AbortController();
    const needs = dogNow()?.needs ?? {};
    const most = Math.min(
      400,
      Math.max(0, ...Object.values(needs).map((n) => n?.reaction_m ?? (n ? n.working_m / 2 : 0))),
    );
    setNear(undefined);
    if (most === 0) return;
    const dLat = most / 111320;
    const dLon = dLat / Math.cos((door[1] * Math.PI) / 180);
    ask("post", "/v1/sources", {
      body: { bbox: [door[0] - dLon, door[1] - dLat, door[0] + dLon, door[1] + dLat], depart, dog: plainDog(dogNow()) },
      signal: stop.signal,
    })
      .then(({ sources }) => {
        const found = sources
          .filter((s) => s.active >= 0.5)
          .map((s) => {
            const from = (p: Position) => (s.outline?.length ? offArea(p, s.outline) : Math.hypot(...metres(p, s.at)));
            const reach = Math.max(
              0,
              ...s.kinds.map((k) => {
                const n = needFor(needs, k);
                return n ? (n.reaction_m ?? n.working_m / 2) : 0;
              }),
            );
            return { name: s.name || s.what, off: from(door), active: s.active, from, reach };
          })
          .filter((s) => s.off < s.reach)
          .sort((a, b) => a.off - b.off);
        setNear(found[0]);
      })
      .catch(() => undefined); // one more word on the walks; the walks stand without it
    return () => stop.abort();
  }, [props.walk, depart]);
  if (!near) return null;
  const away = near.from(along(line, 30).at) > near.off;
  return (
    <p class="caution" role="status">
      {say(away ? "inside.away" : "inside.past", {
        name: capital(near.name),
        distance: distance(near.off, settings.value.units),
        answer: shortAnswer(near.active),
        street: streetName(props.walk.legs[0]!.name),
      })}
    </p>
  );
}

/** A distance that no place offers is answered with what there is. */
function VeryFar() {
  const most = Math.max(0, ...Object.values(dogNow()?.needs ?? {}).map((n) => n?.working_m ?? 0));
  return most >= 1000 ? (
    <p class="caution">{say("none.distance", { distance: exact(most, settings.value.units) })}</p>
  ) : null;
}

const leadingCategory = (w: Walk): string => w.encounters[0]?.category ?? "dogs";

/** Picks another walk with the arrow keys. */
function arrows(e: KeyboardEvent, n: number): void {
  const by = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[e.key];
  if (!by) return;
  e.preventDefault();
  choose((chosen.value + by + n) % n);
  const group = (e.currentTarget as HTMLElement).closest("[role=radiogroup]");
  setTimeout(() => group?.querySelector<HTMLElement>('[aria-checked="true"]')?.focus());
}

/** The walks as tabs under a phone's map. */
export function Tabs(props: { plan: PlanAnswer }) {
  const { walks } = props.plan;
  return (
    <div role="radiogroup" aria-label={say("walk.radio")} class="tabs">
      {walks.map((w, i) => (
        <button
          key={i}
          role="radio"
          aria-checked={i === chosen.value}
          aria-label={`${letter(i)}, ${walkName(w)}, ${shortAnswer(w.calm_chance)}, ${minutesSpelt(w.duration_s)}`}
          tabIndex={i === chosen.value ? 0 : -1}
          class="tab"
          onClick={() => choose(i)}
          onKeyDown={(e) => arrows(e, walks.length)}
        >
          <span class="letter">{letter(i)}</span>
          <span>
            <b class="num">{shortAnswer(w.calm_chance)}</b>
            <span class="num small">{beside(walks, i)}</span>
          </span>
        </button>
      ))}
    </div>
  );
}

/** How long a walk is, and how calm where its number is that of the first. */
function beside(walks: Walk[], i: number): string {
  const w = walks[i]!;
  const min = into(w.duration_s);
  const first = walks[0]!;
  const told =
    i > 0 ? compareShort(w.expected_reactions, first.expected_reactions, w.calm_chance, first.calm_chance) : "";
  return told ? `${min}, ${told}` : min;
}

function most(w: Walk): { name: string; minute: number } {
  const worst = w.legs.reduce((a, b) => (b.expected_reactions > a.expected_reactions ? b : a), w.legs[0]!);
  return { name: worst.name, minute: Math.round(worst.start_s / 60) };
}

/** The walks as a table, with what tells them apart. */
export function TableOfWalks(props: { plan: PlanAnswer; drawings: Drawing[] }) {
  const cat = leadingCategory(props.plan.walks[0]!);
  const { walks } = props.plan;
  return (
    <div role="radiogroup" aria-label={say("walk.radio")} class="walks">
      <div class="walktable head-row" aria-hidden="true">
        <span />
        <span>{say("walk.col.walk")}</span>
        <span>{say("walk.col.calm")}</span>
        <span>{say("walk.col.minutes")}</span>
        <span>{say("walk.col.met", { what: say(`category.${cat}.many` as Key) })}</span>
      </div>
      {walks.map((w, i) => {
        const m = metOf(w, cat);
        const worst = most(w);
        return (
          <button
            key={i}
            role="radio"
            aria-checked={i === chosen.value}
            tabIndex={i === chosen.value ? 0 : -1}
            class="walktable"
            onClick={() => choose(i)}
            onKeyDown={(e) => arrows(e, walks.length)}
          >
            <span class="letter">{letter(i)}</span>
            <span dir="auto">
              <span class="title">{walkName(w)}</span>
              <span class="small">{say("walk.trouble", { name: streetName(worst.name), n: worst.minute })}</span>
            </span>
            <b class="num">{shortAnswer(w.calm_chance)}</b>
            <span class="num">{minutes(w.duration_s)}</span>
            <span class="num">{say("walk.dogs.of", { n: countWord(m.expected), near: countWord(m.inside) })}</span>
          </button>
        );
      })}
    </div>
  );
}

const countWord = (n: number) =>
  n >= 0.75 ? String(Math.round(n)) : n < 0.05 ? "0" : say("walk.oneIn", { n: Math.round(Math.max(2, 1 / n)) });

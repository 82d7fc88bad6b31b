// The asking sentence of training visits and the choices behind its words.

import { dogNow } from "../dogs.ts";
import { PlaceChoice } from "../finding.tsx";
import { Asking, ChoiceFoot, DogRow } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import { pickDog, planVisits, setVisitsWish, visits } from "../visits.ts";
import { capital, cut, exact } from "../words.ts";

const parts = ["dog", "kind", "from", "drive", "far", "near", "most", "meet"] as const;
type Part = (typeof parts)[number];
const kinds = ["dogs", "people", "wheels", "traffic"] as const;
export const multiples = [3, 2.5, 2, 1.75, 1.5, 1.25, 1];
const drives = [0, 10, 20, 30, 45, 60];
const mosts = [0.25, 0.5, 1, 1.5, 2, 3, 4];

/** A multiple as it is said: two figures after the point at most. */
export const times = (n: number): string => String(Math.round(n * 100) / 100);

const tenth = (n: number): string => (times(n).includes(".") ? times(n) : n.toFixed(1));

/** The room that the dog needs from what is watched, where it is known. */
function needOf(kind: string): number | undefined {
  const needs = dogNow()?.needs ?? {};
  const own = needs[kind]?.working_m;
  if (own) return own;
  return (
    Math.max(0, ...["dog_on_lead", "dog_off_lead"].map((k) => (kind === "dogs" ? (needs[k]?.working_m ?? 0) : 0))) ||
    undefined
  );
}

const kindWord = (k: string): string =>
  (kinds as readonly string[]).includes(k) ? say(`category.${k}.row` as Key).toLowerCase() : k.replace(/_/g, " ");

export function VisitsSentence() {
  const w = visits.wish.value;
  const text: Record<Part, () => string> = {
    dog: () => (dogNow() ? cut(dogNow()!.name) : say("visits.nodog")),
    kind: () => kindWord(w.kind),
    from: () => (w.from ? cut(w.from.name) : say("plan.nowhere")),
    drive: () => (w.drive === 0 ? say("visits.drive.foot") : say("visits.drive", { n: w.drive })),
    far: () => tenth(w.farthest),
    near: () => tenth(w.nearest),
    meet: () => say(w.meet ? `visits.meet.${w.meet}` : "visits.meet.none"),
    most: () => say("visits.most", { n: times(w.most) }),
  };
  return (
    <Asking
      of="visits.ask"
      parts={parts}
      text={(part) => text[part]()}
      label={(part) => say(`visits.choice.${part}`)}
      choices={(part, close) => (
        <>
          {part === "dog" && (
            <DogRow
              pick={(i) => {
                pickDog(i);
                close();
              }}
            />
          )}
          {part === "kind" && (
            <div class="row">
              {kinds.map((k) => (
                <button key={k} aria-pressed={k === w.kind} onClick={() => setVisitsWish({ kind: k })}>
                  {kindWord(k)}
                </button>
              ))}
            </div>
          )}
          {part === "from" && (
            <PlaceChoice
              goal={false}
              mapless={true}
              use={(p) => {
                if (p.from) setVisitsWish({ from: p.from });
                close();
              }}
            />
          )}
          {(part === "far" || part === "near") && <Times />}
          {part === "drive" && <Drive />}
          {part === "most" && <Most />}
          {part === "meet" && <Meet />}
          <ChoiceFoot
            can={!!(w.from && dogNow())}
            word={say("visits.plan")}
            act={() => void planVisits()}
            close={close}
          />
        </>
      )}
    />
  );
}

/** From how far off to how near; nothing nearer than the room the dog needs. */
function Times() {
  const w = visits.wish.value;
  const need = needOf(w.kind);
  const word = (n: number) =>
    need ? say("visits.times.n", { n: times(n), distance: exact(n * need, settings.value.units) }) : times(n);
  return (
    <>
      <p>{say("visits.times.text", { dog: cut(dogNow()?.name ?? "") })}</p>
      <div class="row">
        <label class="field grow">
          <span>{say("visits.far")}</span>
          <select
            value={String(w.farthest)}
            onChange={(e) => setVisitsWish({ farthest: Number(e.currentTarget.value) })}
          >
            {multiples
              .filter((n) => n > w.nearest)
              .map((n) => (
                <option key={n} value={String(n)}>
                  {word(n)}
                </option>
              ))}
          </select>
        </label>
        <label class="field grow">
          <span>{say("visits.near")}</span>
          <select value={String(w.nearest)} onChange={(e) => setVisitsWish({ nearest: Number(e.currentTarget.value) })}>
            {multiples
              .filter((n) => n < w.farthest && n <= 2)
              .map((n) => (
                <option key={n} value={String(n)}>
                  {word(n)}
                </option>
              ))}
          </select>
        </label>
      </div>
      {dogNow()?.caution && w.nearest < 1.5 && <p class="caution">{say("caution.visit")}</p>}
    </>
  );
}

/** On foot only, or how far by car. */
function Drive() {
  const w = visits.wish.value;
  return (
    <>
      <p>{say("visits.drive.text")}</p>
      <div class="row">
        {[...new Set([...drives, w.drive])]
          .sort((a, b) => a - b)
          .map((n) => (
            <button
              key={n}
              aria-pressed={n === w.drive}
              aria-label={n === 0 ? capital(say("visits.drive.foot")) : say("visits.drive.n", { n })}
              onClick={() => setVisitsWish({ drive: n })}
            >
              {n === 0 ? say("visits.drive.foot") : n}
            </button>
          ))}
      </div>
    </>
  );
}

/** Whether a known helper is met for the near half, and on which ground. */
function Meet() {
  const w = visits.wish.value;
  return (
    <>
      <p>{say("visits.meet.text")}</p>
      <div class="row">
        {(["", "parks", "green"] as const).map((g) => (
          <button key={g} aria-pressed={g === w.meet} onClick={() => setVisitsWish({ meet: g })}>
            {capital(say(g ? `visits.meet.${g}` : "visits.meet.none"))}
          </button>
        ))}
      </div>
    </>
  );
}

function Most() {
  const w = visits.wish.value;
  return (
    <>
      <p>{say("visits.most.text")}</p>
      <div class="row">
        {[...new Set([...mosts, w.most])]
          .sort((a, b) => a - b)
          .map((n) => (
            <button
              key={n}
              aria-pressed={n === w.most}
              aria-label={say("visits.most.n", { n: times(n) })}
              onClick={() => setVisitsWish({ most: n })}
            >
              {times(n)}
            </button>
          ))}
      </div>
    </>
  );
}

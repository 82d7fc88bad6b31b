// The asking sentence: its underlined words are the controls, and each opens its
// choices in the page under it.

import type { ComponentChildren } from "preact";
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { dogAt, dogNow, dogs, setDogs } from "./dogs.ts";
import { PlaceChoice } from "./finding.tsx";
import { zone } from "./mapinfo.ts";
import { limitCount, want, wish } from "./plan.ts";
import { settings } from "./settings.ts";
import { type Key, pieces, say } from "./strings.ts";
import type { Limits, Weather, Wish } from "./types.ts";
import { goTo } from "./view.ts";
import { clock, cut, dayOf, exact, instant, readDistance, weekday } from "./words.ts";
import "./sentence.css";

type Part = "minutes" | "shape" | "dog" | "from" | "to" | "time" | "limits";

/** Under choices: what the whole sentence asks for, once nothing lacks, and the end of choosing. */
export function ChoiceFoot(props: { can: boolean; word: string; act: () => void; close: () => void }) {
  return (
    <div class="row">
      {props.can && (
        <button
          class="main"
          onClick={() => {
            props.close();
            props.act();
          }}
        >
          {props.word}
        </button>
      )}
      <button class="plain" onClick={props.close}>
        {say("limit.done")}
      </button>
    </div>
  );
}

/** A sentence whose named places are words to tap, each with its choices under it;
 * closing them gives the focus back to the word. Places that are no part are left out. */
export function Asking<P extends string>(props: {
  of: Key;
  parts: readonly P[];
  text: (part: P) => string;
  label: (part: P) => string;
  choices: (part: P, close: () => void, open: (part: P) => void) => ComponentChildren;
}) {
  const [open, setOpen] = useState<P | "">("");
  const words = useRef<Partial<Record<string, HTMLButtonElement>>>({});
  const box = useRef<HTMLDivElement>(null);
  const was = useRef<P | "">("");
  useLayoutEffect(() => {
    if (open) box.current?.querySelector<HTMLElement>("button, input, select")?.focus();
    else if (was.current) words.current[was.current]?.focus();
    was.current = open;
  }, [open]);
  const close = () => setOpen("");
  const word = (part: P) => (
    <button
      ref={(el) => {
        if (el) words.current[part] = el;
      }}
      aria-expanded={open === part}
      dir="auto"
      onClick={() => setOpen(open === part ? "" : part)}
    >
      {props.text(part)}
    </button>
  );
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: Escape closes what is open, whichever of its fields has the focus
    <div
      onKeyDown={(e) => {
        if (e.key === "Escape" && open) {
          e.stopPropagation();
          close();
        }
      }}
    >
      <p class="sentence">
        {pieces(props.of).map((p, i) =>
          p.place === undefined ? (
            <span key={i}>{p.text}</span>
          ) : props.parts.includes(p.place as P) ? (
            <span key={i}>{word(p.place as P)}</span>
          ) : null,
        )}
      </p>
      {open && (
        <div class="choice stack" ref={box} role="group" aria-label={props.label(open)}>
          {props.choices(open, close, setOpen)}
        </div>
      )}
    </div>
  );
}

/** The sentence that asks for a walk. */
export function Sentence(props: { key_: Key; parts: Part[] }) {
  const text = (part: Part) => textOf(part, wish.value);
  return (
    <Asking
      of={props.key_}
      parts={props.parts}
      text={text}
      label={labelOf}
      choices={(part, close, open) => {
        const use = (patch: Partial<Wish>) => {
          want(patch);
          close();
        };
        return (
          <>
            {part === "minutes" && <Minutes use={use} />}
            {part === "shape" && <Shape use={use} open={open} />}
            {part === "dog" && <Dogs close={close} />}
            {part === "from" && <PlaceChoice goal={false} use={use} mapless={false} />}
            {part === "to" && <PlaceChoice goal={true} use={use} mapless={false} />}
            {part === "time" && <Time use={use} />}
            {part === "limits" && <LimitsChoice />}
            <div class="row">
              <button class="plain" onClick={close}>
                {part === "limits" ? say("limit.done") : say("choice.close")}
              </button>
            </div>
          </>
        );
      }}
    />
  );
}

function labelOf(p: Part): string {
  return say(`choice.${p}`);
}

function textOf(part: Part, w: Wish): string {
  switch (part) {
    case "minutes":
      return w.shape === "calmest" || w.shape === "loop" || w.shape === "there_and_back"
        ? say("plan.minutes", { n: w.minutes })
        : say("unit.minutes", { n: w.minutes });
    case "shape":
      return say(`plan.shape.${w.shape}`);
    case "dog":
      return cut(dogNow()?.name || say("choice.dog.none"));
    case "from":
      return w.from ? cut(w.from.name) : say("plan.nowhere");
    case "to":
      return w.to ? cut(w.to.name) : say("plan.nogoal");
    case "time":
      return timeText(w.depart);
    case "limits": {
      const n = limitCount(w.limits);
      return say("plan.limits", { n });
    }
  }
}

function timeText(depart: string): string {
  if (!depart) return say("plan.time.now");
  const t = new Date(depart);
  const time = clock(t, zone(), settings.value.clock);
  return dayOf(t, zone()) === dayOf(new Date(), zone())
    ? say("plan.time.today", { time })
    : say("plan.time.other", { day: weekday(t, zone()), time });
}

function Minutes(props: { use: (p: Partial<Wish>) => void }) {
  const [own, setOwn] = useState(String(wish.value.minutes));
  const n = Number(own);
  const good = Number.isFinite(n) && n >= 5 && n <= 180;
  return (
    <>
      <div class="row">
        {[15, 20, 30, 45, 60].map((m) => (
          <button key={m} aria-pressed={wish.value.minutes === m} onClick={() => props.use({ minutes: m })}>
            {m}
          </button>
        ))}
      </div>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          if (good) props.use({ minutes: n });
        }}
      >
        <label class="field grow">
          <span>{say("choice.minutes.own")}</span>
          <input inputMode="numeric" value={own} onInput={(e) => setOwn(e.currentTarget.value)} aria-invalid={!good} />
        </label>
        <button disabled={!good}>{say("choice.use")}</button>
      </form>
    </>
  );
}

function Shape(props: { use: (p: Partial<Wish>) => void; open: (p: Part) => void }) {
  const shapes = ["calmest", "loop", "there_and_back", "way", "longest_calm"] as const;
  const strains = ["none", "usual", "strict"] as const;
  const [x, setX] = useState(String(wish.value.max_expected_reactions ?? 0.1));
  return (
    <>
      <div class="row">
        {shapes.map((v) => (
          <button key={v} aria-pressed={wish.value.shape === v} onClick={() => props.use({ shape: v })}>
            {say(`plan.choose.${v}`)}
          </button>
        ))}
      </div>
      {wish.value.shape === "longest_calm" && (
        <form
          class="row"
          onSubmit={(e) => {
            e.preventDefault();
            if (Number(x) > 0) props.use({ max_expected_reactions: Number(x) });
          }}
        >
          <label class="field grow">
            <span>{say("choice.calm")}</span>
            <input inputMode="decimal" value={x} onInput={(e) => setX(e.currentTarget.value)} />
          </label>
          <button>{say("choice.use")}</button>
        </form>
      )}
      <h3>{say("choice.strain")}</h3>
      <div class="row">
        {strains.map((v) => (
          <button
            key={v}
            aria-pressed={(wish.value.strain ?? "usual") === v}
            onClick={() => props.use({ strain: v === "usual" ? undefined : v })}
          >
            {say(`choice.strain.${v}`)}
          </button>
        ))}
        <button
          aria-pressed={!!wish.value.soft_ground}
          onClick={() => props.use({ soft_ground: !wish.value.soft_ground })}
        >
          {say("choice.soft")}
        </button>
      </div>
    </>
  );
}

/** The dogs that there are, each a button; what else is in the row follows them. */
export function DogRow(props: { pick: (i: number) => void; children?: ComponentChildren }) {
  return (
    <div class="row">
      {dogs.value.map((d, i) => (
        <button key={d.name + i} aria-pressed={i === dogAt.value} dir="auto" onClick={() => props.pick(i)}>
          {cut(d.name)}
        </button>
      ))}
      {props.children}
    </div>
  );
}

function Dogs(props: { close: () => void }) {
  return (
    <DogRow
      pick={(i) => {
        setDogs(dogs.value, i);
        want({});
        props.close();
      }}
    >
      <button onClick={() => goTo("dog")}>{say("choice.dog.none")}</button>
    </DogRow>
  );
}

function Time(props: { use: (p: Partial<Wish>) => void }) {
  const start = wish.value.depart ? new Date(wish.value.depart) : new Date(Math.ceil(Date.now() / 6e5) * 6e5);
  const [day, setDay] = useState(dayOf(start, zone()));
  const [time, setTime] = useState(clock(start, zone(), "h24"));
  const step = (n: number) => {
    const t = new Date(instant(day, time, zone()).getTime() + n * 6e5);
    setDay(dayOf(t, zone()));
    setTime(clock(t, zone(), "h24"));
  };
  const good = /^\d{4}-\d\d-\d\d$/.test(day) && /^\d\d:\d\d$/.test(time);
  return (
    <>
      <div class="row">
        <button onClick={() => props.use({ depart: "" })}>{say("plan.time.now")}</button>
        <button onClick={() => step(-1)}>{say("choice.earlier")}</button>
        <button onClick={() => step(1)}>{say("choice.later")}</button>
      </div>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          if (good) props.use({ depart: instant(day, time, zone()).toISOString() });
        }}
      >
        <label class="field">
          <span>{say("choice.time.date")}</span>
          <input type="date" value={day} onInput={(e) => setDay(e.currentTarget.value)} />
        </label>
        <label class="field">
          <span>{say("choice.time.clock")}</span>
          <input type="time" value={time} onInput={(e) => setTime(e.currentTarget.value)} />
        </label>
        <button class="main" disabled={!good}>
          {say("choice.use")}
        </button>
      </form>
      <Weathers />
    </>
  );
}

const weathers = [
  ["rain", "none", "choice.weather.dry"],
  ["rain", "light", "choice.weather.wet"],
  ["feel", "hot", "choice.weather.hot"],
  ["feel", "cold", "choice.weather.cold"],
] as const;

/** What somebody says of the weather; said again, it is unsaid. */
function Weathers() {
  const now = wish.value.weather ?? {};
  return (
    <div class="row" role="group" aria-label={say("choice.weather")}>
      {weathers.map(([of, as, text]) => {
        const on = now[of] === as;
        return (
          <button
            key={as}
            class="plain"
            aria-pressed={on}
            onClick={() => {
              const { [of]: _, ...rest } = now;
              const said: Weather = on ? rest : { ...now, [of]: as };
              want({ weather: Object.keys(said).length > 0 ? said : undefined });
            }}
          >
            {say(text)}
          </button>
        );
      })}
    </div>
  );
}

const plainLimits = [
  "no_steps",
  "lit_only",
  "paved_only",
  "off_roads",
  "cross_at_crossings",
  "inside_reaction_distance",
] as const;
const nearers = ["school", "playground", "dog_park", "dogs", "people", "wheels"] as const;

function LimitsChoice() {
  const l = wish.value.limits;
  const [metres, setMetres] = useState("50");
  const [what, setWhat] = useState<string>("school");
  const [street, setStreet] = useState("");
  const change = (patch: Partial<Limits>) => {
    want({ limits: { ...l, ...patch } });
  };
  const m = readDistance(metres, settings.value.units);
  return (
    <>
      {plainLimits.map((k) => (
        <label key={k} class="line">
          <input type="checkbox" checked={!!l[k]} onChange={(e) => change({ [k]: e.currentTarget.checked })} />
          {say(`limit.${k}`)}
        </label>
      ))}
      {(l.never_nearer ?? []).map((k, i) => (
        <div key={i} class="row">
          <span class="grow">
            {say("limit.never.line", {
              distance: exact(k.m, settings.value.units),
              what: say(`never.${k.from}` as Key),
            })}
          </span>
          <button onClick={() => change({ never_nearer: l.never_nearer!.filter((_, j) => j !== i) })}>
            {say("limit.remove", { what: say(`never.${k.from}` as Key) })}
          </button>
        </div>
      ))}
      {(l.avoid_ways ?? []).map((name, i) => (
        <div key={name} class="row">
          <span class="grow">{say("limit.avoid.line", { name })}</span>
          <button onClick={() => change({ avoid_ways: l.avoid_ways!.filter((_, j) => j !== i) })}>
            {say("limit.remove", { what: name })}
          </button>
        </div>
      ))}
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          if (m) change({ never_nearer: [...(l.never_nearer ?? []), { from: what, m }] });
        }}
      >
        <label class="field">
          <span>{say("limit.never")}</span>
          <input value={metres} onInput={(e) => setMetres(e.currentTarget.value)} aria-invalid={!m} />
        </label>
        <label class="field">
          <span>{say("limit.never.to")}</span>
          <select value={what} onChange={(e) => setWhat(e.currentTarget.value)}>
            {nearers.map((k) => (
              <option key={k} value={k}>
                {say(`never.${k}`)}
              </option>
            ))}
          </select>
        </label>
        <button disabled={!m}>{say("limit.never.add")}</button>
      </form>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          if (street.trim()) {
            change({ avoid_ways: [...(l.avoid_ways ?? []), street.trim()] });
            setStreet("");
          }
        }}
      >
        <label class="field grow">
          <span>{say("limit.avoid")}</span>
          <input value={street} maxLength={200} dir="auto" onInput={(e) => setStreet(e.currentTarget.value)} />
        </label>
        <button>{say("limit.add")}</button>
      </form>
    </>
  );
}

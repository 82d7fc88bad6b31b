// The asking sentence of training visits and the choices behind its words.
import { useEffect, useRef, useState } from "preact/hooks";
import { Where } from "../sentence.tsx";
import { dogNow, state, useAppState } from "../state.ts";
import { pieces, say, type Key } from "../strings.ts";
import { pickDog, planVisits, setVisitsWish, visits } from "../visits.ts";
import { cut, exact } from "../words.ts";

type Part = "dog" | "kind" | "from" | "far" | "near" | "most";
const kinds = ["dogs", "people", "wheels", "traffic"] as const;
const multiples = [3, 2.5, 2, 1.75, 1.5, 1.25, 1];
const mosts = [0.25, 0.5, 1, 1.5, 2, 3, 4];

/** A multiple as it is said: two figures after the point at most. */
export const times = (n: number): string => String(Math.round(n * 100) / 100);

const tenth = (n: number): string => (times(n).includes(".") ? times(n) : n.toFixed(1));

/** The room that the dog needs from what is watched, where it is known. */
export function needOf(kind: string): number | undefined {
  const needs = dogNow()?.needs ?? {};
  const own = needs[kind]?.working_m;
  if (own) return own;
  return Math.max(0, ...["dog_on_lead", "dog_off_lead"].map((k) => (kind === "dogs" ? needs[k]?.working_m ?? 0 : 0))) || undefined;
}

const kindWord = (k: string): string => ((kinds as readonly string[]).includes(k) ? say(`dog.cat.${k}` as Key).toLowerCase() : k.replace(/_/g, " "));

export function VisitsSentence() {
  useAppState();
  const w = visits.wish;
  const [open, setOpen] = useState<Part | "">("");
  const words = useRef<Partial<Record<Part, HTMLButtonElement>>>({});
  const box = useRef<HTMLDivElement>(null);
  const was = useRef<Part | "">("");
  useEffect(() => {
    if (open) box.current?.querySelector<HTMLElement>("button, input, select")?.focus();
    else if (was.current) words.current[was.current]?.focus();
    was.current = open;
  }, [open]);
  const text: Record<Part, () => string> = {
    dog: () => (dogNow() ? cut(dogNow()!.name) : say("visits.nodog")),
    kind: () => kindWord(w.kind),
    from: () => (w.from ? cut(w.from.name) : say("plan.nowhere")),
    far: () => tenth(w.farthest),
    near: () => tenth(w.nearest),
    most: () => say("visits.most", { n: times(w.most) }),
  };
  const close = () => setOpen("");
  return (
    <div onKeyDown={(e) => { if (e.key === "Escape" && open) { e.stopPropagation(); close(); } }}>
      <p class="sentence">
        {pieces("visits.ask").map((p, i) => {
          const part = p.place as Part | undefined;
          return part === undefined ? <span key={i}>{p.text}</span> : (
            <span key={i}><button ref={(el) => { if (el) words.current[part] = el; }} aria-expanded={open === part} dir="auto" onClick={() => setOpen(open === part ? "" : part)}>{text[part]()}</button></span>
          );
        })}
      </p>
      {open && (
        <div class="choice stack" ref={box} role="group" aria-label={say(`visits.choice.${open}`)}>
          {open === "dog" && <div class="row">{state.dogs.map((d, i) => <button key={d.name + i} aria-pressed={i === state.dog} dir="auto" onClick={() => { pickDog(i); close(); }}>{cut(d.name)}</button>)}</div>}
          {open === "kind" && <div class="row">{kinds.map((k) => <button key={k} aria-pressed={k === w.kind} onClick={() => setVisitsWish({ kind: k })}>{kindWord(k)}</button>)}</div>}
          {open === "from" && <Where goal={false} mapless={true} use={(p) => { if (p.from) setVisitsWish({ from: p.from }); close(); }} />}
          {(open === "far" || open === "near") && <Times />}
          {open === "most" && <Most />}
          <div class="row">
            {w.from && dogNow() && <button class="main" onClick={() => { close(); void planVisits(); }}>{say("visits.plan")}</button>}
            <button class="plain" onClick={close}>{say("limit.done")}</button>
          </div>
        </div>
      )}
    </div>
  );
}

/** From how far off to how near; nothing nearer than the room the dog needs. */
function Times() {
  const w = visits.wish;
  const need = needOf(w.kind);
  const word = (n: number) => (need ? say("visits.times.n", { n: times(n), distance: exact(n * need, state.settings.units) }) : times(n));
  return (
    <>
      <p>{say("visits.times.text", { dog: cut(dogNow()?.name ?? "") })}</p>
      <div class="row">
        <label class="field grow"><span>{say("visits.far")}</span>
          <select value={String(w.farthest)} onChange={(e) => setVisitsWish({ farthest: Number(e.currentTarget.value) })}>
            {multiples.filter((n) => n > w.nearest).map((n) => <option key={n} value={String(n)}>{word(n)}</option>)}
          </select>
        </label>
        <label class="field grow"><span>{say("visits.near")}</span>
          <select value={String(w.nearest)} onChange={(e) => setVisitsWish({ nearest: Number(e.currentTarget.value) })}>
            {multiples.filter((n) => n < w.farthest && n <= 2).map((n) => <option key={n} value={String(n)}>{word(n)}</option>)}
          </select>
        </label>
      </div>
      {dogNow()?.caution && w.nearest < 1.5 && <p class="caution">{say("visits.bite")}</p>}
    </>
  );
}

function Most() {
  const w = visits.wish;
  return (
    <>
      <p>{say("visits.most.text")}</p>
      <div class="row">{[...new Set([...mosts, w.most])].sort((a, b) => a - b).map((n) => <button key={n} aria-pressed={n === w.most} aria-label={say("visits.most.n", { n: times(n) })} onClick={() => setVisitsWish({ most: n })}>{times(n)}</button>)}</div>
    </>
  );
}

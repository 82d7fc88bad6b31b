// Plain questions, from which a dog's distances follow.

import { useEffect, useState } from "preact/hooks";
import { Fault } from "../api.ts";
import { dogAt, dogNow, dogs, keepDog, type PageDog, serverKeeps } from "../dogs.ts";
import { Cars, Glyph } from "../draw.tsx";
import { type Category, categories } from "../kinds.ts";
import { Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import type { Answers } from "../types.ts";
import { goTo } from "../view.ts";

import { carM, exact, readDistance, toTenth } from "../words.ts";

const questions = ["notice", "works", "eats", "over"] as const;

const nounOf: Record<Category, Key> = {
  dogs: "intake.noun.dogs",
  people: "intake.noun.people",
  wheels: "intake.noun.wheels",
  traffic: "intake.noun.traffic",
  sounds: "intake.noun.sounds",
};

/** Metres by question, null where nobody knows. */
type Given = Partial<Record<Category, (number | null)[]>>;

/** What the answers say, as the server takes it and as the device does without one. */
function told(about: Category[], answers: Given): { intake: Record<string, Answers>; needs: PageDog["needs"] } {
  const intake: Record<string, Answers> = {};
  const needs: PageDog["needs"] = {};
  for (const c of about) {
    const [n = null, f = null, e = null, r = null] = answers[c] ?? [];
    intake[c] = { notices_at: n, takes_food_at: f, stops_eating_at: e, reacts_at: r };
    const works = f ?? (r ? 2 * r : e ? 1.5 * e : undefined);
    if (works) needs[c] = { working_m: works, reaction_m: r ?? works / 2 };
  }
  return { intake, needs };
}

/** Plain questions, one a screen; "don't know" is always an answer. */
export function Intake(props: { fresh: boolean; begun: () => void; done: () => void }) {
  const [fresh] = useState(props.fresh); // dogs that arrive meanwhile are others
  const old = fresh ? undefined : dogNow();
  const [name, setName] = useState(old?.name ?? "");
  const [step, setStep] = useState(fresh ? -2 : -1);
  const [about, setAbout] = useState<Category[]>(["dogs"]);
  const [answers, setAnswers] = useState<Given>({});
  const [drive, setDrive] = useState<PageDog["drive"]>(old?.drive);
  const [caution, setCaution] = useState(old?.caution ?? false);
  const [fault, setFault] = useState("");
  useEffect(() => {
    if (name || step > 0) props.begun();
  }, [name, step]);
  const u = settings.value.units;
  const per = questions.length;
  const asked = about.length * per;
  const finish = async (bite: boolean) => {
    setCaution(bite);
    const { intake, needs } = told(about, answers);
    const d: PageDog = {
      ...(old ?? {}),
      name: name.trim() || say("nav.dog"),
      needs: { ...old?.needs, ...needs },
      said: serverKeeps.value ? {} : { ...old?.said, ...needs },
      caution: bite,
    };
    if (drive) d.drive = drive;
    try {
      await keepDog(d, fresh ? dogs.value.length : dogAt.value, serverKeeps.value ? intake : undefined);
      setFault("");
      setStep(asked + 2);
    } catch (err) {
      setFault(err instanceof Fault ? (err.problem?.errors?.[0]?.message ?? err.message) : say("fault.server"));
    }
  };
  const category = about[Math.floor(step / per)];
  const question = step >= 0 && step < asked ? questions[step % per] : undefined;
  const set = (v: number | null) => {
    const list = [...(answers[category!] ?? [])];
    const i = step % per;
    const before = list
      .slice(0, i)
      .filter((x): x is number => x != null)
      .pop();
    if (v !== null && before !== undefined && v > before)
      return setFault(say("intake.nearer", { distance: exact(before, u) }));
    list[i] = v;
    setFault("");
    setAnswers({ ...answers, [category!]: list });
    setStep(step + 1);
  };
  return (
    <>
      <Head title={name || say("nav.dog")} shown={true} />
      <main id="answer" tabIndex={-1} class="panel stack intake" key={step}>
        {step === -2 && <Name name={name} set={setName} next={() => setStep(-1)} />}
        {step === -1 && <About dog={name} about={about} set={setAbout} next={() => setStep(0)} />}
        {question && category && (
          <Question text={say(`intake.${question}`, { dog: name, what: say(nounOf[category]) })} set={set} />
        )}
        {step === asked && (
          <Drive
            pick={(d) => {
              setDrive(d);
              setStep(step + 1);
            }}
          />
        )}
        {step === asked + 1 && (
          <>
            <h2>{say("intake.caution")}</h2>
            <p class="caution">{say("caution.intake")}</p>
            <div class="row">
              <button onClick={() => void finish(true)}>{say("intake.yes")}</button>
              <button onClick={() => void finish(false)}>{say("intake.no")}</button>
            </div>
          </>
        )}
        {step === asked + 2 && (
          <>
            <p class="answer" role="status">
              {say("intake.done", { dog: name })}
            </p>
            {caution && <p class="caution">{say("caution.intake")}</p>}
            <div class="row">
              <button class="main" onClick={() => goTo("plan")}>
                {say("go.plan")}
              </button>
              <button onClick={props.done}>{say("choice.close")}</button>
            </div>
          </>
        )}
        <p role="alert">{fault}</p>
        {step < asked + 2 && (
          <div class="row">
            {step > (fresh ? -2 : -1) && (
              <button
                onClick={() => {
                  setFault("");
                  setStep(step - 1);
                }}
              >
                {say("intake.back")}
              </button>
            )}
            {dogs.value.length > 0 && (
              <button class="plain" onClick={props.done}>
                {say("choice.close")}
              </button>
            )}
          </div>
        )}
      </main>
    </>
  );
}

function Name(props: { name: string; set: (name: string) => void; next: () => void }) {
  const there = props.name.trim() !== "";
  return (
    <form
      class="stack"
      onSubmit={(e) => {
        e.preventDefault();
        if (there) props.next();
      }}
    >
      <label class="field">
        <span>{say("dog.name")}</span>
        <input value={props.name} maxLength={80} dir="auto" onInput={(e) => props.set(e.currentTarget.value)} />
      </label>
      <button class="main" disabled={!there}>
        {say("intake.next")}
      </button>
    </form>
  );
}

function About(props: { dog: string; about: Category[]; set: (about: Category[]) => void; next: () => void }) {
  const { about } = props;
  return (
    <>
      <h2>{say("intake.category", { dog: props.dog })}</h2>
      <div class="row">
        {categories.map((c) => (
          <button
            key={c}
            aria-pressed={about.includes(c)}
            onClick={() => props.set(about.includes(c) ? about.filter((x) => x !== c) : [...about, c])}
          >
            {say(`category.${c}.row`)}
          </button>
        ))}
      </div>
      <button class="main" disabled={about.length === 0} onClick={props.next}>
        {say("intake.next")}
      </button>
    </>
  );
}

function Drive(props: { pick: (d: PageDog["drive"]) => void }) {
  return (
    <>
      <h2>{say("intake.drive")}</h2>
      <p class="small">{say("intake.drive.note")}</p>
      <div class="row">
        {(["fear", "frustration", "excitement"] as const).map((d) => (
          <button key={d} onClick={() => props.pick(d)}>
            {say(`intake.drive.${d}`)}
          </button>
        ))}
        <button onClick={() => props.pick(undefined)}>{say("intake.dontknow")}</button>
      </div>
    </>
  );
}

/** One question with its picture: a number, or parked cars. */
function Question(props: { text: string; set: (m: number | null) => void }) {
  const u = settings.value.units;
  const [text, setText] = useState("");
  const m = readDistance(text, u);
  const cars = [1, 2, 3, 5, 8, 12, 20];
  return (
    <>
      <h2>{props.text}</h2>
      <svg viewBox="0 0 360 60" width="100%" style={{ maxWidth: "520px" }} aria-hidden="true">
        <svg x="0" y="12" width="34" height="34">
          <Glyph of="dogs" />
        </svg>
        <Cars x={40} y={28} pxPerM={3} count={20} />
      </svg>
      <form
        class="row"
        style={{ alignItems: "flex-end" }}
        onSubmit={(e) => {
          e.preventDefault();
          if (m) props.set(toTenth(m));
        }}
      >
        <label class="field grow">
          <span>{say("intake.number")}</span>
          <input value={text} onInput={(e) => setText(e.currentTarget.value)} />
        </label>
        <button class="main" disabled={!m}>
          {say("intake.next")}
        </button>
      </form>
      <p>{say("intake.cars")}</p>
      <div class="row">
        {cars.map((c) => (
          <button
            key={c}
            onClick={() => props.set(c * carM)}
            aria-label={say("intake.cars.n", { n: c, distance: exact(c * carM, u) })}
          >
            {c}
          </button>
        ))}
        <button onClick={() => props.set(150)}>{say("intake.farther")}</button>
      </div>
      <button class="wide" onClick={() => props.set(null)}>
        {say("intake.dontknow")}
      </button>
    </>
  );
}

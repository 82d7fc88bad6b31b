// Meetings with a known helper: which ground, where both walk, in which minutes.

import { useEffect, useRef, useState } from "preact/hooks";
import { dogNow, dogs, setDogs } from "../dogs.ts";
import { AskStart, PlaceChoice } from "../finding.tsx";
import { mapInfo, zone } from "../mapinfo.ts";
import { paper } from "../paper.tsx";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { Asking, ChoiceFoot, DogRow } from "../sentence.tsx";
import { settings, theme } from "../settings.ts";
import {
  beginSetups,
  findSetups,
  groundPicture,
  groundSheets,
  type SetupWish,
  setSetupWish,
  setups,
  showGround,
  stepsOf,
} from "../setups.ts";
import { type Key, say } from "../strings.ts";
import type { Setup } from "../types.ts";
import { goTo } from "../view.ts";
import { dated } from "../visit_words.ts";
import { capital, clock, cut, dayOf, exact, instant, joined } from "../words.ts";
import { ShownSheets } from "./sheets_shown.tsx";
import "./setups.css";

const parts = ["dog", "helper", "from", "time", "steps", "drive", "ground"] as const;
type Part = (typeof parts)[number];
const kinds = ["dog_on_lead", "adult", "child", "runner", "bicycle"] as const;
const calmness = ["calm", "usual", "lively"] as const;
const drives = [5, 10, 15, 30, 45];
const mostElse = 0.4; // expected reactions to everything else, where somebody allows more
const grounds = ["parks", "green"] as const;

const stepsWords = (s: readonly number[]): string =>
  say("setups.steps", { far: s[0]!.toFixed(1), near: s[s.length - 1]!.toFixed(1) });

const textOf: Record<Part, (w: SetupWish) => string> = {
  dog: () => (dogNow() ? cut(dogNow()!.name) : say("visits.nodog")),
  helper: (w) => say("setups.helper", { calm: say(`setups.calm.${w.calmness}`), kind: kindWord(w.kind) }),
  from: (w) => (w.from ? cut(w.from.name) : say("plan.nowhere")),
  time: (w) => dated(new Date(w.at), zone()),
  steps: (w) => stepsWords(w.steps),
  drive: (w) => say("unit.min", { n: w.driveMin }),
  ground: (w) => say(`setups.ground.${w.ground}`),
};

const kindWord = (k: string): string => say(`go.kind.${k}` as Key).toLowerCase();

export function Setups() {
  useEffect(() => mapInfo.value && beginSetups(), [mapInfo.value?.name]);
  const found = setups.found.value;
  const one = found?.setups[setups.at.value];
  const [sheet, setSheet] = useState(false);
  useEffect(() => setSheet(false), [one?.car.lat, one?.car.lon]);
  return (
    <>
      <Head title={say("setups.title")}>{setups.wish.value.at && <SetupSentence />}</Head>
      <main id="answer" tabIndex={-1} class="setups">
        <Status>{setups.looking.value && <p class="panel screen">{say("setups.looking")}</p>}</Status>
        {setups.fault.value && (
          <div class="panel screen">
            <FaultPanel fault={setups.fault.value} again={() => void findSetups()} />
          </div>
        )}
        {!found && !setups.looking.value && <Empty />}
        {found && !one && <None lack={found.lack ?? ""} />}
        {found && one && (
          <div class="setupgrid screen">
            <section class="minuteside panel stack">
              <Meeting one={one} print={() => setSheet(true)} />
              {found.cautions.map((c) => (
                <p key={c} class="small">
                  {c}
                </p>
              ))}
              <details>
                <summary class="line">{say("visits.assumed")}</summary>
                <ul class="plainlist">
                  {found.assumed.map((a) => (
                    <li key={a}>{a}</li>
                  ))}
                </ul>
              </details>
            </section>
            <div class="pictureside">
              <GroundPicture one={one} />
            </div>
            <section class="stepside panel stack">
              <h2>{say("setups.grounds", { n: found.setups.length })}</h2>
              <p class="small">
                {say("setups.reach", { reach: found.in_reach, quiet: found.quiet, laid: found.laid })}
              </p>
              <ul class="list grounds">
                {found.setups.map((s, i) => (
                  <li key={i} class={i === setups.at.value ? "on" : ""}>
                    <button aria-pressed={i === setups.at.value} onClick={() => void showGround(i)}>
                      <b dir="auto">{cut(s.place || say("setups.unnamed"))}</b>
                      <span>{say("setups.drive", { n: s.drive_minutes })}</span>
                      <span class="small">{say("setups.else", { x: s.other_reactions.toFixed(1) })}</span>
                      {!s.apart && <span class="small">{say("setups.together")}</span>}
                      {!s.public && <span class="small">{say("setups.private")}</span>}
                    </button>
                  </li>
                ))}
              </ul>
            </section>
          </div>
        )}
        {sheet && one && <SetupSheets one={one} close={() => setSheet(false)} />}
      </main>
    </>
  );
}

function SetupSentence() {
  const w = setups.wish.value;
  return (
    <Asking
      of="setups.ask"
      parts={parts}
      text={(part) => textOf[part](w)}
      label={(part) => say(`setups.choice.${part}`)}
      choices={(part, close) => (
        <>
          {part === "dog" && (
            <DogRow
              pick={(i) => {
                setDogs(dogs.value, i);
                setSetupWish({});
              }}
            />
          )}
          {part === "helper" && (
            <>
              <Pick of={kinds} is={w.kind} word={(k) => capital(kindWord(k))} pick={(kind) => setSetupWish({ kind })} />
              <Pick
                of={calmness}
                is={w.calmness}
                word={(c) => capital(say(`setups.calm.${c}`))}
                pick={(c) => setSetupWish({ calmness: c })}
              />
              <p class="small">{say("setups.calm.text")}</p>
            </>
          )}
          {part === "from" && (
            <PlaceChoice
              goal={false}
              mapless={true}
              use={(p) => {
                if (p.from) setSetupWish({ from: p.from });
                close();
              }}
            />
          )}
          {part === "time" && <Hour />}
          {part === "steps" && (
            <>
              <Pick of={stepsOf} is={w.steps} word={stepsWords} pick={(steps) => setSetupWish({ steps })} />
              {dogNow()?.caution && w.steps[w.steps.length - 1]! < 1.5 && <p class="caution">{say("caution.visit")}</p>}
            </>
          )}
          {part === "drive" && (
            <Pick
              of={drives}
              is={w.driveMin}
              word={(n) => say("unit.min", { n })}
              pick={(driveMin) => setSetupWish({ driveMin })}
            />
          )}
          {part === "ground" && (
            <>
              <Pick
                of={grounds}
                is={w.ground}
                word={(g) => capital(say(`setups.ground.${g}`))}
                pick={(ground) => setSetupWish({ ground })}
              />
              <p class="small">{say("setup.ground")}</p>
            </>
          )}
          <ChoiceFoot
            can={!!(w.from && dogNow())}
            word={say("setups.find")}
            act={() => void findSetups()}
            close={close}
          />
        </>
      )}
    />
  );
}

function Pick<T>(props: { of: readonly T[]; is: T; word: (v: T) => string; pick: (v: T) => void }) {
  return (
    <div class="row">
      {props.of.map((v, i) => (
        <button key={i} aria-pressed={v === props.is} onClick={() => props.pick(v)}>
          {props.word(v)}
        </button>
      ))}
    </div>
  );
}

function Hour() {
  const t = new Date(setups.wish.value.at);
  const [day, setDay] = useState(dayOf(t, zone()));
  const [time, setTime] = useState(clock(t, zone(), "h24"));
  const use = (d: string, c: string) => {
    setDay(d);
    setTime(c);
    if (/^\d{4}-\d\d-\d\d$/.test(d) && /^\d\d:\d\d$/.test(c)) setSetupWish({ at: instant(d, c, zone()).toISOString() });
  };
  return (
    <div class="row top">
      <label class="field grow">
        <span>{say("choice.time.date")}</span>
        <input
          type="date"
          value={day}
          min={dayOf(new Date(), zone())}
          onInput={(e) => use(e.currentTarget.value, time)}
        />
      </label>
      <label class="field grow">
        <span>{say("choice.time.clock")}</span>
        <input type="time" value={time} onInput={(e) => use(day, e.currentTarget.value)} />
      </label>
    </div>
  );
}

function Empty() {
  const dog = dogNow();
  if (!mapInfo.value) return null;
  return (
    <div class="onpage stack screen">
      <p class="answer">{say("setups.first")}</p>
      {!dog ? (
        <>
          <p>{say("visits.lacks.dog")}</p>
          <button class="main tall firstgo" onClick={() => goTo("dog")}>
            {say("dogs.add")}
          </button>
        </>
      ) : setups.wish.value.from ? (
        <button class="main tall firstgo" onClick={() => void findSetups()}>
          {say("setups.find")}
        </button>
      ) : (
        <AskStart use={(from) => setSetupWish({ from })} mapless={true} />
      )}
      <p class="small">{say("setup.caution")}</p>
      <Back />
    </div>
  );
}

const Back = () => (
  <p>
    <button onClick={() => goTo("visits")}>{say("setups.back")}</button>
  </p>
);

/** Why there is none, and what may help. */
function None(props: { lack: string }) {
  const w = setups.wish.value;
  const again = (patch: Partial<SetupWish>) => {
    setSetupWish(patch);
    void findSetups();
  };
  const farther = drives.find((n) => n > w.driveMin);
  return (
    <div class="onpage stack screen">
      <p class="answer">{say("setups.none")}</p>
      <p>{props.lack}</p>
      <div class="row">
        {w.ground === "parks" && <button onClick={() => again({ ground: "green" })}>{say("setups.more.green")}</button>}
        {farther && (
          <button onClick={() => again({ driveMin: farther })}>{say("setups.more.drive", { n: farther })}</button>
        )}
        <button onClick={() => again({ at: new Date(Date.parse(w.at) + 36e5).toISOString() })}>
          {say("setups.more.later")}
        </button>
        {w.most < mostElse && (
          <button onClick={() => again({ most: mostElse })}>{say("setups.more.else", { n: mostElse })}</button>
        )}
        {w.steps.length > 2 && (
          <button onClick={() => again({ steps: stepsOf[stepsOf.length - 1]! })}>{say("setups.more.steps")}</button>
        )}
      </div>
      <Back />
    </div>
  );
}

/** One ground: when, the minutes of both, the lines, what else comes near. */
function Meeting(props: { one: Setup; print: () => void }) {
  const { one } = props;
  const u = settings.value.units;
  const at = new Date(setups.found.value!.at);
  return (
    <>
      <div>
        <h2 dir="auto">{cut(one.place || say("setups.unnamed"))}</h2>
        <p class="answer num">{dated(at, zone())}</p>
        <p>
          <b>{say("setups.both")}</b>{" "}
          {say("setups.lines", { list: joined(one.lines.map((l) => exact(l.distance_m, u))) })}
        </p>
      </div>
      <div class="row nowrap">
        <button class="main grow" onClick={props.print}>
          {say("setups.print")}
        </button>
      </div>
      {(["dog", "helper"] as const).map((role) => (
        <table key={role} class="minutes num">
          <caption>{say(`setups.side.${role}`, { dog: cut(dogNow()?.name ?? "") })}</caption>
          <thead class="hidden">
            <tr>
              <th scope="col">{say("setup.head.minutes")}</th>
              <th scope="col">{say("setups.what")}</th>
            </tr>
          </thead>
          <tbody>
            {one[role].map((e, i) => (
              <tr key={i}>
                <th scope="row">{e.not_before}</th>
                <td>{e.text}</td>
              </tr>
            ))}
          </tbody>
        </table>
      ))}
      {one.replay && <p>{one.replay.text}</p>}
      <p>{one.ground}</p>
      <p>
        {say("setups.exits", { n: one.exits })} {say("setups.else", { x: one.other_reactions.toFixed(1) })}
      </p>
      <Back />
    </>
  );
}

function GroundPicture(props: { one: Setup }) {
  const { one } = props;
  const box = useRef<HTMLDivElement>(null);
  const [fault, setFault] = useState(false);
  const key = JSON.stringify([one.car, setups.asked.value, theme.value, settings.value.units]);
  useEffect(() => {
    const b = box.current!;
    const stop = new AbortController();
    const size = { width_px: Math.max(300, b.clientWidth), height_px: Math.max(300, b.clientHeight) };
    groundPicture(one, size, stop.signal)
      .then((svg) => {
        svg.setAttribute("role", "img");
        svg.setAttribute("aria-label", say("setups.picture"));
        b.replaceChildren(svg);
        setFault(false);
      })
      .catch(() => !stop.signal.aborted && setFault(true));
    return () => stop.abort();
  }, [key]);
  return (
    <div class="placepicture">
      <div class="holder" ref={box} />
      {fault && <p class="onpage">{say("visits.picture.none")}</p>}
    </div>
  );
}

/** Both sheets, one page for each of the two. */
function SetupSheets(props: { one: Setup; close: () => void }) {
  return (
    <ShownSheets
      title={say("hand.title")}
      of={JSON.stringify(props.one.car)}
      draw={(signal) => groundSheets(props.one, paper.value, signal)}
      close={props.close}
    />
  );
}

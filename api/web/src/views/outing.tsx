import { useEffect, useState } from "preact/hooks";
import { serverAsked, serverKeeps } from "../dogs.ts";
import { mapInfo, zone } from "../mapinfo.ts";
import {
  beginOuting,
  beMe,
  check,
  keepOuting,
  keepOver,
  lacks,
  lookAgain,
  openDoc,
  outing,
  planOuting,
  setWish,
  starts,
  stopOuting,
  upToDate,
} from "../outing.ts";
import { printPart } from "../paper.tsx";
import { FaultPanel, Head, Status } from "../parts.tsx";
import { say } from "../strings.ts";
import { aloneX, type Kept, worstPairs } from "../timetable.ts";
import type { Check, Shortage } from "../types.ts";
import { clock, cut, dateWords, dayOf, weekday } from "../words.ts";
import { dayWord, dogsWord, hourOf, OutingSentence, PeopleChoice, parts } from "./outing_ask.tsx";
import { CameUp, DayBar, Mine, Note } from "./outing_day.tsx";
import { DogTable, demoDogs } from "./outing_dogs.tsx";
import { at, DogList, GateList, WallList } from "./outing_list.tsx";
import { Sheets } from "./outing_paper.tsx";
import { least, need, Replay, ReplayMap, Room } from "./outing_room.tsx";
import { Signing } from "./outing_sign.tsx";
import { OutingWeek } from "./outing_week.tsx";
import { WhyThen } from "./outing_why.tsx";
import "./outing.css";

const lookEveryMS = 20_000; // several may look at one outing, and one of them may change it

/** Every dog out, no two too near, in a form a briefing can read aloud. */
export function Outing() {
  const [by, setBy] = useState<"gate" | "dog">("gate");
  const [sheets, setSheets] = useState<{ dogs: string[]; print: boolean } | undefined>();
  useEffect(() => void beginOuting(), [mapInfo.value?.name, serverAsked.value, serverKeeps.value]);
  useEffect(() => {
    const t = setInterval(() => void lookAgain(), lookEveryMS);
    const seen = () => void lookAgain();
    document.addEventListener("visibilitychange", seen);
    return () => {
      clearInterval(t);
      document.removeEventListener("visibilitychange", seen);
    };
  }, []);
  const k = outing.kept.value;
  const me = k?.wish.people.some((p) => p.name === outing.me.value) ? outing.me.value : "";
  const roomy = useRoomy();
  const stale = !!k && !upToDate() && outing.doing.value === "nothing";
  return (
    <>
      <Head title={say("outing.title")}>{outing.wish.value.day && <OutingSentence />}</Head>
      <main id="answer" tabIndex={-1} class="outing">
        <div class="screen">
          <Doing />
          {outing.fault.value && (
            <div class="panel">
              <FaultPanel fault={outing.fault.value} again={() => void planOuting()} />
            </div>
          )}
          {!k ? (
            <Empty />
          ) : (
            <>
              {!me && (
                <DayBar
                  kept={k}
                  plain={stale}
                  print={(all) => (all ? setSheets({ dogs: [], print: true }) : printPart("wall"))}
                />
              )}
              {stale && (
                <div class="needwash row">
                  <p class="grow">{say("outing.stale")}</p>
                  <button class="main" disabled={!!lacks(outing.wish.value)} onClick={() => void planOuting()}>
                    {say("outing.again")}
                  </button>
                </div>
              )}
              <Keeping />
              <div class={roomy ? "three" : "two even"}>
                {roomy && (
                  <section class="panel stack">
                    <h2>
                      {say("outing.who.goes", { dogs: dogsWord(outing.wish.value.dogs.length), people: peopleWord() })}
                    </h2>
                    <DogTable />
                    <PeopleChoice />
                  </section>
                )}
                <div class="listside">
                  <div class="panel stack">
                    <Status>
                      <Note kept={k} />
                    </Status>
                    <label class="row who">
                      <b>{say("outing.who")}</b>
                      <select value={me} onChange={(e) => beMe(e.currentTarget.value)}>
                        <option value="">{say("outing.everybody")}</option>
                        {k.wish.people.map((p) => (
                          <option key={p.name} value={p.name}>
                            {p.name}
                          </option>
                        ))}
                      </select>
                    </label>
                  </div>
                  {me ? (
                    <Mine kept={k} person={me} handOut={(dog) => setSheets({ dogs: [dog], print: false })} />
                  ) : (
                    <>
                      <Lack kept={k} />
                      <div class="listhead row">
                        <h2 class="grow">{say("outing.list")}</h2>
                        <div role="group" aria-label={say("outing.by")} class="row">
                          {(["gate", "dog"] as const).map((v) => (
                            <button key={v} aria-pressed={by === v} onClick={() => setBy(v)}>
                              {say(`outing.by.${v}`)}
                            </button>
                          ))}
                        </div>
                      </div>
                      <div class="listwhy">
                        <WhyThen kept={k} />
                      </div>
                      <div class="scroll" tabIndex={0} role="region" aria-label={say("outing.list")}>
                        {by === "gate" ? <GateList kept={k} /> : <DogList kept={k} />}
                      </div>
                    </>
                  )}
                  {!me && k.wish.day === dayOf(new Date(), zone()) && <Signing kept={k} />}
                  <Summary kept={k} check={outing.check.value} />
                  {!me && <CameUp kept={k} />}
                  {!me && <OutingWeek />}
                </div>
                <div class="roomside">
                  <section class="panel stack">
                    <h2>{say("outing.room")}</h2>
                    {outing.check.value ? (
                      <Room kept={k} check={outing.check.value} />
                    ) : (
                      <p>{say("outing.verdict.checking")}</p>
                    )}
                  </section>
                  <Replay kept={k} check={outing.check.value} />
                </div>
              </div>
            </>
          )}
          {!serverKeeps.value && mapInfo.value && k && <p class="onpage small">{say("outing.local")}</p>}
          <KeptOutings />
        </div>
        {k && <WallList day={`${weekday(starts(k.wish), zone(), "long")} ${dateWords(starts(k.wish), zone())}`} />}
        {sheets && k && <Sheets dogs={sheets.dogs} print={sheets.print} close={() => setSheets(undefined)} />}
      </main>
    </>
  );
}

/** What is being worked out, with the gate's arithmetic before any search. */
function Doing() {
  const g = outing.gate.value ?? outing.kept.value?.timetable.gate;
  const d = outing.doing.value;
  return (
    <Status>
      {d !== "nothing" && (
        <div class="panel stack">
          <p>{say(d === "counting" ? "outing.counting" : d === "looking" ? "outing.looking" : "outing.replanning")}</p>
          {d === "looking" && g && <GateLine />}
          {d !== "replanning" && <button onClick={stopOuting}>{say("outing.stop")}</button>}
        </div>
      )}
    </Status>
  );
}

function GateLine() {
  const g = outing.gate.value ?? outing.kept.value?.timetable.gate;
  if (!g) return null;
  return (
    <p>
      {say("outing.gate.count", {
        minutes: (g.out_minutes + g.in_minutes).toFixed(1),
        most: g.most_walks,
        dogs: g.dogs,
      })}{" "}
      {say(g.sufficient ? "outing.gate.enough" : "outing.gate.short")}
    </p>
  );
}

/** Before there is a timetable: who goes and who walks them, then the one thing to do. */
function Empty() {
  if (outing.doing.value !== "nothing" || !mapInfo.value || !outing.wish.value.day || !outing.looked.value) return null;
  const lack = lacks(outing.wish.value);
  const demo = demoDogs(outing.wish.value.dogs);
  const see = () => {
    if (lack === "cells") document.querySelector<HTMLElement>(".dogtable .wanting button")?.click();
    else if (lack === "dogs") document.querySelector<HTMLElement>(".paste textarea")?.focus();
    else if (lack) document.querySelectorAll<HTMLElement>(".sentence button")[parts.indexOf(lack)]?.click();
  };
  return (
    <>
      <div class="onpage stack">
        <p>{say(demo ? "outing.demo" : "outing.first")}</p>
        <button class="main tall firstgo" onClick={() => (lack ? see() : void planOuting())}>
          {say(lack ? `outing.lacks.${lack}` : demo ? "outing.demo.go" : "outing.plan")}
        </button>
      </div>
      <div class="two even">
        <section class="panel stack">
          <h2>{demo ? say("outing.first.own") : say("outing.choice.dogs")}</h2>
          <DogTable />
        </section>
        <div class="roomside">
          <section class="panel stack">
            <h2>{say("outing.choice.people")}</h2>
            <PeopleChoice />
          </section>
          <ReplayMap kept={undefined} frame={undefined} gaps={[]} />
        </div>
      </div>
      <p class="onpage small">{say("outing.caution")}</p>
    </>
  );
}

const peopleWord = (): string => say("outing.people", { n: outing.wish.value.people.length });

const roomyFrom = "(min-width: 1500px)";

/** Whether dogs and people have a column of their own. */
function useRoomy(): boolean {
  const [is, setIs] = useState(() => matchMedia(roomyFrom).matches);
  useEffect(() => {
    const m = matchMedia(roomyFrom);
    const on = () => setIs(m.matches);
    m.addEventListener("change", on);
    return () => m.removeEventListener("change", on);
  }, []);
  return is;
}

/** What was kept, and for whom. */
function Keeping() {
  if (outing.unsaved.value && outing.elsewhere.value) {
    return (
      <div class="caution row" role="alert">
        <p class="grow">{say("outing.elsewhere.mine")}</p>
        <button
          onClick={() => {
            void keepOver();
          }}
        >
          {say("outing.keep.mine")}
        </button>
        <button onClick={() => openDoc(outing.id.value)}>{say("outing.keep.theirs")}</button>
      </div>
    );
  }
  if (outing.unsaved.value)
    return (
      <div class="caution row" role="alert">
        <p class="grow">{say("outing.unsaved")}</p>
        <button onClick={() => void keepOuting()}>{say("outing.keep.again")}</button>
      </div>
    );
  return <Status>{outing.elsewhere.value && <p class="needwash">{say("outing.elsewhere")}</p>}</Status>;
}

function verdict(k: Kept, c: Check): string {
  const worst = worstPairs(c)[0];
  if (c.zone_seconds > 0) return say("outing.verdict.zone", { runs: c.runs });
  const broken = c.breaches[0];
  if (broken) {
    const [a, b] = broken.dogs.map((d) => cut(d));
    return say("outing.verdict.house", { runs: c.runs, what: say(`outing.broken.${broken.rule}`, { a: a!, b: b! }) });
  }
  if (!worst) return say("outing.verdict.none", { runs: c.runs });
  const pair = { a: cut(worst.dogs[0]), b: cut(worst.dogs[1]), time: hourOf(k.wish.day, worst.at) };
  if (worst.least_m < worst.need_m)
    return say("outing.verdict.broken", { runs: c.runs, ...pair, least: least(worst), need: need(worst) });
  return (
    say("outing.verdict", { runs: c.runs, least: least(worst), need: need(worst) }) +
    " " +
    say("outing.verdict.pair", pair)
  );
}

function Summary(props: { kept: Kept; check: Check | undefined }) {
  const t = props.kept.timetable;
  const good = !props.check || props.check.kept;
  return (
    <section class="panel stack">
      <p>
        <b>
          {say("outing.granted", {
            served: t.rows.length,
            dogs: t.rows.length + t.unserved.length,
            granted: Math.round(t.granted_minutes),
            wished: Math.round(t.wished_minutes),
          })}
        </b>
      </p>
      <p class={good ? "" : "caution"} role="status">
        {props.check ? verdict(props.kept, props.check) : say("outing.verdict.checking")}
      </p>
      <p>
        {say("outing.price", {
          x: t.expected_reactions.toFixed(2),
          alone: t.rows.reduce((sum, r) => sum + aloneX(r), 0).toFixed(2),
        })}
      </p>
      <GateLine />
      {t.hot && (
        <p>
          {say("outing.hot.is", {
            n: t.hot.most_minutes ?? 0,
            from: at(t.hot.from ?? t.start),
            to: at(t.hot.to ?? t.start),
          })}
        </p>
      )}
      <p class="small">{say("outing.rule")}</p>
      <p class="small">
        {say("outing.caution")} {t.rows.some((r) => r.bite_history) && say("caution.outing")}
      </p>
      <div class="row">
        <button onClick={() => void check()}>{say("outing.check")}</button>
      </div>
    </section>
  );
}

/** Which dogs stay in, why, and what would help. */
function Lack(props: { kept: Kept }) {
  const { shortage: s, unserved, gate } = props.kept.timetable;
  if (unserved.length === 0) return null;
  const dogs = unserved.map(cut).join(", ");
  const why = !s
    ? []
    : s.cause === "pairs"
      ? s.blocked.map((b) =>
          b.by[0]
            ? say("outing.short.pairs", {
                dog: cut(b.dog),
                by: cut(b.by[0].dog),
                need: need({ need_m: b.by[0].need_m } as never),
              })
            : say("outing.short.room", { dog: cut(b.dog) }),
        )
      : [
          s.cause === "gate"
            ? say("outing.short.gate", { dogs, most: gate.most_walks })
            : say(`outing.short.${s.cause}`, { dogs }),
        ];
  return (
    <section class="caution stack">
      <h2>{say("outing.short")}</h2>
      {why.map((w) => (
        <p key={w}>{w}</p>
      ))}
      {s && s.helps.length === 0 && <p>{say("outing.help.none")}</p>}
      {s && s.helps.length > 0 && (
        <div class="row">
          <b>{say("outing.help")}</b>
          {s.helps
            .filter((h) => h.what !== "holds")
            .map((h, i) => (
              <button key={i} onClick={() => help(h)}>
                {helpWords(h)}
              </button>
            ))}
        </div>
      )}
    </section>
  );
}

type Help = Shortage["helps"][number];

function helpWords(h: Help): string {
  const [a = "", b = ""] = (h.dogs ?? []).map(cut);
  return h.what === "minutes"
    ? say("outing.help.minutes", { n: h.minutes ?? 0 })
    : h.what === "together"
      ? say("outing.help.together", { a, b })
      : h.what === "without"
        ? say("outing.help.without", { dog: a })
        : say("outing.help.person");
}

/** Changes the wish as the button says and plans anew. */
function help(h: Help): void {
  const w = outing.wish.value;
  const [a = "", b = ""] = h.dogs ?? [];
  if (h.what === "minutes")
    setWish({ to: clock(new Date(starts(w).getTime() + (minutesTo(w) + (h.minutes ?? 0)) * 60000), zone(), "h24") });
  if (h.what === "together") setWish({ together: [...w.together, [a, b]] });
  if (h.what === "without") setWish({ dogs: w.dogs.filter((d) => d.dog.name !== a) });
  if (h.what === "person") {
    const base = say("outing.help.person.name");
    let name: string = base;
    for (let n = 2; w.people.some((p) => p.name === name); n++) name = `${base} ${n}`;
    setWish({ people: [...w.people, { name, experience: "experienced" }] });
  }
  void planOuting();
}

const minutesTo = (w: typeof outing.wish.value): number => {
  const [h1, m1] = w.from.split(":").map(Number);
  const [h2, m2] = w.to.split(":").map(Number);
  return h2! * 60 + m2! - h1! * 60 - m1!;
};

function KeptOutings() {
  const list = outing.docs.value.filter((d) => d.id !== outing.id.value);
  if (list.length === 0) return null;
  return (
    <section class="onpage stack">
      <h2>{say("outing.kept")}</h2>
      <div class="row">
        {list.slice(0, 12).map((d) => (
          <button
            key={d.id}
            onClick={() => {
              openDoc(d.id);

              scrollTo(0, 0);
            }}
          >
            {say("outing.kept.one", {
              day: dayWord(d.body.wish.day),
              from: hourOf(d.body.wish.day, d.body.wish.from),
              dogs: dogsWord(d.body.wish.dogs.length),
            })}
          </button>
        ))}
      </div>
    </section>
  );
}

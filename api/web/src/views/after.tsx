import { useState } from "preact/hooks";
import { dogNow } from "../dogs.ts";
import { Glyph } from "../draw.tsx";
import { match, walkLine } from "../geo.ts";
import { categories, kindsOf } from "../kinds.ts";
import { type Band, harm, type Log, type Meeting, meet, mend, type Outcome, unmeet, wentOver } from "../log.ts";
import { bandWords, meetingWords } from "../meeting.ts";
import { newID, outbox } from "../outbox.ts";
import { Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { type Key, say } from "../strings.ts";
import { Strip } from "../strip.tsx";
import { goTo } from "../view.ts";
import { finish, phase, type Saved, walk, walkBook, walkLooked } from "../walking.ts";
import { capital, clock, far, minutes, shortAnswer, weekday } from "../words.ts";
import "./after.css";

const bands = ["beyond", "between", "under"] as const;
const outcomes = ["turned_back", "took_food", "no_food", "over", "snap", "bite"] as const;

/** Put down what happened while it is fresh. */
export function After() {
  const [open, setOpen] = useState<string>("");
  const s = walk.value;
  if (!s || phase() !== "ended") {
    return (
      <>
        <Head title={say("after.title")} shown={true} />
        <main id="answer" tabIndex={-1} class="panel stack">
          {walkLooked.value && <p>{say("after.nowalk")}</p>}
          {dogNow() && <button onClick={() => goTo("past")}>{say("past.title")}</button>}
        </main>
      </>
    );
  }
  const met = s.meetings.filter((m) => m.category);
  const drafts = s.meetings.filter((m) => !m.category);
  const over = met.filter((m) => wentOver(m.outcome)).length;
  const surprise = over > 0 === (s.planned ?? s.walk).calm_chance >= 0.5;
  const change = async (work: Promise<unknown>) => {
    await work;
    setOpen("");
  };
  return (
    <>
      <Head title={say("after.title")} shown={true} />
      <main id="answer" tabIndex={-1} class="afterview">
        <section class="panel stack only-wide" aria-label={say("after.strip")}>
          <h2>{say("after.strip")}</h2>
          <p class="small">{say("strip.how.phone")}</p>
          <Strip walk={s.walk} drawing={s.drawing} letter="" pxPerM={0.6} height={560} width={600} met={marksOf(s)} />
        </section>
        <div>
          <section class="panel stack">
            <p class="small">
              {weekday(new Date(s.started!), s.zone)} {clock(new Date(s.started!), s.zone, settings.value.clock)} ·{" "}
              {minutes((Date.parse(s.ended!) - Date.parse(s.started!)) / 1000)} min ·{" "}
              {far(s.walk.length_m, settings.value.units)}
            </p>
            <p class="answer">{say("after.head", { meetings: meetingsWord(met.length), n: met.length, over })}</p>
            <p>
              {say("after.said", { answer: shortAnswer((s.planned ?? s.walk).calm_chance) })}{" "}
              {surprise && say("after.little")}
            </p>
            {met.some((m) => harm(m.outcome)) && (
              <p class="caution" role="alert">
                {met.some((m) => m.outcome === "bite") && say("memory.after.bite")} {say("memory.after")}
              </p>
            )}
            <p class="small" role="status">
              {outbox.waiting.value > 0 && say("go.waiting", { n: outbox.waiting.value })}
            </p>
          </section>
          <ul class="list">
            {drafts.map((m) => (
              <li key={m.id}>
                <div class="row">
                  <span class="grow">
                    <b>{say("go.draft", { time: clock(new Date(m.at), s.zone, settings.value.clock) })}</b>
                  </span>
                  <button aria-expanded={open === m.id} onClick={() => setOpen(open === m.id ? "" : m.id)}>
                    {say("after.fill")}
                  </button>
                  <button onClick={() => void change(unmeet(walkBook, m.id))}>{say("after.remove")}</button>
                </div>
                {open === m.id && <Fill saved={s} meeting={m} done={(p) => void change(mend(walkBook, m.id, p))} />}
              </li>
            ))}
            {met.map((m) => (
              <li key={m.id}>
                <div class="row">
                  <span class="grow">
                    <span class="num">{clock(new Date(m.at), s.zone, settings.value.clock)}</span> {meetingWords(s, m)}
                    {m.sudden && `, ${say("after.sudden")}`}
                  </span>
                  <button
                    aria-pressed={!!m.sudden}
                    onClick={() => void change(mend(walkBook, m.id, { sudden: !m.sudden }))}
                  >
                    {capital(say("after.sudden"))}
                  </button>
                  <button aria-expanded={open === m.id} onClick={() => setOpen(open === m.id ? "" : m.id)}>
                    {say("after.mend")}
                  </button>
                  <button
                    onClick={() => void change(unmeet(walkBook, m.id))}
                    aria-label={`${say("after.remove")}: ${meetingWords(s, m)}`}
                  >
                    {say("after.remove")}
                  </button>
                </div>
                {open === m.id && <Fill saved={s} meeting={m} done={(p) => void change(mend(walkBook, m.id, p))} />}
              </li>
            ))}
          </ul>
          <section class="panel stack">
            {open === "new" ? (
              <Fill
                saved={s}
                meeting={{ id: newID(), at: s.ended!, sent: false }}
                done={(p) => void change(meet(walkBook, { id: newID(), at: s.ended!, sent: false, ...p }))}
              />
            ) : (
              !s.finished && (
                <>
                  <p>
                    <b>{say("after.nothing")}</b>
                  </p>
                  <div class="row">
                    <button onClick={() => void change(finish(true))}>{say("after.told")}</button>
                    <button onClick={() => setOpen("new")}>{say("after.add")}</button>
                  </div>
                </>
              )
            )}
            <button
              class="main wide tall"
              onClick={() => {
                void finish(false);
                goTo("plan");
              }}
            >
              {say("after.done")}
            </button>
          </section>
        </div>
      </main>
    </>
  );
}

/** The meetings whose place is known, on the walk. */
const marksOf = (s: Saved) =>
  s.meetings.flatMap((m) =>
    m.lat === undefined || m.lon === undefined
      ? []
      : [
          {
            m: match(walkLine(s.walk), [m.lon, m.lat], m.walkedM).m,
            word: clock(new Date(m.at), s.zone, settings.value.clock),
          },
        ],
  );

const meetingsWord = (n: number): string => say("after.meetings", { n });

/** The same three questions as on the walk, with time to answer. */
export function Fill(props: { saved: Log; meeting: Meeting; done: (p: Partial<Meeting>) => void }) {
  const [category, setCategory] = useState<string>(props.meeting.category ?? "dogs");
  const [kind, setKind] = useState<string>(props.meeting.kind ?? "");
  const kinds = kindsOf(category);
  const what = kind || category;
  const [band, setBand] = useState<Band | undefined>(props.meeting.band);
  const [outcome, setOutcome] = useState<Outcome | undefined>(props.meeting.outcome);
  return (
    <div class="choice stack">
      <div class="row" role="group" aria-label={say("after.col.kind")}>
        {categories.map((c) => (
          <button
            key={c}
            aria-pressed={c === category}
            onClick={() => {
              setCategory(c);
              setKind("");
            }}
          >
            {say(`go.kind.${c}`)}
          </button>
        ))}
      </div>
      <label class="field">
        <span>{say("after.which")}</span>
        <select value={kind} onChange={(e) => setKind(e.currentTarget.value)}>
          <option value="">{say("after.which.any")}</option>
          {kinds.map((k) => (
            <option key={k} value={k}>
              {say(`go.kind.${k}` as Key)}
            </option>
          ))}
        </select>
      </label>
      <div class="row" role="group" aria-label={say("after.col.near")}>
        {bands.map((b) => (
          <button key={b} aria-pressed={b === band} onClick={() => setBand(b)}>
            {bandWords(props.saved, what, b).name}
          </button>
        ))}
      </div>
      <div class="row" role="group" aria-label={say("after.col.did", { dog: props.saved.dog })}>
        {outcomes.map((o) => (
          <button key={o} aria-pressed={o === outcome} onClick={() => setOutcome(o)}>
            <Glyph of={o} />
            {say(`outcome.${o}`)}
          </button>
        ))}
      </div>
      <button
        class="main"
        disabled={!band || !outcome}
        onClick={() => props.done({ category, kind: kind || undefined, band: band!, outcome: outcome! })}
      >
        {say("dog.save")}
      </button>
    </div>
  );
}

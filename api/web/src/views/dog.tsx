import { useEffect, useState } from "preact/hooks";
import { ask, Fault, faultOf } from "../api.ts";
import { changeWords, kindWord } from "../dog_words.ts";
import { dogAt, dogNow, keepDog, loadDogs, type PageDog } from "../dogs.ts";
import { Cars, Glyph } from "../draw.tsx";
import { type Category, categories, categoryOf, kindsOf } from "../kinds.ts";
import { zone } from "../mapinfo.ts";
import { FaultPanel, Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Change, KeptMeeting, Need, Proposal } from "../types.ts";
import { goTo } from "../view.ts";
import { capital, carM, cut, dateWords, exact, readDistance, toTenth } from "../words.ts";
import { Adopter } from "./adopter.tsx";
import { Intake } from "./dog_intake.tsx";
import { NextVisit } from "./visits.tsx";

/** What the dog needs, in metres, and how we know. */
export function Dog() {
  const d = dogNow();
  const [category, setCategory] = useState<Category>("dogs");
  const asked = location.hash.endsWith("?new");
  const [intake, setIntake] = useState(asked);
  const [fresh, setFresh] = useState(asked);
  const [proposals, setProposals] = useState<Proposal[]>([]);
  const [history, setHistory] = useState<Change[]>([]);
  const [meetings, setMeetings] = useState<KeptMeeting[]>([]);
  const [fault, setFault] = useState<Fault | undefined>();
  const load = async () => {
    if (!d?.id) return;
    try {
      const [p, h, m] = await Promise.all([
        ask("get", "/v1/dogs/{id}/proposals", { at: { id: d.id } }),
        ask("get", "/v1/dogs/{id}/history", { at: { id: d.id } }),
        ask("get", "/v1/dogs/{id}/encounters", { at: { id: d.id } }),
      ]);
      setProposals(p);
      setHistory(h);
      setMeetings(m.filter((x) => !x.removed));
      setFault(undefined);
    } catch (err) {
      setFault(faultOf(err));
    }
  };
  useEffect(() => {
    setProposals([]);
    setHistory([]);
    setMeetings([]);
    void load();
  }, [d?.id, d?.version]);
  if (intake || !d)
    return (
      <Intake
        fresh={fresh || !d}
        begun={() => setIntake(true)}
        done={() => {
          setIntake(false);
          setFresh(false);
        }}
      />
    );
  const after = async () => {
    await loadDogs();
    await load();
  };
  const proposal = proposals.find(
    (p) =>
      (p.name === category || categoryOf[p.name] === category) && (p.change === "nearer" || p.change === "farther"),
  );
  const belief =
    proposal ??
    proposals.find((p) => (p.name === category || categoryOf[p.name] === category) && p.belief !== undefined);
  const few = proposals.find((p) => (p.name === category || categoryOf[p.name] === category) && p.change === "too_few");
  return (
    <>
      <Head title={cut(d.name)} shown={true} />
      <main id="answer" tabIndex={-1}>
        {settings.value.role === "handler" && <NextVisit />}
        <div class="onpage row screen" role="group" aria-label={say("dog.table", { category: "" })}>
          {categories.map((c) => (
            <button key={c} aria-pressed={c === category} onClick={() => setCategory(c)}>
              {say(`category.${c}.row`)}
            </button>
          ))}
        </div>
        <div class="two dogview screen">
          <section class="panel" aria-label={say("dog.table", { category: say(`category.${category}.row`) })}>
            <Arcs dog={d} category={category} proposed={proposal?.to_working_m} />
            <NeedTable dog={d} category={category} />
            <ByHand dog={d} category={category} />
          </section>
          <section class="panel stack">
            {fault && <FaultPanel fault={fault} again={() => void load()} />}
            {d.flag && <Flag dog={d} after={() => void after()} />}
            {belief?.belief && (
              <p>
                {say("dog.belief", {
                  low: exact(belief.belief.working_low_m, settings.value.units),
                  high: exact(belief.belief.working_high_m, settings.value.units),
                  held: exact(belief.from_working_m, settings.value.units),
                  n: belief.belief.encounters,
                })}
              </p>
            )}
            {proposal && <Propose dog={d} proposal={proposal} category={category} after={() => void after()} />}
            {!proposal && few && (
              <p>{say("dog.few", { n: Math.round(few.have ?? 0), need: Math.max(10, Math.ceil(few.need ?? 10)) })}</p>
            )}
            <button onClick={() => goTo("past")}>{say("past.title")}</button>
            <h2>{say("dog.history")}</h2>
            <History
              dog={d}
              changes={history.filter((h) => h.name === category || categoryOf[h.name] === category)}
              after={() => void after()}
            />
            <Dots
              meetings={meetings.filter((m) => m.kind && (m.kind === category || categoryOf[m.kind] === category))}
              dog={d}
              category={category}
            />
            <p class="small">{say("caution.intake")}</p>
            <div class="row">
              <button onClick={() => setIntake(true)}>{say("dog.intake")}</button>
              <button
                onClick={() => {
                  setFresh(true);
                  setIntake(true);
                }}
              >
                {say("dog.new")}
              </button>
            </div>
          </section>
        </div>
        {d.id && settings.value.role !== "handler" && <Adopter dog={{ ...d, id: d.id }} />}
      </main>
    </>
  );
}

/** The dog's distances for a category, its own kinds after it. */
function needs(d: PageDog, c: Category): [string, Need | null][] {
  return Object.entries(d.needs).filter(([k]) => k === c || categoryOf[k] === c);
}

function Arcs(props: { dog: PageDog; category: Category; proposed?: number | undefined }) {
  const [name, n] = needs(props.dog, props.category).find(([, v]) => v) ?? [props.category, null];
  if (!n) return <p>{say("dog.calm", { dog: props.dog.name })}</p>;
  const u = settings.value.units;
  const w = n.working_m;
  const r = n.reaction_m ?? w / 2;
  const most = Math.max(w, props.proposed ?? 0);
  const width = 360;
  const k = (width / 2 - 10) / most;
  const x = width / 2;
  const top = 34;
  const y = top + most * k;
  const half = (m: number) => `M${x - m * k} ${y}A${m * k} ${m * k} 0 0 1 ${x + m * k} ${y}`;
  const cars = Math.floor(most / carM);
  return (
    <figure>
      <svg
        viewBox={`0 0 ${width} ${y + 64}`}
        width="100%"
        style={{ maxWidth: "560px", margin: "0 auto" }}
        role="img"
        aria-label={`${kindWord(name)}: ${say("dog.works", { distance: exact(w, u) })}; ${say("dog.near", { distance: exact(r, u) })}`}
      >
        <path class="need" stroke-width="3" d={half(w)} />
        {props.proposed && <path class="need" stroke-width="1.4" d={half(props.proposed)} />}
        <path class="need" stroke-width="3" stroke-dasharray="9 6" d={half(r)} />
        <path class="ink" stroke-width="2" d={`M${x - most * k} ${y}H${x + most * k}`} />
        <text class="needf plate" x={x} y={y - w * k - 8} text-anchor="middle" font-size="17" font-weight="700">
          {say("dog.works", { distance: exact(w, u) })}
        </text>
        {props.proposed && Math.abs(props.proposed - w) * k > 14 && (
          <text class="needf plate" x={x} y={y - props.proposed * k + 16} text-anchor="middle" font-size="15">
            {say("dog.proposed", { distance: exact(props.proposed, u) })}
          </text>
        )}
        <text class="needf plate" x={x} y={y - r * k - 8} text-anchor="middle" font-size="17" font-weight="700">
          {say("dog.near", { distance: exact(r, u) })}
        </text>
        <svg x={x - 17} y={y - 32} width="34" height="34">
          <Glyph of="dogs" />
        </svg>
        {cars >= 2 && cars <= 20 && (
          <>
            <Cars x={x} y={y + 8} pxPerM={k} count={cars} />
            <text class="inkf" x={x} y={y + 44} font-size="15">
              {say("dog.cars", { length: exact(carM, u) })}
            </text>
          </>
        )}
      </svg>
    </figure>
  );
}

function NeedTable(props: { dog: PageDog; category: Category }) {
  const u = settings.value.units;
  const rows = needs(props.dog, props.category);
  const fromWord = (k: string) => {
    const f = props.dog.from?.[k] ?? "said";
    return say(f === "learnt" ? "dog.from.learnt" : f === "unknown" ? "dog.from.assumed" : "dog.from.said");
  };
  return (
    <table class="num">
      <caption class="hidden">{say("dog.table", { category: say(`category.${props.category}.row`) })}</caption>
      <thead>
        <tr>
          <th scope="col">{say("dog.col.kind")}</th>
          <th scope="col">{say("dog.col.works")}</th>
          <th scope="col">{say("dog.col.near")}</th>
          <th scope="col">{say("dog.col.from")}</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(([k, n]) => (
          <tr key={k}>
            <th scope="row">{capital(kindWord(k))}</th>
            <td>{n ? exact(n.working_m, u) : "–"}</td>
            <td>{n ? exact(n.reaction_m ?? n.working_m / 2, u) : "–"}</td>
            <td>{n ? fromWord(k) : say("intake.calm")}</td>
          </tr>
        ))}
        {rows.length === 0 && (
          <tr>
            <td colSpan={4}>{say("dog.calm", { dog: props.dog.name })}</td>
          </tr>
        )}
      </tbody>
    </table>
  );
}

/** Distances by hand, both units taken. */
function ByHand(props: { dog: PageDog; category: Category }) {
  const u = settings.value.units;
  const have = props.dog.needs[props.category] ?? needs(props.dog, props.category).find(([, v]) => v)?.[1];
  const [kind, setKind] = useState<string>(props.category);
  const [far, setFar] = useState(have ? exact(have.working_m, u) : "");
  const [near, setNear] = useState(have ? exact(have.reaction_m ?? have.working_m / 2, u) : "");
  const [fault, setFault] = useState("");
  useEffect(() => {
    setKind(props.category);
    setFar(have ? exact(have.working_m, u) : "");
    setNear(have ? exact(have.reaction_m ?? have.working_m / 2, u) : "");
    setFault("");
  }, [props.category, props.dog.version, props.dog.name]);
  const save = async (calm: boolean) => {
    const w = readDistance(far, u);
    const r = near.trim() ? readDistance(near, u) : undefined;
    if (!calm && (!w || (near.trim() && !r))) return setFault(say("fault.field", { what: far }));
    if (!calm && r !== undefined && r >= w!)
      return setFault(say("intake.order", { near: exact(r, u), far: exact(w!, u) }));
    const need: Need | null = calm
      ? null
      : { working_m: toTenth(w!), ...(r === undefined ? {} : { reaction_m: toTenth(r) }) };
    const changed = {
      ...props.dog,
      needs: { ...props.dog.needs, [kind]: need },
      said: { ...(props.dog.said ?? props.dog.needs), [kind]: need },
    };
    try {
      await keepDog(changed, dogAt.value);
      setFault("");
    } catch (err) {
      setFault(err instanceof Fault ? (err.problem?.errors?.[0]?.message ?? err.message) : say("fault.server"));
    }
  };
  return (
    <details>
      <summary class="line">
        <b>{say("dog.change")}</b>
      </summary>
      <form
        class="row"
        style={{ alignItems: "flex-end" }}
        onSubmit={(e) => {
          e.preventDefault();
          void save(false);
        }}
      >
        <label class="field grow">
          <span>{say("dog.col.kind")}</span>
          <select value={kind} onChange={(e) => setKind(e.currentTarget.value)}>
            {[props.category, ...kindsOf(props.category)].map((k) => (
              <option key={k} value={k}>
                {kindWord(k)}
              </option>
            ))}
          </select>
        </label>
        <label class="field grow">
          <span>{say("dog.col.works")}</span>
          <input value={far} onInput={(e) => setFar(e.currentTarget.value)} />
        </label>
        <label class="field grow">
          <span>{say("dog.col.near")}</span>
          <input value={near} onInput={(e) => setNear(e.currentTarget.value)} />
        </label>
        <button class="main">{say("dog.save")}</button>
        <button type="button" onClick={() => void save(true)}>
          {say("intake.calm")}
        </button>
      </form>
      <p role="alert">{fault}</p>
    </details>
  );
}

function Propose(props: { dog: PageDog; proposal: Proposal; category: Category; after: () => void }) {
  const { proposal: p, dog } = props;
  const u = settings.value.units;
  const [fault, setFault] = useState("");
  const [kept, setKept] = useState(false);
  const use = async () => {
    try {
      await ask("post", "/v1/dogs/{id}/proposals/{name}/acceptance", {
        at: { id: dog.id!, name: p.name },
        body: { from_working_m: p.from_working_m, to_working_m: p.to_working_m },
      });
      props.after();
    } catch (err) {
      setFault(err instanceof Fault ? err.message : say("fault.server"));
    }
  };
  if (kept) return null;
  const to = exact(p.to_working_m, u);
  const from = exact(p.from_working_m, u);
  return (
    <section class="needwash stack">
      <h2>{say(p.change === "farther" ? "dog.farther" : "dog.propose", { from, to })}</h2>
      <p>
        {say(p.change === "farther" ? "dog.farther.text" : "dog.propose.text", {
          n: (p.change === "farther" ? p.evidence?.beyond : p.evidence?.encounters) ?? 0,
          from,
          what: say(`category.${props.category}.row`).toLowerCase(),
          dog: dog.name,
          to,
          low: exact(p.evidence?.working_low_m ?? 0, u),
          high: exact(p.evidence?.working_high_m ?? 0, u),
        })}
      </p>
      <div class="row">
        <button class="main grow" onClick={() => void use()}>
          {say("dog.use", { distance: to })}
        </button>
        <button class="grow" onClick={() => setKept(true)}>
          {say("dog.keep", { distance: from })}
        </button>
      </div>
      <p role="alert">{fault}</p>
    </section>
  );
}

/** What follows a snap or a bite, until a trainer lifts it. */
function Flag(props: { dog: PageDog; after: () => void }) {
  const { dog } = props;
  const [fault, setFault] = useState("");
  const lift = async () => {
    try {
      await ask("post", "/v1/dogs/{id}/flag/lifting", { at: { id: dog.id! } });
      props.after();
    } catch (err) {
      setFault(err instanceof Fault ? err.message : say("fault.server"));
    }
  };
  return (
    <section class="caution stack" role="alert">
      <p>
        {say("dog.flag", {
          dog: dog.name,
          over: say(`outcome.${dog.flag!.over}`),
          date: dateWords(new Date(dog.flag!.at), zone()),
          after: say("memory.after"),
        })}
      </p>
      {settings.value.role !== "handler" && (
        <button onClick={() => void lift()}>{say("dog.flag.lift", { dog: dog.name })}</button>
      )}
      <p role="alert">{fault}</p>
    </section>
  );
}

function History(props: { dog: PageDog; changes: Change[]; after: () => void }) {
  const u = settings.value.units;
  if (props.changes.length === 0) return <p>{say("dog.history.none")}</p>;
  return (
    <ul class="plainlist">
      {props.changes.map((c, i) => (
        <li key={c.id} class="row">
          <span class="grow">{changeWords(c)}</span>
          {i === 0 && c.why === "learnt" && (
            <button
              onClick={() =>
                void ask("post", "/v1/dogs/{id}/history/{change}/reversion", {
                  at: { id: props.dog.id!, change: c.id },
                })
                  .then(props.after)
                  .catch(() => undefined)
              }
            >
              {say("dog.back", { distance: exact(c.from.working_m, u) })}
            </button>
          )}
        </li>
      ))}
    </ul>
  );
}

/** Each meeting by its distance, open if it was handled, filled if it went over; the table says the same. */
function Dots(props: { meetings: KeptMeeting[]; dog: PageDog; category: Category }) {
  const list = props.meetings.filter((m) => m.distance_m);
  if (list.length === 0) return null;
  const need = needs(props.dog, props.category).find(([, v]) => v)?.[1]?.working_m ?? 0;
  const most = Math.max(need * 1.2, ...list.map((m) => m.distance_m!));
  const W = 360;
  const H = 150;
  const x = (i: number) => 20 + (i * (W - 40)) / Math.max(1, list.length - 1);
  const y = (m: number) => H - 10 - (m / most) * (H - 30);
  const u = settings.value.units;
  return (
    <figure>
      <svg viewBox={`0 0 ${W} ${H}`} width="100%" style={{ maxWidth: "520px" }} aria-hidden="true">
        {need > 0 && <path class="need" stroke-width="2.4" d={`M0 ${y(need)}H${W}`} />}
        {list.map((m, i) => (
          <circle
            key={m.id}
            cx={x(i)}
            cy={y(m.distance_m!)}
            r="5"
            class={m.over ? "disc-full" : "disc-open"}
            stroke-width="2"
          />
        ))}
        <text class="needf plate" x="2" y={y(need) - 5} font-size="13" font-weight="600">
          {exact(need, u)}
        </text>
      </svg>
      <details>
        <summary>{say("dog.meetings", { n: list.length })}</summary>
        <table class="num">
          <tbody>
            {list.slice(-30).map((m) => (
              <tr key={m.id}>
                <td>{dateWords(new Date(m.at), zone())}</td>
                <td>{kindWord(m.kind!)}</td>
                <td>{exact(m.distance_m!, u)}</td>
                <td>
                  {say(
                    m.over
                      ? "outcome.over"
                      : m.turned_back
                        ? "outcome.turned_back"
                        : m.food === "refused"
                          ? "outcome.no_food"
                          : "outcome.took_food",
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </details>
    </figure>
  );
}

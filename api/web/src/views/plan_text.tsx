// A walk in words: why it, what to watch for, how sure that is, leg by leg.
import { dogNow } from "../dogs.ts";
import { Discs } from "../draw.tsx";
import { zone } from "../mapinfo.ts";
import { answered, chosen, letter, plan, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { roomWords } from "../strip.tsx";
import type { Drawing, Leg, Plan as PlanAnswer, Rank, Walk, WatchPoint, Wish } from "../types.ts";
import {
  capital,
  clock,
  compare,
  dateWords,
  distance,
  exact,
  into,
  joined,
  metOf,
  minutes,
  near,
  shortAnswer,
  stepOf,
  stepWord,
  streetName,
  treats,
} from "../words.ts";

export function Why(props: { plan: PlanAnswer; i: number }) {
  const w = props.plan.walks[props.i]!;
  const L = letter(props.i);
  const list = w.movers.filter((m) => m.reactions > 0.05 * w.expected_reactions).map((m) => m.name);
  const o = props.i === 0 ? 1 : 0;
  const other = props.plan.walks[o];
  const diff = other ? minutes(w.duration_s) - minutes(other.duration_s) : 0;
  return (
    <section class="panel stack">
      <h2>{say("why.title", { letter: L })}</h2>
      <p>
        {list.length > 0 ? say("why.movers", { list: joined(list) }) : say("why.nothing")}{" "}
        {w.longest_calm_s >= 60 && say("why.calm", { minutes: minutes(w.longest_calm_s) })}
      </p>
      {other && (
        <p>
          {say("why.against", {
            other: letter(o),
            compare:
              compare(w.expected_reactions, other.expected_reactions, w.calm_chance, other.calm_chance, letter(o)) ||
              shortAnswer(w.calm_chance),
            minutes:
              diff > 0
                ? say("why.longer", { n: diff })
                : diff < 0
                  ? say("why.shorter", { n: -diff })
                  : say("why.equal"),
          })}
        </p>
      )}
      <ul class="plainlist">
        {topMet(w).map((t) => (
          <li key={t}>{t}</li>
        ))}
      </ul>
      {settings.value.role === "trainer" && (
        <p class="small num">{say("why.x", { x: w.expected_reactions.toFixed(2), strain: w.strain.toFixed(2) })}</p>
      )}
    </section>
  );
}

/** What is met, by category: what comes near first. */
function topMet(w: Walk): string[] {
  const cats = [...new Set(w.encounters.filter((e) => e.reactions > 0.002).map((e) => e.category))].slice(0, 3);
  return cats.map((c) => {
    const m = metOf(w, c);
    return `${capital(near(c, m.inside, m.expected, nearerThan(c)))}.`;
  });
}

/** The distance under which it matters to the dog, if one distance holds for the category. */
function nearerThan(category: string): string | undefined {
  const need =
    dogNow()?.needs[category] ??
    Object.entries(dogNow()?.needs ?? {}).find(([k]) =>
      answered.value?.plan.walks[chosen.value]?.encounters.some((e) => e.kind === k && e.category === category),
    )?.[1];
  return need ? exact(need.working_m, settings.value.units) : undefined;
}

/** What a watch point is called. */
export function spotName(p: WatchPoint): string {
  return p.what === "crossing" && !p.name ? say("spot.crossing.unnamed") : say(`spot.${p.what}`, { name: p.name });
}

/** What to expect at a watch point and what to do there: the same words as on paper. */
export function spotText(p: WatchPoint): string {
  const deed =
    p.deed === "hold"
      ? say("deed.hold", { clock: clock(new Date(p.not_before ?? ""), zone(), settings.value.clock) })
      : say(`deed.${p.deed}`);
  const also = p.also?.length ? say("spot.also", { list: joined(p.also.map((what) => say(`spot.also.${what}`))) }) : "";
  return [spotFact(p), deed, also].filter((part) => part).join(" ");
}

function spotFact(p: WatchPoint): string {
  const u = settings.value.units;
  switch (p.what) {
    case "source":
      return whereabouts(p);
    case "school_bell":
      return say("spot.fact.bell", { where: whereabouts(p) });
    case "blind_corner":
      return say("spot.fact.blind_corner", { distance: distance(p.sight_m ?? 0, u) });
    case "pinch":
      return say("spot.fact.pinch", { distance: distance(p.room_m ?? 0, u) });
    case "stand":
      return say("spot.fact.either", { distance: distance(p.distance_m ?? 0, u) });
    case "hold":
    case "crossing":
      return "";
  }
}

function whereabouts(p: WatchPoint): string {
  if (p.deed === "look_first") return say("spot.fact.at");
  return say(`spot.fact.${p.side ?? "either"}`, { distance: distance(p.distance_m ?? 0, settings.value.units) });
}

export const watchWords = (p: WatchPoint): string => `${spotName(p)}. ${spotText(p)}`;

export function Watch(props: { walk: Walk }) {
  if (props.walk.watch_points.length === 0) return <p>{say("watch.none")}</p>;
  return (
    <ol class="plainlist">
      {props.walk.watch_points.map((p, i) => (
        <li key={i}>
          <b class="num">{i + 1}</b> {into(p.at_s)} · {capital(watchWords(p))}
        </li>
      ))}
    </ol>
  );
}

/** A proof names what it is about: all closed walks, loops alone, or the way asked for. */
function provedWords(shape: Wish["shape"]): string {
  switch (shape) {
    case "loop":
      return say("sure.proved");
    case "calmest":
    case "there_and_back":
      return say(`sure.proved.${shape}`);
    default:
      return say("sure.proved.walk");
  }
}

export function Sure(props: { plan: PlanAnswer; walk: Walk }) {
  const { plan: p, walk: w } = props;
  const best = p.walks[0]!;
  const q = best.quality;
  const checking = plan.value.is === "there" && plan.value.checking;
  const told = q.proved
    ? provedWords(wish.value.shape)
    : checking
      ? say("sure.checking")
      : q.within_percent >= 0 && settings.value.role === "trainer"
        ? say("sure.near", { n: Math.ceil(Math.max(1, q.within_percent)) })
        : say("sure.open");
  const proof = w === best ? told : say("sure.of", { letter: letter(0), proof: told });
  return (
    <section class="panel stack">
      <h2>{say("sure.title")}</h2>
      <Discs p={w.calm_chance} low={w.calm_low} high={w.calm_high} bracket={true} />
      <p role="status">{proof}</p>
      <details>
        <summary>{say("sure.covers")}</summary>
        <p class="small">{q.covers ? `${capital(q.covers)}.` : say("sure.open")}</p>
      </details>
      <p>
        {say("sure.map")} {p.map_time && say("sure.mapdate", { date: dateWords(new Date(p.map_time), p.time_zone) })}
      </p>
      {w.default_room_share > 0.005 && <p>{say("sure.room", { n: Math.round(100 * (1 - w.default_room_share)) })}</p>}
      {p.notes.map((n) => (
        <p key={n}>{capital(n)}.</p>
      ))}
      <ul class="plainlist">
        {p.assumed.slice(0, 3).map((a) => (
          <li key={a}>{say("sure.assumed", { what: a })}</li>
        ))}
        {p.assumed.length > 3 && (
          <li>
            <details>
              <summary>{say("sure.more", { n: p.assumed.length - 3 })}</summary>
              <ul>
                {p.assumed.slice(3).map((a) => (
                  <li key={a}>{say("sure.assumed", { what: a })}</li>
                ))}
              </ul>
            </details>
          </li>
        )}
      </ul>
      <p>{say("sure.treats", { treats: treats(w.treats_low, w.treats_high) })}</p>
      <p class="small">{say("sure.caution")}</p>
    </section>
  );
}

function legWords(l: Leg, d: Drawing, rank: Rank): string {
  const step = stepOf(rank, (600 * l.expected_reactions) / Math.max(1, l.duration_s));
  const u = settings.value.units;
  const need = d.need.working_m;
  const m = Math.max(l.room_left_m, l.room_right_m); // of the better side, as on paper
  const room =
    m >= need
      ? capital(roomWords(need, need))
      : l.keep
        ? capital(say("text.keep", { room: distance(m, u), side: l.keep }))
        : capital(say("text.even", { room: distance(m, u) }));
  return say("text.leg", {
    name: capital(streetName(l.name)),
    turn: say(`turn.${l.turn}`),
    length: distance(l.length_m, u),
    from: Math.round(l.start_s / 60),
    to: Math.round((l.start_s + l.duration_s) / 60),
    level: say("level.brief", { level: capital(stepWord(step)), n: step }),
    room,
    out:
      l.way_out_s === 0 && l.way_out_side
        ? `${say("text.out.now", { side: say(`side.${l.way_out_side}`) })}.`
        : l.way_out_s >= 0 && l.way_out_side
          ? `${say("text.out.home", { side: say(`side.${l.way_out_side}`), seconds: l.way_out_s })}.`
          : `${say("text.out.none")}.`,
  });
}

export function AsText(props: { walk: Walk; drawing: Drawing; rank: Rank }) {
  let gone = 0;
  return (
    <ol class="plainlist legs">
      {props.walk.legs.map((l, i) => {
        const from = gone;
        gone += l.length_m;
        const watch = props.walk.watch_points
          .map((p, n) => ({ p, n }))
          .filter(({ p }) => p.from_m >= from && p.from_m < gone);
        return (
          <li key={i} dir="auto">
            {i + 1}. {legWords(l, props.drawing, props.rank)}
            {watch.length > 0 && (
              <ul>
                {watch.map(({ p, n }) => (
                  <li key={n} class="small">
                    <b>{n + 1}</b> {capital(watchWords(p))}
                  </li>
                ))}
              </ul>
            )}
          </li>
        );
      })}
    </ol>
  );
}

// Calm places about the start, by themselves: to sit, and to stand and practise from.
import type { ComponentChildren } from "preact";
import { useEffect, useMemo, useState } from "preact/hooks";
import { showMode } from "../address.ts";
import { ask, type Fault, faultOf } from "../api.ts";
import { dogName, dogNow, plainDog } from "../dogs.ts";
import { metres } from "../geo.ts";
import { zone } from "../mapinfo.ts";
import { Choose, FaultPanel, Status } from "../parts.tsx";
import { departure, want, weatherOf, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { everyText, type Key, say } from "../strings.ts";
import type { Position, RankedStreets, Vantage } from "../types.ts";
import { capital, clock, cut, distance, far, minutesTo, shortAnswer, streetName } from "../words.ts";

const shownAtMost = 5;
const withinM = 1500; // as far as streets are compared
const leastRoomM = 3; // where somebody passes, one sits that far aside
const mostMinutes = 300; // more than this is told as more
const stayMinutes = 8;
const practiseAt = 1.5; // times the working distance: nearer is for a trainer's plan

interface Calm {
  name: string;
  at: Position;
  offM: number;
  roomM: number;
  minutes: number;
}

/** The calmest ground of each name within reach, where one can sit aside. */
function calmest(of: RankedStreets, from: Position): Calm[] {
  const best = new Map<string, Calm>();
  for (const { properties: p, geometry } of of.features) {
    if ((p.way !== "street" && p.way !== "path") || p.step !== 1 || !named(p.name)) continue;
    const line = geometry.coordinates;
    const at = line[Math.floor(line.length / 2)]!;
    const roomM = Math.max(p.room_left_m, p.room_right_m);
    const offM = Math.hypot(...metres(at, from));
    if (roomM < leastRoomM || offM > withinM) continue;
    const is = { name: p.name, at, offM, roomM, minutes: minutesTo(p.reactions_in_ten_minutes) };
    const was = best.get(p.name);
    if (!was || calmerOf(is, was) < 0) best.set(p.name, is);
  }
  return [...best.values()].sort(calmerOf).slice(0, shownAtMost);
}

const told = (c: Calm): number => Math.min(mostMinutes, c.minutes);
/** The calmer first; the nearer where nobody could tell the two apart. */
const calmerOf = (a: Calm, b: Calm): number => told(b) - told(a) || a.offM - b.offM;

/** Whether it is a name, and not what nameless ground is called. */
const named = (name: string): boolean => !!name && !(`class.${name}` in everyText);

/** The best places, one of each street: the others lie beside it. */
const ofEachStreet = (list: Vantage[]): Vantage[] =>
  list.filter((v, i) => list.findIndex((x) => x.street === v.street) === i).slice(0, shownAtMost);

/** What the dog needs room from most: what one practises with. */
function leading(): string {
  const needs = Object.entries(dogNow()?.needs ?? {}).filter(([, n]) => n);
  return needs.sort(([, a], [, b]) => b!.working_m - a!.working_m)[0]?.[0] ?? "dogs";
}

export function Quiet(props: { streets: RankedStreets | undefined }) {
  const [what, setWhat] = useState<"sit" | "practise">("sit");
  const from = wish.value.from?.at;
  if (!from || !dogNow()) return null;
  const at: Position = [from.lon, from.lat];
  return (
    <section class="panel stack quiet" aria-label={say("quiet.title")}>
      <h2>{say("quiet.title")}</h2>
      <Choose
        label={say("quiet.title")}
        of={
          [
            ["sit", say("quiet.sit")],
            ["practise", say("quiet.practise")],
          ] as const
        }
        is={what}
        pick={setWhat}
      />
      {what === "sit" ? props.streets && <ToSit streets={props.streets} from={at} /> : <ToPractise />}
    </section>
  );
}

function ToSit(props: { streets: RankedStreets; from: Position }) {
  const { streets, from } = props;
  const list = useMemo(() => calmest(streets, from), [streets, from[0], from[1]]);
  const u = settings.value.units;
  const time = clock(new Date(departure(wish.value)), zone(), settings.value.clock);
  return (
    <>
      <p class="small">{say(list.length ? "quiet.sit.text" : "quiet.sit.none", { time })}</p>
      <ul class="plainlist">
        {list.map((c) => (
          <Place key={c.name} name={capital(streetName(c.name))} at={c.at}>
            {say(c.minutes > mostMinutes ? "quiet.sit.over" : "quiet.sit.one", {
              minutes: Math.round(told(c)),
              off: far(c.offM, u),
              room: distance(c.roomM, u),
            })}
          </Place>
        ))}
      </ul>
    </>
  );
}

function ToPractise() {
  const [found, setFound] = useState<Vantage[] | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  const from = wish.value.from!.at;
  const kind = leading();
  const at = departure(wish.value);
  const key = JSON.stringify([from, at, kind, dogNow()?.needs, wish.value.weather, settings.value.units, asked]);
  useEffect(() => {
    const stop = new AbortController();
    setFound(undefined);
    setFault(undefined);
    const dog = dogNow();
    const body = {
      from,
      ...(dog?.id ? { dog_id: dog.id } : { dog: plainDog(dog) }),
      ...{ kind, multiple: practiseAt, at, stay_minutes: stayMinutes, reach_m: withinM },
      ...weatherOf(wish.value),
    };
    ask("post", "/v1/vantages", { body, signal: stop.signal })
      .then(({ places }) => setFound(ofEachStreet(places)))
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key]);
  const u = settings.value.units;
  const what = say(
    kind in { dogs: 1, people: 1, wheels: 1, traffic: 1, sounds: 1 }
      ? (`category.${kind}.many` as Key)
      : (`kind.${kind}.many` as Key),
  );
  return (
    <>
      <Status>
        {!found && !fault && <p>{say("quiet.wait")}</p>}
        {found && (
          <p class="small">
            {say(found.length ? "quiet.practise.text" : "quiet.practise.none", {
              n: practiseAt,
              dog: cut(dogName()),
              what,
            })}
          </p>
        )}
      </Status>
      {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
      <ul class="plainlist">
        {(found ?? []).map((v, i) => (
          <Place key={i} name={capital(cut(v.street))} at={v.at}>
            {say("quiet.practise.one", {
              distance: distance(v.distance_m, u),
              watched: cut(v.watched.name),
              walk: far(v.walk_m, u),
              chance: say("around.active", { answer: shortAnswer(v.chance) }),
            })}{" "}
            {v.way_out_names[0] && say("quiet.practise.out", { name: v.way_out_names[0] })}
          </Place>
        ))}
      </ul>
      {found && found.length > 0 && <p class="small">{say("visits.caution.stop")}</p>}
    </>
  );
}

/** A place in words, and a walk to it. */
function Place(props: { name: string; at: Position; children: ComponentChildren }) {
  const [lon, lat] = props.at;
  return (
    <li class="row">
      <span class="grow">
        <b dir="auto">{props.name}</b> {props.children}
      </span>
      <button
        aria-label={say("quiet.go.to", { name: props.name })}
        onClick={() => {
          want({ shape: "way", to: { name: props.name, at: { lat: lat!, lon: lon! } } });
          showMode("walks");
        }}
      >
        {say("quiet.go")}
      </button>
    </li>
  );
}

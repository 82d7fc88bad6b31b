import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { ask, type Fault, faultOf } from "../api.ts";
import { counting } from "../counting.ts";
import { dogName, dogNow, plainDog } from "../dogs.ts";
import { metres } from "../geo.ts";
import { calmer, hours } from "../hours.ts";
import { mapInfo, zone } from "../mapinfo.ts";
import { newID, post } from "../outbox.ts";
import { Choose, FaultPanel, Status } from "../parts.tsx";
import { mapCentre, pickNext } from "../pick.ts";
import { about, answered, departure, want, weatherOf, wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say, type Key as TextKey } from "../strings.ts";
import type { Explanation, LatLon, RankedStreets, SourceInfo, StreetFacts } from "../types.ts";
import { capital, clock, distance, minutesTo, ofTen, shortAnswer, shortClock, streetName } from "../words.ts";
import { Count } from "./count.tsx";
import { Quiet } from "./quiet.tsx";
import "./near.css";

/** The fixed sources round a start, and what can be said of this ground. */
export function Near() {
  const from = wish.value.from?.at;
  const streets = answered.value?.streets ?? about.value;
  const [sources, setSources] = useState<SourceInfo[] | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  const [report, setReport] = useState(false);
  const [count, setCount] = useState(counting.value !== undefined);
  const key = JSON.stringify([from, wish.value.depart, wish.value.weather, dogNow()?.needs, asked]);
  useEffect(() => {
    if (!from || !mapInfo.value) return;
    const stop = new AbortController();
    const body = {
      bbox: boxRound(from),
      depart: departure(wish.value),
      dog: plainDog(dogNow()),
      ...weatherOf(wish.value),
    };
    ask("post", "/v1/sources", { body, signal: stop.signal })
      .then((got) => {
        setSources(got.sources);
        setFault(undefined);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [key, mapInfo.value?.name]);
  const list = useMemo(() => costliestFirst(sources ?? [], from), [sources, from]);
  const busy = list.filter((x) => x.active >= 0.05);
  const quiet = list.filter((x) => x.active < 0.05);
  return (
    <section class="near" aria-label={say("near.title")}>
      <Quiet streets={streets} />
      <div class="panel stack">
        <h2>{say("near.title")}</h2>
        {busy.some((x) => x.assumed) && <p class="small">{say("near.assumed")}</p>}
        <Status>{fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}</Status>
        {sources && busy.length === 0 && <p>{say("around.none", { dog: dogName() })}</p>}
      </div>
      <ul class="list">
        {busy.slice(0, 30).map((x) => (
          <Source key={x.id} source={x} />
        ))}
      </ul>
      {quiet.length > 0 && (
        <details class="panel">
          <summary>
            <b>{say("around.quiet", { n: quiet.length })}</b>
          </summary>
          <ul class="list">
            {quiet.slice(0, 30).map((x) => (
              <Source key={x.id} source={x} />
            ))}
          </ul>
        </details>
      )}
      <div class="panel stack">
        <div class="row">
          <button class="grow" aria-expanded={report} onClick={() => setReport(!report)}>
            {say("around.report")}
          </button>
          <button class="grow" aria-expanded={count} onClick={() => setCount(!count)}>
            {say("around.count")}
          </button>
        </div>
        {report && <Report done={() => setReport(false)} />}
        {count && <Count done={() => setCount(false)} />}
      </div>
      {streets && <Breakdown streets={streets} />}
    </section>
  );
}

/** A street that was tapped: what it is like now and at a calmer hour, and what to do with it. */
export function StreetCard(props: { street: StreetFacts; at: LatLon; close: () => void }) {
  const { street: x, at } = props;
  const [then, setThen] = useState<{ time: string; minutes: number } | undefined>();
  const [report, setReport] = useState(false);
  const depart = departure(wish.value);
  const name = capital(streetName(x.name));
  useEffect(() => {
    setThen(undefined);
    const chosen = new Date(depart);
    const walk = answered.value?.plan.walks[0];
    const best = walk && hours.value ? calmer(hours.value, chosen, ofTen(walk.calm_chance)).at(-1) : undefined;
    if (!best) return;
    const stop = new AbortController();
    const body = { at, edge: x.edge, depart: best.depart, dog: plainDog(dogNow()), ...weatherOf(wish.value) };
    ask("post", "/v1/explain", { body, signal: stop.signal })
      .then((got) =>
        setThen({
          time: shortClock(new Date(best.depart), zone(), settings.value.clock),
          minutes: Math.round(minutesTo(got.reactions_in_ten_minutes)),
        }),
      )
      .catch(() => undefined); // the street is told for its own hour without
    return () => stop.abort();
  }, [x.edge, depart]);
  return (
    <div class="panel stack streetcard" role="status">
      <p>
        <b dir="auto">{name}</b>{" "}
        {say("street.is", {
          minutes: Math.min(999, Math.round(minutesTo(x.reactions_in_ten_minutes))),
          time: clock(new Date(depart), zone(), settings.value.clock),
        })}{" "}
        {then && say("street.then", { time: then.time, minutes: Math.min(999, then.minutes) })}{" "}
        {say("street.room", { room: distance(Math.max(x.room_left_m, x.room_right_m), settings.value.units) })}
      </p>
      <div class="row">
        <button onClick={() => want({ from: { name, at } })}>{say("street.start")}</button>
        <button
          disabled={!x.name || (wish.value.limits.avoid_ways ?? []).includes(x.name)}
          onClick={() =>
            want({ limits: { ...wish.value.limits, avoid_ways: [...(wish.value.limits.avoid_ways ?? []), x.name] } })
          }
        >
          {say("street.avoid")}
        </button>
        <button aria-expanded={report} onClick={() => setReport(!report)}>
          {say("street.report")}
        </button>
        <button class="plain" onClick={props.close}>
          {say("choice.close")}
        </button>
      </div>
      {report && <Report done={() => setReport(false)} at={at} />}
    </div>
  );
}

function boxRound(at: { lat: number; lon: number }): [number, number, number, number] {
  const dLat = 600 / 111320;
  const dLon = dLat / Math.cos((at.lat * Math.PI) / 180);
  return [at.lon - dLon, at.lat - dLat, at.lon + dLon, at.lat + dLat];
}

function offOf(s: SourceInfo, from: { lat: number; lon: number } | undefined): number {
  return from ? Math.hypot(...metres(s.at, [from.lon, from.lat])) : 0;
}

/** What costs this dog most first: somebody there, and near for the room it needs. */
const costliestFirst = (all: SourceInfo[], from: { lat: number; lon: number } | undefined) => {
  const cost = (x: SourceInfo) => (x.active * x.working_m) / Math.max(x.working_m, offOf(x, from));
  return all.filter((x) => x.working_m > 0).sort((a, b) => cost(b) - cost(a) || offOf(a, from) - offOf(b, from));
};

/** One source with its hours and origin, and a word on it. */
function Source(props: { source: SourceInfo }) {
  const x = props.source;
  const [said, setSaid] = useState("");
  const tell = async (there: boolean) => {
    await post({ id: newID(), at: Date.now(), path: "/v1/reports", body: { mapped: x.osm, there } });
    setSaid(say(navigator.onLine ? "around.thanks" : "report.later"));
  };
  const mapped = /^(node|way|relation)\//.test(x.osm);
  return (
    <li class="stack">
      <details>
        <summary class="source">
          <span>
            <b dir="auto">{capital(x.name || x.what)}</b>
            <span class="small">
              {x.name ? `${x.what}, ` : ""}
              {say("around.off", { distance: distance(offOf(x, wish.value.from?.at), settings.value.units) })}
            </span>
          </span>
          <b class="num">
            {x.active >= 0.05 ? say("around.active", { answer: shortAnswer(x.active) }) : say("around.never")}
          </b>
        </summary>
        <p class="small">
          {[
            x.hours ? say("around.hours", { hours: x.hours }) : "",
            mapped ? say("around.frommap") : say("around.reported"),
          ]
            .filter(Boolean)
            .join(" · ")}
        </p>
        {mapped && (
          <div class="row">
            <button onClick={() => void tell(true)} aria-label={`${say("around.there")}: ${x.name || x.what}`}>
              {say("around.there")}
            </button>
            <button onClick={() => void tell(false)} aria-label={`${say("around.notthere")}: ${x.name || x.what}`}>
              {say("around.notthere")}
            </button>
          </div>
        )}
        <p role="status" class="small">
          {said}
        </p>
      </details>
    </li>
  );
}

const reportable = ["dog_behind_fence", "dog_off_lead", "dog_on_lead", "child", "construction", "bicycle"] as const;

/** Something that the map lacks, in at most four taps. */
function Report(props: { done: () => void; at?: LatLon }) {
  const [kind, setKind] = useState<(typeof reportable)[number]>("dog_behind_fence");
  const [where, setWhere] = useState<"start" | "map">("start");
  const [when, setWhen] = useState<"now" | "day" | "week">("day");
  const [many, setMany] = useState<"one" | "some" | "many">("one");
  const [said, setSaid] = useState("");
  const send = async (at: LatLon) => {
    pickNext(undefined); // one tap, one report
    const now = Date.now();
    const ends = { now: 36e5 * 3, week: 7 * 864e5, day: 0 }[when];
    await post({
      id: newID(),
      at: now,
      path: "/v1/reports",
      body: {
        kind,
        there: true,
        lat: at.lat,
        lon: at.lon,
        number: { one: 1, some: 3, many: 8 }[many],
        ...(ends ? { ends: new Date(now + ends).toISOString() } : {}),
      },
    });
    setSaid(navigator.onLine ? say("around.thanks") : say("report.later"));
  };
  const go = () => {
    if (props.at) void send(props.at);
    else if (where === "start" && wish.value.from) void send(wish.value.from.at);
    else if (mapCentre.value) void send(mapCentre.value());
  };
  const latest = useRef(send);
  latest.current = send;
  const choose = (w: "start" | "map") => {
    setWhere(w);
    pickNext(w === "map" ? (at) => void latest.current(at) : undefined);
  };
  useEffect(() => () => pickNext(undefined), []);
  return (
    <div class="choice stack">
      <p>
        <b>{say("report.kind")}</b>
      </p>
      <Choose
        label={say("report.kind")}
        of={reportable.map((k) => [k, say(`report.kind.${k}` as TextKey)] as const)}
        is={kind}
        pick={setKind}
      />
      {!props.at && (
        <>
          <p>
            <b>{say("report.where")}</b>
          </p>
          <Choose
            label={say("report.where")}
            of={
              [
                ["start", say("report.where.start")],
                ["map", say("report.where.map")],
              ] as const
            }
            is={where}
            pick={choose}
          />
        </>
      )}
      <p>
        <b>{say("report.hours")}</b>
      </p>
      <Choose
        label={say("report.hours")}
        of={
          [
            ["now", say("report.hours.now")],
            ["day", say("report.hours.day")],
            ["week", say("report.hours.week")],
          ] as const
        }
        is={when}
        pick={setWhen}
      />
      <p>
        <b>{say("report.many")}</b>
      </p>
      <Choose
        label={say("report.many")}
        of={
          [
            ["one", say("report.many.one")],
            ["some", say("report.many.some")],
            ["many", say("report.many.many")],
          ] as const
        }
        is={many}
        pick={setMany}
      />
      <div class="row">
        <button class="main" disabled={where === "map" && !mapCentre.value} onClick={go}>
          {say("report.send")}
        </button>
        <button onClick={props.done}>{say("choice.close")}</button>
      </div>
      <p role="status">{said}</p>
    </div>
  );
}

/** The hardest street about, taken apart, for those who argue with numbers. */
function Breakdown(props: { streets: RankedStreets }) {
  const [it, setIt] = useState<Explanation | undefined>();
  const open = useRef(false);
  const worst = props.streets.features.reduce<RankedStreets["features"][number] | undefined>(
    (a, b) => (!a || b.properties.reactions_in_ten_minutes > a.properties.reactions_in_ten_minutes ? b : a),
    undefined,
  );
  const load = () => {
    const place = worst?.geometry.coordinates[0];
    if (worst && place)
      void ask("post", "/v1/explain", {
        body: {
          at: { lat: place[1]!, lon: place[0]! },
          edge: worst.properties.edge,
          depart: departure(wish.value),
          dog: plainDog(dogNow()),
          ...weatherOf(wish.value),
        },
      })
        .then(setIt)
        .catch(() => undefined);
  };
  useEffect(() => {
    if (open.current) load();
  }, [worst?.properties.edge]);
  return (
    <details
      class="panel"
      onToggle={(e) => {
        open.current = e.currentTarget.open;
        if (open.current) load();
      }}
    >
      <summary>
        <b>{say("around.break")}</b>
      </summary>
      {it && (
        <div class="scroll" tabIndex={0} role="region" aria-label={say("around.break")}>
          <table class="num">
            <caption class="small">{say("around.break.caption", { name: it.name })}</caption>
            <thead>
              <tr>
                {(["what", "distance", "sight", "hour", "ten", "share"] as const).map((c) => (
                  <th key={c} scope="col">
                    {say(`around.col.${c}`)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {it.terms.slice(0, 12).map((t, i) => (
                <tr key={i}>
                  <th scope="row" dir="auto">
                    {capital(t.what)}
                  </th>
                  <td>{distance(t.distance_m, settings.value.units)}</td>
                  <td>{say(t.in_sight ? "around.yes" : "around.no")}</td>
                  <td>{t.per_hour.toFixed(1)}</td>
                  <td>{(10 * t.p).toFixed(1)}</td>
                  <td>{Math.round(100 * t.share)} %</td>
                </tr>
              ))}
            </tbody>
          </table>
          <ul class="small">
            {it.basis.map((b) => (
              <li key={b}>{capital(b)}.</li>
            ))}
          </ul>
          <p class="small">
            {say(it.dark ? "around.strain.dark" : "around.strain", {
              x: it.strain_in_ten_minutes.toFixed(2),
              noise: it.noise_strain_in_ten_minutes.toFixed(2),
              db: it.road_noise_db,
              n: Math.round(it.traffic.reduce((sum, t) => sum + t.vehicles_per_hour, 0)),
            })}
          </p>
        </div>
      )}
    </details>
  );
}

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { ask, type Fault, faultOf } from "../api.ts";
import { counting } from "../counting.ts";
import { dogName, dogNow, plainDog } from "../dogs.ts";
import { Key } from "../draw.tsx";
import { metres } from "../geo.ts";
import { MapBox } from "../mapbox.tsx";
import { mapInfo } from "../mapinfo.ts";
import { newID, post } from "../outbox.ts";
import { Choose, FaultPanel, Head, Status } from "../parts.tsx";
import { mapCentre, pickNext } from "../pick.ts";
import { departure, weatherOf, wish } from "../plan.ts";
import { Sentence } from "../sentence.tsx";
import { settings } from "../settings.ts";
import { say, type Key as TextKey } from "../strings.ts";
import type { Explanation, Hazards, LatLon, SourceInfo } from "../types.ts";
import { capital, distance, shortAnswer } from "../words.ts";
import { Count } from "./count.tsx";

type Layer = "trouble" | "room" | "sight";

/** Where round here is it hard for this dog at this hour, and what makes it so? */
export function Around() {
  const from = wish.value.from?.at;
  const [layer, setLayer] = useState<Layer>("trouble");
  const [bbox, setBBox] = useState<[number, number, number, number] | undefined>(from ? boxRound(from) : undefined);
  const [hazards, setHazards] = useState<Hazards | undefined>();
  const [sources, setSources] = useState<SourceInfo[]>([]);
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  const [report, setReport] = useState(false);
  const [count, setCount] = useState(counting.value !== undefined);
  const key = JSON.stringify([bbox, wish.value.depart, wish.value.weather, dogNow()?.needs, asked]);
  useEffect(() => {
    if (!bbox || !mapInfo.value) return;
    const stop = new AbortController();
    const body = { bbox, depart: departure(wish.value), dog: plainDog(dogNow()), ...weatherOf(wish.value) };
    const timer = setTimeout(() => {
      Promise.all([
        ask("post", "/v1/hazards", { body, signal: stop.signal }),
        ask("post", "/v1/sources", { body, signal: stop.signal }),
      ])
        .then(([h, src]) => {
          setHazards(h);
          setSources(src.sources);
          setFault(undefined);
        })
        .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    }, 150);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [key, mapInfo.value?.name]);
  const shown = useMemo(
    () => ({ hazards: hazards?.features ?? [], layer, sources: sources.filter((x) => x.active >= 0.05) }),
    [hazards, layer, sources],
  );
  const list = useMemo(() => nearestFirst(sources, from), [sources, from]);
  const busy = list.filter((x) => x.active >= 0.05);
  const quiet = list.filter((x) => x.active < 0.05);
  return (
    <>
      <Head title={say("around.title")}>
        {mapInfo.value && <Sentence key_="around.ask" parts={["from", "dog", "time"]} />}
      </Head>
      <main id="answer" tabIndex={-1}>
        <div class="two even">
          <div>
            <div class="onpage row">
              <b>{say("around.show")}:</b>
              <Choose
                label={say("around.show")}
                of={(["trouble", "room", "sight"] as const).map((l) => [l, say(`around.${l}`)] as const)}
                is={layer}
                pick={setLayer}
              />
            </div>
            <MapBox shown={shown} high={true} moved={setBBox} />
            {hazards?.truncated && (
              <p class="onpage small" role="status">
                {say("around.cut")}
              </p>
            )}
            <div class="onpage">
              <Key dog={dogName()} />
            </div>
          </div>
          <section aria-label={say("around.list")}>
            <div class="panel stack">
              <h2>{say("around.list")}</h2>
              <Status>{fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}</Status>
              {hazards && busy.length === 0 && <p>{say("around.none", { dog: dogName() })}</p>}
              <button class="wide" aria-expanded={report} onClick={() => setReport(!report)}>
                {say("around.report")}
              </button>
              {report && <Report done={() => setReport(false)} />}
              <button class="wide" aria-expanded={count} onClick={() => setCount(!count)}>
                {say("around.count")}
              </button>
              {count && <Count done={() => setCount(false)} />}
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
            {hazards && <Breakdown hazards={hazards} />}
          </section>
        </div>
      </main>
    </>
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

const nearestFirst = (all: SourceInfo[], from: { lat: number; lon: number } | undefined) =>
  all.filter((x) => x.working_m > 0).sort((a, b) => offOf(a, from) - offOf(b, from));

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
      <div>
        <p>
          <b dir="auto">{capital(x.name || x.what)}</b>
          {x.name && <span>, {x.what}</span>},{" "}
          {say("around.off", { distance: distance(offOf(x, wish.value.from?.at), settings.value.units) })}
        </p>
        <p class="small">
          {[
            x.hours ? say("around.hours", { hours: x.hours }) : "",
            x.active >= 0.05 ? say("around.active", { answer: shortAnswer(x.active) }) : say("around.never"),
            mapped ? say("around.frommap") : say("around.reported"),
            x.assumed ? say("around.assumed") : "",
          ]
            .filter(Boolean)
            .join(" · ")}
        </p>
      </div>
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
    </li>
  );
}

const reportable = ["dog_behind_fence", "dog_off_lead", "dog_on_lead", "child", "construction", "bicycle"] as const;

/** Something that the map lacks, in at most four taps. */
function Report(props: { done: () => void }) {
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
    if (where === "start" && wish.value.from) void send(wish.value.from.at);
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

/** The hardest street in view, taken apart, for those who argue with numbers. */
function Breakdown(props: { hazards: Hazards }) {
  const [it, setIt] = useState<Explanation | undefined>();
  const open = useRef(false);
  const worst = props.hazards.features.reduce<Hazards["features"][number] | undefined>(
    (a, b) => (!a || b.properties.reactions_in_ten_minutes > a.properties.reactions_in_ten_minutes ? b : a),
    undefined,
  );
  const load = () => {
    if (worst)
      void ask("post", "/v1/explain", {
        body: {
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
              n: Math.round(it.traffic.reduce((sum, t) => sum + t.vehicles_per_hour, 0)),
            })}
          </p>
        </div>
      )}
    </details>
  );
}

import { useEffect, useState } from "preact/hooks";
import { ask, type Fault, faultOf } from "../api.ts";
import { changeWords } from "../dog_words.ts";
import { dogs, type PageDog, serverKeeps, setDogs } from "../dogs.ts";
import { mapInfo, zone } from "../mapinfo.ts";
import { FaultPanel, Head } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Change } from "../types.ts";
import { goTo } from "../view.ts";
import { dated } from "../visit_words.ts";
import { beginVisits, isFor, loadVisits, pickDog, type VisitsDoc, visitOf, visits, visitZone } from "../visits.ts";
import { cut, dateWords, exact } from "../words.ts";
import "./dogs.css";

interface Standing {
  last?: string;
  asks: boolean;
  /** the last time that a distance of it changed */
  moved?: Change;
  /** of its last meetings at which food was offered: how many, and at how many it was refused */
  offered: number;
  refused: number;
}

/** So many of the last meetings say whether a dog still eats. */
const lately = 10;

/** Every dog with where it stands, for who looks after several. */
export function Dogs() {
  const [standing, setStanding] = useState<Record<string, Standing>>({});
  const [fault, setFault] = useState<Fault | undefined>();
  const ids = dogs.value.map((d) => d.id ?? "").join();
  const load = async () => {
    setFault(undefined);
    try {
      const got = await Promise.all(
        dogs.value
          .filter((d) => d.id)
          .map(async (d): Promise<[string, Standing]> => {
            const at = { id: d.id! };
            const [walks, proposals, changes, meetings] = await Promise.all([
              ask("get", "/v1/dogs/{id}/walks", { at }),
              ask("get", "/v1/dogs/{id}/proposals", { at }),
              ask("get", "/v1/dogs/{id}/history", { at }),
              ask("get", "/v1/dogs/{id}/encounters", { at }),
            ]);
            const fed = meetings
              .filter((m) => m.food && !m.removed)
              .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))
              .slice(0, lately);
            const moved = changes.find((c) => c.from.working_m > 0 && c.to.working_m > 0);
            return [
              d.id!,
              {
                ...(walks[0] ? { last: walks[0].started } : {}),
                ...(moved ? { moved } : {}),
                asks: proposals.some((p) => p.change === "nearer" || p.change === "farther"),
                offered: fed.length,
                refused: fed.filter((m) => m.food === "refused").length,
              },
            ];
          }),
      );
      setStanding(Object.fromEntries(got));
    } catch (err) {
      setFault(faultOf(err));
    }
  };
  useEffect(() => void beginVisits().then(() => loadVisits(true)), [mapInfo.value?.name, serverKeeps.value]);
  useEffect(() => {
    if (serverKeeps.value) void load();
  }, [ids, serverKeeps.value]);
  const add = () => {
    location.hash = "#/dog?new";
  };
  return (
    <>
      <Head title={say("dogs.title")} shown={true} />
      <main id="answer" tabIndex={-1}>
        {fault && (
          <div class="panel">
            <FaultPanel fault={fault} again={() => void load()} />
          </div>
        )}
        {dogs.value.length === 0 ? (
          <p class="onpage">{say("dogs.none")}</p>
        ) : (
          <ul class="list dogs" aria-label={say("dogs.list")}>
            {dogs.value.map((d, i) => (
              <Row key={d.id ?? d.name} d={d} i={i} standing={standing[d.id ?? ""]} />
            ))}
          </ul>
        )}
        <div class="onpage">
          <button class={dogs.value.length ? "" : "main"} onClick={add}>
            {say("dogs.add")}
          </button>
        </div>
      </main>
    </>
  );
}

function Row(props: { d: PageDog; i: number; standing: Standing | undefined }) {
  const { d, i, standing } = props;
  const u = settings.value.units;
  const need =
    d.needs.dogs?.working_m ?? Math.max(0, ...["dog_on_lead", "dog_off_lead"].map((k) => d.needs[k]?.working_m ?? 0));
  const doc = visits.docs.value.find((x) => isFor(x, d));
  const p = doc && visits.progress.value[doc.id];
  const name = cut(d.name);
  return (
    <li>
      <div class="dogrow">
        <p>
          <b class="dogname" dir="auto">
            {name}
          </b>{" "}
          {d.caution && <span class="mark">{say("dogs.bite")}</span>}
          {p && !p.paused && p.proposal !== "stay" && p.to !== p.step && (
            <span class="mark new">{say(`dogs.waits.${p.proposal}`)}</span>
          )}
          {standing?.asks && <span class="mark new">{say("dogs.waits.distance")}</span>}
          <br />
          {need ? say("dogs.needs", { distance: exact(need, u) }) : say("dogs.needs.none")} {nextWords(doc)}
          <br />
          <span class="small">
            {standing &&
              (standing.last
                ? say("dogs.last", { date: dateWords(new Date(standing.last), zone()) })
                : say("dogs.last.none"))}{" "}
            {standing && standing.refused > 0 && say("dogs.refused", { n: standing.refused, of: standing.offered })}{" "}
            {standing?.moved && say("dogs.moved", { change: changeWords(standing.moved) })}
          </span>
        </p>
        <div class="row">
          <button
            aria-label={say("dogs.visits.of", { dog: d.name })}
            onClick={() => {
              pickDog(i);
              goTo("visits");
            }}
          >
            {say("dogs.visits")}
          </button>
          <button
            aria-label={say("dogs.distances.of", { dog: d.name })}
            onClick={() => {
              setDogs(dogs.value, i);
              goTo("dog");
            }}
          >
            {say("dogs.distances")}
          </button>
        </div>
      </div>
    </li>
  );
}

function nextWords(doc: VisitsDoc | undefined): string {
  if (!doc) return say("dogs.novisits");
  const n = doc.body.step;
  const of = doc.body.sequence.visits.length;
  if (doc.body.paused) return say("dogs.paused", { n, of });
  const v = visitOf(doc, n);
  return say("dogs.next", {
    n,
    of,
    when: dated(new Date(v.arrive), visitZone(doc)),
    distance: exact(v.distance_m, settings.value.units),
  });
}

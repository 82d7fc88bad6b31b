// Finding a place to start from or to walk to: here, on the map, or by what one types.
import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { ask, faultOf } from "./api.ts";
import { keep, kept } from "./kept.ts";
import { hasWebGL2 } from "./mapbox.tsx";
import { onMap as liesOnMap, mapInfo } from "./mapinfo.ts";
import { mapCentre, pick, pickNext } from "./pick.ts";
import { wish } from "./plan.ts";
import { settings } from "./settings.ts";
import { say } from "./strings.ts";
import type { FoundPlace, LatLon, Place, Wish } from "./types.ts";
import { wide } from "./view.ts";
import { cut, far } from "./words.ts";
import "./finding.css";

/** A list from the third letter on, when the typing pauses. */
const leastLetters = 3;
const pauseMS = 180;
/** A position known no better than this is asked about before it is taken. */
const poorM = 100;

/** Names a place on the map, or says that it is one. */
export async function named(at: LatLon): Promise<Place> {
  try {
    const [first] = (await ask("post", "/v1/places", { body: { at } })).places;
    if (first) return { name: first.name, at };
  } catch {
    // a name is a comfort, not a need
  }
  return { name: say("plan.map.point"), at };
}

/** Places that somebody keeps on this device. */
const places = signal<Place[]>(kept("places") ?? []);

/** What the device said of where it is. */
type Here = "asked" | "refused" | "unknown" | "outside" | { at: LatLon; withinM: number };

/** The question itself, where nothing can be answered before. */
export function AskStart(props: { use: (from: Place) => void; mapless: boolean }) {
  return (
    <div class="stack askstart">
      <h2>{say("first.where")}</h2>
      <PlaceChoice goal={false} use={(p) => p.from && props.use(p.from)} mapless={props.mapless} />
    </div>
  );
}

export function PlaceChoice(props: { goal: boolean; use: (p: Partial<Wish>) => void; mapless: boolean }) {
  const [here, setHere] = useState<Here | undefined>();
  const use = (p: Place) => props.use(props.goal ? { to: p, shape: "way" } : { from: p });
  const pickAt = async (at: LatLon) => use(await named(at));
  // Set by the tap itself and not by an effect after it: the next tap may fall on the map before the page is drawn anew.
  const onMap = !!pick.value;
  useEffect(() => () => pickNext(undefined), []);
  const locate = () => {
    setHere("asked");
    navigator.geolocation.getCurrentPosition(
      (p) => {
        const at = { lat: p.coords.latitude, lon: p.coords.longitude };
        const m = mapInfo.value;
        if (m && !liesOnMap(m, at)) setHere("outside");
        else if (p.coords.accuracy > poorM) setHere({ at, withinM: p.coords.accuracy });
        else void pickAt(at);
      },
      (e) => setHere(e.code === e.PERMISSION_DENIED ? "refused" : "unknown"),
      { timeout: 15_000, maximumAge: 60_000, enableHighAccuracy: true },
    );
  };
  const showMap = () => pickNext(onMap ? undefined : (at) => void pickAt(at));
  const from = wish.value.from;
  return (
    <>
      <div class="row">
        <button onClick={locate}>{say("plan.here")}</button>
        {hasWebGL2 && !props.mapless && (
          <button aria-pressed={onMap} disabled={!mapCentre.value} onClick={showMap}>
            {say("choice.onmap")}
          </button>
        )}
        {!props.goal && from && !places.value.some((p) => p.name === from.name) && (
          <button
            onClick={() => {
              places.value = [...places.value, from];
              keep("places", places.value);
            }}
          >
            {say("choice.save")}
          </button>
        )}
      </div>
      <div role="status">{typeof here === "string" && <p>{say(`find.here.${here}`)}</p>}</div>
      {typeof here === "object" && (
        <div class="row">
          <p class="grow">{say("find.here.poor", { within: far(here.withinM, settings.value.units) })}</p>
          <button onClick={() => void pickAt(here.at)}>{say("find.here.use")}</button>
        </div>
      )}
      {onMap && wide.value && (
        <div class="row">
          <p class="grow">{say("choice.onmap.how")}</p>
          <button disabled={!mapCentre.value} onClick={() => void pickAt(mapCentre.value!())}>
            {say(props.goal ? "choice.centre.to" : "choice.centre")}
          </button>
        </div>
      )}
      <ByName use={use} />
      {places.value.length > 0 && (
        <div class="row" role="group" aria-label={say("choice.saved")}>
          {places.value.map((p) => (
            <button key={p.name} dir="auto" onClick={() => use(p)}>
              {cut(p.name)}
            </button>
          ))}
        </div>
      )}
    </>
  );
}

/** A field with the places that fit what is typed, as it is typed. */
function ByName(props: { use: (p: Place) => void }) {
  const [text, setText] = useState("");
  const [found, setFound] = useState<FoundPlace[] | undefined>();
  const [lost, setLost] = useState(false);
  const asked = useRef<AbortController | undefined>();
  const find = async (words: string) => {
    asked.current?.abort();
    const mine = new AbortController();
    asked.current = mine;
    const near = wish.value.from?.at ?? mapCentre.value?.();
    try {
      const body = near ? { text: words, near } : { text: words };
      const got = await ask("post", "/v1/places", { body, signal: mine.signal });
      setFound(got.places);
      setLost(false);
    } catch (err) {
      if (mine.signal.aborted) return;
      setFound(undefined);
      setLost(faultOf(err).kind !== "refused");
    }
  };
  useEffect(() => {
    if (text.trim().length < leastLetters) {
      asked.current?.abort();
      setFound(undefined);
      return;
    }
    const soon = setTimeout(() => void find(text), pauseMS);
    return () => clearTimeout(soon);
  }, [text]);
  useEffect(() => () => asked.current?.abort(), []);
  return (
    <>
      <form
        onSubmit={(e) => {
          e.preventDefault();
          if (text.trim()) void find(text);
        }}
      >
        <label class="field">
          <span>{say("choice.street")}</span>
          <input
            type="search"
            value={text}
            maxLength={200}
            dir="auto"
            autocomplete="off"
            spellcheck={false}
            enterkeyhint="search"
            onInput={(e) => setText(e.currentTarget.value)}
          />
        </label>
      </form>
      <div role="status">
        {lost && <p>{say("find.lost")}</p>}
        {found && found.length === 0 && <p>{say("choice.found.none")}</p>}
        {found && found.length > 0 && (
          <p class={found.some((p) => p.forgiven) ? "" : "hidden"}>
            {found.some((p) => p.forgiven) ? say("find.forgiven") : say("find.count", { n: found.length })}
          </p>
        )}
      </div>
      {found && found.length > 0 && <Found list={found} use={props.use} />}
    </>
  );
}

/** Places by town, in the order of the best of each. */
function byTown(list: FoundPlace[]): [string, FoundPlace[]][] {
  const towns = new Map<string, FoundPlace[]>();
  for (const p of list) {
    const town = p.kind === "settlement" ? "" : (p.town ?? "");
    towns.set(town, [...(towns.get(town) ?? []), p]);
  }
  return [...towns];
}

function Found(props: { list: FoundPlace[]; use: (p: Place) => void }) {
  const twice = (p: FoundPlace) => props.list.some((q) => q !== p && q.name === p.name && q.town !== p.town);
  return (
    <div class="found">
      {byTown(props.list).map(([town, list]) => (
        <section key={town}>
          {town && <h3 dir="auto">{town}</h3>}
          <ul>
            {list.map((p, i) => (
              <li key={i}>
                <button
                  dir="auto"
                  onClick={() => props.use({ name: p.town && twice(p) ? `${p.name}, ${p.town}` : p.name, at: p.at })}
                >
                  <b>{p.name}</b>
                  <span>{under(p)}</span>
                </button>
              </li>
            ))}
          </ul>
        </section>
      ))}
    </div>
  );
}

/** What is told under a place's name. */
function under(p: FoundPlace): string {
  const parts = [];
  if (p.missing_number) parts.push(say("find.missing", { number: p.missing_number }));
  if (p.kind === "settlement" || p.kind === "postcode") parts.push(say(`find.${p.kind}`));
  if (p.kind === "settlement" && p.town) parts.push(p.town);
  if (p.away_m) parts.push(say("find.away", { away: far(p.away_m, settings.value.units) }));
  return parts.join(" · ");
}

import { useEffect, useState } from "preact/hooks";
import { ask, call, Fault, setToken, token } from "../api.ts";
import { begin } from "../begin.ts";
import { dogNow, dogs, serverKeeps, setDogs } from "../dogs.ts";
import { download } from "../download.ts";
import { mapInfo, zone } from "../mapinfo.ts";
import { dropAll } from "../outbox.ts";
import { Choose, Head } from "../parts.tsx";
import { answered, chosen, planWalks } from "../plan.ts";
import { setSettings, settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { Account, Person } from "../types.ts";
import { cut, dateWords, placeName } from "../words.ts";
import { Told } from "./more_told.tsx";
import "./more.css";

/** Who may see what, and how to take it all away. */
export function More() {
  const [account, setAccount] = useState<Account | undefined>();
  const [people, setPeople] = useState<Person[]>([]);
  const [fault, setFault] = useState("");
  const load = async () => {
    if (!serverKeeps.value) return;
    try {
      setAccount(await ask("get", "/v1/account"));
      setPeople(await ask("get", "/v1/people"));
    } catch (err) {
      if (!(err instanceof Fault && err.kind === "refused"))
        setFault(err instanceof Fault ? err.message : say("fault.server"));
    }
  };
  useEffect(() => void load(), [serverKeeps.value]);
  const set = settings.value;
  return (
    <>
      <Head title={say("more.title")} shown={true} />
      <main id="answer" tabIndex={-1} class="moreview">
        <section class="panel stack">
          <div class="row">
            <a class="button" href="#/after">
              {say("more.after")}
            </a>
            <a class="button" href="#/handout">
              {say("more.hand")}
            </a>
          </div>
          <h2>{say("more.settings")}</h2>
          <Setting label={say("more.units")}>
            <Choose
              label={say("more.units")}
              of={
                [
                  ["metric", say("more.units.metric")],
                  ["us", say("more.units.us")],
                ] as const
              }
              is={set.units}
              pick={(units) => {
                setSettings({ units });
                if (answered.peek()) void planWalks(chosen.peek()); // the server's words were the other ones
              }}
            />
          </Setting>
          <Setting label={say("more.clock")}>
            <Choose
              label={say("more.clock")}
              of={
                [
                  ["auto", say("more.clock.auto")],
                  ["h24", say("more.clock.h24")],
                  ["h12", say("more.clock.h12")],
                ] as const
              }
              is={set.clock}
              pick={(clock) => setSettings({ clock })}
            />
          </Setting>
          <Setting label={say("more.theme")}>
            <Choose
              label={say("more.theme")}
              of={
                [
                  ["auto", say("more.theme.auto")],
                  ["light", say("more.theme.light")],
                  ["dark", say("more.theme.dark")],
                ] as const
              }
              is={set.theme}
              pick={(theme) => setSettings({ theme })}
            />
          </Setting>
          <Setting label={say("more.role")}>
            <Choose
              label={say("more.role")}
              of={
                [
                  ["handler", say("more.role.handler")],
                  ["trainer", say("more.role.trainer")],
                  ["shelter", say("more.role.shelter")],
                ] as const
              }
              is={set.role}
              pick={(role) => setSettings({ role })}
            />
          </Setting>
          <label class="line">
            <input
              type="checkbox"
              checked={set.buzz}
              onChange={(e) => setSettings({ buzz: e.currentTarget.checked })}
            />
            {say("more.buzz")}
          </label>
          <label class="line">
            <input
              type="checkbox"
              checked={set.aloud}
              onChange={(e) => setSettings({ aloud: e.currentTarget.checked })}
            />
            {say("more.say")}
          </label>
          {account && (
            <label class="field">
              <span>{say("more.tracks")}</span>
              <select
                value={String(account.settings.keep_tracks_days)}
                onChange={(e) =>
                  void ask("put", "/v1/account/settings", {
                    body: { ...account.settings, keep_tracks_days: Number(e.currentTarget.value) },
                  })
                    .then(load)
                    .catch((err: Error) => setFault(err.message))
                }
              >
                {[...new Set([0, 30, 90, 365, 3650, account.settings.keep_tracks_days])]
                  .sort((a, b) => a - b)
                  .map((n) => (
                    <option key={n} value={String(n)}>
                      {say("more.days", { n })}
                    </option>
                  ))}
              </select>
            </label>
          )}
        </section>
        <section class="panel stack">
          <KeyForm done={() => void begin().then(load)} />
          {people.length > 0 && <People people={people} me={account?.you.id ?? ""} load={load} />}
        </section>
        <section class="panel stack">
          <h2>{say("more.export")}</h2>
          <Exports />
          <h2>{say("more.delete")}</h2>
          <Deletion />
          {account?.you.role === "keeper" && <AccountDeletion account={account} />}
          <p>{say("more.device.text")}</p>
          <button onClick={() => void forget()}>{say("more.device")}</button>
          <p role="alert">{fault}</p>
        </section>
        <Told account={account} />
        {mapInfo.value && (
          <p class="onpage small">
            {say("more.about", {
              map: placeName(mapInfo.value.name),
              date: mapInfo.value.map_time ? dateWords(new Date(mapInfo.value.map_time), zone()) : "",
              version: mapInfo.value.version,
            })}{" "}
            {say("map.credits")} <a href="./licences.txt">{say("more.licences")}</a>
          </p>
        )}
      </main>
    </>
  );
}

function Setting(props: { label: string; children: preact.ComponentChildren }) {
  return (
    <div>
      <p>
        <b>{props.label}</b>
      </p>
      {props.children}
    </div>
  );
}

/** The key that this device shows to the server. */
export function KeyForm(props: { done: () => void }) {
  const [text, setText] = useState("");
  return (
    <form
      class="stack"
      onSubmit={(e) => {
        e.preventDefault();
        setToken(text.trim());
        setText("");
        props.done();
      }}
    >
      <label class="field">
        <span>{say("more.key")}</span>
        <input value={text} autoComplete="off" onInput={(e) => setText(e.currentTarget.value)} />
      </label>
      <button disabled={!text.trim()}>{say("more.key.set")}</button>
      {!token() && <p class="small">{say("more.key.none")}</p>}
    </form>
  );
}

const roles = ["handler", "trainer", "keeper"] as const;

function People(props: { people: Person[]; me: string; load: () => Promise<void> }) {
  const [sure, setSure] = useState("");
  const [made, setMade] = useState("");
  const [name, setName] = useState("");
  const [role, setRole] = useState<Person["role"]>("handler");
  const [fault, setFault] = useState("");
  const attempt = (work: Promise<unknown>) =>
    void work
      .then(props.load)
      .then(() => setFault(""))
      .catch((err: Error) => setFault(err.message));
  /** The first key that is made shuts out whoever has none: this device has one of its own before. */
  const makeKey = async (p: Person) => {
    const key = async (id: string) => (await ask("post", "/v1/people/{id}/keys", { at: { id }, body: {} })).token;
    if (!token() && p.id !== props.me) setToken(await key(props.me));
    const made = await key(p.id);
    if (!token()) setToken(made);
    setMade(made);
  };
  const change = (p: Person, patch: { role?: Person["role"]; dogs?: string[] }) =>
    attempt(
      ask("put", "/v1/people/{id}", {
        at: { id: p.id },
        body: { name: p.name, role: p.role, dogs: p.dogs, ...patch },
      }),
    );
  const kept = dogs.value.flatMap((d) => (d.id ? [{ id: d.id, name: d.name }] : []));
  return (
    <div class="stack">
      <h2>{say("more.people")}</h2>
      <div class="scroll" tabIndex={0} role="region" aria-label={say("more.people")}>
        <table>
          <thead>
            <tr>
              <th scope="col">{say("people.name")}</th>
              <th scope="col">{say("people.role")}</th>
              <th scope="col">{say("people.key")}</th>
            </tr>
          </thead>
          <tbody>
            {props.people.map((p) => (
              <tr key={p.id}>
                <th scope="row">
                  <p dir="auto">{p.name}</p>
                  {p.id !== props.me &&
                    (sure === p.id ? (
                      <div class="stack" role="alert">
                        <p class="small">{say("people.remove.sure", { name: p.name })}</p>
                        <div class="row">
                          <button onClick={() => attempt(ask("delete", "/v1/people/{id}", { at: { id: p.id } }))}>
                            {say("people.remove.yes")}
                          </button>
                          <button onClick={() => setSure("")}>{say("people.remove.no")}</button>
                        </div>
                      </div>
                    ) : (
                      <button
                        class="plain"
                        aria-label={say("outing.remove", { name: p.name })}
                        onClick={() => setSure(p.id)}
                      >
                        {say("after.remove")}
                      </button>
                    ))}
                </th>
                <td>
                  {p.id === props.me ? (
                    say(`people.role.${p.role}`)
                  ) : (
                    <select
                      aria-label={`${say("people.role")}: ${p.name}`}
                      value={p.role}
                      onChange={(e) => change(p, { role: e.currentTarget.value as Person["role"] })}
                    >
                      {roles.map((r) => (
                        <option key={r} value={r}>
                          {say(`people.role.${r}`)}
                        </option>
                      ))}
                    </select>
                  )}
                  {p.role === "handler" && kept.length > 0 && (
                    <div class="row" role="group" aria-label={say("people.dogs.of", { name: p.name })}>
                      {kept.map((d) => (
                        <button
                          key={d.id}
                          dir="auto"
                          aria-pressed={p.dogs.includes(d.id)}
                          onClick={() =>
                            change(p, {
                              dogs: p.dogs.includes(d.id) ? p.dogs.filter((x) => x !== d.id) : [...p.dogs, d.id],
                            })
                          }
                        >
                          {cut(d.name)}
                        </button>
                      ))}
                    </div>
                  )}
                </td>
                <td>
                  <ul class="plainlist">
                    {p.keys
                      .filter((k) => !k.revoked && Date.parse(k.expires) > Date.now())
                      .map((k) => (
                        <li key={k.id} class="row">
                          <span class="grow small">
                            {say(k.seen ? "people.key.seen" : "people.key.unused", {
                              made: dateWords(new Date(k.created), zone()),
                              seen: k.seen ? dateWords(new Date(k.seen), zone()) : "",
                              ends: dateWords(new Date(k.expires), zone()),
                            })}
                          </span>
                          <button
                            aria-label={say("people.key.end.of", {
                              name: p.name,
                              made: dateWords(new Date(k.created), zone()),
                            })}
                            onClick={() => attempt(ask("delete", "/v1/keys/{id}", { at: { id: k.id } }))}
                          >
                            {say("people.key.end")}
                          </button>
                        </li>
                      ))}
                  </ul>
                  <button onClick={() => attempt(makeKey(p))} aria-label={`${say("people.make")}: ${p.name}`}>
                    {say("people.make")}
                  </button>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {made && (
        <div class="needwash stack" role="status">
          <code class="madekey">{made}</code>
          <p>{say("people.once")}</p>
          <button onClick={() => void navigator.clipboard?.writeText(made)}>{say("people.copy")}</button>
        </div>
      )}
      <form
        class="row"
        style={{ alignItems: "flex-end" }}
        onSubmit={(e) => {
          e.preventDefault();
          attempt(ask("post", "/v1/people", { body: { name: name.trim(), role } }));
          setName("");
        }}
      >
        <label class="field grow">
          <span>{say("people.name")}</span>
          <input value={name} maxLength={80} dir="auto" onInput={(e) => setName(e.currentTarget.value)} />
        </label>
        <label class="field grow">
          <span>{say("people.role")}</span>
          <select value={role} onChange={(e) => setRole(e.currentTarget.value as Person["role"])}>
            {roles.map((r) => (
              <option key={r} value={r}>
                {say(`people.role.${r}`)}
              </option>
            ))}
          </select>
        </label>
        <button disabled={!name.trim()}>{say("people.add")}</button>
      </form>
      <p role="alert">{fault}</p>
    </div>
  );
}

const asFile = (type: string, text: string): Blob => new Blob([text], { type });

function Exports() {
  const d = dogNow();
  const [fault, setFault] = useState("");
  if (!d) return null;
  const json = () =>
    d.id
      ? call("get", "/v1/dogs/{id}/export", { at: { id: d.id } })
          .then((r) => r.text())
          .then((t) => download("dog.json", asFile("application/json", t)))
          .catch((err: Error) => setFault(err.message))
      : download("dog.json", asFile("application/json", JSON.stringify(d, null, 1)));
  const table = (form: "csv" | "gpx") =>
    call("get", `/v1/dogs/{id}/export.${form}`, { at: { id: d.id ?? "" } })
      .then((r) => r.blob())
      .then((file) => download(`${say(`more.file.${form}`)}.${form}`, file))
      .catch((err: Error) => setFault(err.message));
  return (
    <>
      <div class="row">
        <button onClick={() => void json()}>{say("more.export.json")}</button>
        {d.id && <button onClick={() => void table("csv")}>{say("more.export.csv")}</button>}
        {d.id && <button onClick={() => void table("gpx")}>{say("more.export.gpx")}</button>}
      </div>
      <p role="alert">{fault}</p>
    </>
  );
}

/** Deletes what is named once its name was typed. */
function Deletion() {
  const d = dogNow();
  const [gone, setGone] = useState("");
  if (!d) return null;
  const remove = async () => {
    try {
      if (d.id) await ask("post", "/v1/dogs/{id}/deletion", { at: { id: d.id }, body: { name: d.name } });
      setDogs(
        dogs.value.filter((x) => x !== d),
        0,
      );
      setGone(say("more.delete.gone"));
    } catch (err) {
      setGone(err instanceof Fault ? err.message : say("fault.server"));
    }
  };
  return (
    <>
      <Typed
        ask={say("more.delete.type")}
        name={d.name}
        deed={say("more.delete.dog", { dog: d.name })}
        go={() => void remove()}
      />
      <p role="status">{gone}</p>
    </>
  );
}

/** The same for the account, of those who keep it: nothing of it is left, on the server or here. */
function AccountDeletion(props: { account: Account }) {
  const [fault, setFault] = useState("");
  const { name } = props.account;
  const remove = async () => {
    try {
      await ask("post", "/v1/account/deletion", { body: { name } });
      await forget();
    } catch (err) {
      setFault(err instanceof Fault ? err.message : say("fault.server"));
    }
  };
  return (
    <>
      <Typed
        ask={say("more.delete.account.type", { name })}
        name={name}
        deed={say("more.delete.account")}
        go={() => void remove()}
      />
      <p role="alert">{fault}</p>
    </>
  );
}

/** Leaves nothing on this device. */
const forget = async () => {
  await dropAll();
  localStorage.clear();
  location.reload();
};

function Typed(props: { ask: string; name: string; deed: string; go: () => void }) {
  const [typed, setTyped] = useState("");
  const right = typed === props.name;
  return (
    <form
      class="row"
      style={{ alignItems: "flex-end" }}
      onSubmit={(e) => {
        e.preventDefault();
        if (right) {
          setTyped("");
          props.go();
        }
      }}
    >
      <label class="field grow">
        <span>{props.ask}</span>
        <input value={typed} dir="auto" autoComplete="off" onInput={(e) => setTyped(e.currentTarget.value)} />
      </label>
      <button disabled={!right}>{props.deed}</button>
    </form>
  );
}

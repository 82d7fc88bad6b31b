// A past walk: when, its track if there is one, what was met.
import { useState } from "preact/hooks";
import { dogNow } from "../dogs.ts";
import type { Log, Meeting } from "../log.ts";
import { zone } from "../mapinfo.ts";
import { meetingWords } from "../meeting.ts";
import { newID } from "../outbox.ts";
import { Head } from "../parts.tsx";
import { keepPast, readTrack, type Track } from "../past.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { clock, cut, dayOf, instant } from "../words.ts";
import { Fill } from "./after.tsx";

const mostMinutes = 600;

export function Past() {
  const d = dogNow();
  const hourAgo = new Date(Math.floor((Date.now() - 36e5) / 3e5) * 3e5);
  const [day, setDay] = useState(dayOf(hourAgo, zone()));
  const [time, setTime] = useState(clock(hourAgo, zone(), "h24"));
  const [minutes, setMinutes] = useState(30);
  const [track, setTrack] = useState<Track | undefined>();
  const [bad, setBad] = useState(false);
  const [met, setMet] = useState<Meeting[]>([]);
  const [adding, setAdding] = useState(false);
  const [at, setAt] = useState("");
  const [saved, setSaved] = useState(false);
  const whole = /^\d{4}-\d\d-\d\d$/.test(day) && /^\d\d:\d\d$/.test(time) && minutes >= 1 && minutes <= mostMinutes;
  const started = whole ? instant(day, time, zone()) : undefined;
  const ended = started && new Date(started.getTime() + minutes * 6e4);
  const ahead = !!ended && ended.getTime() > Date.now();
  const log: Log = { id: "", dog: d?.name ?? "", needs: d?.needs ?? {}, zone: zone(), meetings: met };
  const hour = (t: Date) => clock(t, zone(), settings.value.clock);
  const take = async (file: File | undefined) => {
    if (!file) return;
    const read = readTrack(await file.text());
    setTrack(read);
    setBad(!read);
    if (!read) return;
    setDay(dayOf(read.begins, zone()));
    setTime(clock(read.begins, zone(), "h24"));
    setMinutes(Math.max(1, Math.round((read.ends.getTime() - read.begins.getTime()) / 6e4)));
  };
  const keep = async () => {
    if (!d || !started || !ended) return;
    await keepPast({ dog: d.name, needs: d.needs, zone: zone(), started, ended, met, track });
    setSaved(true);
    setMet([]);
    setTrack(undefined);
  };
  return (
    <>
      <Head title={say("past.title")} shown={true} />
      <main id="answer" tabIndex={-1} class="panel stack">
        <p>{say("past.text", { dog: cut(log.dog) })}</p>
        <div role="status">{saved && <p>{say("past.saved")}</p>}</div>
        {saved ? (
          <button onClick={() => setSaved(false)}>{say("past.another")}</button>
        ) : (
          <>
            <label class="field">
              <span>{say("past.file")}</span>
              <input
                type="file"
                accept=".gpx,application/gpx+xml"
                onChange={(e) => void take(e.currentTarget.files?.[0])}
              />
            </label>
            <div role="status">
              {track && (
                <p>{say("past.file.read", { n: track.points, from: hour(track.begins), to: hour(track.ends) })}</p>
              )}
              {bad && <p class="caution">{say("past.file.bad")}</p>}
            </div>
            <div class="row">
              <label class="field">
                <span>{say("choice.time.date")}</span>
                <input
                  type="date"
                  value={day}
                  max={dayOf(new Date(), zone())}
                  onInput={(e) => setDay(e.currentTarget.value)}
                />
              </label>
              <label class="field">
                <span>{say("choice.time.clock")}</span>
                <input type="time" value={time} onInput={(e) => setTime(e.currentTarget.value)} />
              </label>
              <label class="field">
                <span>{say("past.minutes")}</span>
                <input
                  type="number"
                  min="1"
                  max={mostMinutes}
                  value={minutes}
                  onInput={(e) => setMinutes(Number(e.currentTarget.value))}
                />
              </label>
            </div>
            {ahead && (
              <p class="caution" role="alert">
                {say("past.future")}
              </p>
            )}
            <h2>{say("past.met")}</h2>
            {met.length === 0 && !adding && <p>{say("past.nothing")}</p>}
            <ul class="list">
              {met.map((m) => (
                <li key={m.id} class="row">
                  <span class="grow">
                    <span class="num">{hour(new Date(m.at))}</span> {meetingWords(log, m)}
                  </span>
                  <button
                    aria-label={`${say("after.remove")}: ${meetingWords(log, m)}`}
                    onClick={() => setMet(met.filter((x) => x.id !== m.id))}
                  >
                    {say("after.remove")}
                  </button>
                </li>
              ))}
            </ul>
            {adding && started ? (
              <>
                <label class="field">
                  <span>{say("past.when")}</span>
                  <input type="time" value={at || time} onInput={(e) => setAt(e.currentTarget.value)} />
                </label>
                <Fill
                  saved={log}
                  meeting={{ id: newID(), at: started.toISOString(), sent: false }}
                  done={(p) => {
                    const t = instant(day, at || time, zone());
                    if (t < started) t.setUTCDate(t.getUTCDate() + 1); // past midnight
                    const m: Meeting = { id: newID(), at: t.toISOString(), sent: false, ...p };
                    setMet([...met, m].sort((a, b) => a.at.localeCompare(b.at)));
                    setAdding(false);
                    setAt("");
                  }}
                />
              </>
            ) : (
              <button disabled={!whole} onClick={() => setAdding(true)}>
                {say("after.add")}
              </button>
            )}
            <button class="main wide tall" disabled={!d || !whole || ahead} onClick={() => void keep()}>
              {say("past.save")}
            </button>
          </>
        )}
      </main>
    </>
  );
}

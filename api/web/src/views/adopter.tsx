// What can be told to somebody who may take a dog home, to be read and printed.
import { useEffect, useState } from "preact/hooks";
import { type AnswerOf, ask, type Fault, faultOf } from "../api.ts";
import type { PageDog } from "../dogs.ts";
import { zone } from "../mapinfo.ts";
import { PaperChoice, printPart } from "../paper.tsx";
import { FaultPanel } from "../parts.tsx";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { cut, dateWords } from "../words.ts";
import "./adopter.css";

type Note = AnswerOf<"get", "/v1/dogs/{id}/adopter">;

export function Adopter(props: { dog: PageDog & { id: string } }) {
  const { id, version, name } = props.dog;
  const [note, setNote] = useState<Note | undefined>();
  const [fault, setFault] = useState<Fault | undefined>();
  const [asked, setAsked] = useState(0);
  useEffect(() => {
    const stop = new AbortController();
    ask("get", "/v1/dogs/{id}/adopter", { at: { id }, signal: stop.signal })
      .then((got) => {
        setNote(got);
        setFault(undefined);
      })
      .catch((err) => !stop.signal.aborted && setFault(faultOf(err)));
    return () => stop.abort();
  }, [id, version, settings.value.units, asked]);
  return (
    <section class="panel stack adopter" aria-label={say("adopter.title", { dog: cut(name) })}>
      <h2 dir="auto">{say("adopter.title", { dog: cut(name) })}</h2>
      <p class="small">{say("adopter.made", { date: dateWords(new Date(), zone()) })}</p>
      {fault && <FaultPanel fault={fault} again={() => setAsked(asked + 1)} />}
      {note?.texts.map((t) => (
        <p key={t} dir="auto">
          {t}
        </p>
      ))}
      {note && (
        <div class="row screen">
          <button onClick={() => printPart("adopter")}>{say("adopter.print")}</button>
          <PaperChoice />
        </div>
      )}
    </section>
  );
}

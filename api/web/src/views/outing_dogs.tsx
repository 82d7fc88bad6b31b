// Which dogs go out, as a table: pasted, dropped or typed, and each cell to be changed.

import { useEffect, useRef, useState } from "preact/hooks";
import { dogs } from "../dogs.ts";
import {
  alsoColumns,
  alsoText,
  type Column,
  cellText,
  columns,
  emptyDog,
  experiences,
  merged,
  mostDogs,
  passedOver,
  readDogs,
  wants,
  withAlso,
  withCell,
} from "../dogtable.ts";
import { mapInfo } from "../mapinfo.ts";
import { asOutingDog, outing, setWish } from "../outing.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import type { OutingDog } from "../timetable.ts";
import type { Experience } from "../types.ts";
import { cut } from "../words.ts";
import "./outing_dogs.css";

/** The dogs of the demonstration give way to whatever is brought. */
export const demoDogs = (list: OutingDog[]): boolean => {
  const names = mapInfo.value?.demo?.outing.dogs.map((d) => d.dog?.name);
  return !!names && names.length === list.length && list.every((d, i) => d.dog.name === names[i]);
};

/** The text of a file: UTF-8, or what older programs write. */
async function textOf(file: File): Promise<string> {
  const bytes = await file.arrayBuffer();
  const text = new TextDecoder().decode(bytes);
  return text.includes("\ufffd") ? new TextDecoder("windows-1252").decode(bytes) : text;
}

export function DogTable() {
  const list = outing.wish.value.dogs;
  const units = settings.value.units;
  const [open, setOpen] = useState(-1);
  const [read, setRead] = useState<{ n: number; before: OutingDog[]; over?: string[] } | undefined>();
  const wanting = wants(list, units);
  const rows = useRef<HTMLTableSectionElement>(null);
  const back = useRef(-1); // the line that was closed has the focus again
  useEffect(() => {
    if (open >= 0 || back.current < 0) return;
    rows.current?.rows[back.current]?.querySelector("button")?.focus();
    back.current = -1;
  }, [open]);
  const put = (next: OutingDog[]) => setWish({ dogs: next });
  const take = (text: string) => {
    const found = readDogs(text, units);
    if (found.length === 0) return;
    setRead({ n: found.length, before: list, over: passedOver(text) });
    setOpen(-1);
    put(demoDogs(list) ? found : merged(list, found));
  };
  const kept = dogs.value.filter((d) => !list.some((x) => x.dog.name === d.name));
  return (
    <div class="stack">
      <Paste take={take} />
      <div class="row" role="status">
        {(read || wanting.length > 0) && (
          <p class="grow">
            <b>
              {read && say("table.read", { n: read.n })}{" "}
              {read?.over?.length ? `${say("table.passed", { list: read.over.map((x) => cut(x)).join(", ") })} ` : ""}
              {wanting.length > 0 &&
                say("table.wants", { n: wanting.length, list: wanting.map((w) => w.text).join(". ") })}
            </b>
          </p>
        )}
        {read && (
          <button
            onClick={() => {
              put(read.before);
              setRead(undefined);
              setOpen(-1);
            }}
          >
            {say("outing.note.undo")}
          </button>
        )}
      </div>
      {list.length > 0 && (
        <table class="dogtable">
          <caption class="hidden">{say("outing.choice.dogs")}</caption>
          <thead>
            <tr>
              {columns.map((c) => (
                <th key={c} scope="col">
                  {say(`table.col.${c}`)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody ref={rows}>
            {list.map((d, i) =>
              i === open ? (
                <EditRow
                  key={i}
                  dog={d}
                  change={(next) => put(outing.wish.value.dogs.map((x, k) => (k === i ? next : x)))}
                  remove={() => {
                    setOpen(-1);
                    put(list.filter((_, k) => k !== i));
                  }}
                  close={() => {
                    setOpen(-1);
                    back.current = i;
                  }}
                />
              ) : (
                <tr key={i} class={wanting.some((w) => w.row === i) ? "wanting" : ""}>
                  {columns.map((c) => (
                    <Cell key={c} dog={d} column={c} row={i} open={() => setOpen(i)} />
                  ))}
                </tr>
              ),
            )}
          </tbody>
        </table>
      )}
      <div class="row">
        <button
          disabled={list.length >= mostDogs}
          onClick={() => {
            put([...list, emptyDog()]);
            setOpen(list.length);
          }}
        >
          {say("table.add")}
        </button>
        {list.length > 0 && (
          <button
            onClick={() => {
              setRead({ n: 0, before: list });
              setOpen(-1);
              put([]);
            }}
          >
            {say("table.clear")}
          </button>
        )}
      </div>
      {kept.length > 0 && (
        <div class="row">
          <b>{say("outing.dog.kept")}</b>
          {kept.map((d) => (
            <button key={d.name} dir="auto" onClick={() => put([...list, asOutingDog(d)])}>
              {cut(d.name)}
            </button>
          ))}
        </div>
      )}
      {list.some((d) => d.bite) && <p class="small">{say("caution.outing")}</p>}
    </div>
  );
}

/** Where a table is pasted, typed, dropped or chosen as a file. */
function Paste(props: { take: (text: string) => void }) {
  const [text, setText] = useState("");
  const [over, setOver] = useState(false);
  const file = useRef<HTMLInputElement>(null);
  const done = (all: string) => {
    setText("");
    props.take(all);
  };
  const fileTaken = (f: File | undefined) => f && void textOf(f).then(done);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: a file can be dropped here; the button beside it does the same
    <div
      class={over ? "paste stack over" : "paste stack"}
      onDragOver={(e) => {
        e.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(e) => {
        e.preventDefault();
        setOver(false);
        const dropped = e.dataTransfer;
        if (dropped?.files.length) fileTaken(dropped.files[0]);
        else if (dropped?.getData("text")) done(dropped.getData("text"));
      }}
    >
      <label class="field">
        <span>{say("table.paste")}</span>
        <textarea
          rows={3}
          value={text}
          placeholder={say("table.example")}
          spellcheck={false}
          onPaste={(e) => {
            const pasted = e.clipboardData?.getData("text") ?? "";
            if (!pasted.trim() || text.trim()) return;
            e.preventDefault();
            done(pasted);
          }}
          onInput={(e) => setText(e.currentTarget.value)}
        />
      </label>
      <div class="row">
        {text.trim() !== "" && <button onClick={() => done(text)}>{say("table.take")}</button>}
        <button onClick={() => file.current?.click()}>{say("table.file")}</button>
        <input
          ref={file}
          type="file"
          class="gone"
          accept=".csv,.tsv,.txt,text/csv,text/plain,text/tab-separated-values"
          aria-label={say("table.file")}
          tabIndex={-1}
          onChange={(e) => {
            fileTaken(e.currentTarget.files?.[0]);
            e.currentTarget.value = "";
          }}
        />
      </div>
    </div>
  );
}

/** A cell as text; the first opens the line. */
function Cell(props: { dog: OutingDog; column: Column; row: number; open: () => void }) {
  const { dog, column } = props;
  const text = cellText(dog, column, settings.value.units);
  const unread = dog.raw?.[column] !== undefined;
  const shown = text || (unread ? say(`table.ask.${column === "name" ? "name" : "room"}`) : "");
  if (column === "name")
    return (
      <th scope="row">
        <button class="cellname" dir="auto" onClick={props.open}>
          {cut(dog.dog.name) || shown}
        </button>
        {dog.also && (
          <span class="small" dir="auto">
            {alsoColumns
              .filter((c) => alsoText(dog, c))
              .map((c) => `${say(`table.also.${c}`)}: ${alsoText(dog, c)}`)
              .join(" · ")}
          </span>
        )}
      </th>
    );
  const known = column === "minutes" && !unread ? say("unit.min", { n: dog.minutes }) : shown;
  return (
    <td class={unread ? "num unread" : "num"}>
      {column === "bite" && dog.bite && !unread ? <span class="mark">{known}</span> : cut(known)}
    </td>
  );
}

/** A line with its cells to be changed; what is typed counts at once. */
function EditRow(props: { dog: OutingDog; change: (d: OutingDog) => void; remove: () => void; close: () => void }) {
  const d = props.dog;
  const units = settings.value.units;
  const line = useRef<HTMLTableRowElement>(null);
  useEffect(() => {
    const fields = line.current?.querySelectorAll("input");
    ([...(fields ?? [])].find((f) => f.ariaInvalid === "true") ?? fields?.[0])?.focus();
  }, []);
  const [texts, setTexts] = useState(
    () => Object.fromEntries(columns.map((c) => [c, cellText(d, c, units)])) as Record<Column, string>,
  );
  const [unread] = useState(() => alsoColumns.some((c) => d.raw?.[c] !== undefined));
  const type = (c: Column, text: string) => {
    setTexts({ ...texts, [c]: text });
    props.change(withCell(d, c, text, units));
  };
  const field = (c: "name" | "room" | "minutes") => (
    <label class={`field cell-${c}`}>
      <span>{say(`table.col.${c}`)}</span>
      <input
        value={texts[c]}
        dir={c === "name" ? "auto" : undefined}
        inputMode={c === "minutes" ? "numeric" : undefined}
        aria-invalid={d.raw?.[c] !== undefined}
        onInput={(e) => type(c, e.currentTarget.value)}
      />
    </label>
  );
  return (
    <tr class={d.raw ? "editing wanting" : "editing"} ref={line}>
      <td colSpan={columns.length}>
        <fieldset class="row top">
          <legend class="hidden">{say("table.edit", { dog: d.dog.name })}</legend>
          {field("name")}
          {field("room")}
          {field("minutes")}
          <label class="field cell-who">
            <span>{say("table.col.who")}</span>
            <select
              value={d.bite ? "experienced" : d.experience}
              disabled={d.bite}
              onChange={(e) => {
                const { who: _, ...raw } = d.raw ?? {};
                const { raw: __, ...rest } = d;
                const experience = e.currentTarget.value as Experience;
                props.change({ ...rest, experience, ...(Object.keys(raw).length ? { raw } : {}) });
              }}
            >
              {experiences.map((x) => (
                <option key={x} value={x}>
                  {say(`table.is.${x}`)}
                </option>
              ))}
            </select>
          </label>
          <label class="line">
            <input
              type="checkbox"
              checked={d.bite}
              onChange={(e) =>
                props.change(withCell(d, "bite", e.currentTarget.checked ? say("outing.bite") : "", units))
              }
            />
            {say("outing.dog.bite")}
          </label>
          <button aria-label={say("outing.remove", { name: d.dog.name })} onClick={props.remove}>
            {say("after.remove")}
          </button>
          <button onClick={props.close}>{say("limit.done")}</button>
          <details class="alsos" open={unread}>
            <summary>{say("table.also")}</summary>
            <div class="row top">
              {alsoColumns.map((c) => (
                <AlsoField key={c} dog={d} column={c} change={props.change} />
              ))}
            </div>
          </details>
        </fieldset>
      </td>
    </tr>
  );
}

/** A cell of the house, as it is typed. */
function AlsoField(props: { dog: OutingDog; column: (typeof alsoColumns)[number]; change: (d: OutingDog) => void }) {
  const { dog, column } = props;
  const [text, setText] = useState(() => alsoText(dog, column));
  return (
    <label class="field cell-also">
      <span>{say(`table.also.${column}`)}</span>
      <input
        value={text}
        dir="auto"
        placeholder={say(`table.also.like.${column}`)}
        aria-invalid={dog.raw?.[column] !== undefined}
        onInput={(e) => {
          setText(e.currentTarget.value);
          props.change(withAlso(dog, column, e.currentTarget.value));
        }}
      />
    </label>
  );
}

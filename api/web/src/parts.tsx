// Pieces that several views share.

import type { ComponentChildren } from "preact";
import type { Fault } from "./api.ts";
import { Words } from "./nav.tsx";
import { say } from "./strings.ts";
import { goTo } from "./view.ts";
import { phase } from "./walking.ts";
import "./parts.css";

/** The head of a view: its name, what is asked, and on wide screens the words. */
export function Head(props: { title: string; shown?: boolean; children?: ComponentChildren }) {
  return (
    <>
      <header class="head">
        <div class="ask">
          <h1 class={props.shown ? "name shown" : "name"} dir="auto">
            {props.title}
          </h1>
          {props.children}
        </div>
        <div class="only-wide">
          <Words />
        </div>
      </header>
      <div class="only-narrow foot-words">
        <Words />
      </div>
    </>
  );
}

/** What went wrong, what is kept, what to do. */
export function FaultPanel(props: { fault: Fault; again: () => void }) {
  const f = props.fault;
  const p = f.problem;
  const text = {
    offline: say("fault.offline"),
    busy: say("fault.busy", { n: f.retryS }),
    token: say("fault.token"),
    slow: say("fault.slow"),
    server: say("fault.server"),
    refused: say("fault.field", { what: p?.errors?.[0]?.message ?? p?.detail ?? "" }),
  }[f.kind];
  return (
    <div class="caution stack" role="alert">
      <p>{text}</p>
      <div class="row">
        {f.kind === "token" ? (
          <button class="main" onClick={() => goTo("more")}>
            {say("fault.token.do")}
          </button>
        ) : (
          f.kind !== "busy" && (
            <button class="main" onClick={props.again}>
              {say("fault.again")}
            </button>
          )
        )}
        {f.kind === "offline" && ["ready", "on"].includes(phase()) && (
          <button onClick={() => goTo("go")}>{say("fault.saved")}</button>
        )}
      </div>
      {p?.instance && (
        <details class="small">
          <summary>{say("fault.details")}</summary>
          {p.instance}
        </details>
      )}
    </div>
  );
}

/** A line that screen readers are told politely. */
export function Status(props: { children: ComponentChildren }) {
  return (
    // Not on paper: a part before the sheets, empty as it is, would take a page of its own there.
    <div role="status" aria-live="polite" class="screen">
      {props.children}
    </div>
  );
}

/** Choices of which one holds, as a group of buttons. */
export function Choose<T extends string>(props: {
  label: string;
  of: readonly (readonly [T, string])[];
  is: T;
  pick: (v: T) => void;
}) {
  return (
    <div role="group" aria-label={props.label} class="row">
      {props.of.map(([v, word]) => (
        <button key={v} aria-pressed={v === props.is} onClick={() => props.pick(v)}>
          {word}
        </button>
      ))}
    </div>
  );
}

// Why the first dog goes out when it does, and what else shapes the list: one at a time.

import { useState } from "preact/hooks";
import { keepSpare, outing } from "../outing.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { type Kept, onlyOne, outAlone } from "../timetable.ts";
import type { Timetable } from "../types.ts";
import { cut, exact } from "../words.ts";
import { at } from "./outing_list.tsx";

type Lead = NonNullable<Timetable["lead"]>;

const meetMin = 3; // minutes at the gate before a walk: the rule on the list

function leadWords(k: Kept, l: Lead): string {
  const t = k.timetable;
  switch (l.cause) {
    case "people":
      return l.from_minute === meetMin && l.minute === meetMin
        ? say("outing.lead.people.meet", { start: at(t.start) })
        : say("outing.lead.people", { dog: cut(l.dog) });
    case "room":
      return say("outing.lead.room", {
        dog: cut(l.dog),
        other: cut(l.other ?? ""),
        need: exact(l.need_m ?? 0, settings.value.units),
      });
    case "calmer":
      return say("outing.lead.calmer", { n: l.spare_minutes ?? 0 });
    case "spare":
      return say("outing.lead.spare", {
        walks: t.rows.length,
        takes: l.takes_minutes,
        minutes: t.minutes,
        n: l.spare_minutes ?? 0,
      });
  }
}

export function WhyThen(props: { kept: Kept }) {
  const k = props.kept;
  const [shown, setShown] = useState(0);
  const t = k.timetable;
  const units = settings.value.units;
  const first = t.rows.find((r) => r.dog === t.lead?.dog);
  const lead = first && first.start_minute === t.lead?.minute ? t.lead : undefined; // not any more, once the day has changed it
  const spare = lead?.cause === "spare";
  const alone = outAlone(t);
  const reasons = [
    ...(lead && first
      ? [
          spare && k.spareKept
            ? { head: "", text: say("outing.lead.kept", { n: lead.spare_minutes ?? 0, meet: at(first.meet) }) }
            : {
                head: say("outing.lead.head", { time: at(first.leave), start: at(t.start) }),
                text: leadWords(k, lead),
              },
        ]
      : []),
    ...(alone
      ? [
          {
            head: "",
            text: say("outing.lead.alone", {
              dog: cut(alone.dog),
              need: exact(alone.need_m, units),
              from: at(alone.leave),
              to: at(alone.back_by),
            }),
          },
        ]
      : []),
    ...onlyOne(k).map((o) => ({
      head: "",
      text: say("outing.lead.only", { person: cut(o.person), dogs: o.dogs.map(cut).join(", ") }),
    })),
  ];
  const i = Math.min(shown, reasons.length - 1);
  const reason = reasons[i];
  if (!reason) return null;
  return (
    <div class="whythen row">
      <p class="grow num" role="status">
        {reason.head && <b>{reason.head}</b>} {reason.text}
      </p>
      {spare && i === 0 && !k.spareKept && (
        <button disabled={outing.doing.value !== "nothing"} onClick={keepSpare}>
          {say("outing.lead.keep")}
        </button>
      )}
      {reasons.length > 1 && (
        <button class="plain" onClick={() => setShown((i + 1) % reasons.length)}>
          {say("outing.lead.next")}
        </button>
      )}
    </div>
  );
}

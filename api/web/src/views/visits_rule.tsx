// When a sequence moves on: told to everybody, changed by trainers.
import { useEffect, useState } from "preact/hooks";
import { say } from "../strings.ts";
import type { MoveRule, Progress } from "../types.ts";
import { shareOf } from "../visit_words.ts";
import { keepRule, type VisitsDoc, visits } from "../visits.ts";

const share = (x: number): string => say("visits.rule.share", shareOf(x));

const inARow = (n: number): string => say("visits.visits", { n });

const choices = {
  visits_in_a_row: [1, 2, 3, 4, 5],
  handled_share: [0.6, 0.7, 0.8, 0.9, 1],
  over_for_back: [1, 2, 3],
  refusals_for_back: [1, 2, 3, 4, 5],
} as const;
type Part = keyof typeof choices;
const words: Record<Part, (n: number) => string> = {
  visits_in_a_row: inARow,
  handled_share: share,
  over_for_back: String,
  refusals_for_back: String,
};

/** The parts of the rule, for trainers; the rule itself is among the facts of the next visit. */
export function Rule(props: { doc: VisitsDoc; progress: Progress }) {
  const { doc, progress } = props;
  const [rule, setRule] = useState<MoveRule>(progress.rule);
  const now = JSON.stringify(progress.rule);
  useEffect(() => setRule(JSON.parse(now) as MoveRule), [doc.id, now]);
  return (
    <details>
      <summary class="line">{say("visits.rule.change")}</summary>
      <form
        class="choice stack"
        onSubmit={(e) => {
          e.preventDefault();
          void keepRule(doc, rule);
        }}
      >
        {(Object.keys(choices) as Part[]).map((part) => (
          <label key={part} class="field">
            <span>{say(`visits.rule.${part}`)}</span>
            <select
              value={String(rule[part])}
              onChange={(e) => setRule({ ...rule, [part]: Number(e.currentTarget.value) })}
            >
              {[...new Set([...choices[part], rule[part]])]
                .sort((a, b) => a - b)
                .map((n) => (
                  <option key={n} value={String(n)}>
                    {words[part](n)}
                  </option>
                ))}
            </select>
          </label>
        ))}
        <button class="main" disabled={JSON.stringify(rule) === now || visits.doing.value === "changing"}>
          {say("visits.rule.keep")}
        </button>
        <p class="small">{say("visits.rule.from")}</p>
      </form>
    </details>
  );
}

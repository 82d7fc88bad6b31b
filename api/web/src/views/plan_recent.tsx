// The last plans, each a link to its address.
import { written } from "../address.ts";
import { recent } from "../answers.ts";
import { zone } from "../mapinfo.ts";
import { wish } from "../plan.ts";
import { settings } from "../settings.ts";
import { say } from "../strings.ts";
import { clock, cut, shortAnswer, weekday } from "../words.ts";

export function Recent() {
  const now = written(wish.value).toString();
  const list = recent.value.filter((h) => written(h.wish).toString() !== now);
  if (list.length === 0) return null;
  return (
    <section class="panel stack recent">
      <h2>{say("recent.title")}</h2>
      <ul>
        {list.map((h) => {
          const t = new Date(h.depart);
          const what = [
            `${weekday(t, zone())} ${clock(t, zone(), settings.value.clock)}`,
            say("plan.short", { minutes: h.wish.minutes, shape: say(`plan.shape.${h.wish.shape}`) }),
            cut(h.dog),
            cut(h.wish.from?.name ?? ""),
          ];
          return (
            <li key={h.key}>
              <a href={`#/plan?${written(h.wish)}`} dir="auto">
                {what.filter(Boolean).join(" · ")}
              </a>{" "}
              <span class="num">{shortAnswer(h.calm)}</span>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

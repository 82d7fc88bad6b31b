import { effect } from "@preact/signals";
import { type JSX, render } from "preact";
import { useEffect } from "preact/hooks";
import { followPlan, showMode, showWeek } from "./address.ts";
import { loadRecent } from "./answers.ts";
import { begin } from "./begin.ts";
import { dogName } from "./dogs.ts";
import { Textures } from "./draw.tsx";
import { mapFault, mapInfo } from "./mapinfo.ts";
import { firstView } from "./nav.tsx";
import { startOutbox } from "./outbox.ts";
import { dressPaper } from "./paper.tsx";
import { FaultPanel } from "./parts.tsx";
import { wish } from "./plan.ts";
import { dress, setNight, settings } from "./settings.ts";
import { say } from "./strings.ts";
import { isNight } from "./sun.ts";
import { followAddress, followNetwork, goTo, view } from "./view.ts";
import { After } from "./views/after.tsx";
import { Dog } from "./views/dog.tsx";
import { Dogs } from "./views/dogs.tsx";
import { Go } from "./views/go.tsx";
import { HandOut } from "./views/handout.tsx";
import { KeyForm, More } from "./views/more.tsx";
import { Outing } from "./views/outing.tsx";
import { Past } from "./views/past.tsx";
import { Plan } from "./views/plan.tsx";
import { Setups } from "./views/setups.tsx";
import { Visits } from "./views/visits.tsx";
import { VisitGo } from "./views/visits_go.tsx";
import { WhereToGo } from "./views/where.tsx";
import { resumeVisit, visiting } from "./visiting.ts";
import { phase, resumeWalk } from "./walking.ts";

type View = { title: () => string; draw: () => JSX.Element };

const views: Record<string, View> = {
  plan: { title: () => say("plan.title"), draw: () => <Plan /> },
  go: { title: () => say("go.title"), draw: () => <Go /> },
  after: { title: () => say("after.title"), draw: () => <After /> },
  where: { title: () => say("where.title"), draw: () => <WhereToGo /> },
  past: { title: () => say("past.title"), draw: () => <Past /> },
  dog: { title: () => dogName() || say("nav.dog"), draw: () => <Dog /> },
  handout: { title: () => say("hand.title"), draw: () => <HandOut /> },
  outing: { title: () => say("outing.title"), draw: () => <Outing /> },
  dogs: { title: () => say("dogs.title"), draw: () => <Dogs /> },
  visits: { title: () => say("visits.title"), draw: () => <Visits /> },
  setups: { title: () => say("setups.title"), draw: () => <Setups /> },
  visit: { title: () => say("visit.title"), draw: () => <VisitGo /> },
  more: { title: () => say("more.title"), draw: () => <More /> },
};

/** What is under way has the screen for itself. */
function bare(): boolean {
  if (view.value === "go") return phase() === "on";
  const v = visiting.value;
  return view.value === "visit" && !!v?.started && !v.ended;
}

function App() {
  const shown = views[view.value] ?? views.plan!;
  const title = shown.title();
  useEffect(() => {
    document.title = title;
  }, [title]);
  const fault = mapFault.value;
  return (
    <div class="frame">
      {!bare() && (
        // biome-ignore lint/a11y/useValidAnchor: it leads to a place on this page, where the hash names the view
        <a
          class="skip button"
          href="#answer"
          onClick={(e) => {
            e.preventDefault();
            document.getElementById("answer")?.focus();
          }}
        >
          {say("skip.answer")}
        </a>
      )}
      <Textures />
      {!mapInfo.value && fault ? (
        <main class="panel">
          <h1>{say("app.name")}</h1>
          <FaultPanel fault={fault} again={() => void begin()} />
          {fault.kind === "token" && <KeyForm done={() => void begin()} />}
        </main>
      ) : (
        shown.draw()
      )}
    </div>
  );
}

dress();
dressPaper();
followNetwork();
followAddress(
  (name) => name in views,
  () => firstView(settings.value.role),
);
effect(() => {
  const at = view.value === "go" ? wish.peek().from?.at : undefined;
  setNight(!!at && isNight(new Date(), at.lat, at.lon)); // on the walk by the sun, else by the device
});
render(<App />, document.getElementById("page")!);
// Addresses of before: what they showed is on Plan.
const former = () => {
  if (location.hash === "#/when") showWeek(true);
  if (location.hash === "#/around") showMode("streets");
};
former();
addEventListener("hashchange", former);
void Promise.all([begin(), loadRecent()]).then(followPlan);
void startOutbox();
void resumeWalk().then((on) => on && view.value !== "go" && goTo("go"));
void resumeVisit().then((on) => on && view.value !== "visit" && goTo("visit"));
if ("serviceWorker" in navigator) void navigator.serviceWorker.register("./sw.js").catch(() => undefined); // without it the page only lacks its offline copy

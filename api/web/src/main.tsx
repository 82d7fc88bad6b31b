import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Textures } from "./draw.tsx";
import { loadDogs } from "./memory.ts";
import { firstView } from "./nav.tsx";
import { startOutbox } from "./outbox.ts";
import { FaultPanel } from "./parts.tsx";
import { begin, dogName, dress, goTo, set, state, useAppState } from "./state.ts";
import { say } from "./strings.ts";
import { isNight } from "./sun.ts";
import { After } from "./views/after.tsx";
import { Around } from "./views/around.tsx";
import { Dog } from "./views/dog.tsx";
import { Dogs } from "./views/dogs.tsx";
import { Go } from "./views/go.tsx";
import { HandOut } from "./views/handout.tsx";
import { KeyForm, More } from "./views/more.tsx";
import { Outing } from "./views/outing.tsx";
import { Plan } from "./views/plan.tsx";
import { Visits } from "./views/visits.tsx";
import { VisitGo } from "./views/visits_go.tsx";
import { When } from "./views/when.tsx";
import { resumeVisit, visiting } from "./visiting.ts";
import { resumeWalk, walking } from "./walking.ts";

type View = { title: () => string; draw: () => preact.JSX.Element };

const views: Record<string, View> = {
  plan: { title: () => say("plan.title"), draw: () => <Plan /> },
  when: { title: () => say("when.title"), draw: () => <When /> },
  around: { title: () => say("around.title"), draw: () => <Around /> },
  go: { title: () => say("go.title"), draw: () => <Go /> },
  after: { title: () => say("after.title"), draw: () => <After /> },
  dog: { title: () => dogName() || say("nav.dog"), draw: () => <Dog /> },
  handout: { title: () => say("hand.title"), draw: () => <HandOut /> },
  outing: { title: () => say("outing.title"), draw: () => <Outing /> },
  dogs: { title: () => say("dogs.title"), draw: () => <Dogs /> },
  visits: { title: () => say("visits.title"), draw: () => <Visits /> },
  visit: { title: () => say("visit.title"), draw: () => <VisitGo /> },
  more: { title: () => say("more.title"), draw: () => <More /> },
};

function App() {
  const s = useAppState();
  const [, redraw] = useState(0);
  useEffect(() => {
    const on = () => {
      const view = location.hash.replace(/^#\//, "").split("?")[0] || firstView(state.settings.role);
      set({ view: views[view] ? view : "plan" });
      window.scrollTo(0, 0);
    };
    const net = () => set({ online: navigator.onLine });
    const units = () => redraw((n) => n + 1);
    on();
    addEventListener("hashchange", on);
    addEventListener("online", net);
    addEventListener("offline", net);
    document.addEventListener("dressed", units);
    return () => {
      removeEventListener("hashchange", on);
      removeEventListener("online", net);
      removeEventListener("offline", net);
      document.removeEventListener("dressed", units);
    };
  }, []);
  const view = views[s.view] ?? views.plan!;
  const title = view.title();
  useEffect(() => {
    document.title = title;
  }, [title]);
  useEffect(() => {
    const at = s.wish.from?.at;
    dress(s.view === "go" && !!at && isNight(new Date(), at.lat, at.lon)); // on the walk by the sun, else by the device
  }, [s.view]);
  const bare =
    (s.view === "go" && walking.value.is === "on") ||
    (s.view === "visit" && !!visiting.saved?.started && !visiting.saved.ended);
  return (
    <div class="frame">
      {!bare && (
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
      {!s.map && s.mapFault ? (
        <main class="panel">
          <h1>{say("app.name")}</h1>
          <FaultPanel fault={s.mapFault} again={() => void begin().then(loadDogs)} />
          {s.mapFault.kind === "token" && <KeyForm done={() => void begin().then(loadDogs)} />}
        </main>
      ) : (
        view.draw()
      )}
    </div>
  );
}

dress();
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => dress());
render(<App />, document.getElementById("page")!);
void begin().then(loadDogs);
void startOutbox();
void resumeWalk().then((on) => on && state.view !== "go" && goTo("go"));
void resumeVisit().then((on) => on && state.view !== "visit" && goTo("visit"));
if ("serviceWorker" in navigator) void navigator.serviceWorker.register("./sw.js").catch(() => undefined); // without it the page only lacks its offline copy

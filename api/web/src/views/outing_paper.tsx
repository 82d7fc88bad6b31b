// Hand-outs of an outing on the screen and on paper.

import { call } from "../api.ts";
import { handOutBody } from "../outing.ts";
import { paper } from "../paper.tsx";
import { say } from "../strings.ts";
import { ShownSheets } from "./sheets_shown.tsx";

/** The server's sheets of some walks, of all if none is named. */
export function Sheets(props: { dogs: string[]; print: boolean; close: () => void }) {
  const { dogs } = props;
  return (
    <ShownSheets
      title={say("outing.hand.title")}
      of={dogs.join("\n")}
      draw={async (signal) => {
        const body = handOutBody(dogs, paper.value);
        return (await call("post", "/v1/outings/handouts", { body, accept: "text/html", signal })).text();
      }}
      part={dogs.length ? "sheets" : ""} // one person's sheet goes without the list for the wall
      print={props.print}
      close={props.close}
    />
  );
}

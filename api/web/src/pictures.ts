// Pictures that the server draws, as the elements they consist of: nothing that
// comes as text is ever taken as markup.
import { type BodyOf, call } from "./api.ts";

export function readPicture(text: string): SVGElement {
  const svg = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  if (svg.nodeName !== "svg") throw new Error("no picture came back");
  return document.importNode(svg, true) as unknown as SVGElement;
}

/** The map or the strip of a walk. */
export async function walkPicture(body: BodyOf<"post", "/v1/pictures">): Promise<SVGElement> {
  const r = await call("post", "/v1/pictures", { body, accept: "image/svg+xml" });
  return readPicture(await r.text());
}

// Sheets that the server draws, on the page as on paper.
import "./sheets.css";

const sheetPX = (230 * 96) / 25.4; // 210 mm and some paper about it

/** Makes the whole sheet fit the screen's width; the printer takes it as it is. */
function fit(box: HTMLElement): void {
  box.style.setProperty("--fit", String(Math.min(1, (box.parentElement?.clientWidth ?? sheetPX) / sheetPX)));
}

/** Puts the server's sheets into a holder; done when they are dressed. */
export async function fillSheets(target: HTMLElement, html: string, paper: string): Promise<void> {
  const doc = new DOMParser().parseFromString(html, "text/html");
  const root = target.shadowRoot ?? target.attachShadow({ mode: "open" });
  const style = document.createElement("link");
  style.rel = "stylesheet";
  style.href = "/handout.css";
  const dressed = new Promise((done) => {
    style.onload = style.onerror = done;
  });
  const sheet = document.createElement("div");
  sheet.className = paper;
  sheet.append(...[...doc.body.childNodes].map((n) => document.importNode(n, true)));
  // One main a page: inside the view the sheets are sections.
  for (const m of sheet.querySelectorAll("main")) {
    const section = document.createElement("section");
    section.className = m.className;
    section.append(...m.childNodes);
    m.replaceWith(section);
  }
  root.replaceChildren(style, sheet);
  fit(target);
  await dressed;
}

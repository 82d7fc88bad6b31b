// The colours and the few pictures that the map is drawn with. No line and no band has a
// pattern: only fixed sources are hatched.

export type Tokens = Record<string, string>;

const tokenNames = [
  ...["sheet", "ground", "block", "blockEdge", "green", "water", "waterLine", "ink", "ink2", "need"],
  ...["k1", "k2", "k3", "k4", "k1Edge", "kEdge", "k4Edge"],
  ...["mapSheet", "mapInk", "walkEdge", "street", "streetEdge"],
];

export function tokens(): Tokens {
  const css = getComputedStyle(document.documentElement);
  return Object.fromEntries(tokenNames.map((n) => [n, css.getPropertyValue(`--${n}`).trim()]));
}

export const ratio = 2;

/** A small picture drawn on a canvas. */
function picture(w: number, h: number, draw: (c: CanvasRenderingContext2D) => void): ImageData {
  const canvas = document.createElement("canvas");
  canvas.width = w * ratio;
  canvas.height = h * ratio;
  const c = canvas.getContext("2d", { willReadFrequently: true })!;
  c.scale(ratio, ratio);
  draw(c);
  return c.getImageData(0, 0, canvas.width, canvas.height);
}

/** A filled arrowhead that points to the right. */
const head = (t: Tokens, high: number) =>
  picture(20, high + 4, (c) => {
    const shape = (grow: number) => {
      c.beginPath();
      c.moveTo(18 + grow, high / 2 + 2);
      c.lineTo(2 - grow / 2, 2 - grow / 2);
      c.lineTo(2 - grow / 2, high + 2 + grow / 2);
      c.closePath();
    };
    c.lineJoin = "round";
    shape(0);
    c.strokeStyle = t.mapSheet!;
    c.lineWidth = 3.2;
    c.stroke();
    c.fillStyle = t.mapInk!;
    c.fill();
  });

const plate = (w: number, edge: string, fill: string) =>
  picture(w, 24, (c) => {
    c.fillStyle = edge;
    c.fillRect(0, 0, w, 24);
    c.fillStyle = fill;
    c.fillRect(1.5, 1.5, w - 3, 21);
  });

export function images(t: Tokens): Record<string, ImageData> {
  return {
    "tex-source": picture(8, 8, (c) => {
      c.strokeStyle = t.ink2!;
      c.lineWidth = 1.1;
      c.beginPath();
      c.moveTo(4, 1.5);
      c.lineTo(4, 6.5);
      c.moveTo(1.5, 4);
      c.lineTo(6.5, 4);
      c.stroke();
    }),
    head: head(t, 16),
    "head-small": head(t, 12),
    plate: plate(24, t.sheet!, t.ink!),
    "plate-wide": plate(40, t.sheet!, t.ink!),
    letter: plate(24, t.ink!, t.sheet!),
    door: picture(26, 26, (c) => {
      c.fillStyle = t.sheet!;
      c.fillRect(0, 0, 26, 26);
      c.strokeStyle = t.ink!;
      c.lineWidth = 3.4;
      c.strokeRect(4.5, 4.5, 17, 28);
    }),
    stand: picture(36, 15, (c) => {
      c.fillStyle = t.sheet!;
      c.fillRect(0, 0, 36, 15);
      c.fillStyle = t.ink!;
      c.fillRect(3, 3, 30, 9);
    }),
    minute: picture(14, 14, (c) => {
      c.fillStyle = t.mapSheet!;
      c.strokeStyle = t.mapInk!;
      c.lineWidth = 2.4;
      c.beginPath();
      c.arc(7, 7, 5, 0, 7);
      c.fill();
      c.stroke();
    }),
  };
}

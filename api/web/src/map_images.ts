// The pictures that the map is drawn with: patterns of the levels, lines, signs.

export type Tokens = Record<string, string>;

const tokenNames = [
  "page",
  "sheet",
  "ground",
  "block",
  "blockEdge",
  "green",
  "water",
  "waterLine",
  "ink",
  "ink2",
  "rule",
  "need",
  "h1",
  "h2",
  "h3",
  "h4",
];

export function tokens(): Tokens {
  const css = getComputedStyle(document.documentElement);
  return Object.fromEntries(tokenNames.map((n) => [n, css.getPropertyValue(`--${n}`).trim()]));
}

export const ratio = 2;

/** A small picture drawn on a canvas, for patterns. */
function picture(w: number, h: number, draw: (c: CanvasRenderingContext2D) => void): ImageData {
  const canvas = document.createElement("canvas");
  canvas.width = w * ratio;
  canvas.height = h * ratio;
  const c = canvas.getContext("2d", { willReadFrequently: true })!;
  c.scale(ratio, ratio);
  draw(c);
  return c.getImageData(0, 0, canvas.width, canvas.height);
}

const tightStep = 9;

const hardStep = 8;

export const tightHigh = 13;

export const hardHigh = 18;

export function images(t: Tokens): Record<string, ImageData> {
  const zigzag = (step: number, high: number, amplitude: number, width: number) =>
    picture(step, high, (c) => {
      const path = () => {
        c.beginPath();
        for (let i = -3; i <= 5; i++) {
          const x = (i * step) / 2;
          const y = high / 2 + (i % 2 === 0 ? -amplitude : amplitude);
          if (i === -3) c.moveTo(x, y);
          else c.lineTo(x, y);
        }
        c.stroke();
      };
      c.lineJoin = "round";
      c.strokeStyle = t.sheet!;
      c.lineWidth = width + 3;
      path();
      c.strokeStyle = t.ink!;
      c.lineWidth = width;
      path();
    });
  return {
    "tex-some": picture(7, 7, (c) => {
      c.fillStyle = t.h2!;
      c.fillRect(0, 0, 7, 7);
      c.fillStyle = t.ink!;
      c.beginPath();
      c.arc(3.5, 3.5, 1.05, 0, 7);
      c.fill();
    }),
    "tex-tight": picture(8, 8, (c) => {
      c.fillStyle = t.h1!;
      c.fillRect(0, 0, 8, 8);
      c.strokeStyle = t.h3!;
      c.lineWidth = 3.2;
      for (const d of [-8, 0, 8]) {
        c.beginPath();
        c.moveTo(d - 2, 10);
        c.lineTo(d + 10, -2);
        c.stroke();
      }
    }),
    "tex-hard": picture(8, 8, (c) => {
      c.fillStyle = t.h4!;
      c.fillRect(0, 0, 8, 8);
      c.strokeStyle = t.sheet!;
      c.lineWidth = 1.3;
      c.beginPath();
      c.moveTo(-1, -1);
      c.lineTo(9, 9);
      c.moveTo(-1, 9);
      c.lineTo(9, -1);
      c.stroke();
    }),
    "tex-source": picture(8, 8, (c) => {
      c.strokeStyle = t.ink!;
      c.lineWidth = 1.1;
      c.beginPath();
      c.moveTo(4, 1.5);
      c.lineTo(4, 6.5);
      c.moveTo(1.5, 4);
      c.lineTo(6.5, 4);
      c.stroke();
    }),
    "tex-water": picture(16, 12, (c) => {
      c.fillStyle = t.water!;
      c.fillRect(0, 0, 16, 12);
      c.strokeStyle = t.waterLine!;
      c.lineWidth = 1;
      c.globalAlpha = 0.7;
      c.beginPath();
      c.moveTo(1, 3);
      c.lineTo(6, 3);
      c.moveTo(9, 9);
      c.lineTo(14, 9);
      c.stroke();
    }),
    "line-tight": zigzag(tightStep, tightHigh, 3.4, 2.6),
    "line-hard": zigzag(hardStep, hardHigh, 5.6, 3.4),
    "line-fence": picture(12, 7, (c) => {
      c.strokeStyle = t.blockEdge!;
      c.lineWidth = 1.2;
      c.beginPath();
      c.moveTo(0, 3.5);
      c.lineTo(12, 3.5);
      c.moveTo(6, 0.5);
      c.lineTo(6, 6.5);
      c.stroke();
    }),
    "line-hedge": picture(8, 6, (c) => {
      c.strokeStyle = t.blockEdge!;
      c.lineWidth = 1.6;
      c.beginPath();
      c.moveTo(0, 5);
      c.quadraticCurveTo(4, -2, 8, 5);
      c.stroke();
    }),
    ...Object.fromEntries(
      Array.from({ length: 15 }, (_, i) => [
        `watch-${i + 1}`,
        picture(22, 22, (c) => {
          c.fillStyle = t.sheet!;
          c.fillRect(0, 0, 22, 22);
          c.fillStyle = t.ink!;
          c.fillRect(2, 2, 18, 18);
          c.fillStyle = t.sheet!;
          c.font = `700 ${i < 9 ? 14 : 12}px "Atkinson Hyperlegible Next", sans-serif`;
          c.textAlign = "center";
          c.textBaseline = "middle";
          c.fillText(String(i + 1), 11, 11.5);
        }),
      ]),
    ),
    door: picture(22, 22, (c) => {
      c.fillStyle = t.sheet!;
      c.fillRect(0, 0, 22, 22);
      c.strokeStyle = t.ink!;
      c.lineWidth = 3;
      c.strokeRect(3.5, 3.5, 15, 22);
    }),
    minute: picture(12, 12, (c) => {
      c.fillStyle = t.sheet!;
      c.strokeStyle = t.ink!;
      c.lineWidth = 2.2;
      c.beginPath();
      c.arc(6, 6, 4.2, 0, 7);
      c.fill();
      c.stroke();
    }),
  };
}

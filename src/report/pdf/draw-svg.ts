import { Fragment, type JSX } from "preact";
import type { Pdf, PdfFonts, TextStyle } from "./pdf-fonts.js";

/** Attributes that inner elements inherit. */
interface Dress {
  readonly fill: string;
  readonly stroke: string;
  readonly strokeWidth: number;
  readonly strokeOpacity: number;
  readonly fillOpacity: number;
  readonly dash: string;
  readonly cap: string;
  readonly join: string;
  readonly fontSize: number;
  readonly bold: boolean;
  readonly anchor: string;
  readonly strokeFirst: boolean;
}

const plain: Dress = {
  fill: "#000000",
  stroke: "none",
  strokeWidth: 1,
  strokeOpacity: 1,
  fillOpacity: 1,
  dash: "none",
  cap: "butt",
  join: "miter",
  fontSize: 12,
  bold: false,
  anchor: "start",
  strokeFirst: false,
};

type Props = Readonly<Record<string, unknown>>;
interface Node {
  readonly type: unknown;
  readonly props: Props;
}

const isNode = (value: unknown): value is Node =>
  typeof value === "object" && value !== null && "props" in value;
const number = (value: unknown, otherwise = 0): number => {
  const n = Number(value);
  return value === undefined || !Number.isFinite(n) ? otherwise : n;
};
const text = (value: unknown): string =>
  typeof value === "string" || typeof value === "number" ? String(value) : "";

function dressed(dress: Dress, props: Props): Dress {
  const s = (key: string, otherwise: string): string =>
    props[key] === undefined ? otherwise : text(props[key]);
  const n = (key: string, otherwise: number): number => number(props[key], otherwise);
  return {
    fill: s("fill", dress.fill),
    stroke: s("stroke", dress.stroke),
    strokeWidth: n("stroke-width", dress.strokeWidth),
    strokeOpacity: n("stroke-opacity", dress.strokeOpacity),
    fillOpacity: n("fill-opacity", dress.fillOpacity),
    dash: s("stroke-dasharray", dress.dash),
    cap: s("stroke-linecap", dress.cap),
    join: s("stroke-linejoin", dress.join),
    fontSize: n("font-size", dress.fontSize),
    bold: props["font-weight"] === undefined ? dress.bold : props["font-weight"] === "bold",
    anchor: s("text-anchor", dress.anchor),
    strokeFirst: props["paint-order"] === undefined ? dress.strokeFirst : props["paint-order"] === "stroke",
  };
}

/**
 * Draws the SVG elements that this room's drawings are made of onto a PDF page, in the page's present units:
 * g (translate only), path, rect, circle, line, text. Others are an error of this program.
 */
export function drawSvg(pdf: Pdf, fonts: PdfFonts, drawing: JSX.Element): void {
  draw(pdf, fonts, drawing, plain);
}

function draw(pdf: Pdf, fonts: PdfFonts, node: unknown, outer: Dress): void {
  if (Array.isArray(node)) {
    for (const child of node as readonly unknown[]) draw(pdf, fonts, child, outer);
    return;
  }
  if (!isNode(node)) return;
  const { type, props } = node;
  if (type === Fragment) {
    draw(pdf, fonts, props["children"], outer);
    return;
  }
  if (typeof type === "function") {
    // Components of this room are plain functions: no state, no context.
    draw(pdf, fonts, (type as (p: Props) => unknown)(props), outer);
    return;
  }
  const dress = dressed(outer, props);
  switch (type) {
    case "g": {
      const shift = /^translate\(([-\d.]+) ([-\d.]+)\)$/.exec(text(props["transform"]));
      pdf.save();
      if (shift) pdf.translate(Number(shift[1]), Number(shift[2]));
      draw(pdf, fonts, props["children"], dress);
      pdf.restore();
      return;
    }
    case "path":
      paint(pdf, dress, () => pdf.path(text(props["d"])));
      return;
    case "rect": {
      const [x, y, w, h, r] = ["x", "y", "width", "height", "rx"].map((key) => number(props[key]));
      paint(pdf, dress, () => (r! > 0 ? pdf.roundedRect(x!, y!, w!, h!, r) : pdf.rect(x!, y!, w!, h!)));
      return;
    }
    case "circle":
      paint(pdf, dress, () => pdf.circle(number(props["cx"]), number(props["cy"]), number(props["r"])));
      return;
    case "line":
      paint(pdf, dress, () =>
        pdf.moveTo(number(props["x1"]), number(props["y1"])).lineTo(number(props["x2"]), number(props["y2"])),
      );
      return;
    case "text":
      drawText(pdf, fonts, dress, number(props["x"]), number(props["y"]), childText(props["children"]));
      return;
    default:
      throw new Error(`no drawing of <${text(type)}> in a PDF`);
  }
}

const childText = (children: unknown): string =>
  Array.isArray(children) ? (children as readonly unknown[]).map(childText).join("") : text(children);

function paint(pdf: Pdf, dress: Dress, trace: () => unknown): void {
  const filled = dress.fill !== "none";
  const stroked = dress.stroke !== "none" && dress.strokeWidth > 0;
  if (!filled && !stroked) return;
  pdf.save();
  setStroke(pdf, dress);
  pdf.fillOpacity(dress.fillOpacity);
  trace();
  if (filled && stroked) pdf.fillAndStroke(dress.fill, dress.stroke);
  else if (filled) pdf.fill(dress.fill);
  else pdf.stroke(dress.stroke);
  pdf.restore();
}

function setStroke(pdf: Pdf, dress: Dress): void {
  pdf.lineWidth(dress.strokeWidth).strokeOpacity(dress.strokeOpacity);
  pdf.lineCap(dress.cap === "round" ? "round" : "butt").lineJoin(dress.join === "round" ? "round" : "miter");
  if (dress.dash === "none") return;
  const [on, ...rest] = dress.dash.split(/[ ,]+/).map(Number);
  // pdfkit takes a pattern as a list, but its types do not know.
  pdf.dash([on, ...rest] as unknown as number, {});
}

function drawText(pdf: Pdf, fonts: PdfFonts, dress: Dress, x: number, y: number, words: string): void {
  const style: TextStyle = { family: "sans", face: dress.bold ? "bold" : "regular", sizePt: dress.fontSize };
  const width = fonts.widthPt(words, style);
  const start = dress.anchor === "middle" ? x - width / 2 : dress.anchor === "end" ? x - width : x;
  const write = (stroke: boolean): void => {
    let at = start;
    for (const run of fonts.runsOf(words, style)) {
      pdf.font(run.font).fontSize(style.sizePt);
      pdf.text(run.text, at, y, { lineBreak: false, baseline: "alphabetic", stroke, fill: !stroke });
      at += pdf.widthOfString(run.text);
    }
  };
  pdf.save();
  if (dress.stroke !== "none") {
    setStroke(pdf, dress);
    pdf.strokeColor(dress.stroke);
    write(true);
  }
  pdf.fillColor(dress.fill).fillOpacity(dress.fillOpacity);
  write(false);
  pdf.restore();
}

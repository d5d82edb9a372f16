import { xmlText } from "../xml-text.js";
import type { CuttingSheet } from "./sheet.js";
import { checkFirst, sheetOutlineMm } from "./sheet.js";

/** Room round the gear, and below it for words and the bar to check the print with. mm */
const margin = 5;
const footHeight = 19;
const leastWidth = 90;
export const checkBarMm = 50;

/**
 * The outline at its true size: the drawing is measured in mm, width and height too. A bar of 50 mm shows whether a
 * printer kept to that.
 *
 * @returns undefined if the sheet has no tooth form.
 */
export function drawOutlineSvg(sheet: CuttingSheet): string | undefined {
  const outline = sheetOutlineMm(sheet);
  if (outline === undefined || sheet.tooth === undefined) return undefined;
  const tip = sheet.tooth.blankDiameterMm.value;
  const { widthMm: width, heightMm: height, cx, cy } = placeOf(tip);
  const arm = sheet.moduleMm.value;
  const title = `${sheet.words.charAt(0).toUpperCase()}${sheet.words.slice(1)}: ${sheet.count} teeth, module ${sheet.moduleMm.value.toFixed(3)} mm`;
  const barY = tip + 2 * margin + 14;
  return `<?xml version="1.0" encoding="UTF-8"?>
<!-- wheelsurvey cutting sheet -->
<svg xmlns="http://www.w3.org/2000/svg" width="${num(width)}mm" height="${num(height)}mm" viewBox="0 0 ${num(width)} ${num(height)}" role="img">
<title>${xmlText(title)}</title>
<desc>Outline at true size, in millimetres. ${checkFirst}</desc>
<rect width="100%" height="100%" fill="#fff"/>
<path id="outline" d="${pathOf(outline, cx, cy)}" fill="none" stroke="#000" stroke-width="0.05" stroke-linejoin="round"/>
<circle id="pitch" cx="${num(cx)}" cy="${num(cy)}" r="${num(sheet.pitchDiameterMm.value / 2)}" fill="none" stroke="#000" stroke-width="0.08" stroke-dasharray="${[0.6, 0.3, 0.1, 0.3].map((part) => num(part * arm)).join(" ")}"/>
<path id="centre" d="M${num(cx - arm)} ${num(cy)}H${num(cx + arm)}M${num(cx)} ${num(cy - arm)}V${num(cy + arm)}" stroke="#000" stroke-width="0.08"/>
<g font-family="sans-serif" font-size="2.4" text-anchor="middle" fill="#000">
${fitted(title, cx, tip + 2 * margin + 3, width - 2 * margin)}
<text x="${num(cx)}" y="${num(tip + 2 * margin + 7)}" font-weight="bold">${checkFirst}</text>
<text x="${num(cx)}" y="${num(barY + 3.9)}">This bar must measure ${checkBarMm} mm, else the print is not true to size.</text>
</g>
<path id="bar" d="M${num(cx - checkBarMm / 2)} ${num(barY)}H${num(cx + checkBarMm / 2)}M${num(cx - checkBarMm / 2)} ${num(barY - 1.5)}v3M${num(cx + checkBarMm / 2)} ${num(barY - 1.5)}v3" stroke="#000" stroke-width="0.15" fill="none"/>
</svg>
`;
}

/** Where the gear lies in the drawing, and how large the drawing is, mm; undefined if the sheet has no tooth form. */
export function outlinePlace(sheet: CuttingSheet): OutlinePlace | undefined {
  if (sheet.tooth === undefined) return undefined;
  const tipDiameterMm = sheet.tooth.blankDiameterMm.value;
  const { widthMm, heightMm, cx, cy } = placeOf(tipDiameterMm);
  return { widthMm, heightMm, centreMm: [cx, cy], tipDiameterMm };
}

export interface OutlinePlace {
  readonly widthMm: number;
  readonly heightMm: number;
  /** From the upper left corner, right and down. */
  readonly centreMm: readonly [x: number, y: number];
  readonly tipDiameterMm: number;
}

function placeOf(tip: number) {
  const widthMm = Math.max(tip + 2 * margin, leastWidth);
  return { widthMm, heightMm: tip + 2 * margin + footHeight, cx: widthMm / 2, cy: margin + tip / 2 };
}

/** A line of text that shrinks, if it has to, into `room` mm. */
function fitted(text: string, x: number, y: number, room: number): string {
  const shown = text.length > 150 ? `${[...text].slice(0, 149).join("")}…` : text;
  // Letters of a plain sans are about half as wide as high.
  const size = Math.min(2.4, room / (0.55 * shown.length));
  return `<text x="${num(x)}" y="${num(y)}" font-size="${num(size)}">${xmlText(shown)}</text>`;
}

function pathOf(xyMm: Float64Array, cx: number, cy: number): string {
  const points: string[] = [];
  for (let i = 0; i < xyMm.length; i += 2) points.push(`${num(cx + xyMm[i]!)} ${num(cy - xyMm[i + 1]!)}`);
  return `M${points.join("L")}Z`;
}

const num = (value: number): string => String(Number(value.toFixed(4)));

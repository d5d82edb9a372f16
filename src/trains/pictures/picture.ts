import { xmlText } from "../xml-text.js";
import type { Mark } from "./marks.js";

export interface PictureOptions {
  /** Without heads and legend, for a page that has its own; default false. */
  readonly bare?: boolean;
}

/** Letters, in units of the picture; pictures are scaled so that this can be read. */
export const letter = 11;
const pageWidthLimit = 4000;

export const num = (value: number): string => String(Number(value.toFixed(2)));

/** Fill and stroke of a part. Marks are told by dashes and hatching, never by colour. */
export function markStyle({ faulty, uncertain }: Mark, fill = "#fff"): string {
  return `fill="${faulty ? "url(#hatch)" : fill}" stroke="#000" stroke-width="${faulty || uncertain ? 1.4 : 0.8}"${uncertain ? ' stroke-dasharray="5 3"' : ""}`;
}

export function text(
  x: number,
  y: number,
  content: string,
  options: { readonly anchor?: "start" | "middle"; readonly bold?: boolean; readonly halo?: boolean } = {},
): string {
  const halo = options.halo
    ? ' stroke="#fff" stroke-width="3" paint-order="stroke" stroke-linejoin="round"'
    : "";
  const anchor = options.anchor === "middle" ? ' text-anchor="middle"' : "";
  const bold = options.bold ? ' font-weight="bold"' : "";
  return `<text x="${num(x)}" y="${num(y)}"${anchor}${bold}${halo}>${xmlText(shorten(content))}</text>`;
}

const longest = 110;

export function shorten(content: string): string {
  const letters = [...content];
  return letters.length > longest ? `${letters.slice(0, longest - 1).join("")}…` : content;
}

/** Plain sans letters are rarely wider than 0.6 of their size. */
export const textWidth = (content: string): number => Math.min([...content].length, longest) * letter * 0.6;

export function svgPicture(
  title: string,
  description: string,
  width: number,
  height: number,
  body: readonly string[],
): string {
  const shownWidth = Math.min(width, pageWidthLimit);
  return `<?xml version="1.0" encoding="UTF-8"?>
<!-- wheelsurvey train picture -->
<svg xmlns="http://www.w3.org/2000/svg" width="${num(shownWidth)}" height="${num((height * shownWidth) / width)}" viewBox="0 0 ${num(width)} ${num(height)}" role="img" font-family="sans-serif" font-size="${letter}">
<title>${xmlText(title)}</title>
<desc>${xmlText(description)}</desc>
<defs><pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff"/><path d="M0 0V5" stroke="#000" stroke-width="1.3"/></pattern></defs>
<rect width="100%" height="100%" fill="#fff"/>
${body.join("\n")}
</svg>
`;
}

/** What dashes and hatching mean, and what the sizes are. */
export const legendHeight = 4 * letter;
export function legend(x: number, y: number, sizesText: string): readonly string[] {
  const box = (left: number, mark: Mark) =>
    `<rect x="${num(left)}" y="${num(y - letter)}" width="20" height="${letter}" ${markStyle(mark)}/>`;
  return [
    box(x, { faulty: true, uncertain: false }),
    text(x + 26, y - 1, "(!) look at: a finding is about it"),
    box(x + 240, { faulty: false, uncertain: true }),
    text(x + 266, y - 1, "(?) count not sure"),
    text(x, y + 1.6 * letter, sizesText),
  ];
}
export const legendWidth = 400;

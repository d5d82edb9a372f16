import type { TextStyle } from "./pdf-fonts.js";

/** The dress of the PDF, in points; the same hierarchy as on the screen. */
export const ink = "#1b1a17";
export const soft = "#57524a";
export const rule = "#b9b2a3";
export const faint = "#e6e1d6";

export const pageSizes = { a4: [595.28, 841.89], letter: [612, 792] } as const;
export const margins = { left: 50, right: 50, top: 50, bottom: 58 } as const;

const style = (family: TextStyle["family"], face: TextStyle["face"], sizePt: number): TextStyle => ({
  family,
  face,
  sizePt,
});
export const styles = {
  title: style("serif", "bold", 22),
  subtitle: style("serif", "italic", 11.5),
  h2: style("serif", "bold", 15),
  h2Number: style("serif", "regular", 15),
  h3: style("serif", "bold", 11.5),
  part: style("serif", "regular", 12.5),
  body: style("serif", "regular", 9.8),
  bodyBold: style("serif", "bold", 9.8),
  quiet: style("serif", "regular", 9),
  caption: style("serif", "regular", 8.6),
  tableCaption: style("serif", "bold", 9.6),
  term: style("sans", "regular", 8.4),
  cell: style("sans", "regular", 8.4),
  cellSmall: style("sans", "regular", 7.8),
  head: style("sans", "bold", 8),
  badge: style("sans", "bold", 7.2),
  foot: style("sans", "regular", 7.6),
} as const;

export const leading = 1.38;

import type { Pdf } from "./pdf-fonts.js";

/** A node of the document's structure, by which readers for the blind go. */
export type Struct = PDFKit.PDFStructureElement;

/** Something that is drawn in one place and never broken across pages. */
export interface Piece {
  readonly heightPt: number;
  /** Free room above; none at the top of a page. */
  readonly gapPt: number;
  /** Must not stand last on a page. */
  readonly keepWithNext?: boolean;
  /** Drawn again at the top of every further page that continues this piece's table. */
  readonly head?: Piece;
  /** Place that links lead to. */
  readonly id?: string;
  /** @param again drawn once more at the top of a further page: an ornament, not content. */
  draw(xPt: number, yPt: number, again?: boolean): void;
}

/** Makes a node under `parent`. */
export function addStruct(
  pdf: Pdf,
  parent: Struct,
  tag: string,
  options: { readonly alt?: string; readonly scope?: "Row" | "Column" } = {},
): Struct {
  const struct = pdf.struct(tag, options);
  parent.add(struct);
  return struct;
}

/** Draws content that belongs to a node. */
export function drawTagged(pdf: Pdf, struct: Struct, tag: string, draw: () => void): void {
  const content = pdf.markStructureContent(tag);
  draw();
  pdf.endMarkedContent();
  struct.add(content);
}

/** Draws what says nothing: rules, page numbers, repeated heads. */
export function drawArtifact(pdf: Pdf, draw: () => void): void {
  pdf.markContent("Artifact", { type: "Layout" });
  draw();
  pdf.endMarkedContent();
}

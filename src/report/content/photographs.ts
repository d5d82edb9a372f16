import type { PhotoRecord, SurveyDocument } from "../../record/index.js";
import { OverlayMarks } from "../overlay/overlay.js";
import { photoEmphasis } from "../pictures.js";
import { shownText } from "../shown-text.js";
import type { Block, FigureBlock, Section } from "./content.js";
import { photoPictureKey } from "./group-parts.js";

/** The last part of a path: folders say nothing to a reader, and may say too much. */
export const fileName = (file: string): string => shownText(file.split(/[\\/]/).at(-1) ?? file, { max: 80 });

/** A whole photograph with its marks; none where the file could not be read. */
export function photoFigure(
  photo: PhotoRecord,
  index: number,
  { id, alt }: { readonly id?: string; readonly alt?: string } = {},
): FigureBlock | undefined {
  const { width_px: width, height_px: height } = photo;
  if (width === undefined || height === undefined) return undefined;
  const parts = photo.parts.length === 1 ? "one part" : `${photo.parts.length} parts`;
  return {
    kind: "figure",
    ...(id === undefined ? {} : { id }),
    alt: alt ?? `Photograph ${index + 1}, ${fileName(photo.file)}, with the marks of ${parts}.`,
    caption: [
      { bold: `Photograph ${index + 1}. ` },
      { said: fileName(photo.file) },
      `${alt === undefined ? `, ${parts}` : ""}${scaleWords(photo)}.`,
    ],
    box: { x: 0, y: 0, width, height },
    drawing: OverlayMarks({ photo, options: { emphasis: photoEmphasis } }),
    picture: photoPictureKey(index),
  };
}

function scaleWords({ scale, view }: PhotoRecord): string {
  if (scale.source === "none") return "; no scale, so no lengths";
  const px = scale.px_per_mm === undefined ? "" : `${Number(scale.px_per_mm.toPrecision(3))} px/mm`;
  if (scale.source === "given") return `; scale as given, ${px}`;
  return `; scale sheet, ${view?.markers_found ?? 0} markers, ${px}`;
}

export function photographsSection({ measurement: { photos } }: SurveyDocument): Section {
  return {
    id: "photographs",
    title: "Photographs",
    newPage: true,
    blocks: photos.flatMap((photo, i): Block[] => {
      const figure = photoFigure(photo, i, { id: `photo-${i + 1}` });
      if (figure) return [figure];
      return [
        { kind: "heading", id: `photo-${i + 1}`, title: `Photograph ${i + 1}` },
        {
          kind: "paragraph",
          words: [
            { said: fileName(photo.file) },
            " could not be read: ",
            { said: photo.problems[0]?.text ?? "" },
            ".",
          ],
        },
      ];
    }),
  };
}

import { renderToString } from "preact-render-to-string";
import type { PhotoRecord, SetRecord } from "../../record/index.js";
import type { Words } from "../content/content.js";
import { laidOverFigure, laidOverWords } from "../content/laid-over-figure.js";
import { setFigures } from "../content/set-figures.js";
import { extremesOf } from "../laid-over/extremes.js";
import { LaidOverSets } from "../laid-over/laid-over-sets.js";
import type { Photo } from "../../photo/index.js";

/** A plot of a set as a picture of its own. */
export interface SetPlot {
  readonly alt: string;
  readonly caption: string;
  /** Draws it: a whole SVG document. */
  readonly svg: () => string;
}

/** The plots that the report shows of a set, for other pages. @param name of the set, for those who cannot see them. */
export const setPlots = (set: SetRecord, photos: readonly PhotoRecord[], name: string): SetPlot[] =>
  setFigures(set, photos, name).map(({ alt, caption, box, drawing }) => ({
    alt,
    caption: plainWords(caption),
    svg: () =>
      renderToString(
        <svg
          xmlns="http://www.w3.org/2000/svg"
          viewBox={`${box.x} ${box.y} ${box.width} ${box.height}`}
          width={box.width}
          height={box.height}
        >
          {drawing}
        </svg>,
      ),
  }));

/** Opens a photograph by its place among the records; undefined if it is not there any more. */
export type OpenPhoto = (index: number) => Promise<Photo | undefined>;

/** The two photographs of a play set that are furthest apart, one over the other. */
export interface LaidOverPlot {
  readonly alt: string;
  readonly caption: string;
  /** Opens both and draws: a whole SVG document; undefined where a photograph is missing. */
  readonly svg: (open: OpenPhoto) => Promise<string | undefined>;
}

/** Bytes of the picture in it. */
const laidOverBytes = 400_000;

/** Undefined for a set in which no movement was measured. */
export function laidOverPlot(
  set: SetRecord,
  photos: readonly PhotoRecord[],
  name: string,
): LaidOverPlot | undefined {
  const extremes = extremesOf(set, photos);
  if (extremes === undefined) return undefined;
  const { alt, caption } = laidOverWords(extremes, name);
  return {
    alt,
    caption: plainWords(caption),
    svg: async (open) => {
      const sets = new LaidOverSets([extremes], photos);
      for (const { photoIndex } of extremes.places) {
        const [photo, record] = [await open(photoIndex), photos[photoIndex]!];
        if (photo?.widthPx === record.width_px && photo?.heightPx === record.height_px)
          await sets.look(photoIndex, photo!, laidOverBytes);
      }
      const laid = sets.of(0);
      if (laid === undefined || "missing" in laid) return undefined;
      const { box, drawing } = laidOverFigure(laid, name, "");
      const { picture } = laid;
      return renderToString(
        <svg
          xmlns="http://www.w3.org/2000/svg"
          viewBox={`${box.x} ${box.y} ${box.width} ${box.height}`}
          width={box.width}
          height={box.height}
        >
          <image href={`data:image/jpeg;base64,${picture.jpeg.toString("base64")}`} {...picture.box} />
          {drawing}
        </svg>,
      );
    },
  };
}

const plainWords = (words: Words): string =>
  typeof words === "string"
    ? words
    : words
        .map((each) =>
          typeof each === "string" ? each : "text" in each ? each.text : Object.values(each)[0],
        )
        .join("");

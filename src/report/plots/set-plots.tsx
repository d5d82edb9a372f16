import { renderToString } from "preact-render-to-string";
import type { PhotoRecord, SetRecord } from "../../record/index.js";
import type { Words } from "../content/content.js";
import { setFigures } from "../content/set-figures.js";

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

const plainWords = (words: Words): string =>
  typeof words === "string"
    ? words
    : words
        .map((each) =>
          typeof each === "string" ? each : "text" in each ? each.text : Object.values(each)[0],
        )
        .join("");

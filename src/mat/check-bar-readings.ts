import { UsageError } from "../problem/index.js";
import { paperName } from "./draw-mat-pdf.js";
import type { Paper } from "./sheet.js";
import { describeSheet } from "./sheet.js";

/** What the two check bars measure on paper, from the middle of one end tick to the middle of the other. */
export interface CheckBarReadings {
  readonly acrossMm: number;
  readonly alongMm: number;
}

/** No printer errs so far; the wrong bar, the wrong unit or a slip of the pen does. */
const impossibleAt = 0.1;
/** Printers err by about 1 % (common practice, no source); beyond this the sheet was fitted to the page. */
const fittedAt = 0.02;
/** Across and along seldom part by more than this unless a reading is wrong. */
const partedAt = 0.01;

/**
 * Checks both readings against the sheet's nominal length.
 *
 * @returns remarks on readings that are possible but odd; usually none.
 * @throws UsageError for a reading more than 10 % from nominal, naming the likely mistake.
 */
export function checkBarReadings(paper: Paper, readings: CheckBarReadings): string[] {
  const scale = describeSheet(paper).bars.map(({ direction, lengthMm }) => {
    const reading = direction === "across" ? readings.acrossMm : readings.alongMm;
    if (!(Math.abs(reading / lengthMm - 1) <= impossibleAt)) {
      throw new UsageError(
        `check bar ${direction} the sheet (${paperName[paper]}): expected ${lengthMm.toFixed(1)} mm within 10 %, ` +
          `received ${reading}; ${likelyMistake(reading / lengthMm)}`,
      );
    }
    return { direction, ratio: reading / lengthMm };
  });
  const remarks = scale
    .filter(({ ratio }) => Math.abs(ratio - 1) > fittedAt)
    .map(
      ({ direction, ratio }) =>
        `The bar ${direction} the sheet is ${percent(ratio - 1)} off its nominal length: was the sheet printed ` +
        "to fit the page? It can be used as it is if the reading is right.",
    );
  const [first, second] = scale;
  if (first && second && Math.abs(first.ratio - second.ratio) > partedAt) {
    remarks.push(
      `The two bars differ by ${percent(first.ratio - second.ratio)}, more than is usual: measure both again.`,
    );
  }
  return remarks;
}

const percent = (part: number): string => `${Math.abs(100 * part).toFixed(1)} %`;

function likelyMistake(ratio: number): string {
  if (Math.abs(ratio * 10 - 1) <= impossibleAt) return "is that in centimetres? Give millimetres";
  if (Math.abs(ratio * 25.4 - 1) <= impossibleAt) return "is that in inches? Give millimetres";
  return "did you measure the right bar of the right paper, in mm, from tick to tick?";
}

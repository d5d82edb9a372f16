import type { Sheet } from "../mat/index.js";
import type { Problem } from "../problem/index.js";
import { unknown } from "./mat-camera.js";
import type { MatCamera } from "./solve-mat-camera.js";
import { otherBarProblem } from "./view-problems.js";

/** What the check bars measure on paper. */
export interface CheckBarReadings {
  readonly matAcrossMm?: number;
  readonly matAlongMm?: number;
  readonly matUMm?: number;
}

/** Printed over nominal length with its standard uncertainty, and whether both were measured. */
export interface PrintScalePrior {
  readonly across: readonly [number, number];
  readonly along: readonly [number, number];
  readonly measured: boolean;
}

/** Office printers scale by up to about 1 %, not equally in both directions: u = 0.6 % (rectangular within 1 %). */
const uPrintScaleUnmeasured = 0.006;
/** Readings further from nominal than this are of another bar, another sheet or in another unit. */
const impossibleAt = 0.1;

/** From the readings; one that cannot be of this sheet is left out, with a problem added. */
export function printScalePrior(
  sheet: Sheet,
  options: CheckBarReadings,
  problems: Problem[],
): PrintScalePrior {
  const uMm = options.matUMm ?? 0.1;
  const one = (
    direction: "across" | "along",
    measuredMm: number | undefined,
  ): readonly [number, number] | undefined => {
    const nominalMm = sheet.bars.find((bar) => bar.direction === direction)!.lengthMm;
    if (measuredMm === undefined) return undefined;
    const scale = measuredMm / nominalMm;
    if (Math.abs(scale - 1) <= impossibleAt) return [scale, uMm / nominalMm];
    problems.push(otherBarProblem(sheet, direction, nominalMm, measuredMm));
    return undefined;
  };
  const across = one("across", options.matAcrossMm);
  const along = one("along", options.matAlongMm);
  const unmeasured: readonly [number, number] = [1, uPrintScaleUnmeasured];
  return { across: across ?? unmeasured, along: along ?? unmeasured, measured: !!across && !!along };
}

/** Taken from above, the picture knows the ratio of across to along (pixels are square): do the readings agree? */
export function barsContradicted({ params }: MatCamera, { across, along }: PrintScalePrior): boolean {
  const moved = params[unknown.sx]! - across[0] - (params[unknown.sy]! - along[0]);
  return Math.abs(moved) > 3 * Math.hypot(across[1], along[1]);
}

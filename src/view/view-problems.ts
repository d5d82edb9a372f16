import type { CheckBar, Sheet } from "../mat/index.js";
import type { Problem, ProblemCode } from "../problem/index.js";
import type { SeenSheet } from "./choose-sheet.js";
import type { PrintScalePrior } from "./print-scale-prior.js";

const paperName: Record<Sheet["paper"], string> = { a4: "A4", letter: "US Letter", a3: "A3" };

const problem = (code: ProblemCode, text: string, advice: string): Problem => ({ code, text, advice });

export const noMatProblem = problem(
  "no-mat",
  "no scale mat is to be seen",
  "lay the part on the printed mat with the markers around it in view, or give a scale; tooth counts need neither",
);
export const mirroredProblem = problem(
  "mat-mirrored",
  "the mat is seen as in a mirror",
  "use the photograph as the camera took it, not flipped left to right (some selfie cameras and scanners flip)",
);
export const tooLittleProblem = (count: number): Problem =>
  problem(
    "mat-too-little-seen",
    count === 1
      ? "only one marker of the mat can be used"
      : `only ${count} markers of the mat can be used, or all lie on one side`,
    "keep the markers all round the field in view and uncovered, four or more far apart, sharp and without glare",
  );
export const barsProblem = ({ across, along }: PrintScalePrior): Problem =>
  problem(
    "mat-other-paper",
    `the readings of the check bars make the sheet ${(100 * (across[0] / along[0] - 1)).toFixed(1)} % larger across ` +
      "than along, which does not fit the picture",
    "measure both check bars again; across is the bar along the short side of the sheet, along the one up the long side",
  );

export const notFlatProblem = (bowMm: number): Problem =>
  problem(
    "view-unsolved",
    `the mat is not flat: it bows by about ${bowMm.toFixed(1)} mm, which makes lengths less certain`,
    "lay the mat on a flat, firm table and hold its edges down with weights or tape, or glue it to card",
  );
export const twoMatsProblem = (seen: SeenSheet, others: readonly SeenSheet[]): Problem =>
  problem(
    "two-mats",
    `${others.length + 1} mats are in the picture (${[seen, ...others]
      .map(({ sheet, markers }) => `${paperName[sheet.paper]} with ${markers.length} markers`)
      .join(", ")}); the first was used`,
    "photograph one mat at a time, or cover the markers of the others",
  );
export const otherBarProblem = (
  sheet: Sheet,
  direction: CheckBar["direction"],
  nominalMm: number,
  measuredMm: number,
): Problem =>
  problem(
    "mat-other-paper",
    `the check bar ${direction} the sheet is ${nominalMm} mm nominal on this ${paperName[sheet.paper]} mat, ` +
      `but ${measuredMm} mm was given; it was left out`,
    "measure the check bar of the mat in the picture, in mm, from the middle of one end tick to the other",
  );

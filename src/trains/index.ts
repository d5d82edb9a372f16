/**
 * Room `trains`: what the counts say about the clock. Knows the floor (`problem`, `quantity`); only
 * `from-survey.ts` knows how measurements are written down.
 */
export type { ChangeEffect, CountChange } from "./change-count.js";
export { changeCounts, effectOfChange } from "./change-count.js";
export { notchAnglesRad } from "./count-wheel.js";
export type { ArborDistance, DepthLimits, DepthVerdict, SurveyedPlate } from "./depth-from-plates.js";
export { arborDistance, depthFromPlates, holesOfPlate, meanDistance } from "./depth-from-plates.js";
export type { MatchedHole, MatchOptions, PlateHole, PlateMatch } from "./match-plates.js";
export { joinPlateViews, matchPlates } from "./match-plates.js";
export type { ExactRow, InexactRow, Indexing } from "./cutting/indexing.js";
export { indexingFor } from "./cutting/indexing.js";
export { drawOutlineDxf } from "./cutting/outline-dxf.js";
export { drawOutlineSvg, outlinePlace } from "./cutting/outline-svg.js";
export type { CuttingOptions, CuttingSheet, ModuleClue } from "./cutting/sheet.js";
export { checkFirst, cuttingSheet, sheetOutlineMm } from "./cutting/sheet.js";
export { drawSheetHtml } from "./cutting/sheet-html.js";
export type { LengthOptions, SheetRow } from "./cutting/sheet-rows.js";
export { indexingLines, sheetCoverage, sheetRows } from "./cutting/sheet-rows.js";
export type { LeafProfile, ToothForm } from "./cutting/tooth-form.js";
export { evaluateMovement } from "./evaluate-movement.js";
export { exampleMovements } from "./examples.js";
export type { SurveyedPart } from "./from-survey.js";
export { draftMovement, evidenceFromSurvey } from "./from-survey.js";
export type { RateReference } from "./gearing.js";
export type { GravityUsed } from "./gravity.js";
export { gravityAt, normalGravityMps2, standardGravityMps2 } from "./gravity.js";
export type { Mistake, Reading } from "./mistake.js";
export { mistakeText } from "./mistake.js";
export type {
  Arbor,
  Gear,
  Measured,
  Movement,
  MotionWork,
  Place,
  SeenCount,
  Train,
  TrainDuty,
} from "./movement.js";
export { beatsOfPendulum, circularErrorSecondsPerDay, pendulumLengthMm } from "./pendulum.js";
export type { EvidencePlaced, PhotoEvidence } from "./photo-evidence.js";
export { placeEvidence } from "./photo-evidence.js";
export { drawTrainElevation } from "./pictures/draw-elevation.js";
export { drawTrainPlan } from "./pictures/draw-plan.js";
export type { PictureOptions } from "./pictures/picture.js";
export type { RatioJson } from "./ratio.js";
export { Ratio } from "./ratio.js";
export { readMovement } from "./read-movement.js";
export type * from "./result.js";
export type { MissingAnswer, MissingResult, SolveOptions } from "./solve-missing.js";
export { solveMissing } from "./solve-missing.js";
export type { Suspect } from "./suspects.js";
export type { DoubtResult, WeighedCount } from "./weigh-counts.js";
export { hasPhotographs, weighCounts, withWeighedCounts } from "./weigh-counts.js";

/** Room `mat`: the printed sheet and the tags, described once in mm, and their PDF. May know the floor. */
export type { CheckBarReadings } from "./check-bar-readings.js";
export { checkBarReadings } from "./check-bar-readings.js";
export { drawMatPdf, paperName } from "./draw-mat-pdf.js";
export { drawSetsPdf, setSteps } from "./draw-sets-pdf.js";
export { drawTagsPdf } from "./draw-tags-pdf.js";
export { markerBits } from "./marker-bits.js";
export type { RememberedMat, RememberedMatsOptions } from "./remembered-mats.js";
export {
  configFolder,
  forgetMat,
  listRememberedMats,
  readRememberedMat,
  rememberMat,
} from "./remembered-mats.js";
export type { Mark } from "./sheet-marks.js";
export { sheetMarks } from "./sheet-marks.js";
export type { CheckBar, Marker, Paper, PointOnSheetMm, Sheet } from "./sheet.js";
export {
  describeSheet,
  markerCells,
  markerCornersMm,
  paperOfMarker,
  papers,
  sheetRevision,
} from "./sheet.js";
export type { TagCard } from "./tag-cards.js";
export { layTagCards, tagQuietZoneMm } from "./tag-cards.js";
export type { Tag } from "./tags.js";
export { tagMarkerSizeMm, tagOfMarker, tags } from "./tags.js";
export type { WritePdfOptions } from "./write-pdf.js";
export { writeMatPdf, writeSetsPdf, writeTagsPdf } from "./write-pdf.js";

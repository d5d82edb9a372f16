/** Room `mat`: the printed sheet and the tags, described once in mm, and their PDF. May know the floor. */
export { markerBits } from "./marker-bits.js";
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
export type { Tag } from "./tags.js";
export { tagMarkerSizeMm, tagOfMarker, tags } from "./tags.js";

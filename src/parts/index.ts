/** Room `parts`: parts found on the mat and measured on their own plane. May know the floor, photo, view, segment. */
export type {
  CountAlternative,
  Finding,
  Hole,
  HoleKind,
  Notch,
  Notches,
  Part,
  PartKind,
  PartOutlinePx,
  PinPlace,
  PinsOfWheel,
  PlateForm,
  Point,
  RimProfile,
  TeethCount,
  ToothPlace,
  ToothState,
  TurnDirection,
} from "./part.js";
export type { FaceHeights } from "./face-height.js";
export type { Classify } from "./find/find-round-parts.js";
export type { ReadTeeth } from "./wheel/count-by-network.js";
export type { FoundParts, PartsOptions } from "./find-and-measure-parts.js";
export { findAndMeasureParts } from "./find-and-measure-parts.js";
export type {
  CameraSeen,
  CentreTerm,
  FacePicture,
  HubPicture,
  ToothMarkMm,
  ToothShift,
  WheelMarks,
} from "./reference-marks/wheel-marks.js";
export { readWheelMarks } from "./reference-marks/read-wheel-marks.js";

/** Room `record`: the result contract, its schema, writer and reader. May know every room above it. */
export {
  measurementJsonSchema,
  type FindingRecord,
  type MeasurementDocument,
  type OutlineRecord,
  type PartRecord,
  type PhotoRecord,
  type ProblemRecord,
  type RimRecord,
  type SetRecord,
  type SettingsRecord,
  type TeethRecord,
  type ViewRecord,
} from "./measurement-schema.js";
export { measurementSchemaName } from "./measurement-schema-name.js";
export { measurementDocument } from "./measurement-document.js";
export { readMeasurementDocument } from "./read-measurement-document.js";
export type { BudgetEntry, QuantityRecord } from "./quantity-record.js";
export { recordQuantity } from "./quantity-record.js";
export { recordSet } from "./record-sets.js";
export { recordPart } from "./record-part.js";
export { recordPhoto, recordSettings, recordUnreadPhoto, type MeasureSettings } from "./record-photo.js";
export { software, type Software } from "./software.js";
export { emptyStatement, readSurveyFile, type SurveyFile } from "./survey-file.js";
export {
  readSurveyDocument,
  surveySchemaName,
  type IdentificationRecord,
  type PersonRecord,
  type StatementRecord,
  type SurveyDocument,
} from "./survey-record.js";
export type {
  ArborResult,
  MeshResult,
  MotionWorkResult,
  MovementResult,
  StrikeResult,
  TimeResult,
  TrainFinding,
  TrainResult,
  WindingResult,
} from "../trains/index.js";
export { labelWords } from "./label-words.js";
export { settingsFromRecord } from "./settings-from-record.js";
export {
  correctionOf,
  noCorrections,
  partKinds,
  toothStates,
  type CorrectionsRecord,
  type PartCorrection,
  type PhotoCorrection,
  type ToothCorrection,
  type ToothStateByHand,
} from "./corrections.js";
export { withoutKeys } from "./without-keys.js";
export { correctionsFileName, correctionsText, readCorrectionsFile } from "./corrections-file.js";
export {
  correctedSurvey,
  correctPhoto,
  isByHand,
  meansPart,
  settingsWithCorrection,
  strayCorrections,
  tipRadiusPx,
} from "./apply-corrections.js";

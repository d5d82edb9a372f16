/** The library's face: what other programs may use of this package. */
export { InputError, SurveyError, UsageError } from "./problem/index.js";
export type { Outcome, Problem, ProblemCode } from "./problem/index.js";
export { readPhoto, readPhotoBytes } from "./photo/index.js";
export type { CameraData, Photo, ReadPhotoOptions } from "./photo/index.js";
export { measurementDocument, measurementJsonSchema, readMeasurementDocument } from "./record/index.js";
export type { MeasurementDocument, PartRecord, PhotoRecord, QuantityRecord } from "./record/index.js";
export { measurePhoto, measurePhotos } from "./pipeline/index.js";
export type { MeasurePhotoSettings, MeasurePhotosOptions } from "./pipeline/index.js";
export { evaluateMovement, readMovement } from "./trains/index.js";
export type { Mistake, Movement, MovementResult, Reading, TrainResult } from "./trains/index.js";

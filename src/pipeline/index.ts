/** Room `pipeline`: one photograph to its record, and many of them side by side. May know every room above it. */
export { measurePhoto, type MeasurePhotoSettings } from "./measure-photo.js";
export {
  measureAtSetHeights,
  type AtSetHeightsOptions,
  type FirstMeasurement,
  type KeptRecords,
} from "./measure-at-set-heights.js";
export { setHeights, settingsAtSetHeights, withHeightProblems, type SetHeights } from "./set-heights.js";
export { measureSets } from "./measure-sets.js";
export { measureSetsApart } from "./measure-sets-apart.js";
export { measurePhotos, type MeasurePhotosOptions } from "./measure-photos.js";
export { defaultWorkerCount } from "./worker-count.js";
export { networksForPhoto, type Networks } from "./networks.js";
export { startMeasureWorker } from "./start-measure-worker.js";
export type { JobWorker } from "./share-out.js";

/** Room `survey`: photographs of one part evaluated together. May know the floor, photo, view and parts. */
export type { RecognisedSet } from "./evaluate-sets.js";
export {
  apartFolder,
  belongsToSet,
  evaluateSet,
  isPhotoFolder,
  isTold,
  recogniseSets,
  setOfFolder,
} from "./evaluate-sets.js";
export type { SetKind, SetPhoto } from "./set-photo.js";
export { readSetPhoto, setPhotoText } from "./set-photo-text.js";
export type { SetFinding, SetPosition, SetProblem, SetProblemCode, SetResult } from "./set-result.js";

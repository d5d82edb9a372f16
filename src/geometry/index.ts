/** Room `geometry`: frames, cameras, rigid maps. Knows `problem` only. */
export type { Camera, RigidMap, ViewGeometry } from "./camera.js";
export {
  cameraCentreMm,
  matFromPixel,
  multiply3,
  normalisedFromPixel,
  pixelFromMat,
  pxPerMmAt,
  rotationFromVector,
} from "./camera.js";
export type { Sight } from "./in-sight.js";
export { isInSight, polygonInSight, sightOf } from "./in-sight.js";
export { outlineCorners } from "./outline-corners.js";
export type { Homography } from "./homography.js";
export { homographyFromPoints, invert3, mapPoint } from "./homography.js";
export { nearestTurn, placeInTurn, withinTurn } from "./turns.js";

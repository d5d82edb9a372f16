/** Room `view`: where the camera was over the mat, and how well that is known. May know the floor, photo and mat. */
export type { EdgeModel, SeenMat, SeenTag, View } from "./view.js";
export type { GivenScale } from "./given-view.js";
export type { ViewOptions } from "./solve-view.js";
export { solveView } from "./solve-view.js";
export type { PrintedAreas } from "./printed-areas.js";
export { printedAreas } from "./printed-areas.js";
export { linearFromSrgb } from "./linear-light.js";
export type { LinearRgb, PaperShade } from "./paper-shade.js";
export { paperRgbAt } from "./paper-shade.js";
export type { SharedUnknown, SolvedCamera } from "./solved-camera.js";
export { slopesOf } from "./solved-camera.js";

/** What measuring takes, gathered so that it is one thing to load while the decoder works. */
export { findAndMeasureParts, readWheelMarks } from "../parts/index.js";
export { readPhoto } from "../photo/index.js";
export { belongsToSet } from "../survey/index.js";
export { solveView } from "../view/index.js";

/**
 * Room `trains`: what the counts say about the clock. Knows the floor (`problem`, `quantity`); only
 * `from-survey.ts` knows how measurements are written down.
 */
export { evaluateMovement } from "./evaluate-movement.js";
export type { Mistake, Reading } from "./mistake.js";
export { mistakeText } from "./mistake.js";
export type { Arbor, Gear, Measured, Movement, MotionWork, SeenCount, Train, TrainDuty } from "./movement.js";
export { readMovement } from "./read-movement.js";
export type * from "./result.js";

/** Room `quantity`: values with uncertainty. Knows `problem` only. */
export { add, divide, multiply, scaleBy, subtract } from "./arithmetic.js";
export type { InputShare, SourceShare } from "./budget.js";
export { budgetOf, expandedUncertainty, largestInputs, sourceOf } from "./budget.js";
export { combine } from "./combine.js";
export { coverageFactor, effectiveDegreesOfFreedom } from "./degrees-of-freedom.js";
export { inputsFromCovariance, inputsFromObservations } from "./inputs-from-observations.js";
export type { InputId, Quantity, Source, Term, Unit } from "./quantity.js";
export { propagate, quantity, standardUncertainty } from "./quantity.js";
export { roundToUncertainty } from "./round-to-uncertainty.js";
export type { SeededRandom } from "./seeded-random.js";
export { seededRandom } from "./seeded-random.js";
export type { InputShape, SimulateOptions, Simulation } from "./simulate.js";
export { simulate } from "./simulate.js";
export { angleOfVector, magnitudeOfVector } from "./vector.js";

/** Room `quantity`: values with uncertainty. Knows `problem` only. */
export type { InputId, Quantity, Source, Term, Unit } from "./quantity.js";
export { propagate, quantity, standardUncertainty } from "./quantity.js";

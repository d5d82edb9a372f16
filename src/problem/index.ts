/** Room `problem`: what can go wrong, as values and as errors. Knows no other room. */
export type { Failure, Outcome, Problem, ProblemCode } from "./problem.js";
export { failed, ok } from "./problem.js";
export { InputError, SurveyError, UsageError } from "./survey-error.js";

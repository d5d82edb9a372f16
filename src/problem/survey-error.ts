/** Base of all errors that this program throws on purpose. Branch on `code`, never on the text. */
export abstract class SurveyError extends Error {
  abstract readonly code: string;
}

/** The command was called wrongly; the user can mend it (exit code 2). */
export class UsageError extends SurveyError {
  override readonly code = "usage";
}

/** A file that was given cannot be used as it is; says which, where and what was expected (exit code 2). */
export class InputError extends SurveyError {
  override readonly code = "input";
}

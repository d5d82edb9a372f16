import { SurveyError } from "../../problem/index.js";
import type { Refusal } from "../wire.js";

/** A request that cannot be done, for a reason that the page shows. */
export class PageError extends SurveyError {
  override readonly code: Refusal["code"];
  constructor(code: Refusal["code"], message: string) {
    super(message);
    this.code = code;
  }
}

export const statusOf: Readonly<Record<Refusal["code"], 400 | 403 | 404 | 409 | 413 | 500>> = {
  invalid: 400,
  forbidden: 403,
  "not-found": 404,
  conflict: 409,
  "too-large": 413,
  unexpected: 500,
};

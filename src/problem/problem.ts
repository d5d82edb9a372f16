/** Every problem that a measurement can end in. Text may change, codes may not. */
export type ProblemCode =
  // fits
  | "too-few-points"
  | "points-on-a-line"
  | "no-convergence"
  // photographs
  | "not-an-image"
  | "damaged-image"
  | "image-too-large"
  | "unsupported-image"
  | "file-unreadable"
  // view
  | "no-mat"
  | "mat-too-little-seen"
  | "mat-mirrored"
  | "two-mats"
  | "mat-other-paper"
  | "view-unsolved"
  | "scale-off-picture"
  // parts
  | "no-part"
  | "part-cut-off"
  | "parts-touching"
  | "teeth-too-small"
  | "teeth-unclear"
  | "too-blurred"
  | "outline-unclear"
  | "part-unknown"
  // tags
  | "tag-ambiguous"
  // sets
  | "height-set-elsewhere";

/** Something that a photograph cannot give: what happened, and what the user can do about it. */
export interface Problem {
  readonly code: ProblemCode;
  readonly text: string;
  readonly advice: string;
}

export interface Failure {
  readonly ok: false;
  readonly problem: Problem;
}

export type Outcome<T> = { readonly ok: true; readonly value: T } | Failure;

export const ok = <T>(value: T): Outcome<T> => ({ ok: true, value });

export const failed = (code: ProblemCode, text: string, advice: string): Failure => ({
  ok: false,
  problem: { code, text, advice },
});

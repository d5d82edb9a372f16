import type { WheelMarks } from "../parts/index.js";

export type SetKind = "turn" | "play" | "height";

/** What one photograph gives for the sets that it may belong to. Plain data: it travels between threads. */
export interface SetPhoto {
  readonly file: string;
  /** Of the untouched file; absent if it could not be read. */
  readonly sha256?: string;
  readonly wheels: readonly WheelMarks[];
  /** Labels of the cards and tags in the picture. */
  readonly cards: readonly string[];
  /** False if the photograph has no mat: then there is no frame to compare it in. */
  readonly onMat: boolean;
  /** Wheels that lean on their arbor: they are not compared. Default 0. */
  readonly leaning?: number;
}

/** One wheel in one photograph of its set. */
export interface WheelPhoto {
  readonly file: string;
  readonly sha256?: string;
  readonly marks: WheelMarks;
}

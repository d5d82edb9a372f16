import type { ViewGeometry } from "../geometry/index.js";
import type { Problem } from "../problem/index.js";
import type { InputId, Quantity } from "../quantity/index.js";
import type { PaperShade } from "./paper-shade.js";
import type { SolvedCamera } from "./solved-camera.js";

/**
 * How the edges of this photograph behave, learnt from the printed markers, whose true edges are known.
 * All in pixels of the photograph, and in linear light (sRGB undone, luminance): that is where blur is linear and where
 * half height is half way between the plain levels on either side.
 */
export interface EdgeModel {
  /** Standard deviation of the blur (lens, focus, motion, sharpening, the pixel's own square), as a Gaussian. */
  readonly blurSigmaPx: number;
  /**
   * How far a bright-to-dark edge found at half height sits from the true edge, positive towards the dark side
   * (blooming: bright areas look larger). The true edge lies `shiftPx` towards the bright side of the one found.
   */
  readonly shiftPx: number;
  /** Holds what ink that spreads may hide. */
  readonly uShiftPx: number;
}

/** A printed tag or card seen in the photograph. */
export interface SeenTag {
  /** "T1", "S2", "P1", "TURN", "PLAY" ... */
  readonly label: string;
  readonly centrePx: readonly [number, number];
  readonly cornersPx: readonly (readonly [number, number])[];
}

export interface SeenMat {
  readonly paper: "a4" | "letter" | "a3";
  readonly revision: number;
  /** Corners in the order of the mat description, px. */
  readonly markers: readonly {
    readonly id: number;
    readonly cornersPx: readonly (readonly [number, number])[];
  }[];
  readonly reprojectionRmsPx: number;
  /** Printed length over nominal length, across and along the sheet. */
  readonly printScaleAcross: Quantity<"1">;
  readonly printScaleAlong: Quantity<"1">;
  /** False when the user did not say what the check bars measure. */
  readonly printScaleMeasured: boolean;
  /** Highest minus lowest point of the sheet within the marker ring, as the solution has it, mm. */
  readonly bowMm?: number;
}

/**
 * The camera over the mat, and how well it is known.
 *
 * Without a mat but with a given scale, `geometry` is a very distant camera looking straight down, so that the
 * same mapping serves; with source "none" one pixel stands for one millimetre and no length may leave the room
 * `parts`.
 */
export interface View {
  readonly source: "mat" | "given" | "none";
  readonly geometry: ViewGeometry;
  /**
   * The geometry with one independent input moved by its standard uncertainty. The difference that a
   * measured value makes between `geometry` and one of these is that input's signed term.
   */
  readonly inputs: readonly { readonly id: InputId; readonly geometry: ViewGeometry }[];
  /** For photographs of one camera, which know it better together; only with a mat. */
  readonly solved?: SolvedCamera;
  readonly edge: EdgeModel;
  /** How the bare paper of the mat looks all over the picture; evaluate with `paperRgbAt`. */
  readonly paper?: PaperShade;
  readonly mat?: SeenMat;
  readonly tags: readonly SeenTag[];
  readonly problems: readonly Problem[];
}

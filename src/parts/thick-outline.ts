import { cameraCentreMm } from "../geometry/index.js";
import type { FacePlane } from "./face-plane.js";
import type { Point } from "./part.js";

/**
 * A disc has two edges, upper and lower, and what is seen against the mat is whichever reaches further out.
 *
 *        camera                    Away from the foot point F the outline is the upper edge; towards it, on a
 *          *                       wheel that lies wholly to one side of F, the lower edge looks out from below.
 *          |        ____ upper     Seen on the plane of the upper edge, the lower one is the same figure drawn
 *          |       |____| lower    smaller about F by k = thickness / (height of the camera over the lower edge).
 *     -----F------------------
 */
export class ThickOutline {
  readonly #shrink: number;
  readonly #x: number;
  readonly #y: number;

  /** @param edgesApartMm height of the upper outline over the lower one. */
  constructor(face: FacePlane, edgesApartMm: number) {
    const [footX, footY, cameraZ] = cameraCentreMm(face.geometry.cameraFromMat);
    this.#shrink = edgesApartMm / (cameraZ - face.zMm + edgesApartMm);
    this.#x = face.xMm - footX;
    this.#y = face.yMm - footY;
  }

  /** Lower edge minus upper edge along the outward normal at this angle and radius, mm. */
  #outward(angleRad: number, radiusMm: number): number {
    return -this.#shrink * (this.#x * Math.cos(angleRad) + this.#y * Math.sin(angleRad) + radiusMm);
  }

  /** Where the centre of the lower edge is seen beside that of the upper one, mm. */
  get lowerShiftMm(): Point {
    return [-this.#shrink * this.#x, -this.#shrink * this.#y];
  }

  /** The most by which the lower edge is seen outside or inside the upper one, anywhere round the rim, mm. */
  steepestMm(radiusMm: number): number {
    return Math.abs(this.#shrink) * (Math.hypot(this.#x, this.#y) + radiusMm);
  }

  /** How far the outer outline is seen outside the upper edge, mm. */
  rimExcessMm(angleRad: number, radiusMm: number): number {
    return Math.max(0, this.#outward(angleRad, radiusMm));
  }

  /** The same where it is most: towards the foot point. */
  mostRimExcessMm(radiusMm: number): number {
    return Math.max(0, this.#shrink * (Math.hypot(this.#x, this.#y) - radiusMm));
  }

  /** How far the outline of a hole is seen inside the upper edge, mm (zero or less). */
  holeExcessMm(angleRad: number, radiusMm: number): number {
    return Math.min(0, this.#outward(angleRad, radiusMm));
  }

  /**
   * How far the middle of a tooth or arm is seen beside the middle of its upper edge, counter-clockwise, mm.
   * Both flanks are seen at whichever edge reaches further, so the middle moves by half the offset of the edges.
   */
  middleShiftMm(angleRad: number): number {
    return 0.5 * -this.#shrink * (-this.#x * Math.sin(angleRad) + this.#y * Math.cos(angleRad));
  }

  /**
   * The lower edge widens a tooth on one flank, here more and there less: standard deviation of where a flank is seen,
   * over the whole rim, mm. Of the positive half of a sine wave that is sqrt(1/4 - 1/pi^2) of its amplitude.
   */
  flankSpreadMm(): number {
    return Math.sqrt(0.25 - 1 / Math.PI ** 2) * Math.abs(this.#shrink) * Math.hypot(this.#x, this.#y);
  }
}

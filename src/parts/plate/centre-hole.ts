import type { FaceHeight } from "../face-height.js";
import type { FacePlane } from "../face-plane.js";
import { ThickOutline } from "../thick-outline.js";
import type { HoleGuess } from "./find-holes.js";
import { fitHole } from "./fit-hole.js";
import type { HoleShape } from "./fit-hole-edge.js";
import type { FaceHere } from "./local-face.js";
import type { PlateFace } from "./plate-face.js";
import type { Sink } from "./find-sink.js";
import { findRayEdges, readHoleRays, type HoleRay } from "./read-hole-rays.js";

/** A hole with rays from a point near its middle, and its shape about that by half height. */
export interface CentredHole {
  readonly guess: HoleGuess;
  readonly xMm: number;
  readonly yMm: number;
  readonly rays: readonly HoleRay[];
  readonly shape: HoleShape;
  readonly support: number;
  /** The face round it. */
  readonly here: FaceHere;
  /** It was told from its own face, which is much brighter or darker than the plate's middle. */
  readonly isByOwnFace: boolean;
  /** Its dark inside has much of the metal's colour, so that colour says little of its edge. */
  readonly isTinted?: boolean;
  /** It lies in an oil sink, and was told from its slope. */
  readonly sink?: Sink;
  /** Of the bush within whose edge it was found, by half height. */
  readonly bushRadiusMm?: number;
}

/** A hole is not so much wider than the patch that it was found as. */
const mostGrowth = 3;

const lowerEdge = (
  face: FacePlane,
  { edgesApartMm }: FaceHeight,
  x: number,
  y: number,
): ((t: number, r: number) => number) => {
  const thick = new ThickOutline({ ...face, xMm: face.xMm + x, yMm: face.yMm + y }, edgesApartMm);
  return (t, r) => thick.holeExcessMm(t, r);
};

/**
 * Reads rays from the middle of a hole, which half height finds in two steps.
 *
 * @param here the face round it. @param sink that it lies in, whose slope is its face. @returns undefined for what is no hole.
 */
export function centreHole(
  guess: HoleGuess,
  plate: PlateFace,
  height: FaceHeight,
  here: FaceHere,
  isByOwnFace = false,
  sink?: Sink,
): CentredHole | undefined {
  const { face, pxMm } = plate;
  let [x, y, reach] = [guess.xMm, guess.yMm, guess.reachMm];
  for (let round = 0; ; round++) {
    // Specks and long slots fit a circle of any size.
    if (!(reach > 0 && reach < mostGrowth * guess.reachMm + 3 * pxMm)) return undefined;
    const lower = lowerEdge(face, height, x, y);
    const reachMm = 1.5 * reach + 9 * pxMm;
    const edges = findRayEdges(plate, x, y, reachMm, sink?.slopeToward ?? (() => here));
    const fit = fitHole(edges, lower, 0.04 * pxMm);
    if (fit === undefined) return undefined;
    if (round === 1) {
      const rays = readHoleRays(plate, x, y, reachMm, edges, (t, r) => -lower(t, r));
      const shape: HoleShape = [fit.xMm, fit.yMm, fit.radiusMm, ...fit.ovalMm];
      const found = { guess, xMm: x, yMm: y, rays, shape, support: fit.support, here, isByOwnFace };
      return sink === undefined ? found : { ...found, sink };
    }
    x += fit.xMm;
    y += fit.yMm;
    reach = fit.radiusMm;
  }
}

import { medianOf } from "../../fit/index.js";
import type { HoleShape } from "./fit-hole-edge.js";
import type { FittedHole } from "./fit-holes.js";

/** Standard uncertainties of x, y, radius and both waves of the oval, px: found on path-traced plates. */
const uBlownPx = [0.25, 0.25, 0.5, 0.25, 0.25] as const;
/** ... on grey metal, and what is unknown of a shape for each share of the turn that does not lie on it, of its radius. */
const unseenShare = 0.35;
const uGreyPx = [0.3, 0.3, 0.6, 0.3, 0.3] as const;
const uOwnFacePx = [0.3, 0.3, 0.5, 0.25, 0.25] as const;
/** Both ways differ by so much where nothing is wrong: radius, from what is usual on the plate, and oval; mm. */
const usualRadiusMm = 0.045;
const usualOvalMm = 0.25;
const fewestForUsual = 4;
/** Of the place of a hole's edge in an oil sink, and of either wave of its oval, mm: found on drawn plates. */
const uSunkPlaceMm = 0.02;
const uSunkOvalMm = 0.015;

/**
 * Weighs the edge below the bevel against that at half height, which knows of no bevel.
 *
 * What the holes of the plate have taught of bevels holds where the face is as bright as in its middle. Where it is dark, a
 * bevel mirrors something brighter than the face does: half height errs inwards there, the edge below the bevel outwards, and
 * their middle is believed. Where the face is blown out, no bevel is seen, and half height alone counts. Elsewhere half
 * height is the worse of the two, but a hole about which they differ more than usual is seen badly.
 */
export function weighAgainstHalfHeight(fits: readonly FittedHole[]): FittedHole[] {
  const bevels = fits
    .filter(({ hole }) => !hole.isByOwnFace && hole.sink?.rim === undefined)
    .map(({ hole, fit }) => hole.shape[2] - fit.shape[2]);
  const usualBevelMm = bevels.length < fewestForUsual ? undefined : medianOf(bevels);
  return fits.map(({ hole, fit }): FittedHole => {
    const half = hole.shape;
    const pxMm = 2 * hole.rays[0]!.stepMm;
    const apart = fit.shape.map((v, k) => half[k]! - v);
    if (!hole.here.hasColour) {
      const uShapeMm = fit.uShapeMm.map((u, k) =>
        Math.hypot(u, uGreyPx[k]! * pxMm, unseenShare * (1 - hole.support) * half[2]),
      );
      return { hole, fit: { ...fit, uShapeMm } };
    }
    if (hole.here.isBlown) {
      const uShapeMm = uBlownPx.map((u) => u * pxMm);
      return { hole, fit: { shape: half, uShapeMm, support: hole.support } };
    }
    if (hole.isByOwnFace) {
      const shape = fit.shape.map((v, k) => v + apart[k]! / 2) as unknown as HoleShape;
      const uLens = Math.hypot(apart[3]!, apart[4]!) / 2;
      const uShapeMm = fit.uShapeMm.map((u, k) =>
        Math.hypot(u, apart[k]! / 2, uOwnFacePx[k]! * pxMm, k === 2 ? uLens : 0),
      );
      return { hole, fit: { ...fit, shape, uShapeMm } };
    }
    if (hole.sink?.rim !== undefined) {
      // In a sink the wall is seen beside a slope that is as dark, and a lens of the sheet passes for an oval hole.
      const uOval = Math.hypot(uSunkOvalMm, apart[2]! / 2);
      const more = [
        uSunkPlaceMm,
        uSunkPlaceMm,
        0,
        Math.hypot(uOval, apart[3]!),
        Math.hypot(uOval, apart[4]!),
      ];
      return { hole, fit: { ...fit, uShapeMm: fit.uShapeMm.map((u, k) => Math.hypot(u, more[k]!)) } };
    }
    const beyond = (value: number, usual: number): number => Math.max(0, Math.abs(value) - usual);
    const uRadius = usualBevelMm === undefined ? 0 : beyond(apart[2]! - usualBevelMm, usualRadiusMm);
    const uOval = beyond(4 * Math.hypot(apart[3]!, apart[4]!), usualOvalMm) / 4;
    // As above: a lens, which a lit wall leaves of a hole, is narrower by a quarter of its oval.
    const more = [0, 0, Math.hypot(uRadius, uOval), uOval, uOval];
    return { hole, fit: { ...fit, uShapeMm: fit.uShapeMm.map((u, k) => Math.hypot(u, more[k]!)) } };
  });
}

import { solidityOf, type MetalAt, type Piece } from "./piece-on-axis.js";

/** Ends of arbors are thinner, across the line to the foot point, mm (common practice, no source). */
export const leastAcrossMm = 3;
/** What is thinner and shows no leaves may be a thick arbor, mm. */
export const leastUnreadMm = 4;
/** A plain rod is a convex thing, 0.95 and more; of 80 pinions none was above 0.91. */
export const mostSolid = 0.93;
/** A collet hides the foot of an arbor to so much over the face at the most, mm. */
const mostHiddenMm = 2;

/**
 * Nothing without colour that the axis is seen before has leaves: it is too thin, or convex. What rises from the face is no
 * thicker than an arbor, the rest are openings of the wheel. The network, which takes longer than all else, sees no more there.
 *
 * @param bareAt how surely a point of the face's plane has none of the wheel's colour; @param bare its pieces on the axis.
 */
export const isRodAlone = (bareAt: MetalAt, bare: readonly Piece[]): boolean =>
  bare.every(
    (piece, k) =>
      piece.acrossMm < leastAcrossMm ||
      ((k > 0 || (piece.overMm <= mostHiddenMm && piece.acrossMm < leastUnreadMm)) &&
        solidityOf(bareAt, piece) > mostSolid),
  );

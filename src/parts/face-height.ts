import { quantity, type Quantity } from "../quantity/index.js";

/** Heights above the mat as the user gave them or a height set found them, mm. */
export interface FaceHeights {
  readonly everyPartMm?: number;
  readonly byLabelMm?: Readonly<Record<string, number>>;
  /** Standard uncertainties of these; absent: as calipers on the bench. */
  readonly uEveryPartMm?: number;
  readonly uByLabelMm?: Readonly<Record<string, number>>;
}

/** Where the outline of a part lies above the mat. */
export interface FaceHeight {
  /** Height of the full-size outline: it lies under the bevel, not on the face. */
  readonly outlineMm: number;
  readonly uOutlineMm: number;
  /** Height of the upper outline over the lower one. */
  readonly edgesApartMm: number;
  readonly given: boolean;
  /** Nobody said how high it is: on its arbor it would lean, its middle raised. */
  readonly mayLean: boolean;
  /** It may be a thickness: a face higher than that does not lie on the mat. */
  readonly liesOnMat: boolean;
  /** The face itself, as a quantity owned by the part's label or name. */
  faceMm(owner: string): Quantity<"mm">;
}

/** A wheel that lies on the mat: common practice, no source: 1 to 2.2 mm for clocks. */
const usualThicknessMm = 1.5;
const uUsualThicknessMm = 0.35;
/** Calipers on the bench. */
const uGivenMm = 0.06;
/** A bevel or a rounded edge takes this much off the top (common practice, no source). */
const bevelMm = 0.1;
const uBevelMm = 0.06;
/** A face higher than a thick wheel cannot lie on the mat. */
const highestLyingMm = 3.2;

export function heightOfFace(heights: FaceHeights, label: string | undefined): FaceHeight {
  const own = label === undefined ? undefined : heights.byLabelMm?.[label];
  const given = own ?? heights.everyPartMm;
  const uStated = own === undefined ? heights.uEveryPartMm : heights.uByLabelMm?.[label!];
  const face = given ?? usualThicknessMm;
  const u = given === undefined ? uUsualThicknessMm : (uStated ?? uGivenMm);
  const thickness = face <= highestLyingMm ? face : usualThicknessMm;
  // A drawing or a sheet of nothing has no bevel.
  const bevel = Math.min(bevelMm, face / 4);
  return {
    outlineMm: face - bevel,
    uOutlineMm: Math.hypot(u, Math.min(uBevelMm, face / 4)),
    edgesApartMm: Math.max(0, thickness - 2 * bevel),
    given: given !== undefined,
    mayLean: given === undefined,
    liesOnMat: face <= highestLyingMm,
    faceMm: (owner) => quantity(face, "mm", [[`height:${owner}`, u]]),
  };
}

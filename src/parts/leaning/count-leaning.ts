import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { FaceHeight } from "../face-height.js";
import type { RoundPart } from "../find/find-round-parts.js";
import type { Candidate } from "../settle-wheels.js";
import { countWheel } from "../wheel/counted-wheel.js";
import { findRim } from "../wheel/find-rim.js";
import { faceOnLean, leanOfTeeth, leansOfRim, supportOf } from "./lean-of-teeth.js";

/** A count that is worth less says nothing about a lean. */
const leastProbability = 0.3;

/**
 * The teeth of a wheel that leans on its arbor, counted on its own plane: from straight above they stand closer on two
 * sides, and further apart where the rim is nearer to the camera.
 *
 * @param part as if it lay flat. @returns undefined where it is round, or no lean explains its teeth.
 */
export function countLeaning(
  photo: Photo,
  view: View,
  part: RoundPart,
  height: FaceHeight,
): Candidate | undefined {
  const flat = findRim(photo, part.contrast, part.face, part.radiusMm);
  if (flat === undefined) return undefined;
  const support = supportOf(height);
  const leans = leansOfRim(view, flat, support);
  const counted = leans.flatMap((circle) => {
    const face = faceOnLean(view, circle, support.outlineMm);
    const wheel = countWheel(photo, part.contrast, face, circle.radiusMm);
    return wheel === undefined || wheel.count.probability < leastProbability ? [] : [wheel];
  });
  const [surest] = counted.sort((a, b) => b.count.probability - a.count.probability);
  if (surest === undefined) return undefined;
  const lean = leanOfTeeth(photo, view, surest, support, height.edgesApartMm, leans);
  if (lean === undefined) return undefined;
  const leaning = { ...part, face: faceOnLean(view, lean, support.outlineMm), radiusMm: lean.radiusMm };
  const wheel = countWheel(photo, leaning.contrast, leaning.face, leaning.radiusMm);
  return wheel && { part: leaning, wheel: { ...wheel, lean } };
}

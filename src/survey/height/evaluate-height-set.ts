import { propagate, standardUncertainty, type Quantity } from "../../quantity/index.js";
import { centreSeen, leanOf } from "../centre-seen.js";
import { asOneCamera } from "../compare/one-camera.js";
import type { WheelOfSet } from "../compare/wheels-of-set.js";
import { chiSquaredLimit } from "../fit-by-terms.js";
import type { WheelPhoto } from "../set-photo.js";
import type { SetProblem, SetResult } from "../set-result.js";
import { solveHeight } from "./solve-height.js";

export const fewestHeightPhotos = 2;
/** A height known no better than this is worse than the thickness that is assumed anyway. */
const uselessMm = 0.6;
/** The outline that is triangulated lies under the bevel; how deep varies (common practice, no source). */
const uBevelMm = 0.06;
/** Chance of about 1 in 2000 that a wheel that stayed where it was does worse. */
const surelyMoved = 3.3;

/** Height of a wheel's face over the mat, from photographs taken from different places. */
export function evaluateHeightSet(wheel: WheelOfSet): SetResult {
  const photos = asOneCamera(wheel.photos);
  const base = {
    kind: "height" as const,
    ...(wheel.label === undefined ? {} : { label: wheel.label }),
    photos: photos.map(({ file }) => file),
    positions: photos.map(({ file, marks }) => ({
      file,
      partId: marks.partId,
      turnRad: 0,
      centreMm: marks.centreMm,
    })),
    findings: [],
  };
  const name = `height set${wheel.label === undefined ? "" : ` ${wheel.label}`}`;
  const cannot = (problem: SetProblem): SetResult => ({
    ...base,
    problems: [...wheel.problems, problem],
  });
  if (photos.length < fewestHeightPhotos)
    return cannot({
      code: "set-too-few-photos",
      text: `${name}: expected ${fewestHeightPhotos} or more photographs, received ${photos.length}`,
      advice: "leave the wheel where it is, move the camera sideways by 15 cm or more, and take another",
    });
  const first = photos[0]!.marks;
  const fit = solveHeight(photos.map(pointOf));
  if (!fit.ok || standardUncertainty(fit.value.aboveMm) > uselessMm)
    return cannot({
      code: "height-camera-too-near",
      text: `${name}: the camera was at nearly the same place in all photographs, so they do not tell the height`,
      advice: "leave the wheel where it is, move the camera sideways by 15 cm or more, and take another",
    });
  const { aboveMm, chiSquared, degreesOfFreedom, residualsMm } = fit.value;
  if (chiSquared > chiSquaredLimit(degreesOfFreedom, surelyMoved))
    return cannot({
      code: "height-wheel-moved",
      text: `${name}: no height explains all photographs (${Math.max(...residualsMm.map((r) => Math.hypot(...r))).toFixed(2)} mm apart): the wheel or the mat moved between them`,
      advice: "leave wheel and mat untouched, and move the camera only",
    });
  return {
    ...base,
    faceHeightMm: propagate(first.faceMm + aboveMm.value, "mm", [[aboveMm, 1]], [["edge:bevel", uBevelMm]]),
    tipDiameterMm: tipDiameter(photos, aboveMm),
    problems: wheel.problems,
  };
}

/**
 * Planes at two heights are copies of each other about the camera, so a diameter shrinks with the distance from it.
 * Mean of all photographs.
 */
function tipDiameter(photos: readonly WheelPhoto[], aboveMm: Quantity<"mm">): Quantity<"mm"> {
  const each = photos.map(({ marks }) => {
    const up = marks.cameraMm[2] - marks.outlineMm;
    const diameter = 2 * marks.tipRadiusMm;
    return { value: diameter * (1 - aboveMm.value / up), slope: -diameter / up, u: 2 * marks.uTipRadiusMm };
  });
  const n = each.length;
  const value = each.reduce((s, d) => s + d.value / n, 0);
  const slope = each.reduce((s, d) => s + d.slope / n, 0);
  // Light and edge are the same in all of them: more photographs do not make them better known.
  const u = each.reduce((s, d) => s + d.u / n, 0);
  return propagate(value, "mm", [[aboveMm, slope]], [["edge:tips", u]]);
}

/** All photographs on the plane of the first. */
function pointOf({ marks }: WheelPhoto, k: number) {
  const lean = leanOf(marks);
  return {
    seenMm: marks.centreMm,
    lean,
    // The height is what is asked for: it is no input here.
    terms: centreSeen(marks, String(k)).terms.filter(({ id }) => id !== "height:face"),
  };
}

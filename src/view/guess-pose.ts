import type { Homography } from "../geometry/index.js";

/** A pose to start from: rotation from mat to camera (row-major) and the mat's origin in the camera frame, mm. */
export interface PoseGuess {
  readonly rotation: readonly number[];
  readonly translationMm: readonly [number, number, number];
}

/**
 * Pose of the mat plane from its homography (mat mm to px) for a pinhole with focal length `fPx`.
 * The columns of K⁻¹ H are two axes of the rotation, up to scale and sign; the sign that puts the mat in front of
 * the camera is taken, and the axes are made square to each other symmetrically.
 *
 * @returns undefined for a degenerate homography.
 * Source: Z. Zhang, IEEE PAMI 22 (2000) 1330-1334, section 3.1.
 */
export function guessPose(h: Homography, fPx: number, cxPx: number, cyPx: number): PoseGuess | undefined {
  const column = (j: number): [number, number, number] => [
    (h[j]! - cxPx * h[6 + j]!) / fPx,
    (h[3 + j]! - cyPx * h[6 + j]!) / fPx,
    h[6 + j]!,
  ];
  const a = column(0);
  const b = column(1);
  const c = column(2);
  const lengthA = Math.hypot(...a);
  const lengthB = Math.hypot(...b);
  if (!(lengthA > 0) || !(lengthB > 0)) return undefined;
  const scale = (c[2] < 0 ? -2 : 2) / (lengthA + lengthB);
  const unitA = a.map((v) => (v * Math.sign(scale)) / lengthA);
  const unitB = b.map((v) => (v * Math.sign(scale)) / lengthB);
  // Bisectors of two unit vectors are square to each other; rotate them back by 45 degrees.
  const sum = unitA.map((v, i) => v + unitB[i]!);
  const difference = unitA.map((v, i) => v - unitB[i]!);
  const lengthSum = Math.hypot(...sum);
  const lengthDifference = Math.hypot(...difference);
  if (!(lengthSum > 1e-6) || !(lengthDifference > 1e-6)) return undefined;
  const r1 = sum.map((v, i) => (v / lengthSum + difference[i]! / lengthDifference) / Math.SQRT2);
  const r2 = sum.map((v, i) => (v / lengthSum - difference[i]! / lengthDifference) / Math.SQRT2);
  const r3 = [
    r1[1]! * r2[2]! - r1[2]! * r2[1]!,
    r1[2]! * r2[0]! - r1[0]! * r2[2]!,
    r1[0]! * r2[1]! - r1[1]! * r2[0]!,
  ];
  return {
    rotation: [0, 1, 2].flatMap((i) => [r1[i]!, r2[i]!, r3[i]!]),
    translationMm: [c[0] * scale, c[1] * scale, c[2] * scale],
  };
}

/**
 * The other pose that a flat target allows under weak perspective: tilted the other way about the line of sight.
 * Noise can make the search end in it, so both are tried.
 */
export function mirroredPose({ rotation, translationMm }: PoseGuess): PoseGuess {
  // Reflect the mat normal about the line of sight to the origin: turn by pi about it, then by pi about the mat's normal.
  const length = Math.hypot(...translationMm);
  const s = translationMm.map((v) => v / length);
  const half = (i: number, j: number): number => 2 * s[i]! * s[j]! - (i === j ? 1 : 0);
  const turned: number[] = [];
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      let sum = 0;
      for (let k = 0; k < 3; k++) sum += half(i, k) * rotation[3 * k + j]!;
      turned.push(j < 2 ? -sum : sum);
    }
  }
  return { rotation: turned, translationMm };
}

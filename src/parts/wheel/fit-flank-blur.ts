import { normalDistribution, solveLeastSquares } from "../../fit/index.js";

/** How soft the flanks of the mean tooth are. */
export interface FlankBlur {
  readonly sigmaMm: number;
  readonly uSigmaMm: number;
}

/**
 * Blur of this wheel's own edges, in the very signal that is measured: a section along the arc through straight
 * flanks is a rectangle, softened. It takes in what markers cannot show: colour stored at half resolution, a face
 * out of focus, teeth that are not quite alike.
 *
 * @param section height across one pitch, tooth in the middle, evenly spaced.
 * @returns undefined when the teeth are too fine for flanks to be told apart.
 */
export function fitFlankBlur(
  section: Float64Array,
  stepMm: number,
  expectedSigmaMm: number,
): FlankBlur | undefined {
  const n = section.length;
  const pitchMm = n * stepMm;
  if (pitchMm < 9 * expectedSigmaMm) return undefined;
  const at = (i: number): number => (i - (n - 1) / 2) * stepMm;
  // middle, half width, sigma, floor, height
  const start = [
    0,
    0.25 * pitchMm,
    expectedSigmaMm,
    Math.min(...section),
    Math.max(...section) - Math.min(...section),
  ];
  const model = (p: Float64Array, x: number): number => {
    const sigma = Math.max(0.2 * expectedSigmaMm, p[2]!);
    let s = 0;
    // The neighbours' softened edges reach into the space.
    for (const turn of [-pitchMm, 0, pitchMm]) {
      const d = x - p[0]! - turn;
      s += normalDistribution((d + p[1]!) / sigma) - normalDistribution((d - p[1]!) / sigma);
    }
    return p[3]! + p[4]! * s;
  };
  const fit = solveLeastSquares({
    residualCount: n + 1,
    start,
    scale: [0.1 * stepMm, 0.1 * stepMm, 0.05 * expectedSigmaMm, 0.02, 0.02],
    residuals: (p, out) => {
      for (let i = 0; i < n; i++) out[i] = (model(p, at(i)) - section[i]!) / 0.02;
      out[n] = Math.log(Math.max(0.1, p[2]! / expectedSigmaMm)) / 0.5;
    },
  });
  if (!fit.ok) return undefined;
  const { params, covariance, sumOfSquares } = fit.value;
  const excess = Math.max(1, Math.sqrt(sumOfSquares / Math.max(1, n - 5)));
  const sigmaMm = Math.max(0.2 * expectedSigmaMm, params[2]!);
  const uSigmaMm = Math.hypot(Math.sqrt(covariance[12]!) * excess, 0.06 * sigmaMm);
  return params[1]! > sigmaMm && params[1]! < 0.5 * pitchMm - sigmaMm ? { sigmaMm, uSigmaMm } : undefined;
}

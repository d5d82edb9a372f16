import { solveLeastSquares } from "../fit/index.js";
import type { ViewGeometry } from "../geometry/index.js";
import { failed, ok, type Outcome } from "../problem/index.js";
import { approachMinimum } from "./approach-minimum.js";
import { markerScatterPx, noiseFrom, plainNoise, sizesOf, uFloorPx } from "./corner-noise.js";
import {
  CornerSystem,
  priorRows,
  seenResiduals,
  sumOfSquares,
  type CameraPrior,
  type Held,
  type MarkerObservation,
  type Noise,
} from "./corner-system.js";
import { frameOfPose, geometryOf, unknown, unknownCount, type MatFrame } from "./mat-camera.js";
import { bowTerms, supportHeightMm } from "./sheet-bow.js";

export interface StartPose {
  readonly rotation: readonly number[];
  readonly translationMm: readonly [number, number, number];
}

/** A camera without its uncertainty. */
export interface RoughCamera {
  readonly frame: MatFrame;
  readonly params: Float64Array;
  /** Root mean square distance between seen and projected corners, px. */
  readonly rmsPx: number;
  readonly chiSquared: number;
}

export interface MatCamera extends RoughCamera {
  /** In the plane that a part on the sheet rests on, see `supportHeightMm`. */
  readonly geometry: ViewGeometry;
  /** Height of that plane against the middle of the sheet, mm; 0 or below. */
  readonly supportMm: number;
  /** The prior that was used in the end. */
  readonly prior: CameraPrior;
  /** 20 x 20 row-major, in the order of `unknown`; already widened where the residuals ask for it. */
  readonly covariance: Float64Array;
  /** By how much, as a factor on variances. */
  readonly widenedBy: number;
  readonly noise: Noise;
  /** Ids used; the others disagreed with the rest. */
  readonly used: readonly number[];
  readonly degreesOfFreedom: number;
}

const n = unknownCount;
/**
 * The same unknowns without their uncertainty, for a start: outliers weighted down, markers' noise as given.
 *
 * @param start a guess of the pose, or an earlier solution.
 * @param ringHalfMm half width and height of the marker ring, nominal mm.
 */
export function approachMatCamera(
  markers: readonly MarkerObservation[],
  prior: CameraPrior,
  start: StartPose | RoughCamera,
  ringHalfMm: readonly [number, number],
): RoughCamera {
  const { frame, params: first } = "frame" in start ? start : startParams(prior, start, ringHalfMm);
  const noise: Noise = { corner: markers.map(plainNoise), marker: 0 };
  const { params, weights } = approachRobustly(frame, markers, prior, noise, first, 2);
  const chiSquared = chiSquaredAt(new CornerSystem(frame, markers, prior, noise, weights), params);
  return { frame, params, rmsPx: rmsOf(seenResiduals(frame, params, markers)), chiSquared };
}

/**
 * Camera, pose, lens, print scale, bloom and bow of the sheet from marker corners, all at once, as the maximum of
 * the posterior: least squares with the priors as pseudo-observations. The corners of one marker share an error of
 * place besides their own (paper and print are uneven), both are estimated from the residuals. Markers that
 * disagree are left out.
 *
 * @returns problem "view-unsolved" when no camera explains the corners.
 */
export function solveMatCamera(
  markers: readonly MarkerObservation[],
  prior: CameraPrior,
  start: RoughCamera,
): Outcome<MatCamera> {
  const { frame } = start;
  const firstNoise: Noise = { corner: markers.map(plainNoise), marker: markerScatterPx };
  const robust = approachRobustly(frame, markers, prior, firstNoise, start.params, 3);
  const { size, typical } = sizesOf(seenResiduals(frame, robust.params, markers));
  const close = markers.filter((_, i) => size[i]! <= 4.5 * Math.max(typical, 2 * uFloorPx));
  const used = close.length >= Math.min(3, markers.length) ? close : markers;
  const noise: Noise = { corner: used.map(plainNoise), marker: markerScatterPx };
  let belief = prior;
  let params = approachMinimum(new CornerSystem(frame, used, belief, noise), robust.params, 1e-5);
  const [bow, uBow] = prior.bow;
  if (bowTerms.some((index) => Math.abs(params[index]! - bow) > 2 * uBow)) {
    // No sheet on a table after all, but one that curls.
    belief = { ...prior, bow: [bow, uCurledMm] };
    params = approachMinimum(new CornerSystem(frame, used, belief, noise), params, 1e-5);
  }
  const settled = noiseFrom(seenResiduals(frame, params, used), used);
  return finish(frame, used, belief, settled, params);
}

const uCurledMm = 2;
/** A decentred lens is believed only when it explains this much more: chi squared of 2 degrees of freedom, p = 0.001. */
const decentredAtChiSquared = 13.8;
const centredLens: readonly Held[] = [
  { index: unknown.p1, value: 0 },
  { index: unknown.p2, value: 0 },
];

/** The same solution with some unknowns kept at other values; markers and noise stay. */
export function solveAgainHeld(
  markers: readonly MarkerObservation[],
  { frame, params, used, noise, prior }: MatCamera,
  held: readonly Held[],
): Float64Array {
  const start = params.slice();
  for (const { index, value } of held) start[index] = value;
  const kept = markers.filter(({ id }) => used.includes(id));
  return approachMinimum(new CornerSystem(frame, kept, prior, noise, undefined, held), start, 1e-6);
}

function finish(
  frame: MatFrame,
  used: readonly MarkerObservation[],
  prior: CameraPrior,
  noise: Noise,
  start: Float64Array,
): Outcome<MatCamera> {
  const system = new CornerSystem(frame, used, prior, noise);
  const solved = solveLeastSquares(
    {
      residuals: (params, out) => system.residuals(params, out),
      jacobian: (params, out) => system.jacobian(params, out),
      residualCount: system.residualCount,
      start: approachMinimum(system, start, 1e-6),
      scale: typicalSize,
    },
    { maxIterations: 100, tolerance: 1e-9 },
  );
  if (!solved.ok) {
    return failed(
      "view-unsolved",
      "the markers of the mat were seen, but no camera explains where they are",
      "lay the mat flat, keep all of it in the picture and photograph it from above",
    );
  }
  const { covariance, residuals } = solved.value;
  let { params, sumOfSquares: chiSquared } = solved.value;
  const degreesOfFreedom = residuals.length - n;
  const inflate = Math.max(1, chiSquared / degreesOfFreedom);
  // Plain lenses keep the plain model, so that k1 and k2 alone describe them; what is not known of the tangential
  // terms stays in the covariance.
  const plain = approachMinimum(
    new CornerSystem(frame, used, prior, noise, undefined, centredLens),
    Float64Array.from(params, (v, i) => (i === unknown.p1 || i === unknown.p2 ? 0 : v)),
    1e-8,
  );
  for (const { index, value } of centredLens) plain[index] = value;
  const plainChiSquared = chiSquaredAt(system, plain);
  if (plainChiSquared - chiSquared < decentredAtChiSquared * inflate) {
    params = plain;
    chiSquared = plainChiSquared;
  }
  const supportMm = supportHeightMm(params, covariance);
  return ok({
    frame,
    geometry: geometryOf(frame, params, supportMm),
    supportMm,
    params,
    prior,
    covariance: covariance.map((v) => v * inflate),
    widenedBy: inflate,
    rmsPx: rmsOf(seenResiduals(frame, params, used)),
    noise,
    used: used.map(({ id }) => id),
    chiSquared,
    degreesOfFreedom,
  });
}

function chiSquaredAt(system: CornerSystem, params: Float64Array): number {
  const residuals = new Float64Array(system.residualCount);
  system.residuals(params, residuals);
  return sumOfSquares(residuals);
}

/** Huber's weights on whole markers: a covered corner spoils its marker, not the sheet. */
function approachRobustly(
  frame: MatFrame,
  markers: readonly MarkerObservation[],
  prior: CameraPrior,
  noise: Noise,
  start: Float64Array,
  rounds: number,
): { params: Float64Array; weights: Float64Array } {
  let params = start;
  let weights = new Float64Array(markers.length).fill(1);
  for (let round = 0; round < rounds; round++) {
    params = approachMinimum(new CornerSystem(frame, markers, prior, noise, weights), params, 1e-4);
    const { size, typical } = sizesOf(seenResiduals(frame, params, markers));
    weights = size.map((s) => Math.min(1, (2 * Math.max(typical, 2 * uFloorPx)) / s));
  }
  return { params, weights };
}

const rmsOf = (seen: readonly Float64Array[]): number =>
  Math.sqrt(seen.reduce((sum, r) => sum + sumOfSquares(r), 0) / (4 * seen.length));

function startParams(
  prior: CameraPrior,
  start: StartPose,
  ringHalfMm: readonly [number, number],
): { frame: MatFrame; params: Float64Array } {
  const params = new Float64Array(n);
  for (const [index, [estimate]] of priorRows(prior)) params[index] = estimate;
  const camera = { lnF: prior.lnF[0], cx: prior.cx[0], cy: prior.cy[0] };
  const { frame, pose } = frameOfPose(start.rotation, start.translationMm, camera, ringHalfMm);
  params.set(pose, unknown.w);
  return { frame, params };
}

/** For "has it moved?". */
const typicalSize = Float64Array.from({ length: n }, () => 0.1);
for (const [index, size] of [
  [unknown.lnF, 1],
  [unknown.cx, 100],
  [unknown.cy, 100],
  [unknown.originU, 100],
  [unknown.originV, 100],
  [unknown.sx, 0.01],
  [unknown.sy, 0.01],
  [unknown.p1, 0.01],
  [unknown.p2, 0.01],
] as const) {
  typicalSize[index] = size;
}

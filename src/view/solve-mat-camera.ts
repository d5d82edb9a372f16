import { choleskyFactor, choleskySolve, solveLeastSquares } from "../fit/index.js";
import { failed, ok, type Outcome } from "../problem/index.js";
import { frameOfPose, geometryOf, projectorAt, unknown, unknownCount, type MatFrame } from "./mat-camera.js";
import type { ViewGeometry } from "../geometry/index.js";

/** One marker as seen. */
export interface MarkerObservation {
  readonly id: number;
  /** Corners on the sheet, nominal mm: x0, y0 ... x3, y3. */
  readonly nominalMm: Float64Array;
  /** The same corners in the picture, px. */
  readonly cornersPx: Float64Array;
  /** Standard uncertainty of a corner coordinate, px. */
  readonly uPx: number;
}

/** What is believed before looking: estimate and standard uncertainty of each unknown but the pose. */
export interface CameraPrior {
  readonly lnF: Believed;
  readonly lnAspect: Believed;
  readonly cx: Believed;
  readonly cy: Believed;
  readonly k1: Believed;
  readonly k2: Believed;
  /** Of either tangential term. */
  readonly tangential: Believed;
  readonly sx: Believed;
  readonly sy: Believed;
  readonly bloom: Believed;
  /** Of each of the three terms, mm at the marker ring. */
  readonly bow: Believed;
}
export type Believed = readonly [estimate: number, u: number];

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
  readonly noise: Noise;
  /** Ids used; the others disagreed with the rest. */
  readonly used: readonly number[];
  readonly degreesOfFreedom: number;
}

/** An unknown kept at a value: a Gaussian with a tiny u replaces its prior. */
export interface Held {
  readonly index: number;
  readonly value: number;
}

const n = unknownCount;
/** Edge lines are straight to a few hundredths of a pixel at best: rasters, sharpening and compression see to that. */
const uFloorPx = 0.03;
/** Belief about the scatter of whole markers (print, creases) before the residuals are seen, px; worth 4 residuals. */
const markerScatterPx = 0.08;
const markerScatterWeight = 4;

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
  const chiSquared = chiSquaredAt(new System(frame, markers, prior, noise, weights), params);
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
  let params = approachMinimum(new System(frame, used, belief, noise), robust.params, 1e-5);
  const [bow, uBow] = prior.bow;
  if (bowTerms.some((index) => Math.abs(params[index]! - bow) > 2 * uBow)) {
    // No sheet on a table after all, but one that curls.
    belief = { ...prior, bow: [bow, uCurledMm] };
    params = approachMinimum(new System(frame, used, belief, noise), params, 1e-5);
  }
  const settled = noiseFrom(seenResiduals(frame, params, used), used);
  return finish(frame, used, belief, settled, params);
}

const bowTerms = [unknown.bowXX, unknown.bowXY, unknown.bowYY];
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
  return approachMinimum(new System(frame, kept, prior, noise, undefined, held), start, 1e-6);
}

function finish(
  frame: MatFrame,
  used: readonly MarkerObservation[],
  prior: CameraPrior,
  noise: Noise,
  start: Float64Array,
): Outcome<MatCamera> {
  const system = new System(frame, used, prior, noise);
  const solved = solveLeastSquares(
    { ...system, start: approachMinimum(system, start, 1e-9), scale: typicalSize },
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
    new System(frame, used, prior, noise, undefined, centredLens),
    Float64Array.from(params, (v, i) => (i === unknown.p1 || i === unknown.p2 ? 0 : v)),
    1e-9,
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
    rmsPx: rmsOf(seenResiduals(frame, params, used)),
    noise,
    used: used.map(({ id }) => id),
    chiSquared,
    degreesOfFreedom,
  });
}

function chiSquaredAt(system: System, params: Float64Array): number {
  const residuals = new Float64Array(system.residualCount);
  system.residuals(params, residuals);
  return sumOfSquares(residuals);
}

/**
 * Height of the table under the sheet, mm, against the sheet's middle: 0, or below for a sheet that arches up there. A
 * part on the sheet presses it down to the table, or some of the way.
 */
function supportHeightMm(params: Float64Array, covariance: Float64Array): number {
  const lowest = bowRangeMm(params)[0];
  const u = Math.hypot(...bowTerms.map((index) => Math.sqrt(covariance[index * (n + 1)]!)));
  // Nothing but noise lifts a flat sheet too: believe as much of it as stands out.
  return lowest < 0 ? lowest * Math.max(0, 1 - (u / lowest) ** 2) : 0;
}

/** Lowest and highest point of the bowed sheet within the marker ring, mm, its middle being 0. */
export function bowRangeMm(params: ArrayLike<number>): [number, number] {
  let lowest = 0;
  let highest = 0;
  for (let X = -1; X <= 1; X += 0.5) {
    for (let Y = 0; Y <= 1; Y += 0.5) {
      const z =
        params[unknown.bowXX]! * X * X + params[unknown.bowXY]! * X * Y + params[unknown.bowYY]! * Y * Y;
      lowest = Math.min(lowest, z);
      highest = Math.max(highest, z);
    }
  }
  return [lowest, highest];
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
    params = approachMinimum(new System(frame, markers, prior, noise, weights), params, 1e-4);
    const { size, typical } = sizesOf(seenResiduals(frame, params, markers));
    weights = size.map((s) => Math.min(1, (2 * Math.max(typical, 2 * uFloorPx)) / s));
  }
  return { params, weights };
}

const rmsOf = (seen: readonly Float64Array[]): number =>
  Math.sqrt(seen.reduce((sum, r) => sum + sumOfSquares(r), 0) / (4 * seen.length));

/**
 * A few damped Gauss-Newton steps on the normal equations: quick, and near enough between two changes of the weights.
 * The last word has solveLeastSquares.
 */
function approachMinimum(system: System, start: Float64Array, tolerance: number): Float64Array {
  const { residualCount: m } = system;
  let params = start;
  let f = new Float64Array(m);
  let trial = new Float64Array(m);
  const jacobian = new Float64Array(m * n);
  system.residuals(params, f);
  let sum = sumOfSquares(f);
  let damping = 1e-4;
  for (let iteration = 0; iteration < 15 && Number.isFinite(sum); iteration++) {
    system.jacobian(params, jacobian);
    const normal = new Float64Array(n * n);
    const right = new Float64Array(n);
    for (let i = 0; i < m; i++) {
      const row = i * n;
      for (let p = 0; p < n; p++) {
        const d = jacobian[row + p]!;
        if (d === 0) continue;
        right[p]! -= d * f[i]!;
        for (let q = 0; q <= p; q++) normal[p * n + q]! += d * jacobian[row + q]!;
      }
    }
    let gained = 0;
    for (let attempt = 0; attempt < 6 && gained <= 0; attempt++) {
      const damped = normal.slice();
      for (let p = 0; p < n; p++) damped[p * (n + 1)]! *= 1 + damping;
      const factor = choleskyFactor(damped, n);
      if (!factor) return params;
      const step = right.slice();
      choleskySolve(factor, n, step);
      const moved = params.map((v, p) => v + step[p]!);
      system.residuals(moved, trial);
      const trialSum = sumOfSquares(trial);
      if (trialSum <= sum) {
        gained = sum - trialSum;
        params = moved;
        [f, trial] = [trial, f];
        sum = trialSum;
        damping = Math.max(1e-9, damping / 10);
        if (gained === 0) return params;
      } else {
        damping *= 10;
      }
    }
    if (gained < tolerance * sum) return params;
  }
  return params;
}

const plainNoise = ({ uPx }: MarkerObservation): number => Math.hypot(uPx, uFloorPx);

/** Root mean square residual of each marker, and the median of these, px. */
function sizesOf(seen: readonly Float64Array[]): { size: Float64Array; typical: number } {
  const size = Float64Array.from(seen, (r) => Math.sqrt(sumOfSquares(r) / 8));
  return { size, typical: median(size) };
}

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

const priorRows = (prior: CameraPrior): (readonly [number, Believed])[] => [
  [unknown.lnF, prior.lnF],
  [unknown.lnAspect, prior.lnAspect],
  [unknown.cx, prior.cx],
  [unknown.cy, prior.cy],
  [unknown.k1, prior.k1],
  [unknown.k2, prior.k2],
  [unknown.p1, prior.tangential],
  [unknown.p2, prior.tangential],
  [unknown.sx, prior.sx],
  [unknown.sy, prior.sy],
  [unknown.bloom, prior.bloom],
  [unknown.bowXX, prior.bow],
  [unknown.bowXY, prior.bow],
  [unknown.bowYY, prior.bow],
];

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

export interface Noise {
  /** Per marker: standard deviation of a corner coordinate, px. */
  readonly corner: readonly number[];
  /** Standard deviation of the error that the corners of one marker share, per coordinate, px. */
  readonly marker: number;
}

/** Whitened residuals and their derivatives. Rows: per marker x of 4 corners, y of 4 corners; then the prior. */
class System {
  readonly residualCount: number;
  private readonly bloomAxes: readonly Float64Array[];
  private readonly prior: (readonly [number, Believed])[];

  constructor(
    private readonly frame: MatFrame,
    private readonly markers: readonly MarkerObservation[],
    prior: CameraPrior,
    private readonly noise: Noise,
    private readonly weights: Float64Array | undefined = undefined,
    held: readonly Held[] = [],
  ) {
    this.prior = priorRows(prior).filter(([index]) => !held.some((h) => h.index === index));
    for (const { index, value } of held) this.prior.push([index, [value, 1e-9]]);
    this.residualCount = 8 * markers.length + this.prior.length;
    this.bloomAxes = markers.map(({ cornersPx }) => bloomAxesOf(cornersPx));
  }

  readonly residuals = (params: Float64Array, out: Float64Array): void => {
    const projector = projectorAt(this.frame, params);
    const bloom = params[unknown.bloom]!;
    const p = new Float64Array(2);
    this.markers.forEach((marker, m) => {
      const axes = this.bloomAxes[m]!;
      for (let c = 0; c < 4; c++) {
        const seen = projector.project(marker.nominalMm[2 * c]!, marker.nominalMm[2 * c + 1]!, p);
        for (let k = 0; k < 2; k++) {
          out[8 * m + 4 * k + c] = seen
            ? marker.cornersPx[2 * c + k]! - p[k]! - bloom * axes[2 * c + k]!
            : NaN;
        }
      }
      this.whiten(out, 8 * m, 1, m);
    });
    this.prior.forEach(([index, [estimate, u]], i) => {
      out[8 * this.markers.length + i] = (estimate - params[index]!) / u;
    });
  };

  readonly jacobian = (params: Float64Array, out: Float64Array): void => {
    const projector = projectorAt(this.frame, params);
    const p = new Float64Array(2);
    const d = new Float64Array(2 * n);
    out.fill(0);
    this.markers.forEach((marker, m) => {
      const axes = this.bloomAxes[m]!;
      for (let c = 0; c < 4; c++) {
        projector.project(marker.nominalMm[2 * c]!, marker.nominalMm[2 * c + 1]!, p, d);
        for (let k = 0; k < 2; k++) {
          const row = (8 * m + 4 * k + c) * n;
          for (let j = 0; j < n; j++) out[row + j] = -d[k * n + j]!;
          out[row + unknown.bloom] = -axes[2 * c + k]!;
        }
      }
      for (let j = 0; j < n; j++) this.whiten(out, 8 * m * n + j, n, m);
    });
    this.prior.forEach(([index, [, u]], i) => {
      out[(8 * this.markers.length + i) * n + index] = -1 / u;
    });
  };

  /** Divides four equally spaced values, twice, by the root of their covariance: u² I + marker² (ones). */
  private whiten(values: Float64Array, from: number, stride: number, m: number): void {
    const u = this.noise.corner[m]!;
    const shared = 1 - u / Math.hypot(u, 2 * this.noise.marker);
    const scale = Math.sqrt(this.weights?.[m] ?? 1) / u;
    for (let k = 0; k < 2; k++) {
      const at = from + 4 * k * stride;
      let mean = 0;
      for (let c = 0; c < 4; c++) mean += values[at + c * stride]! / 4;
      for (let c = 0; c < 4; c++)
        values[at + c * stride] = scale * (values[at + c * stride]! - shared * mean);
    }
  }
}

/**
 * Where each corner goes when all four edges move inwards by 1 px: the solution d of n_a d = n_b d = -1 for the
 * outward normals of the two sides that meet there. x0, y0 ... x3, y3.
 */
export function bloomAxesOf(corners: Float64Array): Float64Array {
  const axes = new Float64Array(8);
  let twiceArea = 0;
  for (let c = 0; c < 4; c++) {
    const e = (c + 1) % 4;
    twiceArea += corners[2 * c]! * corners[2 * e + 1]! - corners[2 * e]! * corners[2 * c + 1]!;
  }
  const turn = Math.sign(twiceArea);
  const normal = (c: number): [number, number] => {
    const e = (c + 1) % 4;
    const dx = corners[2 * e]! - corners[2 * c]!;
    const dy = corners[2 * e + 1]! - corners[2 * c + 1]!;
    const length = Math.hypot(dx, dy);
    return [(turn * dy) / length, (-turn * dx) / length];
  };
  for (let c = 0; c < 4; c++) {
    const [a, b] = normal((c + 3) % 4);
    const [d, e] = normal(c);
    const det = a * e - b * d;
    axes[2 * c] = -(e - b) / det;
    axes[2 * c + 1] = -(a - d) / det;
  }
  return axes;
}

/** Seen minus projected (bloom included), px: per marker x of 4 corners, then y. */
function seenResiduals(
  frame: MatFrame,
  params: Float64Array,
  markers: readonly MarkerObservation[],
): Float64Array[] {
  const projector = projectorAt(frame, params);
  const p = new Float64Array(2);
  return markers.map(({ nominalMm, cornersPx }) => {
    const axes = bloomAxesOf(cornersPx);
    const out = new Float64Array(8);
    for (let c = 0; c < 4; c++) {
      projector.project(nominalMm[2 * c]!, nominalMm[2 * c + 1]!, p);
      for (let k = 0; k < 2; k++) {
        out[4 * k + c] = cornersPx[2 * c + k]! - p[k]! - params[unknown.bloom]! * axes[2 * c + k]!;
      }
    }
    return out;
  });
}

/** Splits the residuals into what corners do on their own and what whole markers do. */
function noiseFrom(seen: readonly Float64Array[], markers: readonly MarkerObservation[]): Noise {
  const count = seen.length;
  let own = 0;
  let shared = 0;
  seen.forEach((r, m) => {
    const u = Math.hypot(markers[m]!.uPx, uFloorPx);
    for (let k = 0; k < 2; k++) {
      const mean = (r[4 * k]! + r[4 * k + 1]! + r[4 * k + 2]! + r[4 * k + 3]!) / 4;
      for (let c = 0; c < 4; c++) own += ((r[4 * k + c]! - mean) / u) ** 2;
      shared += mean * mean;
    }
  });
  // Of 8 residuals a marker has 6 contrasts and 2 means; pose and camera take about 12 of the means, and the
  // contrasts give the bloom.
  const factor = Math.sqrt(Math.max(0.25, own / Math.max(4, 6 * count - 2)));
  const corner = markers.map((m) => factor * Math.hypot(m.uPx, uFloorPx));
  const meanVariance = corner.reduce((sum, u) => sum + u * u, 0) / count;
  const free = Math.max(0, 2 * count - 12);
  const fromResiduals = Math.max(0, shared - (free * meanVariance) / 4);
  const marker = Math.sqrt(
    (markerScatterWeight * markerScatterPx ** 2 + (free > 0 ? fromResiduals : 0)) /
      (markerScatterWeight + free),
  );
  return { corner, marker };
}

const sumOfSquares = (values: Float64Array): number => values.reduce((sum, v) => sum + v * v, 0);

function median(values: Float64Array): number {
  const sorted = values.slice().sort();
  return sorted[sorted.length >> 1]!;
}

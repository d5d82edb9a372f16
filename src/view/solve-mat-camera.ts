import { solveLeastSquares } from "../fit/index.js";
import { failed, ok, type Outcome } from "../problem/index.js";
import { geometryOf, projectorAt, unknown, unknownCount, type MatFrame } from "./mat-camera.js";
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
  readonly cx: Believed;
  readonly cy: Believed;
  readonly k1: Believed;
  readonly k2: Believed;
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

export interface MatCamera {
  readonly frame: MatFrame;
  readonly geometry: ViewGeometry;
  readonly params: Float64Array;
  /** 17 x 17 row-major, in the order of `unknown`; already widened where the residuals ask for it. */
  readonly covariance: Float64Array;
  /** Root mean square distance between seen and projected corners, px. */
  readonly rmsPx: number;
  /** Uncertainty of a single corner found from the residuals, and of a whole marker's place, px. */
  readonly uCornerPx: number;
  readonly uMarkerPx: number;
  /** Ids used; the others disagreed with the rest. */
  readonly used: readonly number[];
  /** chi² with these uncertainties: data, and all with the prior. */
  readonly chiSquared: number;
  readonly degreesOfFreedom: number;
}

export interface SolveMatCameraOptions {
  /** Half width and height of the marker ring, mm. */
  readonly ringHalfMm: readonly [number, number];
  /** Keep every marker, with the uncertainties as given (rough corners); default false. */
  readonly rough?: boolean;
  /** Unknowns to hold at a value: a Gaussian with a tiny u replaces the prior. */
  readonly held?: readonly { readonly index: number; readonly value: number }[];
}

const n = unknownCount;
/** Edge lines are straight to a few hundredths of a pixel at best: rasters, sharpening and compression see to that. */
const uFloorPx = 0.03;
/** Belief about the scatter of whole markers (print, creases) before the residuals are seen, px; worth 4 residuals. */
const markerScatterPx = 0.08;
const markerScatterWeight = 4;

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
  start: StartPose,
  options: SolveMatCameraOptions,
): Outcome<MatCamera> {
  const frame: MatFrame = { startRotation: start.rotation, ringHalfMm: options.ringHalfMm };
  let params = startParams(prior, start);
  for (const { index, value } of options.held ?? []) params[index] = value;

  let used = markers;
  let noise: Noise = {
    corner: used.map((m) => Math.hypot(m.uPx, uFloorPx)),
    marker: options.rough ? 0 : markerScatterPx,
  };
  let weights = new Float64Array(used.length).fill(1);
  const rounds = options.rough ? 3 : 7;
  for (let round = 0; ; round++) {
    const system = new System(frame, used, prior, noise, weights, options.held ?? []);
    const fit = solveLeastSquares(
      {
        residuals: system.residuals,
        jacobian: system.jacobian,
        residualCount: system.count,
        start: params,
        scale: typicalSize,
      },
      { maxIterations: 80, tolerance: round === rounds ? 1e-12 : 1e-6 },
    );
    if (!fit.ok) return unsolved();
    params = Float64Array.from(fit.value.params);
    const seen = seenResiduals(frame, params, used);

    if (round === rounds) {
      const degreesOfFreedom = system.count - n;
      const inflate = options.rough ? 1 : Math.max(1, fit.value.sumOfSquares / degreesOfFreedom);
      return ok({
        frame,
        geometry: geometryOf(frame, params),
        params,
        covariance: fit.value.covariance.map((v) => v * inflate),
        rmsPx: Math.sqrt(seen.reduce((sum, r) => sum + sumOfSquares(r), 0) / (4 * used.length)),
        uCornerPx: Math.sqrt(noise.corner.reduce((sum, u) => sum + u * u, 0) / used.length),
        uMarkerPx: noise.marker,
        used: used.map(({ id }) => id),
        chiSquared: fit.value.sumOfSquares,
        degreesOfFreedom,
      });
    }
    const size = Float64Array.from(seen, (r) => Math.sqrt(sumOfSquares(r) / 8));
    const typical = median(size);
    if (round < rounds - 3) {
      // Huber's weights on whole markers: a covered corner spoils its marker, not the sheet.
      const cut = 2 * Math.max(typical, 2 * uFloorPx);
      weights = size.map((s) => Math.min(1, cut / s));
    } else if (round === rounds - 3) {
      const most = 4.5 * Math.max(typical, 2 * uFloorPx);
      const keep = used.filter((_, i) => size[i]! <= most);
      if (keep.length >= Math.min(3, used.length)) used = keep;
      weights = new Float64Array(used.length).fill(1);
      noise = { corner: used.map((m) => Math.hypot(m.uPx, uFloorPx)), marker: noise.marker };
    } else if (!options.rough) {
      noise = noiseFrom(seen, used);
    }
  }
}

const unsolved = (): Outcome<never> =>
  failed(
    "view-unsolved",
    "the markers of the mat were seen, but no camera explains where they are",
    "lay the mat flat, keep all of it in the picture and photograph it from above",
  );

function startParams(prior: CameraPrior, start: StartPose): Float64Array {
  const params = new Float64Array(n);
  for (const [index, [estimate]] of priorRows(prior)) params[index] = estimate;
  for (let i = 0; i < 3; i++) params[unknown.t + i] = start.translationMm[i]!;
  return params;
}

const priorRows = (prior: CameraPrior): (readonly [number, Believed])[] => [
  [unknown.lnF, prior.lnF],
  [unknown.cx, prior.cx],
  [unknown.cy, prior.cy],
  [unknown.k1, prior.k1],
  [unknown.k2, prior.k2],
  [unknown.sx, prior.sx],
  [unknown.sy, prior.sy],
  [unknown.bloom, prior.bloom],
  [unknown.bowXX, prior.bow],
  [unknown.bowXY, prior.bow],
  [unknown.bowYY, prior.bow],
];

const typicalSize = [1, 100, 100, 0.1, 0.1, 0.1, 0.1, 0.1, 100, 100, 100, 0.01, 0.01, 0.3, 0.3, 0.3, 0.3];

interface Noise {
  /** Per marker: standard deviation of a corner coordinate, px. */
  readonly corner: readonly number[];
  /** Standard deviation of the error that the corners of one marker share, per coordinate, px. */
  readonly marker: number;
}

/** Whitened residuals and their derivatives. Rows: per marker x of 4 corners, y of 4 corners; then the prior. */
class System {
  readonly count: number;
  private readonly bloomAxes: readonly Float64Array[];
  private readonly prior: (readonly [number, Believed])[];

  constructor(
    private readonly frame: MatFrame,
    private readonly markers: readonly MarkerObservation[],
    prior: CameraPrior,
    private readonly noise: Noise,
    private readonly weights: Float64Array,
    held: readonly { readonly index: number; readonly value: number }[],
  ) {
    this.prior = priorRows(prior).filter(([index]) => !held.some((h) => h.index === index));
    for (const { index, value } of held) this.prior.push([index, [value, 1e-9]]);
    this.count = 8 * markers.length + this.prior.length;
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
    const scale = Math.sqrt(this.weights[m]!) / u;
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

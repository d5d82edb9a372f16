import { Projector, unknown, unknownCount, type MatFrame } from "./mat-camera.js";

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

/** An unknown kept at a value: a Gaussian with a tiny u replaces its prior. */
export interface Held {
  readonly index: number;
  readonly value: number;
}

export interface Noise {
  /** Per marker: standard deviation of a corner coordinate, px. */
  readonly corner: readonly number[];
  /** Standard deviation of the error that the corners of one marker share, per coordinate, px. */
  readonly marker: number;
}

const n = unknownCount;

/** The priors by unknown. */
export const priorRows = (prior: CameraPrior): (readonly [number, Believed])[] => [
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

/** Whitened residuals and their derivatives. Rows: per marker x of 4 corners, y of 4 corners; then the prior. */
export class CornerSystem {
  readonly residualCount: number;
  private readonly bloomAxes: readonly Float64Array[];
  /** Index of an unknown, what is believed of it, and how surely, one after the other. */
  private readonly prior: Float64Array;
  private readonly priorCount: number;
  private readonly weights: Float64Array;

  constructor(
    private readonly frame: MatFrame,
    private readonly markers: readonly MarkerObservation[],
    prior: CameraPrior,
    private readonly noise: Noise,
    weights: Float64Array | undefined = undefined,
    held: readonly Held[] = [],
  ) {
    const rows = [
      ...priorRows(prior).filter(([index]) => !held.some((h) => h.index === index)),
      ...held.map(({ index, value }) => [index, [value, 1e-9]] as const),
    ];
    this.prior = Float64Array.from(rows.flatMap(([index, believed]) => [index, ...believed]));
    this.priorCount = rows.length;
    this.weights = weights ?? new Float64Array(markers.length).fill(1);
    this.residualCount = 8 * markers.length + rows.length;
    this.bloomAxes = markers.map(({ cornersPx }) => bloomAxesOf(cornersPx));
  }

  residuals(params: Float64Array, out: Float64Array): void {
    const projector = new Projector(this.frame, params);
    const bloom = params[unknown.bloom]!;
    const p = new Float64Array(2);
    for (let m = 0; m < this.markers.length; m++) {
      const marker = this.markers[m]!;
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
    }
    const { prior } = this;
    for (let i = 0; i < this.priorCount; i++)
      out[8 * this.markers.length + i] = (prior[3 * i + 1]! - params[prior[3 * i]!]!) / prior[3 * i + 2]!;
  }

  jacobian(params: Float64Array, out: Float64Array): void {
    const projector = new Projector(this.frame, params);
    const p = new Float64Array(2);
    const d = new Float64Array(2 * n);
    out.fill(0);
    for (let m = 0; m < this.markers.length; m++) {
      const marker = this.markers[m]!;
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
    }
    const { prior } = this;
    for (let i = 0; i < this.priorCount; i++)
      out[(8 * this.markers.length + i) * n + prior[3 * i]!] = -1 / prior[3 * i + 2]!;
  }

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
  // Outward, of the side from corner c to the next.
  const normals = new Float64Array(8);
  for (let c = 0; c < 4; c++) {
    const e = (c + 1) % 4;
    const dx = corners[2 * e]! - corners[2 * c]!;
    const dy = corners[2 * e + 1]! - corners[2 * c + 1]!;
    const length = Math.hypot(dx, dy);
    normals[2 * c] = (turn * dy) / length;
    normals[2 * c + 1] = (-turn * dx) / length;
  }
  for (let c = 0; c < 4; c++) {
    const before = 2 * ((c + 3) % 4);
    const a = normals[before]!;
    const b = normals[before + 1]!;
    const d = normals[2 * c]!;
    const e = normals[2 * c + 1]!;
    const det = a * e - b * d;
    axes[2 * c] = -(e - b) / det;
    axes[2 * c + 1] = -(a - d) / det;
  }
  return axes;
}

/** Seen minus projected (bloom included), px: per marker x of 4 corners, then y. */
export function seenResiduals(
  frame: MatFrame,
  params: Float64Array,
  markers: readonly MarkerObservation[],
): Float64Array[] {
  const projector = new Projector(frame, params);
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

export const sumOfSquares = (values: Float64Array): number => values.reduce((sum, v) => sum + v * v, 0);

import {
  invertSymmetric,
  medianOf,
  normalDensity,
  normalDistribution,
  robustScale,
} from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceWeights, type Contrast, type PixelWeights } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { ThickOutline } from "../thick-outline.js";
import { unroll } from "../unroll.js";

/** The upper edge of a bore, seen against the wall below it where that shows, else against what lies behind the hole. */
export interface BoreEdge {
  /** Centre relative to that of the face, mm. */
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Of a coordinate and of the radius: from what remains unexplained. */
  readonly uCentreMm: number;
  readonly uRadiusMm: number;
  /** How far single rays see the edge off the circle, standard deviation, mm. */
  readonly scatterMm: number;
}

const samplePx = 0.5;
/** Reading between pixels adds so much to the blur, px: the variance of linear interpolation is 1/6. */
const betweenPixelsPx = 0.41;
/** Face and floor are read so many standard deviations of the blur away from their edges, over so many samples. */
const clearOf = 2.2;
const levelSamples = 5;
/** So far the blur of an edge is followed, standard deviations. */
const edgeReach = 2.6;
/** More of the radius than this behind the wall: too little of the floor is seen. */
const mostHidden = 0.75;
const trialSteps = 4;
const endSteps = 8;
/** Steps of the fit are cut to this, samples. */
const longestStep = 3;
/** Neighbouring samples share blur and texture: one of so many is independent. */
const sharedSamples = 6;
/** A wall narrower than this is never taken for an edge of its own, samples. */
const leastWall = 1.5;

/**
 * Fits three layers, seen outwards: what lies behind the hole, the wall on the side away from the camera's foot point,
 * the face. How wide the wall shows at each angle follows from pose and thickness. What it looks like does not: dark in
 * most light, bright in some; it is left free, but changes slowly round the hole.
 *
 * Brightness and colour are explained at once: in a dark hole neither tells the edge everywhere.
 *
 * @param contrast by colour. @param face its centre is near that of the hole. @param radiusMm of the hole, roughly, or of what is seen of its floor.
 * @param lensPx blur of the lens; @param signalPx that of the contrast as it is sampled; standard deviations.
 * @returns undefined where the wall hides too much, or part of it lies outside the picture.
 */
export function fitLayeredBore(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  radiusMm: number,
  thick: ThickOutline,
  lensPx: number,
  signalPx: number,
): BoreEdge | undefined {
  const stepMm = samplePx / pxPerMmOnFace(face);
  const rough = radiusMm / stepMm;
  const [shiftX, shiftY] = thick.lowerShiftMm.map((mm) => mm / stepMm) as [number, number];
  const shift = Math.hypot(shiftX, shiftY);
  const angles = Math.min(160, Math.max(40, Math.round(2 * Math.PI * rough * samplePx)));
  const sigmas = [Math.hypot(lensPx, betweenPixelsPx) / samplePx, signalPx / samplePx];
  const outMm = ((clearOf + 1) * Math.max(...sigmas) + levelSamples + 1.2 * shift) * stepMm;
  const rays = (weights: PixelWeights): Float32Array =>
    unroll(photo, weights, face, 0, radiusMm + outMm, stepMm, angles).data;
  const signals = [luminanceWeights, contrast].map((weights, s) => ({
    data: rays(weights),
    sigma: sigmas[s]!,
  }));
  if (signals.some(({ data }) => data.some(Number.isNaN))) return undefined;
  const excess = (i: number, r: number): number =>
    thick.holeExcessMm((2 * Math.PI * i) / angles, r * stepMm) / stepMm;
  const layers = new LayeredRays(signals, angles, excess);

  // Where the wall passed for face, the floor's edge was found: the lower edge, or the lens that both edges leave of it.
  const starts: CircleInSamples[] = [{ x: 0, y: 0, r: rough }];
  if (shift > leastWall)
    starts.push(
      { x: -shiftX / 2, y: -shiftY / 2, r: rough + shift / 2 },
      { x: -shiftX / 2, y: -shiftY / 2, r: rough },
      { x: -shiftX, y: -shiftY, r: rough },
    );
  const from = Math.floor(0.5 * rough);
  const to = Math.ceil(rough + 1.2 * shift + edgeReach * Math.max(...sigmas));
  let best: CircleInSamples | undefined;
  let least = Infinity;
  for (const start of starts) {
    const end = layers.fit(start, trialSteps);
    if (end === undefined) continue;
    const left = layers.unexplained(from, to);
    if (left < least) [best, least] = [end, left];
  }
  const end = best && layers.fit(best, endSteps);
  if (end === undefined || shift > mostHidden * end.r) return undefined;
  const { uCentre, uRadius, scatter } = layers.spread();
  return {
    xMm: end.x * stepMm,
    yMm: end.y * stepMm,
    radiusMm: end.r * stepMm,
    uCentreMm: uCentre * stepMm,
    uRadiusMm: uRadius * stepMm,
    scatterMm: scatter * stepMm,
  };
}

interface Signal {
  /** Rays by samples, outwards from the centre. */
  readonly data: Float32Array;
  readonly sigma: number;
}

/** In samples, about the centre of the rays. */
interface CircleInSamples {
  readonly x: number;
  readonly y: number;
  readonly r: number;
}

/** Looks of the wall round the hole: even, and once round (cosine, sine). */
const wallTerms = 3;

/** What is seen along rays out of a hole, and the layers laid over it. */
class LayeredRays {
  readonly #signals: readonly Signal[];
  readonly #angles: number;
  readonly #radii: number;
  readonly #excess: (i: number, r: number) => number;
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;
  /** Where a ray meets the upper and the lower edge, samples. */
  readonly #upper: Float64Array;
  readonly #lower: Float64Array;
  /** Levels of a signal on each ray, and of its wall. */
  readonly #face: Float64Array;
  readonly #floor: Float64Array;
  readonly #wall: Float64Array;
  /** 1/u of a sample, by signal; how far a ray is believed, by signal and ray. */
  readonly #precision: Float64Array;
  readonly #trust: Float64Array;
  /** How far a ray alone would move the edge: sums of slope times residual, and of squared slopes, over all signals. */
  readonly #pull: Float64Array;
  readonly #grip: Float64Array;
  readonly #normal: Float64Array;
  readonly #right: Float64Array;
  #covariance: Float64Array = new Float64Array(0);

  constructor(signals: readonly Signal[], angles: number, excess: (i: number, r: number) => number) {
    const terms = 3 + wallTerms * signals.length;
    this.#signals = signals;
    this.#angles = angles;
    this.#radii = signals[0]!.data.length / angles;
    this.#excess = excess;
    this.#cos = Float64Array.from({ length: angles }, (_, i) => Math.cos((2 * Math.PI * i) / angles));
    this.#sin = Float64Array.from({ length: angles }, (_, i) => Math.sin((2 * Math.PI * i) / angles));
    this.#upper = new Float64Array(angles);
    this.#lower = new Float64Array(angles);
    this.#face = new Float64Array(angles);
    this.#floor = new Float64Array(angles);
    this.#wall = new Float64Array(terms - 3);
    this.#precision = new Float64Array(signals.length);
    this.#trust = new Float64Array(signals.length * angles);
    this.#pull = new Float64Array(angles);
    this.#grip = new Float64Array(angles);
    this.#normal = new Float64Array(terms * terms);
    this.#right = new Float64Array(terms);
  }

  /** Newton's steps after Gauss; levels are read anew, and rays weighed anew, before each. */
  fit(start: CircleInSamples, steps: number): CircleInSamples | undefined {
    let { x, y, r } = start;
    const n = this.#right.length;
    this.#trust.fill(1);
    for (let k = 0; k < steps; k++) {
      this.#place(x, y, r);
      this.#normal.fill(0);
      this.#right.fill(0);
      this.#pull.fill(0);
      this.#grip.fill(0);
      for (let s = 0; s < this.#signals.length; s++) {
        this.#readLevels(s);
        if (k === 0) this.#begin(s);
        this.#gather(s);
      }
      const inverse = invertSymmetric(this.#normal, n);
      if (inverse === undefined) return undefined;
      const step = new Float64Array(n);
      for (let i = 0; i < n; i++)
        for (let j = 0; j < n; j++) step[i]! += inverse[i * n + j]! * this.#right[j]!;
      const cut = Math.max(1, Math.max(...step.subarray(0, 3).map(Math.abs)) / longestStep);
      x += step[0]! / cut;
      y += step[1]! / cut;
      r += step[2]! / cut;
      for (let i = 3; i < n; i++) this.#wall[i - 3]! += step[i]!;
      this.#covariance = inverse;
      const outmost = r + Math.hypot(x, y);
      if (!(r > 0.5 * start.r) || !(outmost < this.#radii - levelSamples)) return undefined;
    }
    this.#place(x, y, r);
    return { x, y, r };
  }

  #place(x: number, y: number, r: number): void {
    for (let i = 0; i < this.#angles; i++) {
      const along = x * this.#cos[i]! + y * this.#sin[i]!;
      const across = y * this.#cos[i]! - x * this.#sin[i]!;
      this.#upper[i] = along + Math.sqrt(Math.max(0, r * r - across * across));
      this.#lower[i] = this.#upper[i]! + this.#excess(i, r);
    }
  }

  #readLevels(s: number): void {
    const { data, sigma } = this.#signals[s]!;
    const radii = this.#radii;
    for (let i = 0; i < this.#angles; i++) {
      const row = i * radii;
      const out = Math.min(radii - levelSamples, Math.ceil(this.#upper[i]! + clearOf * sigma));
      const into = Math.max(1, Math.floor(this.#lower[i]! - clearOf * sigma) + 1);
      this.#face[i] = meanOf(data, row + out, row + out + levelSamples);
      this.#floor[i] = meanOf(data, row + Math.max(0, into - levelSamples), row + into);
    }
  }

  /** From floor to face, over all rays. */
  #step(): number {
    let sum = 0;
    for (let i = 0; i < this.#angles; i++) sum += (this.#face[i]! - this.#floor[i]!) ** 2;
    return Math.max(1e-3, Math.sqrt(sum / this.#angles));
  }

  #begin(s: number): void {
    this.#precision[s] = 10 / this.#step();
    this.#wall.fill(0, s * wallTerms, (s + 1) * wallTerms);
    this.#wall[s * wallTerms] = 0.5 * (medianOf(this.#face) + medianOf(this.#floor));
  }

  /** Adds one signal to the normal equations, and weighs its rays for the next step. */
  #gather(s: number): void {
    const { data, sigma } = this.#signals[s]!;
    const scatter = new Float64Array(this.#angles);
    const sums = new Float64Array(6);
    const ray = new Float64Array(6);
    for (let i = 0; i < this.#angles; i++) {
      ray.set([this.#lower[i]!, this.#upper[i]!, this.#floor[i]!, this.#wallOn(s, i), this.#face[i]!, sigma]);
      const samples = sumAlong(data, i * this.#radii, this.#radii, ray, sums);
      scatter[i] = Math.sqrt(sums[5]! / samples);
      this.#put(s, i, sums);
    }
    const step = this.#step();
    const middle = 0.5 * (medianOf(this.#face) + medianOf(this.#floor));
    const n = this.#right.length;
    for (let k = 0; k < wallTerms; k++) {
      // Of the wall is believed beforehand that it looks like something between floor and face, give or take a step.
      const weight = (k === 0 ? 1 : 4) / step ** 2;
      const at = 3 + s * wallTerms + k;
      this.#normal[at * n + at]! += weight;
      this.#right[at]! += weight * ((k === 0 ? middle : 0) - this.#wall[at - 3]!);
    }
    const typical = Math.max(0.01 * step, medianOf(scatter));
    this.#precision[s] = 1 / typical;
    for (let i = 0; i < this.#angles; i++)
      this.#trust[s * this.#angles + i] = Math.min(1, (3 * typical) / scatter[i]!);
  }

  #wallOn(s: number, i: number): number {
    const k = s * wallTerms;
    return this.#wall[k]! + this.#wall[k + 1]! * this.#cos[i]! + this.#wall[k + 2]! * this.#sin[i]!;
  }

  #put(s: number, i: number, sums: Float64Array): void {
    const weight = (this.#precision[s]! * this.#trust[s * this.#angles + i]!) ** 2;
    const around = [this.#cos[i]!, this.#sin[i]!, 1];
    const wall = [1, this.#cos[i]!, this.#sin[i]!];
    const [gg, gs, ss, ge, se] = sums as unknown as [number, number, number, number, number];
    const n = this.#right.length;
    const w = 3 + s * wallTerms;
    for (let a = 0; a < 3; a++) {
      this.#right[a]! += weight * ge * around[a]!;
      this.#right[w + a]! += weight * se * wall[a]!;
      for (let b = 0; b <= a; b++) {
        this.#normal[a * n + b]! += weight * gg * around[a]! * around[b]!;
        this.#normal[(w + a) * n + w + b]! += weight * ss * wall[a]! * wall[b]!;
      }
      for (let b = 0; b < 3; b++) this.#normal[(w + a) * n + b]! += weight * gs * wall[a]! * around[b]!;
    }
    this.#pull[i]! += weight * ge;
    this.#grip[i]! += weight * gg;
  }

  /** Mean square of what no layer explains between two samples, over the variance there, of all signals. */
  unexplained(from: number, to: number): number {
    let total = 0;
    const last = Math.min(to, this.#radii);
    for (let s = 0; s < this.#signals.length; s++) {
      const { data, sigma } = this.#signals[s]!;
      this.#readLevels(s);
      let rest = 0;
      let sum = 0;
      let squares = 0;
      for (let i = 0; i < this.#angles; i++) {
        const [floor, wall, face] = [this.#floor[i]!, this.#wallOn(s, i), this.#face[i]!];
        for (let j = from; j < last; j++) {
          const seen = data[i * this.#radii + j]!;
          const above = normalDistribution((j - this.#upper[i]!) / sigma);
          const below = normalDistribution((j - this.#lower[i]!) / sigma);
          rest += (seen - floor - (wall - floor) * below - (face - wall) * above) ** 2;
          sum += seen;
          squares += seen * seen;
        }
      }
      const n = this.#angles * (last - from);
      total += rest / Math.max(1e-9, squares - sum ** 2 / n);
    }
    return total;
  }

  /** Standard uncertainties of the last fit, and how far single rays disagree with it; samples. */
  spread(): { readonly uCentre: number; readonly uRadius: number; readonly scatter: number } {
    const c = this.#covariance;
    const n = this.#right.length;
    return {
      uCentre: Math.sqrt((sharedSamples * (c[0]! + c[n + 1]!)) / 2),
      uRadius: Math.sqrt(sharedSamples * c[2 * n + 2]!),
      scatter: robustScale(this.#pull.map((pull, i) => (this.#grip[i]! > 0 ? pull / this.#grip[i]! : 0))),
    };
  }
}

/**
 * Along one ray: sums of slope², slope x share of wall, share², slope x residual, share x residual, residual².
 *
 * @param ray lower and upper edge, levels of floor, wall and face, blur. @returns number of samples.
 */
function sumAlong(
  data: Float32Array,
  row: number,
  radii: number,
  ray: Float64Array,
  sums: Float64Array,
): number {
  const lower = ray[0]!;
  const upper = ray[1]!;
  const floor = ray[2]!;
  const toWall = ray[3]! - floor;
  const toFace = ray[4]! - ray[3]!;
  const sigma = ray[5]!;
  const first = Math.max(0, Math.floor(lower - edgeReach * sigma));
  const last = Math.min(radii - 1, Math.ceil(upper + edgeReach * sigma));
  sums.fill(0);
  for (let j = first; j <= last; j++) {
    const hi = (j - upper) / sigma;
    const lo = (j - lower) / sigma;
    const above = normalDistribution(hi);
    const below = lower === upper ? above : normalDistribution(lo);
    const e = data[row + j]! - floor - toWall * below - toFace * above;
    const slope = -(toFace * normalDensity(hi) + toWall * normalDensity(lo)) / sigma;
    const share = below - above;
    sums[0]! += slope * slope;
    sums[1]! += slope * share;
    sums[2]! += share * share;
    sums[3]! += slope * e;
    sums[4]! += share * e;
    sums[5]! += e * e;
  }
  return last - first + 1;
}

function meanOf(data: Float32Array, from: number, to: number): number {
  let sum = 0;
  for (let p = from; p < to; p++) sum += data[p]!;
  return sum / (to - from);
}

import { gaussianKernel } from "../../fit/index.js";
import { sideSteps, type SideOfPinion } from "./leaves-from-side.js";

/** Brightness across a pinion that lies on its side, averaged along its axis; two values a pixel. */
export interface SideProfile {
  readonly values: Float64Array;
  /** Of the first value, across, from the axis. */
  readonly fromMm: number;
  readonly stepMm: number;
}

/** Where a side is laid over the profile, mm. */
export interface SidePlace {
  readonly tipMm: number;
  /** Of its axis from where the profile has it. */
  readonly asideMm: number;
}

/** Directions of the surface, over half a turn: what it mirrors where it is open, and where it mirrors other leaves. */
const [openHats, closedHats] = [13, 3] as const;
/** Level and slope beside it, on either side. */
const beside = openHats + closedHats;
/** Left and right, of the paper that is seen through it. */
const below = beside + 4;
const columns = below + 2;
/** Of coefficients, over the noise: how large they may be, how unlike their neighbours, how steep a shadow beside it. */
const [ridge, unlike, slopeRidge] = [0.01, 0.03, 0.5] as const;
/** Slope beside it: over this share of the tip radius. */
const slopeOver = 0.25;
/** Values a pixel apart say less than one each. */
const worth = 0.6;
/** Of what is to be explained: no picture is explained better. */
const leastRest = 1e-3;
const mostEntries = 4;

/**
 * How well a side explains a profile under any light: steel mirrors what lies in one direction for each direction of its
 * surface, and that is left free. Natural logarithm, of use only against that of other sides over the same profile.
 */
export class SideEvidence {
  readonly #profile: SideProfile;
  readonly #count: number;
  readonly #values: Float64Array;
  readonly #square: number;
  readonly #blur: Float64Array;
  /** Of each value of the profile, the columns that take part in it. */
  readonly #column: Int8Array;
  readonly #share: Float64Array;
  readonly #blurred = new Float64Array(columns);
  readonly #used = new Int8Array(columns);
  readonly #normal = new Float64Array(columns * columns);
  readonly #right = new Float64Array(columns);

  /** @param blurPx standard deviation of the picture's blur. */
  constructor(profile: SideProfile, blurPx: number) {
    this.#profile = profile;
    const n = profile.values.length;
    this.#count = n >> 1;
    const mean = profile.values.reduce((sum, v) => sum + v, 0) / n;
    const spread = Math.sqrt(profile.values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / n) || 1;
    this.#values = Float64Array.from(
      { length: this.#count },
      (_, i) => (profile.values[2 * i]! - mean) / spread,
    );
    this.#square = this.#values.reduce((sum, v) => sum + v * v, 0);
    const reach = Math.ceil(5 * blurPx);
    this.#blur = gaussianKernel(2 * blurPx, reach);
    this.#column = new Int8Array(n * mostEntries);
    this.#share = new Float64Array(n * mostEntries);
  }

  of(side: SideOfPinion, place: SidePlace): number {
    this.#lay(side, place);
    this.#add();
    return this.#evidence();
  }

  #lay({ from, to, normalRad, open, through }: SideOfPinion, { tipMm, asideMm }: SidePlace): void {
    const { values, fromMm, stepMm } = this.#profile;
    const column = this.#column;
    const share = this.#share.fill(0);
    for (let i = 0; i < values.length; i++) {
      const x = (fromMm + i * stepMm - asideMm) / tipMm;
      const s = Math.round(((x + 1) / 2) * sideSteps - 0.5);
      const e = i * mostEntries;
      if (s < from || s > to) {
        const side = beside + (s < from ? 0 : 2);
        column[e] = side;
        column[e + 1] = side + 1;
        share[e] = 1;
        share[e + 1] = (Math.abs(x) - 1) / slopeOver;
        continue;
      }
      if (through[s] === 1) {
        column[e] = below;
        column[e + 1] = below + 1;
        share[e] = (1 - x) / 2;
        share[e + 1] = (1 + x) / 2;
        continue;
      }
      const direction = normalRad[s]! / Math.PI + 0.5;
      const v = open[s]!;
      const at = direction * (openHats - 1);
      const k = Math.min(openHats - 2, Math.max(0, Math.floor(at)));
      column[e] = k;
      column[e + 1] = k + 1;
      share[e] = v * (k + 1 - at);
      share[e + 1] = v * (at - k);
      const low = direction * (closedHats - 1);
      const q = Math.min(closedHats - 2, Math.max(0, Math.floor(low)));
      column[e + 2] = openHats + q;
      column[e + 3] = openHats + q + 1;
      share[e + 2] = (1 - v) * (q + 1 - low);
      share[e + 3] = (1 - v) * (low - q);
    }
  }

  /** Normal equations of the blurred columns. */
  #add(): void {
    const a = this.#normal.fill(0);
    const b = this.#right.fill(0);
    const blur = this.#blur;
    const reach = (blur.length - 1) / 2;
    const last = this.#profile.values.length - 1;
    const one = this.#blurred;
    const used = this.#used;
    for (let i = 0; i < this.#count; i++) {
      one.fill(0);
      for (let d = -reach; d <= reach; d++) {
        const w = blur[d + reach]!;
        const e = mostEntries * Math.min(last, Math.max(0, 2 * i + d));
        for (let k = e; k < e + mostEntries; k++) one[this.#column[k]!]! += w * this.#share[k]!;
      }
      const y = this.#values[i]!;
      let n = 0;
      for (let c = 0; c < columns; c++) if (one[c] !== 0) used[n++] = c;
      for (let p = 0; p < n; p++) {
        const c = used[p]!;
        const v = one[c]!;
        b[c]! += v * y;
        for (let q = 0; q <= p; q++) a[c * columns + used[q]!]! += v * one[used[q]!]!;
      }
    }
    for (let c = 0; c < columns; c++) {
      a[c * columns + c]! += c === beside + 1 || c === beside + 3 ? slopeRidge : ridge;
      if (c === 0 || c === openHats || c >= beside) continue;
      a[c * columns + c]! += unlike;
      a[(c - 1) * columns + c - 1]! += unlike;
      a[c * columns + c - 1]! -= unlike;
    }
  }

  /** By Cholesky's decomposition, in place. */
  #evidence(): number {
    const a = this.#normal;
    const b = this.#right;
    let explained = 0;
    let logDeterminant = 0;
    for (let c = 0; c < columns; c++) {
      for (let e = 0; e <= c; e++) {
        let sum = a[c * columns + e]!;
        for (let k = 0; k < e; k++) sum -= a[c * columns + k]! * a[e * columns + k]!;
        a[c * columns + e] = e === c ? Math.sqrt(Math.max(1e-12, sum)) : sum / a[e * columns + e]!;
      }
      let sum = b[c]!;
      for (let k = 0; k < c; k++) sum -= a[c * columns + k]! * b[k]!;
      b[c] = sum / a[c * columns + c]!;
      explained += b[c]! ** 2;
      logDeterminant += 2 * Math.log(a[c * columns + c]!);
    }
    const rest = Math.max(leastRest, (this.#square - explained) / this.#count);
    return -0.5 * (worth * this.#count * Math.log(rest) + logDeterminant);
  }
}

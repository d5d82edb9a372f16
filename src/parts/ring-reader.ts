import type { Photo } from "../photo/index.js";
import type { PixelWeights } from "./contrast.js";
import { PlaneToPixel, pxPerMmOnFace, type FacePlane } from "./face-plane.js";
import { ringPixels } from "./ring-pixels.js";
import { signalOver, type SignalPatch } from "./signal-patch.js";

/** Where the rays of a ring are read: at radius fromRadiusMm + j stepMm, j = 0 .. radii - 1. */
export interface RingRadii {
  readonly fromRadiusMm: number;
  readonly stepMm: number;
  readonly radii: number;
}

/** Over so many pixels camera and lens bend a line to a parabola: within 0.0001 px. */
const parabolaPx = 24;

/**
 * Reads a ring of the face in the original pixels, bilinearly: one ray after the other, and of a ray a block of radii
 * at a time, so that who has seen enough may stop. NaN outside the picture. For inner loops: nothing is allocated.
 */
export class RingReader {
  /** Radii in a block; the last block of a ray may hold fewer. */
  readonly block: number;
  readonly blocks: number;
  readonly #radii: number;
  /** First radius and step, mm; centre of the face, mm; its affine map. */
  readonly #frame: Float64Array;
  readonly #map: PlaneToPixel;
  readonly #photo: Photo;
  readonly #contrast: PixelWeights;
  readonly #face: FacePlane;
  #patch: SignalPatch | undefined;
  /** What lies within this block has not been worked out. */
  #from: number;
  readonly #direction = new Float64Array(2);
  readonly #line = new Float64Array(4);
  readonly #places = new Float64Array(6);
  /** u and v of the first sample in the patch, their first and their second differences. */
  readonly #path = new Float64Array(6);

  /** @param outer share of the blocks, from outside, that surely will be read: the others are worked out when asked for. */
  constructor(photo: Photo, contrast: PixelWeights, face: FacePlane, ring: RingRadii, outer = 1) {
    const { fromRadiusMm, stepMm, radii } = ring;
    this.#radii = radii;
    this.#frame = Float64Array.of(fromRadiusMm, stepMm, face.xMm, face.yMm, ...face.affine);
    this.#map = new PlaneToPixel(face.geometry, face.zMm);
    this.block = Math.max(2, Math.floor(parabolaPx / (stepMm * pxPerMmOnFace(face))));
    this.blocks = Math.ceil(radii / this.block);
    this.#photo = photo;
    this.#contrast = contrast;
    this.#face = face;
    this.#from = Math.floor((1 - outer) * this.blocks);
    this.#workOut();
  }

  #workOut(): void {
    const [fromMm, stepMm] = [this.#frame[0]!, this.#frame[1]!];
    const innerMm = fromMm + this.#from * this.block * stepMm;
    const outerMm = fromMm + (this.#radii - 1) * stepMm;
    const needed = ringPixels(this.#photo, this.#face, this.#map, innerMm, outerMm);
    this.#patch = needed && signalOver(this.#photo, this.#contrast, needed);
  }

  /** Turns to another ray. */
  aim(angleRad: number): void {
    const frame = this.#frame;
    const cos = Math.cos(angleRad);
    const sin = Math.sin(angleRad);
    this.#direction[0] = frame[4]! * cos + frame[5]! * sin;
    this.#direction[1] = frame[6]! * cos + frame[7]! * sin;
  }

  /** Reads block `k` of the ray: radius j into out[at + j]. */
  read(k: number, out: Float32Array, at: number): void {
    const start = k * this.block;
    const end = Math.min(this.#radii, start + this.block);
    if (k < this.#from) {
      this.#from = 0;
      this.#workOut();
    }
    const patch = this.#patch;
    if (patch === undefined) {
      out.fill(NaN, at + start, at + end);
      return;
    }
    const isInside = this.#follow(start, end, patch);
    if (isInside) readInside(patch.signal, patch.width, this.#path, out, at + start, at + end);
    else readAcrossEdge(patch, this.#path, out, at + start, at + end);
  }

  /** Puts samples start..end - 1 on a parabola; true when all of them lie well inside the patch. */
  #follow(start: number, end: number, { uFrom, vFrom, width, height }: SignalPatch): boolean {
    const frame = this.#frame;
    const stepMm = frame[1]!;
    const line = this.#line;
    const places = this.#places;
    const path = this.#path;
    const dx = this.#direction[0]!;
    const dy = this.#direction[1]!;
    const r = frame[0]! + start * stepMm;
    const half = (end - 1 - start) / 2 || 1;
    line[0] = frame[2]! + r * dx;
    line[1] = frame[3]! + r * dy;
    line[2] = half * stepMm * dx;
    line[3] = half * stepMm * dy;
    this.#map.along(line, places);
    const u0 = places[0]! - uFrom;
    const v0 = places[1]! - vFrom;
    const u1 = places[2]! - uFrom;
    const v1 = places[3]! - vFrom;
    const u2 = places[4]! - uFrom;
    const v2 = places[5]! - vFrom;
    const uBend = (u0 - 2 * u1 + u2) / (2 * half * half);
    const vBend = (v0 - 2 * v1 + v2) / (2 * half * half);
    path[0] = u0;
    path[1] = v0;
    path[2] = (u1 - u0) / half - half * uBend + uBend;
    path[3] = (v1 - v0) / half - half * vBend + vBend;
    path[4] = 2 * uBend;
    path[5] = 2 * vBend;
    // Between the ends it bends by much less than a pixel.
    return (
      Math.min(u0, u2) >= 1 &&
      Math.min(v0, v2) >= 1 &&
      Math.max(u0, u2) < width - 2 &&
      Math.max(v0, v2) < height - 2
    );
  }
}

// Loops over millions of samples are functions of their own, each with one kind of argument: compiled once, and early.

function readInside(
  signal: Float32Array,
  width: number,
  path: Float64Array,
  out: Float32Array,
  from: number,
  to: number,
): void {
  let u = path[0]!;
  let v = path[1]!;
  let uStep = path[2]!;
  let vStep = path[3]!;
  const uBend = path[4]!;
  const vBend = path[5]!;
  for (let p = from; p < to; p++) {
    const iu = u | 0;
    const iv = v | 0;
    const fu = u - iu;
    const q = iv * width + iu;
    const e = q + width;
    const upper = signal[q]! + fu * (signal[q + 1]! - signal[q]!);
    const lower = signal[e]! + fu * (signal[e + 1]! - signal[e]!);
    out[p] = upper + (v - iv) * (lower - upper);
    u += uStep;
    v += vStep;
    uStep += uBend;
    vStep += vBend;
  }
}

function readAcrossEdge(
  { signal, width, height }: SignalPatch,
  path: Float64Array,
  out: Float32Array,
  from: number,
  to: number,
): void {
  let u = path[0]!;
  let v = path[1]!;
  let uStep = path[2]!;
  let vStep = path[3]!;
  for (let p = from; p < to; p++) {
    if (u >= 0 && v >= 0 && u < width - 1 && v < height - 1) {
      const iu = Math.floor(u);
      const iv = Math.floor(v);
      const fu = u - iu;
      const q = iv * width + iu;
      const e = q + width;
      const upper = signal[q]! + fu * (signal[q + 1]! - signal[q]!);
      const lower = signal[e]! + fu * (signal[e + 1]! - signal[e]!);
      out[p] = upper + (v - iv) * (lower - upper);
    } else out[p] = NaN;
    u += uStep;
    v += vStep;
    uStep += path[4]!;
    vStep += path[5]!;
  }
}

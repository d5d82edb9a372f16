import type { Photo } from "../photo/index.js";
import type { PixelWeights } from "./contrast.js";
import { PlaneToPixel, pxPerMmOnFace, type FacePlane } from "./face-plane.js";
import { signalOver, type PixelBox, type SignalPatch } from "./signal-patch.js";

/** Where the rays of a ring are read: at radius fromRadiusMm + j stepMm, j = 0 .. radii - 1. */
export interface RingRadii {
  readonly fromRadiusMm: number;
  readonly stepMm: number;
  readonly radii: number;
}

/** The camera bends a line so little that it is straight over a few pixels. */
const straightPx = 4;

/**
 * Reads a ring of the face in the original pixels, bilinearly: one ray after the other, and of a ray a block of radii
 * at a time, so that who has seen enough may stop. NaN outside the picture. For inner loops: nothing is allocated.
 */
export class RingReader {
  /** Radii in a block; the last block of a ray may hold fewer. */
  readonly block: number;
  readonly blocks: number;
  readonly #ring: RingRadii;
  readonly #face: FacePlane;
  readonly #map: PlaneToPixel;
  readonly #patch: SignalPatch | undefined;
  #dx = 0;
  #dy = 0;
  // Pixels of the two ends of the block that was read last: its neighbours share one of them.
  #inner = NaN;
  #uInner = 0;
  #vInner = 0;
  #outer = NaN;
  #uOuter = 0;
  #vOuter = 0;

  constructor(photo: Photo, contrast: PixelWeights, face: FacePlane, ring: RingRadii) {
    this.#ring = ring;
    this.#face = face;
    this.#map = new PlaneToPixel(face.geometry, face.zMm);
    this.block = Math.max(1, Math.floor(straightPx / (ring.stepMm * pxPerMmOnFace(face))));
    this.blocks = Math.ceil(ring.radii / this.block);
    const box = boxOf(photo, face, this.#map, ring.fromRadiusMm + (ring.radii - 1) * ring.stepMm);
    this.#patch = box && signalOver(photo, contrast, box);
  }

  /** Turns to another ray. */
  aim(angleRad: number): void {
    const [a, b, c, d] = this.#face.affine;
    const cos = Math.cos(angleRad);
    const sin = Math.sin(angleRad);
    this.#dx = a * cos + b * sin;
    this.#dy = c * cos + d * sin;
    this.#inner = this.#outer = NaN;
  }

  /** Reads block `k` of the ray: radius j into out[at + j]. */
  read(k: number, out: Float32Array, at: number): void {
    const { block } = this;
    const start = k * block;
    const end = Math.min(this.#ring.radii, start + block);
    const patch = this.#patch;
    if (patch === undefined) {
      out.fill(NaN, at + start, at + end);
      return;
    }
    this.#bracket(k);
    const { signal, width, height } = patch;
    let u = this.#uInner - patch.uFrom;
    let v = this.#vInner - patch.vFrom;
    const uEnd = this.#uOuter - patch.uFrom;
    const vEnd = this.#vOuter - patch.vFrom;
    const uStep = (uEnd - u) / block;
    const vStep = (vEnd - v) / block;
    // Both ends inside: so is what lies between them.
    const inside =
      Math.min(u, uEnd) >= 0 &&
      Math.min(v, vEnd) >= 0 &&
      Math.max(u, uEnd) < width - 1 &&
      Math.max(v, vEnd) < height - 1;
    for (let p = at + start; p < at + end; p++, u += uStep, v += vStep) {
      if (!inside && !(u >= 0 && v >= 0 && u < width - 1 && v < height - 1)) {
        out[p] = NaN;
        continue;
      }
      const iu = u | 0;
      const iv = v | 0;
      const fu = u - iu;
      const q = iv * width + iu;
      const upper = signal[q]! + fu * (signal[q + 1]! - signal[q]!);
      const e = q + width;
      const lower = signal[e]! + fu * (signal[e + 1]! - signal[e]!);
      out[p] = upper + (v - iv) * (lower - upper);
    }
  }

  #bracket(k: number): void {
    const map = this.#map;
    if (this.#outer === k) {
      this.#inner = k;
      this.#uInner = this.#uOuter;
      this.#vInner = this.#vOuter;
    } else if (this.#inner === k + 1) {
      this.#outer = k + 1;
      this.#uOuter = this.#uInner;
      this.#vOuter = this.#vInner;
      this.#inner = NaN;
    }
    if (this.#inner !== k) {
      this.#place(k);
      this.#inner = k;
      this.#uInner = map.u;
      this.#vInner = map.v;
    }
    if (this.#outer !== k + 1) {
      this.#place(k + 1);
      this.#outer = k + 1;
      this.#uOuter = map.u;
      this.#vOuter = map.v;
    }
  }

  #place(edge: number): void {
    const r = this.#ring.fromRadiusMm + edge * this.block * this.#ring.stepMm;
    this.#map.at(this.#face.xMm + r * this.#dx, this.#face.yMm + r * this.#dy);
  }
}

/** The pixels that a disc of the face may touch, inside the picture; undefined when there are none. */
function boxOf(
  { widthPx, heightPx }: Photo,
  face: FacePlane,
  map: PlaneToPixel,
  radiusMm: number,
): PixelBox | undefined {
  const [a, b, c, d] = face.affine;
  let [uLow, uHigh, vLow, vHigh] = [Infinity, -Infinity, Infinity, -Infinity];
  // A circumscribed polygon, not an inscribed one.
  const sides = 24;
  const reach = radiusMm / Math.cos(Math.PI / sides);
  for (let k = 0; k < sides; k++) {
    const x = reach * Math.cos((2 * Math.PI * k) / sides);
    const y = reach * Math.sin((2 * Math.PI * k) / sides);
    map.at(face.xMm + a * x + b * y, face.yMm + c * x + d * y);
    uLow = Math.min(uLow, map.u);
    uHigh = Math.max(uHigh, map.u);
    vLow = Math.min(vLow, map.v);
    vHigh = Math.max(vHigh, map.v);
  }
  const uFrom = Math.max(0, Math.floor(uLow) - 2);
  const vFrom = Math.max(0, Math.floor(vLow) - 2);
  const width = Math.min(widthPx, Math.ceil(uHigh) + 3) - uFrom;
  const height = Math.min(heightPx, Math.ceil(vHigh) + 3) - vFrom;
  return width > 1 && height > 1 ? { uFrom, vFrom, width, height } : undefined;
}

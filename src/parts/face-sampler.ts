import type { Photo } from "../photo/index.js";
import { PlaneToPixel, type FacePlane } from "./face-plane.js";

/** Reads the colour of the photograph at points of a face, given in the face's own local coordinates. */
export class FaceSampler {
  red = 0;
  green = 0;
  blue = 0;
  readonly #map: PlaneToPixel;
  readonly #photo: Photo;
  readonly #face: FacePlane;
  readonly #table: Float32Array;

  /** @param table what a code value (0..255) stands for: itself by default, or linear light. */
  constructor(photo: Photo, face: FacePlane, table: Float32Array = codeValues) {
    this.#photo = photo;
    this.#face = face;
    this.#table = table;
    this.#map = new PlaneToPixel(face.geometry, face.zMm);
  }

  /** Bilinear, into `red`, `green`, `blue`; false outside the picture. */
  at(xMm: number, yMm: number): boolean {
    const [a, b, c, d] = this.#face.affine;
    this.#map.at(this.#face.xMm + a * xMm + b * yMm, this.#face.yMm + c * xMm + d * yMm);
    return this.pixel(this.#map.u, this.#map.v);
  }

  pixel(u: number, v: number): boolean {
    const { rgb, widthPx, heightPx } = this.#photo;
    const iu = Math.floor(u);
    const iv = Math.floor(v);
    if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) return false;
    const fu = u - iu;
    const fv = v - iv;
    const p = 3 * (iv * widthPx + iu);
    const q = p + 3 * widthPx;
    const t = this.#table;
    const mix = (i: number): number => {
      const upper = t[rgb[p + i]!]! + fu * (t[rgb[p + 3 + i]!]! - t[rgb[p + i]!]!);
      const lower = t[rgb[q + i]!]! + fu * (t[rgb[q + 3 + i]!]! - t[rgb[q + i]!]!);
      return upper + fv * (lower - upper);
    };
    this.red = mix(0);
    this.green = mix(1);
    this.blue = mix(2);
    return true;
  }
}

const codeValues = Float32Array.from({ length: 256 }, (_, code) => code);

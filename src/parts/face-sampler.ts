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
    const { affine, xMm: x, yMm: y } = this.#face;
    this.#map.at(x + affine[0] * xMm + affine[1] * yMm, y + affine[2] * xMm + affine[3] * yMm);
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
    const w11 = fu * fv;
    const w10 = fv - w11;
    const w01 = fu - w11;
    const w00 = 1 - fu - w10;
    this.red = w00 * t[rgb[p]!]! + w01 * t[rgb[p + 3]!]! + w10 * t[rgb[q]!]! + w11 * t[rgb[q + 3]!]!;
    this.green =
      w00 * t[rgb[p + 1]!]! + w01 * t[rgb[p + 4]!]! + w10 * t[rgb[q + 1]!]! + w11 * t[rgb[q + 4]!]!;
    this.blue = w00 * t[rgb[p + 2]!]! + w01 * t[rgb[p + 5]!]! + w10 * t[rgb[q + 2]!]! + w11 * t[rgb[q + 5]!]!;
    return true;
  }
}

const codeValues = Float32Array.from({ length: 256 }, (_, code) => code);

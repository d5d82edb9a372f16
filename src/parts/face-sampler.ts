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
  readonly #line = new Float64Array(4);

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

  /**
   * Colours along a ray from the face's middle, without numbers that are passed one by one: red, green, blue of each radius
   * into `out`; NaN outside the picture.
   *
   * @param ray x and y of the first point, then the step to the next, mm. @param places room for u and v of each.
   */
  along(ray: Float64Array, places: Float64Array, out: Float64Array): void {
    const [a, b, c, d] = this.#face.affine;
    const line = this.#line;
    line[0] = this.#face.xMm + a * ray[0]! + b * ray[1]!;
    line[1] = this.#face.yMm + c * ray[0]! + d * ray[1]!;
    line[2] = a * ray[2]! + b * ray[3]!;
    line[3] = c * ray[2]! + d * ray[3]!;
    this.#map.along(line, places);
    const { rgb, widthPx, heightPx } = this.#photo;
    readColours(rgb, widthPx, heightPx, this.#table, places, out);
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

function readColours(
  rgb: Uint8Array,
  widthPx: number,
  heightPx: number,
  t: Float32Array,
  places: Float64Array,
  out: Float64Array,
): void {
  for (let k = 0, o = 0; k < places.length; k += 2, o += 3) {
    const u = places[k]!;
    const v = places[k + 1]!;
    const iu = Math.floor(u);
    const iv = Math.floor(v);
    if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) {
      out[o] = out[o + 1] = out[o + 2] = NaN;
      continue;
    }
    const fu = u - iu;
    const fv = v - iv;
    const w11 = fu * fv;
    const w10 = fv - w11;
    const w01 = fu - w11;
    const w00 = 1 - fu - w10;
    const p = 3 * (iv * widthPx + iu);
    const q = p + 3 * widthPx;
    for (let c = 0; c < 3; c++)
      out[o + c] =
        w00 * t[rgb[p + c]!]! + w01 * t[rgb[p + c + 3]!]! + w10 * t[rgb[q + c]!]! + w11 * t[rgb[q + c + 3]!]!;
  }
}

const codeValues = Float32Array.from({ length: 256 }, (_, code) => code);

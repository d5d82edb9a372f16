import type { Photo } from "../../photo/index.js";
import { PlaneToPixel, type FacePlane } from "../face-plane.js";
import { codeFromLinear, linearFromSrgb } from "../linear-light.js";
import { jpegLuma } from "./jpeg-luma.js";
import { chromaGain } from "./layered-edge.js";
import type { PlateColours } from "./plate-signal.js";

/** From here on a code value may be one that was cut off: noise and compression move it by so much. */
export const topCode = 250;
/** Steps of a code value in the table of linear light. */
const fine = 8;
const linear = Float64Array.from({ length: 255 * fine + 1 }, (_, i) => {
  const k = Math.min(254, Math.floor(i / fine));
  const f = i / fine - k;
  return (1 - f) * linearFromSrgb[k]! + f * linearFromSrgb[k + 1]!;
});

/**
 * Reads a photograph as cameras store it: brightness at every pixel, colour at every second one. Both come from code
 * values, before colour of one pixel is mixed with the brightness of another.
 */
export class EdgeSampler {
  /** Linear, 1 on the bare face. */
  light = 0;
  /** Difference of code values, 1 on the bare face, 0 on paper: grows with the light as code values do. */
  chroma = 0;
  /** The same of green and blue alone, for faces whose red is as bright as it can be stored. */
  chromaWithoutRed = 0;
  /** Code value. */
  red = 0;
  /** Share of the brightness that is of channels below their top: only these can show what sharpening adds. */
  freeShare = 0;
  /** Light of code value 255. */
  readonly white: number;
  readonly hasColour: boolean;
  readonly #map: PlaneToPixel;
  readonly #photo: Photo;
  readonly #face: FacePlane;
  readonly #perLight: number;
  /** Of grey of the same brightness, for the metal's own. */
  readonly #pale: number;
  readonly #perGreenAndBlue: readonly [number, number];
  readonly #perCode: readonly [number, number, number];

  /** @param hasColour false where the face has no colour: chroma and its gain are 1 everywhere then, and say nothing. */
  constructor(photo: Photo, face: FacePlane, { metal, neutral }: PlateColours, hasColour = true) {
    this.hasColour = hasColour;
    this.#photo = photo;
    this.#face = face;
    this.#map = new PlaneToPixel(face.geometry, face.zMm);
    const codes = codesOf(metal);
    const white = codesOf(neutral);
    const sum = jpegLuma(...codes);
    this.#perLight = 1 / linear[Math.round(sum * fine)]!;
    const span = 0.5 * (codes[0] / white[0] + codes[1] / white[1]) - codes[2] / white[2];
    // A little metal over much grey of the same brightness: code values bend, so that it shows less than pure metal.
    const bright = linear[Math.round(sum * fine)]!;
    const paper = linear[Math.round(jpegLuma(...white) * fine)]!;
    const share = 0.05;
    const mixed = metal.map((m, i) =>
      codeFromLinear(share * m + ((1 - share) * (neutral[i]! * bright)) / paper),
    );
    const mixedSpan = 0.5 * (mixed[0]! / white[0] + mixed[1]! / white[1]) - mixed[2]! / white[2];
    this.#pale = mixedSpan / (share * span);
    this.white = this.#perLight;
    const spanWithoutRed = codes[1] / white[1] - codes[2] / white[2];
    this.#perGreenAndBlue = [1 / white[1] / spanWithoutRed, -1 / white[2] / spanWithoutRed];
    this.#perCode = [0.5 / white[0] / span, 0.5 / white[1] / span, -1 / white[2] / span];
  }

  /** Bilinear; false outside the picture. */
  at(xMm: number, yMm: number): boolean {
    const { affine, xMm: x, yMm: y } = this.#face;
    this.#map.at(x + affine[0] * xMm + affine[1] * yMm, y + affine[2] * xMm + affine[3] * yMm);
    const { u, v } = this.#map;
    const { widthPx, heightPx } = this.#photo;
    const iu = Math.floor(u);
    const iv = Math.floor(v);
    if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) return false;
    const [fu, fv] = [u - iu, v - iv];
    const p = 3 * (iv * widthPx + iu);
    const q = p + 3 * widthPx;
    this.light = 0;
    this.chroma = 0;
    this.chromaWithoutRed = 0;
    this.red = 0;
    this.freeShare = 0;
    this.#add(p, (1 - fu) * (1 - fv));
    this.#add(p + 3, fu * (1 - fv));
    this.#add(q, (1 - fu) * fv);
    this.#add(q + 3, fu * fv);
    if (!this.hasColour) this.chroma = this.chromaWithoutRed = 1;
    return true;
  }

  /** Chroma that a unit of metal light adds where so much light and chroma are seen. */
  gainAt(light: number, chroma: number): number {
    if (!this.hasColour) return 1;
    const purity = Math.max(0, Math.min(1, chroma / (light * chromaGain(light))));
    return chromaGain(light) * (this.#pale + (1 - this.#pale) * purity);
  }

  #add(p: number, weight: number): void {
    const { rgb } = this.#photo;
    const [r, g, b] = [rgb[p]!, rgb[p + 1]!, rgb[p + 2]!];
    const code = jpegLuma(r, g, b);
    this.light += weight * this.#perLight * linear[Math.round(code * fine)]!;
    const [cr, cg, cb] = this.#perCode;
    this.chroma += weight * (cr * r + cg * g + cb * b);
    const [greenOnly, blueOnly] = this.#perGreenAndBlue;
    this.chromaWithoutRed += weight * (greenOnly * g + blueOnly * b);
    this.red += weight * r;
    this.freeShare += weight * jpegLuma(belowTop(r), belowTop(g), belowTop(b));
  }
}

const belowTop = (code: number): 0 | 1 => (code < topCode ? 1 : 0);

const codesOf = ([r, g, b]: readonly [number, number, number]): [number, number, number] => [
  codeFromLinear(r),
  codeFromLinear(g),
  codeFromLinear(b),
];

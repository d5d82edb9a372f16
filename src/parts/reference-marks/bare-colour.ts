import { medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { linearFromSrgb } from "../linear-light.js";
import { PlaneToPixel, type FacePlane } from "../face-plane.js";

/** Keeps ratios of nearly black colours tame, in linear light. */
const darkest = 0.004;
/** A wheel whose blue is so near to its red has no colour that would tell it from steel and paper. */
const colourless = 0.75;

/** Tells the colour of the wheel from what has none (steel, paper), in light and in shade alike. */
export class BareColour {
  readonly #wheel: number;

  /** @param samples red, green, blue ... of the wheel's metal, code values. */
  constructor(samples: readonly number[]) {
    const ratios: number[] = [];
    for (let p = 0; p < samples.length; p += 3) ratios.push(blueOverRed(samples[p]!, samples[p + 2]!));
    this.#wheel = ratios.length === 0 ? 1 : medianOf(ratios);
  }

  get isTold(): boolean {
    return this.#wheel < colourless;
  }

  /** 0 on the wheel's colour, 1 on none; -0.25 to 1.25. Always 0 where the wheel itself has no colour. */
  of(rgb: Float64Array): number {
    if (!this.isTold) return 0;
    const share = (blueOverRed(rgb[0]!, rgb[2]!) - this.#wheel) / (1 - this.#wheel);
    return Math.min(1.25, Math.max(-0.25, share));
  }
}

const blueOverRed = (red: number, blue: number): number => (linear(blue) + darkest) / (linear(red) + darkest);

const linear = (code: number): number => {
  const i = Math.min(254, Math.max(0, Math.floor(code)));
  return linearFromSrgb[i]! + (code - i) * (linearFromSrgb[i + 1]! - linearFromSrgb[i]!);
};

/** Red, green and blue of a ring of the face, about two thousand samples. */
export function ringSamples(photo: Photo, face: FacePlane, fromMm: number, toMm: number): number[] {
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const samples: number[] = [];
  for (let j = 0; j < 5; j++) {
    const r = fromMm + ((toMm - fromMm) * j) / 4;
    for (let i = 0; i < 400; i++) {
      const t = (2 * Math.PI * (i + j / 5)) / 400;
      map.at(face.xMm + r * Math.cos(t), face.yMm + r * Math.sin(t));
      const u = Math.round(map.u);
      const v = Math.round(map.v);
      if (!(u >= 0 && v >= 0 && u < photo.widthPx && v < photo.heightPx)) continue;
      const p = 3 * (v * photo.widthPx + u);
      samples.push(photo.rgb[p]!, photo.rgb[p + 1]!, photo.rgb[p + 2]!);
    }
  }
  return samples;
}

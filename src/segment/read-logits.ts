import { pixelClass } from "./class-map.js";

/** exp(-d) for d from 0 to 16 in steps of 1/128: good to half a per cent, finer than a byte of probability. */
const steps = 128;
const reach = 16;
const fading = Float32Array.from({ length: steps * reach + 1 }, (_, i) => Math.exp(-i / steps));

export interface CellClasses {
  readonly classOf: Uint8Array;
  readonly confidence: Uint8Array;
  readonly metal: Uint8Array;
}

/**
 * Most likely class and probabilities (softmax) of each cell.
 *
 * @param logits 4 planes of `planeWidth` x `planeHeight`, row-major.
 * @param width,height the part of the planes that shows the photograph; the rest is padding.
 */
export function readLogits(
  logits: Float32Array,
  planeWidth: number,
  planeHeight: number,
  width: number,
  height: number,
): CellClasses {
  const plane = planeWidth * planeHeight;
  const classOf = new Uint8Array(width * height);
  const confidence = new Uint8Array(width * height);
  const metal = new Uint8Array(width * height);
  for (let j = 0; j < height; j++)
    readRow(logits, plane, j * planeWidth, width, j * width, classOf, confidence, metal);
  return { classOf, confidence, metal };
}

function readRow(
  logits: Float32Array,
  plane: number,
  start: number,
  count: number,
  to: number,
  classOf: Uint8Array,
  confidence: Uint8Array,
  metal: Uint8Array,
): void {
  for (let p = start, o = to; o < to + count; p++, o++) {
    const a = logits[p]!;
    const b = logits[plane + p]!;
    const c = logits[2 * plane + p]!;
    const d = logits[3 * plane + p]!;
    let best: number = pixelClass.background;
    let top = a;
    if (b > top) {
      best = pixelClass.metal;
      top = b;
    }
    if (c > top) {
      best = pixelClass.steel;
      top = c;
    }
    if (d > top) {
      best = pixelClass.hole;
      top = d;
    }
    const eb = fade(top - b);
    const ec = fade(top - c);
    const one = 255 / (fade(top - a) + eb + ec + fade(top - d));
    classOf[o] = best;
    confidence[o] = one + 0.5;
    metal[o] = (eb + ec) * one + 0.5;
  }
}

const fade = (d: number): number => (d < reach ? fading[(d * steps + 0.5) | 0]! : 0);

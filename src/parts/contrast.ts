import { invertSymmetric } from "../fit/index.js";
import { linearFromSrgb } from "./linear-light.js";

/**
 * One number per pixel that is 1 on the metal of this part and 0 on what surrounds it: a weighted sum of the
 * linear red, green and blue, baked into tables. Being linear in the light, it blurs as the light does, so half
 * height stays the edge.
 */
export interface Contrast {
  readonly red: Float32Array;
  readonly green: Float32Array;
  readonly blue: Float32Array;
  /** Distance of the two classes over their common spread. */
  readonly separation: number;
}

/** Noise of a good photograph, in linear light; keeps the weights tame where a class is perfectly even. */
const leastSpread = 0.012;

/**
 * Fisher's linear discriminant (1936) of metal against surroundings. A shadow that crosses the surroundings makes
 * their spread large along their own colour, and the weights turn away from it: brass is then told by colour alone.
 *
 * @param metal samples r, g, b ... sRGB code values; @param around the same for what surrounds the part.
 * @returns undefined when a class is empty or both are alike.
 */
export function learnContrast(metal: readonly number[], around: readonly number[]): Contrast | undefined {
  if (metal.length < 60 || around.length < 60) return undefined;
  const m = spreadOf(metal);
  const a = spreadOf(around);
  const within = new Float64Array(9);
  for (let i = 0; i < 9; i++) within[i] = m.covariance[i]! + a.covariance[i]!;
  for (let i = 0; i < 3; i++) within[4 * i]! += leastSpread * leastSpread;
  const inverse = invertSymmetric(within, 3);
  if (inverse === undefined) return undefined;
  const d = [0, 1, 2].map((i) => m.mean[i]! - a.mean[i]!);
  const w = [0, 1, 2].map(
    (i) => inverse[3 * i]! * d[0]! + inverse[3 * i + 1]! * d[1]! + inverse[3 * i + 2]! * d[2]!,
  );
  const apart = w[0]! * d[0]! + w[1]! * d[1]! + w[2]! * d[2]!;
  if (!(apart > 0.5)) return undefined;
  const zero = (w[0]! * a.mean[0]! + w[1]! * a.mean[1]! + w[2]! * a.mean[2]!) / apart;
  const table = (i: number): Float32Array => linearFromSrgb.map((v) => (w[i]! * v) / apart - zero / 3);
  return { red: table(0), green: table(1), blue: table(2), separation: Math.sqrt(apart) };
}

function spreadOf(samples: readonly number[]): { mean: number[]; covariance: Float64Array } {
  const n = samples.length / 3;
  const mean = [0, 0, 0];
  for (let k = 0; k < samples.length; k++) mean[k % 3]! += linearFromSrgb[samples[k]!]! / n;
  const covariance = new Float64Array(9);
  for (let k = 0; k < samples.length; k += 3) {
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++)
        covariance[3 * i + j]! +=
          ((linearFromSrgb[samples[k + i]!]! - mean[i]!) * (linearFromSrgb[samples[k + j]!]! - mean[j]!)) / n;
  }
  return { mean, covariance };
}

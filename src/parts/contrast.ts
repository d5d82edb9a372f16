import { invertSymmetric } from "../fit/index.js";
import { linearFromSrgb } from "./linear-light.js";

/** What each code value of a colour adds to the number of a pixel. */
export interface PixelWeights {
  readonly red: Float32Array;
  readonly green: Float32Array;
  readonly blue: Float32Array;
}

/**
 * One number per pixel that is 1 on the metal of this part and 0 on what surrounds it: a weighted sum of red, green
 * and blue, baked into tables.
 */
export interface Contrast extends PixelWeights {
  /** Distance of the two classes over their common spread. */
  readonly separation: number;
  /**
   * How far the metal looks too large at an edge blurred by the lens, in standard deviations of that blur: the
   * difference of the areas under the softened and the sharp edge. 0 where the signal is linear in the light.
   */
  readonly growth: number;
  /** The signal against the share of the light that comes from metal, at shares 0, 1/32 ... 1. */
  readonly response: Float64Array;
  /** Linear red, green and blue of the metal and of the surroundings, mean. */
  readonly metal: readonly [number, number, number];
  readonly around: readonly [number, number, number];
  /** What lies beside the part is known to be free of shadows that would pass for metal. */
  readonly noShadow: boolean;
  /**
   * Where this contrast goes by colour: the same parts told by lightness alone, which pictures store at full
   * resolution, but which takes a shadow for metal. Absent when metal and surroundings are equally light.
   */
  readonly byLight?: Contrast;
  /** Where this contrast is such a `byLight`, taken for its fine teeth: the one by colour, which shade leaves alone. */
  readonly byColour?: Contrast;
}

/** Noise of a good photograph, of full scale; keeps the weights tame where a class is perfectly even. */
const leastSpread = 0.012;
/** So far apart by colour alone, lightness is not needed and shadows cannot mislead. */
const enoughSeparation = 2.4;
/** Spread of the shade that falls beside every wheel, whether or not the samples caught it. */
const shade = 0.25;

/**
 * Fisher's linear discriminant (1936) of metal against surroundings, one of two:
 *
 * - by colour, where the metal has one: shade moves the surroundings along their own colour only, so the weights
 *   are turned away from that direction. Taken from the code values as they are stored: pictures store colour at
 *   half resolution, and only there is what that does to an edge even-sided.
 * - by light, otherwise: linear in the light, as the blur of the lens is.
 *
 * @param metal samples r, g, b ... sRGB code values; @param around the same for what surrounds the part.
 * @returns undefined when a class is empty or both are alike.
 */
export function learnContrast(metal: readonly number[], around: readonly number[]): Contrast | undefined {
  if (metal.length < 60 || around.length < 60) return undefined;
  const light = spreadOf(around, linearFromSrgb);
  const lit = spreadOf(metal, linearFromSrgb);
  const means = { metal: threeOf(lit.mean), around: threeOf(light.mean) };
  const byColour = discriminant(spreadOf(metal, code), withShade(spreadOf(around, code)), code);
  if (byColour !== undefined && byColour.separation >= enoughSeparation) {
    const response = responseOf(byColour, lit.mean, light.mean);
    const lightness = lightnessContrast(lit, light);
    return {
      ...byColour,
      growth: growthOf(response),
      response,
      ...means,
      noShadow: false,
      ...(lightness === undefined ? {} : { byLight: lightness }),
    };
  }
  const byLight = discriminant(lit, light, linearFromSrgb);
  return byLight && { ...byLight, growth: 0, response: straight, ...means, noShadow: false };
}

const code: Float32Array = Float32Array.from({ length: 256 }, (_, v) => v / 255);

type Weights = PixelWeights & Pick<Contrast, "separation">;

const threeOf = (v: readonly number[]): [number, number, number] => [v[0]!, v[1]!, v[2]!];

interface Spread {
  readonly mean: readonly number[];
  readonly covariance: Float64Array;
}

function withShade({ mean, covariance }: Spread): Spread {
  return {
    mean,
    covariance: covariance.map((c, k) => c + shade ** 2 * mean[Math.floor(k / 3)]! * mean[k % 3]!),
  };
}

function discriminant(m: Spread, a: Spread, table: Float32Array): Weights | undefined {
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
  const weighted = (i: number): Float32Array => lineOver(table, w[i]!, apart, zero / 3);
  return { red: weighted(0), green: weighted(1), blue: weighted(2), separation: Math.sqrt(apart) };
}

/** (weight v) / by - less for each v of a table. */
function lineOver(table: Float32Array, weight: number, by: number, less: number): Float32Array {
  const out = new Float32Array(table.length);
  for (let i = 0; i < out.length; i++) out[i] = (weight * table[i]!) / by - less;
  return out;
}

function spreadOf(samples: readonly number[], table: Float32Array): Spread {
  const n = samples.length / 3;
  const mean = [0, 0, 0];
  for (let k = 0; k < samples.length; k++) mean[k % 3]! += table[samples[k]!]! / n;
  const covariance = new Float64Array(9);
  for (let k = 0; k < samples.length; k += 3) {
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++)
        covariance[3 * i + j]! +=
          ((table[samples[k + i]!]! - mean[i]!) * (table[samples[k + j]!]! - mean[j]!)) / n;
  }
  return { mean, covariance };
}

/** Weights of the luminance, IEC 61966-2-1. */
const luminance = [0.2126, 0.7152, 0.0722] as const;
/** Metal within this share of the lightness of its surroundings is not told by it. */
const leastLightness = 0.2;

/** Luminance in linear light: 0 where it is dark, 1 on what fills all three channels. */
export const luminanceWeights: PixelWeights = {
  red: linearFromSrgb.map((v) => luminance[0] * v),
  green: linearFromSrgb.map((v) => luminance[1] * v),
  blue: linearFromSrgb.map((v) => luminance[2] * v),
};
export const luminanceOf = (rgb: readonly number[]): number => luminanceFrom(rgb[0]!, rgb[1]!, rgb[2]!);
export const luminanceFrom = (red: number, green: number, blue: number): number =>
  luminance[0] * red + luminance[1] * green + luminance[2] * blue;

function lightnessContrast(metal: Spread, around: Spread): Contrast | undefined {
  const zero = luminanceOf(around.mean);
  const span = luminanceOf(metal.mean) - zero;
  if (!(Math.abs(span) > leastLightness * zero)) return undefined;
  const table = (i: 0 | 1 | 2): Float32Array =>
    linearFromSrgb.map((v) => (luminance[i] * v - zero / 3) / span);
  return {
    red: table(0),
    green: table(1),
    blue: table(2),
    separation: Math.abs(span) / zero,
    growth: 0,
    response: straight,
    metal: threeOf(metal.mean),
    around: threeOf(around.mean),
    noShadow: false,
  };
}

const responseSteps = 32;
const straight = Float64Array.from({ length: responseSteps + 1 }, (_, k) => k / responseSteps);

/**
 * The response where the surroundings lie in shade, as in the spaces between teeth: the less light they give, the
 * sooner a pixel looks like metal.
 *
 * @param light of the surroundings there, as a share of what they give beside the part.
 */
export const responseInShade = (c: Contrast, light: number): Float64Array =>
  c.growth === 0
    ? c.response
    : responseOf(
        c,
        c.metal,
        c.around.map((v) => v * light),
      );

/** The lens mixes light, the signal is read from code values. */
function responseOf(c: PixelWeights, metal: readonly number[], around: readonly number[]): Float64Array {
  const out = new Float64Array(responseSteps + 1);
  for (let k = 0; k < out.length; k++) {
    const covered = straight[k]!;
    out[k] =
      lookUp(c.red, srgbFromLinear(covered * metal[0]! + (1 - covered) * around[0]!)) +
      lookUp(c.green, srgbFromLinear(covered * metal[1]! + (1 - covered) * around[1]!)) +
      lookUp(c.blue, srgbFromLinear(covered * metal[2]! + (1 - covered) * around[2]!));
  }
  const zero = out[0]!;
  const one = out[responseSteps]!;
  for (let k = 0; k < out.length; k++) out[k] = (out[k]! - zero) / (one - zero);
  return out;
}

/** Signal of a pixel that is metal to this share, linear between the steps. */
export function respond(response: Float64Array, covered: number): number {
  const x = Math.min(1, Math.max(0, covered)) * responseSteps;
  const i = Math.min(responseSteps - 1, Math.floor(x));
  return response[i]! + (x - i) * (response[i + 1]! - response[i]!);
}

/** Integrates signal minus light across an edge blurred by one standard deviation. */
function growthOf(response: Float64Array): number {
  let sum = 0;
  const step = 0.05;
  for (let z = -3.5; z <= 3.5; z += step) {
    // Logistic curve in place of the normal one: within 0.01 everywhere.
    const covered = 1 / (1 + Math.exp(-1.702 * z));
    sum += (respond(response, covered) - covered) * step;
  }
  return sum;
}

const srgbFromLinear = (v: number): number =>
  255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * Math.max(0, v) ** (1 / 2.4) - 0.055);

function lookUp(table: Float32Array, at: number): number {
  const i = Math.min(254, Math.max(0, Math.floor(at)));
  return table[i]! + (at - i) * (table[i + 1]! - table[i]!);
}

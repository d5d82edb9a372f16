import type { AgainstBackground } from "./background.js";

/** What was taken for metal, and why: different reasons fail in different photographs. */
export interface Foreground {
  readonly reason: "colour-or-dark" | "colour" | "lightness" | "network";
  /** 255 metal, 0 not; one byte a small pixel. */
  readonly mask: Uint8Array;
  /** So much of it was taken for being dark alone that it may hold shadows. */
  readonly shadowy: boolean;
}

/** Brass differs from paper by 0.8 to 1.3, a shadow under a blue sky by up to 0.15. */
const colourRange = [0.2, 0.6] as const;
/** A soft shadow keeps more than 30 % of the light: -1.2. */
const deepShadow = -1.35;
const glare = 0.35;
/** A shadow that only the blue sky reaches; bare steel, dark as it may be, is nearer to grey. */
const skyLit = -0.1;
/** Arbors and pinions make up less of a wheel; a hard shadow makes up more. */
const shadowShare = 0.04;
const lightnessRange = [0.22, 1.2] as const;

/**
 * Reasons in the order in which they should be tried.
 *
 * @param onPaper against white paper brass, copper and gilding are redder than it, and a shadow in the sun bluer.
 */
export function* guessForegrounds(
  against: AgainstBackground,
  where: Uint8Array,
  onPaper: boolean,
): Generator<Foreground> {
  const colour = coloursOf(against, where, onPaper);
  const colourCut = splitInTwo(colour, where, ...colourRange);
  yield byColourOrDark(against.lightness, colour, colourCut, where);
  yield byColour(colour, colourCut, where);
  yield foregroundByLightness(against, where);
}

/** By colour alone, in which no shadow has a part; `onPaper` as in `guessForegrounds`. */
export function foregroundByColour(
  against: AgainstBackground,
  where: Uint8Array,
  onPaper: boolean,
): Foreground {
  const colour = coloursOf(against, where, onPaper);
  return byColour(colour, splitInTwo(colour, where, ...colourRange), where);
}

/** Code value from which a channel is at its top, and how much lighter than the paper there that must be, logarithm. */
const topCode = 250;
const overPaper = 0.06;

/**
 * A foreground with what is whiter than the paper: metal under flash, so bright that no colour is left of it.
 *
 * @param rgb code values of the picture that it was compared in.
 */
export function withBlownOut(
  foreground: Foreground,
  { lightness }: AgainstBackground,
  where: Uint8Array,
  rgb: Uint8Array,
): Foreground {
  const isBlown = (i: number): boolean =>
    where[i] !== 0 &&
    lightness[i]! > overPaper &&
    Math.max(rgb[3 * i]!, rgb[3 * i + 1]!, rgb[3 * i + 2]!) >= topCode;
  return { ...foreground, mask: foreground.mask.map((v, i) => (v !== 0 || isBlown(i) ? 255 : 0)) };
}

/** By lightness alone, shadows included. */
export function foregroundByLightness({ lightness }: AgainstBackground, where: Uint8Array): Foreground {
  const light = new Float32Array(lightness.length);
  for (let i = 0; i < light.length; i++) light[i] = Math.abs(lightness[i]!);
  const cut = splitInTwo(light, where, ...lightnessRange);
  return { reason: "lightness", mask: above(light, cut, where), shadowy: true };
}

const byColour = (colour: Float32Array, cut: number, where: Uint8Array): Foreground => ({
  reason: "colour",
  mask: above(colour, cut, where),
  shadowy: false,
});

/**
 * How far each pixel's colour is from that of the background; below zero where it is bluer than paper, 0 where nothing
 * is to be looked at.
 */
function coloursOf(
  { redGreen, greenBlue }: AgainstBackground,
  where: Uint8Array,
  onPaper: boolean,
): Float32Array {
  const colour = new Float32Array(where.length);
  for (let i = 0; i < colour.length; i++) {
    if (!where[i]) continue;
    const rg = redGreen[i]!;
    const gb = greenBlue[i]!;
    const warm = (rg + 2 * gb) * warmShare;
    colour[i] = onPaper && warm < 0 ? warm : Math.sqrt(rg * rg + gb * gb);
  }
  return colour;
}

/** Makes a unit vector of once red over green and twice green over blue. */
const warmShare = 1 / Math.sqrt(5);

function byColourOrDark(
  lightness: Float32Array,
  colour: Float32Array,
  cut: number,
  where: Uint8Array,
): Foreground {
  const mask = new Uint8Array(where.length);
  let dark = 0;
  let all = 0;
  for (let i = 0; i < mask.length; i++) {
    if (where[i] === 0) continue;
    const l = lightness[i]!;
    const c = colour[i]!;
    if (!(c > cut) && !(l < deepShadow && c > skyLit) && !(l > glare)) continue;
    mask[i] = 255;
    all++;
    if (!(c > cut) && l < 0) dark++;
  }
  return { reason: "colour-or-dark", mask, shadowy: dark > shadowShare * all };
}

function above(values: Float32Array, cut: number, where: Uint8Array): Uint8Array {
  const mask = new Uint8Array(where.length);
  for (let i = 0; i < mask.length; i++) if (where[i] !== 0 && values[i]! > cut) mask[i] = 255;
  return mask;
}

/** Threshold between two classes that are as different as can be (Otsu 1979), kept within sensible bounds. */
export function splitInTwo(values: Float32Array, where: Uint8Array, low: number, high: number): number {
  const bins = 128;
  const top = 2 * high;
  const histogram = new Float64Array(bins);
  for (let i = 0; i < values.length; i++) {
    if (where[i]) histogram[Math.min(bins - 1, Math.max(0, Math.floor((values[i]! / top) * bins)))]!++;
  }
  let total = 0;
  let sum = 0;
  histogram.forEach((count, k) => {
    total += count;
    sum += count * k;
  });
  let below = 0;
  let sumBelow = 0;
  let best = -1;
  let cut = low;
  for (let k = 0; k < bins - 1; k++) {
    below += histogram[k]!;
    sumBelow += k * histogram[k]!;
    const above = total - below;
    if (below === 0 || above === 0) continue;
    const between = below * above * (sumBelow / below - (sum - sumBelow) / above) ** 2;
    if (between > best) {
      best = between;
      cut = ((k + 1) / bins) * top;
    }
  }
  return Math.min(high, Math.max(low, cut));
}

import { gaussianKernel, normalDistribution } from "../../fit/index.js";
import { NormalEquations } from "./normal-equations.js";

/**
 * The edge of a hole, seen along a line across it, blurred: face, bevel, wall, inside.
 *
 *     face A ______                    A bevel lies in another light than the face, and on the dark side of a hole it
 *                  \__ bevel B         passes for the inside at half height: a tenth of a millimetre at every edge. On
 *                     |                the far side the wall is seen below the edge, and if it is lit it passes for the
 *                     |__ wall W       face. Widths of bevel and wall as they are seen are known; the brightness of
 *                        |_______      each, and the edge, are fitted.
 *          r0 + b    r0  r0 - w   inside I
 *
 * Two readings of the same line are fitted at once: how bright it is, and how much of the metal's colour comes from
 * there. Face, bevel and wall are of one metal, so both readings agree on them; of what lies behind they do not. That
 * tells a dark bevel from a dark hole, and a bright wall from bright paper.
 *
 * Cameras store colour at half resolution, as a difference of code values. A code value is a power of the light, so
 * that a little metal makes more colour where it is dark. Brightness is known at every pixel; from it follows how much
 * colour a unit of metal light makes there (`gain`), and the whole is blurred once more.
 */
export interface EdgeProfiles {
  /** Linear, 1 on the bare face; from the inside outwards, all of the same length. */
  readonly light: Float64Array;
  /** Difference of code values, 1 on the bare face. */
  readonly chroma: Float64Array;
  /** Of the chroma of a unit of metal light, 1 on the bare face. */
  readonly gain: Float64Array;
  /** False where the metal has none, so that chroma says nothing. */
  readonly hasColour: boolean;
}

/** IEC 61966-2-1: code values grow about with this power of the light. */
const codePower = 0.42;
/** Darker than this share of the face, code values grow in proportion, and noise is all there is. */
const darkest = 0.03;

export const chromaGain = (light: number): number => Math.max(darkest, light) ** (codePower - 1);

export interface LayeredEdgeOptions {
  /** Standard deviation of the blur, in samples. */
  readonly sigma: number;
  /** What storing colour at half resolution adds to it, in samples. */
  readonly chromaSigma: number;
  /** Width of the bevel as it is seen, in samples. */
  readonly bevel: number;
  /** How bright the bevel should be there, in the unit of the profiles. */
  readonly bevelLevel: { readonly value: number; readonly u: number };
  /** Width of the wall as it is seen, in samples; 0 on the near side. */
  readonly wall: number;
  /** Samples looked at, inwards of the wall and outwards of the place where the edge is supposed. */
  readonly inwards: number;
  readonly outwards: number;
  /** Places tried, inwards of `start`, and outwards of it and the wall, in samples. */
  readonly reachIn: number;
  readonly reachOut: number;
}

/** What else is believed of one edge, and how well its readings are known. */
export interface LayeredEdge extends Pick<
  LayeredEdgeOptions,
  "sigma" | "chromaSigma" | "bevel" | "bevelLevel" | "wall"
> {
  readonly profiles: EdgeProfiles;
  /** First and last sample. */
  readonly from: number;
  readonly to: number;
  /** Brightness and chroma beyond. */
  readonly faceLevel: readonly [number, number];
  readonly uFace: number;
  /** Standard deviation of a reading. */
  readonly uLight: number;
  readonly uChroma: number;
}

/** Walls stand steep, mostly in their own shade. */
const usualWall = 0.35;
const uWall = 0.2;
/** What is seen through a hole grows darker towards its wall: change of brightness over a sample. */
const uLightSlope = 0.04;
/** It has not the metal's colour, but for what the wall throws on it: metal light. */
const usualInside = 0.03;
const uInside = 0.06;
/** Brushed and scratched metal, share of its level a sample; many neighbouring samples of colour share their error. */
const lightTexture = 0.04;
const chromaTexture = 0.15;
const uFace = 0.25;

/** What a ray says of where its edge lies: sum of squares in variances of the texture, on a grid of places. */
export interface EdgeCurve {
  /** First place, in samples; the others follow every `curveStep`. */
  readonly from: number;
  readonly misfit: Float64Array;
}

export const curveStep = 0.4;

/**
 * Misfit of the four layers against the place of the edge (r0 above). Nothing is decided here: on the dark side of a
 * hole many places are as good as each other, and only the whole hole can tell.
 *
 * @param start about where the edge lies; @param faceLevel of brightness and of colour beyond.
 * @returns undefined where the profiles end too soon.
 */
export function edgeCurve(
  profiles: EdgeProfiles,
  start: number,
  faceLevel: readonly [number, number],
  options: LayeredEdgeOptions,
): EdgeCurve | undefined {
  const { wall, reachIn, reachOut } = options;
  const from = Math.max(0, Math.ceil(start - wall - options.inwards));
  const to = Math.floor(start + wall + options.outwards);
  if (to >= profiles.light.length || to - from < 6 || to - from + 2 * colourReach >= longest)
    return undefined;
  const first = start - reachIn;
  // Half height may have met the inner end of the wall.
  const places = Math.ceil((reachIn + wall + reachOut) / curveStep) + 1;
  const edge: LayeredEdge = {
    ...options,
    profiles,
    from,
    to,
    faceLevel,
    uFace: uFace * faceLevel[0],
    uLight:
      lightTexture *
      Math.max(faceLevel[0], brightest(profiles.light, from, Math.floor(start)) - faceLevel[0]),
    uChroma: chromaTexture * faceLevel[1],
  };
  const misfit = new Float64Array(places);
  for (let i = 0; i < places; i++) misfit[i] = misfitOfLayers(edge, first + i * curveStep);
  return { from: first, misfit };
}

/** Brighter paper behind a dark face makes a higher step, and what is wrong of the blur grows with that. */
function brightest(light: Float64Array, from: number, to: number): number {
  let most = 0;
  for (let k = from; k < to; k++) if (light[k]! > most) most = light[k]!;
  return most;
}

/** Face, bevel, wall; inside and its slope; metal light from inside. */
const unknowns = 6;
const equations = new NormalEquations(unknowns);
const ofLight = [0, 1, 2, 3, 4];
const ofChroma = [0, 1, 2, 5];

/** Samples that colour is blurred from, to both sides. */
export const colourReach = 8;
/** Colour that is stored at every pixel is as sharp as brightness. */
const leastChromaSigma = 0.2;
const kernels = new Map<number, Float64Array>();

function kernelOf(sigma: number): Float64Array {
  const known = kernels.get(sigma);
  if (known) return known;
  const kernel = gaussianKernel(Math.max(leastChromaSigma, sigma), colourReach);
  if (kernels.size > 200) kernels.clear();
  kernels.set(sigma, kernel);
  return kernel;
}

const tableReach = 16;
const tableFine = 16;
const tables = new Map<number, Float64Array>();

/** A step of light at 0, blurred, against the distance from it: millions of places are asked for. */
function stepTable(sigma: number): Float64Array {
  const known = tables.get(sigma);
  if (known) return known;
  const table = Float64Array.from({ length: 2 * tableReach * tableFine + 2 }, (_, i) =>
    normalDistribution((i / tableFine - tableReach) / sigma),
  );
  if (tables.size > 200) tables.clear();
  tables.set(sigma, table);
  return table;
}

function stepAt(table: Float64Array, x: number): number {
  const at = (x + tableReach) * tableFine;
  if (at <= 0) return 0;
  const k = Math.floor(at);
  if (k >= table.length - 1) return 1;
  return table[k]! + (at - k) * (table[k + 1]! - table[k]!);
}

const longest = 400;
const bevelShare = new Float64Array(longest);
const wallShare = new Float64Array(longest);
const innerShare = new Float64Array(longest);
const lightRow = new Float64Array(ofLight.length);
const chromaRow = new Float64Array(ofChroma.length);

const taps = 2 * colourReach + 1;
/** Shares that every second sample of colour has of its neighbours' metal light, and their sums. */
const colourWeights = new Float64Array((longest >> 1) * taps);
const colourSums = new Float64Array(longest >> 1);
let weighed: Pick<LayeredEdge, "profiles" | "chromaSigma" | "from" | "to"> | undefined;

/** They do not depend on the place that is tried: done once for each edge. */
function weighColour({ profiles, chromaSigma, from, to }: LayeredEdge): void {
  if (
    weighed?.profiles === profiles &&
    weighed.chromaSigma === chromaSigma &&
    weighed.from === from &&
    weighed.to === to
  )
    return;
  weighed = { profiles, chromaSigma, from, to };
  const { gain } = profiles;
  const kernel = kernelOf(chromaSigma);
  const last = gain.length - 1;
  for (let k = from, n = 0; k <= to; k += 2, n++) {
    let all = 0;
    for (let j = 0; j < taps; j++) {
      const at = k + j - colourReach;
      const g = kernel[j]! * gain[at < 0 ? 0 : at > last ? last : at]!;
      colourWeights[n * taps + j] = g;
      all += g;
    }
    colourSums[n] = all;
  }
}

/** Sum of squares, in variances, of the layers that fit best, were the edge at `r0`. */
export function misfitOfLayers(edge: LayeredEdge, r0: number): number {
  const { profiles, from, to, faceLevel, sigma, bevel, bevelLevel, wall } = edge;
  const { light, chroma, hasColour } = profiles;
  const step = stepTable(sigma);
  if (hasColour) weighColour(edge);
  const first = from - colourReach;
  const count = to - from + 2 * colourReach + 1;
  equations.clear();
  equations.believe(0, faceLevel[0], edge.uFace);
  equations.believe(1, bevelLevel.value, bevelLevel.u);
  equations.believe(2, usualWall, uWall);
  equations.believe(4, 0, uLightSlope);
  equations.believe(5, usualInside, uInside);
  for (let i = 0; i < count; i++) {
    const x = r0 - first - i;
    const upper = stepAt(step, x);
    const inner = wall > 0 ? stepAt(step, x - wall) : upper;
    bevelShare[i] = stepAt(step, x + bevel) - upper;
    wallShare[i] = upper - inner;
    innerShare[i] = inner;
  }
  // Levels are those of brightness; colour follows them by what the face shows.
  const hue = faceLevel[1] / (faceLevel[0] * chromaGain(faceLevel[0]));
  const wLight = 1 / edge.uLight ** 2;
  const wChroma = 2 / edge.uChroma ** 2;
  for (let k = from; k <= to; k++) {
    const n = k - first;
    const inner = innerShare[n]!;
    lightRow[0] = 1 - bevelShare[n]! - wallShare[n]! - inner;
    lightRow[1] = bevelShare[n]!;
    lightRow[2] = wallShare[n]!;
    lightRow[3] = inner;
    lightRow[4] = inner * Math.max(0, r0 - k - wall);
    equations.add(lightRow, ofLight, light[k]!, wLight);
    // Colour is too blurred to be read at every sample.
    if (!hasColour || ((k - from) & 1) === 1) continue;
    const i = n - colourReach;
    const at = ((k - from) >> 1) * taps;
    let [b, c, d] = [0, 0, 0];
    for (let j = 0; j < taps; j++) {
      const g = colourWeights[at + j]!;
      b += g * bevelShare[i + j]!;
      if (wall > 0) c += g * wallShare[i + j]!;
      d += g * innerShare[i + j]!;
    }
    const all = colourSums[(k - from) >> 1]!;
    chromaRow[0] = hue * (all - b - c - d);
    chromaRow[1] = hue * b;
    chromaRow[2] = hue * c;
    chromaRow[3] = hue * d;
    equations.add(chromaRow, ofChroma, chroma[k]!, wChroma);
  }
  return equations.misfit();
}

/** Brightness of the bevel against the face beside it, after `misfitOfLayers`. */
export function bevelOverFace(): number {
  const levels = equations.solution();
  return levels[1]! / levels[0]!;
}

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
 */
export interface EdgeProfiles {
  /** Both linear in the light, 1 on the bare face; from the inside outwards, same length. */
  readonly light: Float64Array;
  readonly colour: Float64Array;
}

export interface LayeredEdgeOptions {
  /** Standard deviation of the blur, in samples; colour is stored at half resolution. */
  readonly lightSigma: number;
  readonly colourSigma: number;
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

/** Walls stand steep, mostly in their own shade. */
const usualWall = 0.35;
const uWall = 0.2;
/** What is seen through a hole grows darker towards its wall: change of brightness and of colour over a sample. */
const uLightSlope = 0.06;
const uColourSlope = 0.015;
/** It has not the metal's colour, but for what the wall throws on it. */
const usualInsideColour = 0.08;
const uInsideColour = 0.15;
/** Brushed and scratched metal, share of its level a sample; neighbouring samples of colour share their error. */
const lightTexture = 0.04;
const colourTexture = 0.07;

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
  if (to >= profiles.light.length || to - from < 6) return undefined;
  const first = start - reachIn;
  // Half height may have met the inner end of the wall.
  const places = Math.ceil((reachIn + wall + reachOut) / curveStep) + 1;
  const misfit = new Float64Array(places);
  for (let i = 0; i < places; i++)
    misfit[i] = misfitAt(profiles, from, to, first + i * curveStep, faceLevel[0], faceLevel[1], options);
  return { from: first, misfit };
}

/** Face, bevel, wall; inside and its slope, of brightness and of colour. */
const unknowns = 7;
const equations = new NormalEquations(unknowns);

function misfitAt(
  { light, colour }: EdgeProfiles,
  from: number,
  to: number,
  r0: number,
  faceLight: number,
  faceColour: number,
  { lightSigma, colourSigma, bevel, bevelLevel, wall }: LayeredEdgeOptions,
): number {
  equations.clear();
  equations.believe(1, bevelLevel.value, bevelLevel.u);
  equations.believe(2, usualWall, uWall);
  equations.believe(4, 0, uLightSlope);
  equations.believe(5, usualInsideColour * faceColour, uInsideColour * faceColour);
  equations.believe(6, 0, uColourSlope);
  // Levels are those of brightness; colour follows them by what the face shows.
  addProfile(light, from, to, r0, bevel, wall, lightSigma, 1, lightTexture * faceLight, 3);
  const metal = faceColour / faceLight;
  addProfile(colour, from, to, r0, bevel, wall, colourSigma, metal, colourTexture * faceColour, 5);
  return equations.misfit();
}

/**
 * Adds one reading of the line to the equations, written out: this runs for millions of samples.
 *
 * @param inside the unknown that is the level inside; its slope is the next one.
 */
function addProfile(
  profile: Float64Array,
  from: number,
  to: number,
  r0: number,
  bevel: number,
  wall: number,
  sigma: number,
  metal: number,
  texture: number,
  inside: number,
): void {
  let [aa, ab, ac, ad, ae, ap] = [0, 0, 0, 0, 0, 0];
  let [bb, bc, bd, be, bp] = [0, 0, 0, 0, 0];
  let [cc, cd, ce, cp] = [0, 0, 0, 0];
  let [dd, de, dp, ee, ep, pp] = [0, 0, 0, 0, 0, 0];
  for (let k = from; k <= to; k++) {
    const outer = normalShare((r0 + bevel - k) / sigma);
    const edge = normalShare((r0 - k) / sigma);
    const inner = wall > 0 ? normalShare((r0 - wall - k) / sigma) : edge;
    const p = profile[k]!;
    const a = metal * (1 - outer);
    const b = metal * (outer - edge);
    const c = metal * (edge - inner);
    const d = inner;
    const e = inner * Math.max(0, r0 - wall - k);
    aa += a * a;
    ab += a * b;
    ac += a * c;
    ad += a * d;
    ae += a * e;
    ap += a * p;
    bb += b * b;
    bc += b * c;
    bd += b * d;
    be += b * e;
    bp += b * p;
    cc += c * c;
    cd += c * d;
    ce += c * e;
    cp += c * p;
    dd += d * d;
    de += d * e;
    dp += d * p;
    ee += e * e;
    ep += e * p;
    pp += p * p;
  }
  const w = 1 / texture ** 2;
  const slope = inside + 1;
  equations.addTo(0, 0, w * aa);
  equations.addTo(0, 1, w * ab);
  equations.addTo(0, 2, w * ac);
  equations.addTo(0, inside, w * ad);
  equations.addTo(0, slope, w * ae);
  equations.addTo(0, unknowns, w * ap);
  equations.addTo(1, 1, w * bb);
  equations.addTo(1, 2, w * bc);
  equations.addTo(1, inside, w * bd);
  equations.addTo(1, slope, w * be);
  equations.addTo(1, unknowns, w * bp);
  equations.addTo(2, 2, w * cc);
  equations.addTo(2, inside, w * cd);
  equations.addTo(2, slope, w * ce);
  equations.addTo(2, unknowns, w * cp);
  equations.addTo(inside, inside, w * dd);
  equations.addTo(inside, slope, w * de);
  equations.addTo(inside, unknowns, w * dp);
  equations.addTo(slope, slope, w * ee);
  equations.addTo(slope, unknowns, w * ep);
  equations.addTotal(w * pp);
}

/** Distribution function of the normal law; logistic approximation, within 0.01. */
export const normalShare = (z: number): number => 1 / (1 + Math.exp(-z * (1.5976 + 0.07056 * z * z)));

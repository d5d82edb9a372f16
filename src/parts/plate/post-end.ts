import { medianOf, solveLinearLeastSquares } from "../../fit/index.js";
import { ThickOutline } from "../thick-outline.js";
import type { CentredHole } from "./centre-hole.js";
import type { PlateFace } from "./plate-face.js";

/**
 * What is within a round edge: a hole; the end of a post, stud or pivot of steel; or something that may be either.
 *
 *       camera to the left       A hole shows its wall on the side away from the camera's foot point F, in the metal's
 *     F   \     \                colour, and beside it the sheet or darkness: what is in it is not even.
 *     _____\     |_________      The end of a post is one even surface. If it stands above the face it is seen away
 *          |\    |               from F, and its own wall, which is grey, on the side towards F: then what is even is
 *          | \   |               a disc within the edge, drawn away from F.
 */
export type WithinEdge = "hole" | "post" | "unclear";

/** Of the edge: blur and bevel end within it, px. */
const withinPx = 1.8;
const grid = 16;
/** Discs that are tried, drawn away from the foot point by these shares of the radius. */
const drawnAway = [0, 0.08, 0.16, 0.25, 0.35, 0.5] as const;
/**
 * Largest step of light over a disc that is even, logarithm of a smooth surface through it. Of 100 ends of posts on
 * drawn and path-traced plates 92 leave less, and holes on the sheet 0.45 and more; narrow discs must be more even.
 */
const mostStep = { wide: 0.42, narrow: 0.25 } as const;
const narrowFrom = 0.3;
/** In a hole of fewer px across blur evens out what there is. */
const clearRadiusPx = 12;
/** Light is compared as logarithm; noise in the dark does not count. */
const darkest = 0.02;
/** Purity of the light is not told in the dark. */
const leastLight = 0.05;
/**
 * Purity of the far crescent over that of the near one, the face being 1, where so much of a wall would be seen (px), round
 * an edge with so much support: walls of holes show 0.3 to 1, even ends of posts up to 0.34 below 2 px, else up to 0.28.
 */
const wallShows = [
  { fromPx: 1.1, purer: 0.38, support: 0.95 },
  { fromPx: 2, purer: 0.3, support: 0.6 },
] as const;
/** Both crescents so pure, round a clean edge: walls throw their colour on what is seen in a narrow hole. */
const tintedRound = { purity: 0.3, support: 0.9 } as const;
/** Where the near crescent is so much purer, the face itself is seen there, in the shadow of what stands beside it. */
const nearPurer = 0.4;
/** A tall post is seen with its side: longer along the line to the foot point than any hole wears, mm and share of its size. */
const longMm = 0.45;
const longShare = 0.2;
const alongShare = 0.9;
/** A lit wall passes for the face, and leaves a lens: so much shorter along the line to the foot point, of its diameter. */
const lensShare = 0.15;
/** The sheet in good light through a hole, as a share of that beside the plate; steel is darker or mirrors what is brighter. */
const litSheet = { least: 0.5, sure: 0.9, most: 1 } as const;
/** ... but for what shows no wall and no lens where they must be seen, or is more even on its far side. */
const litWall = { purer: 0.05, lensShare: 0.1, brightPurer: 0.08 } as const;
const mostGain = 0.15;
/** Darker than this share of the face, or of the sheet, is darkness: steel is seldom so dark. */
const darkness = { ofFace: 0.1, ofSheet: 0.03 } as const;
/** A side of so many px is surely seen. */
const surelySeenPx = 2;
/** Share of the metal's own purity from which its light is thrown on what is seen: steel is grey. */
const tintPurity = 0.35;
/** Whiter than the sheet: no hole. */
const overSheet = 1.1;
/** The thinnest plate, where nobody said how thick it is (common practice, no source), mm. */
const thinnestMm = 1.3;
const ringMm = 0.1;
const ringPx = 3;
const ringPoints = 72;

interface Reading {
  /** From the middle, towards the foot point and across, mm. */
  readonly a: number;
  readonly b: number;
  readonly light: number;
  readonly purity: number;
}

/** @param edgesApartMm height of the plate's upper edges over its lower ones. */
export function tellPost(plate: PlateFace, hole: CentredHole, edgesApartMm: number): WithinEdge {
  const { face, pxMm } = plate;
  // A grey wall tells nothing from a grey post.
  const { hasColour } = plate.signal;
  const { here, support, shape } = hole;
  const [, , r, cos2, sin2] = shape;
  const [xMm, yMm] = [hole.xMm + shape[0], hole.yMm + shape[1]];
  // A blown face tells neither colour nor light.
  if (here.isBlown) return "hole";
  const wall = new ThickOutline(
    { ...face, xMm: face.xMm + xMm, yMm: face.yMm + yMm },
    Math.max(thinnestMm, edgesApartMm),
  ).lowerShiftMm;
  const wallMm = Math.hypot(...wall);
  const wallPx = wallMm / pxMm;
  const [ux, uy] = wallMm > 0 ? [wall[0] / wallMm, wall[1] / wallMm] : [1, 0];
  const readAt = (a: number, b: number): Reading[] => {
    if (!plate.sampler.at(xMm + a * ux - b * uy, yMm + a * uy + b * ux)) return [];
    here.read(plate.sampler);
    const purity = hasColour ? here.colour / Math.max(leastLight, here.light) : 0;
    return [{ a, b, light: here.light, purity }];
  };
  const ring = Array.from({ length: ringPoints }, (_, k) => {
    const [t, out] = [(2 * Math.PI * k) / ringPoints, r + ringPx * pxMm + ringMm];
    return readAt(out * Math.cos(t), out * Math.sin(t));
  }).flat();
  if (ring.length < ringPoints / 2) return "hole";
  const faceLight = medianOf(ring.map((p) => p.light));
  const hue = hasColour ? medianOf(ring.map((p) => p.purity)) : 1;
  const discs = drawnAway.map((share) => {
    const radius = r * (1 - share / 2) - withinPx * pxMm;
    return readDisc(readAt, -(share / 2) * r, radius, faceLight);
  });
  const [whole] = discs;
  if (whole?.step === undefined) return "hole";
  const clear = Math.min(1, r / pxMm / clearRadiusPx);
  const isEven = drawnAway.map((share, i) => {
    const step = discs[i]?.step;
    return step !== undefined && step < clear * (share < narrowFrom ? mostStep.wide : mostStep.narrow);
  });

  const inner = r - withinPx * pxMm;
  const crescent = (side: -1 | 1): number[] =>
    whole.readings.filter(({ a, b }) => Math.hypot(a + side * wallMm, b) > inner).map((p) => p.purity / hue);
  const [far, near] = [crescent(-1), crescent(1)];
  const purityOf = (readings: readonly number[]): number => (readings.length === 0 ? 0 : medianOf(readings));
  const purer = far.length === 0 || near.length === 0 ? 0 : purityOf(far) - purityOf(near);
  // Longest less shortest diameter, along the line to the foot point.
  const longer = 4 * (cos2 * (ux * ux - uy * uy) + sin2 * 2 * ux * uy);
  if (wallPx > surelySeenPx && purer < -nearPurer) return "post";
  const isLong =
    longer > Math.max(longMm, longShare * 2 * r) && longer > alongShare * 4 * Math.hypot(cos2, sin2);
  if (wallPx > surelySeenPx && isLong) return "unclear";
  if (!isEven.includes(true)) return "hole";
  if (wallShows.some((w) => wallPx > w.fromPx && purer > w.purer && support > w.support)) return "hole";
  if (support > tintedRound.support && Math.min(purityOf(far), purityOf(near)) > tintedRound.purity)
    return "hole";
  if (wallPx > surelySeenPx && longer < -lensShare * 2 * r) return "hole";
  const even = discs[isEven.indexOf(true)]!;
  const light = medianOf(even.readings.map((p) => p.light));
  const ofSheet = light / here.paperLight;
  if (light < darkness.ofFace * faceLight || ofSheet < darkness.ofSheet) return "hole";
  if (medianOf(even.readings.map((p) => p.purity)) > tintPurity * hue) return "hole";
  if (ofSheet > overSheet) return "post";
  const gain = whole.step - Math.min(...discs.slice(1, 4).map((d) => d?.step ?? Infinity));
  if (ofSheet > litSheet.least && ofSheet < litSheet.most) {
    const hasWall = purer > (ofSheet > litSheet.sure ? litWall.brightPurer : litWall.purer);
    const mayBeHole = ofSheet < litSheet.sure && wallPx < surelySeenPx;
    const isLens = longer < -litWall.lensShare * 2 * r;
    return gain < mostGain && (hasWall || isLens || mayBeHole) ? "hole" : "unclear";
  }
  // Where it is as even all over, it may be a hole whose lit wall passes for the face.
  return wallPx > surelySeenPx && gain > mostGain ? "post" : "unclear";
}

interface Disc {
  readonly readings: readonly Reading[];
  /** Between the twentieth and the last twentieth of a smooth surface through the logarithm of its light. */
  readonly step: number | undefined;
}

const terms = 6;
const fewest = 30;
const tail = 0.05;

/** @param aMm of its middle. */
function readDisc(
  readAt: (a: number, b: number) => Reading[],
  aMm: number,
  radiusMm: number,
  faceLight: number,
): Disc | undefined {
  if (!(radiusMm > 0)) return undefined;
  const readings: Reading[] = [];
  const rows: number[] = [];
  for (let i = -grid; i <= grid; i++)
    for (let j = -grid; j <= grid; j++) {
      const [p, q] = [i / grid, j / grid];
      if (Math.hypot(p, q) > 1) continue;
      for (const reading of readAt(aMm + p * radiusMm, q * radiusMm)) {
        readings.push(reading);
        rows.push(1, p, q, p * p, p * q, q * q);
      }
    }
  if (readings.length < fewest) return { readings, step: undefined };
  const a = Float64Array.from(rows);
  const light = Float64Array.from(readings, (p) => Math.log(Math.max(0, p.light / faceLight) + darkest));
  const fit = solveLinearLeastSquares(a, light, terms);
  if (!fit.ok) return { readings, step: undefined };
  const smooth = light
    .map((_, k) => fit.value.params.reduce((sum, v, i) => sum + v * a[terms * k + i]!, 0))
    .sort();
  const at = (share: number): number => smooth[Math.floor(share * (smooth.length - 1))]!;
  return { readings, step: at(1 - tail) - at(tail) };
}

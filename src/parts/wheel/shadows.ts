import type { Contrast } from "../contrast.js";
import type { ToothCount } from "./count-teeth.js";
import type { Rim } from "./find-rim.js";
import type { ToothCircle } from "./fit-tooth-circle.js";

/** Most that a count is worth where a shadow may have passed for metal. */
const mostByLight = 0.93;

/** Told by lightness alone, the shadows of the teeth are teeth too: not sure, however even they stand. */
export function doubtShadows(contrast: Contrast, rim: Rim, count: ToothCount): ToothCount {
  const onMat = rim.face.zMm > 0;
  const clear = contrast.growth !== 0 || contrast.noShadow;
  if (clear || !onMat || count.probability <= mostByLight) return count;
  return { ...count, probability: mostByLight };
}

/** No wheel is so oval, as a share of its diameter: the outline is that of wheel and shadow together. */
const mostUnround = 0.012;
/** Less than this is no shadow but the grain of the picture. */
const leastUnroundPx = 1;
const mostUnclear = 0.6;

/** @param unroundMm largest minus smallest radius of the second harmonic. */
export const isUnround = (unroundMm: number, tipMm: number, pxMm: number): boolean =>
  unroundMm > Math.max(mostUnround * tipMm, leastUnroundPx * pxMm);

/** What the outline of the teeth, once fitted, says about a count: less where it is unround, more where it is round. */
export function weighOutline(
  { rim, count, unshadowed }: { rim: Pick<Rim, "tipMm">; count: ToothCount; unshadowed?: number },
  circle: Pick<ToothCircle, "ovalMm" | "uOvalMm"> | undefined,
  unround: boolean,
): ToothCount {
  if (unround) return { ...count, probability: Math.min(count.probability, mostUnclear) };
  if (unshadowed === undefined || circle === undefined || !shadowIsHarmless(circle, rim.tipMm, count.count))
    return count;
  return { ...count, probability: Math.max(count.probability, unshadowed) };
}

/**
 * A wheel and its shadow, shifted by s, have an outline that is s wider one way than across. Its second harmonic has
 * the amplitude 2 s / (3 pi).
 */
const shiftPerUnround = (3 * Math.PI) / 4;
/** Shifted by less than half a pitch, the teeth of the shadow cannot be taken for the next ones. */
const mostShiftInPitches = 0.4;

/** The outline is so round that no shadow can have added or hidden a tooth. */
function shadowIsHarmless(
  circle: Pick<ToothCircle, "ovalMm" | "uOvalMm">,
  tipMm: number,
  count: number,
): boolean {
  const uncertain = 2 * Math.hypot(...circle.ovalMm) + 4 * circle.uOvalMm;
  return shiftPerUnround * uncertain < (mostShiftInPitches * 2 * Math.PI * tipMm) / count;
}

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

interface CountToWeigh {
  readonly rim: Pick<Rim, "tipMm">;
  readonly contrast: Pick<Contrast, "growth" | "noShadow">;
  readonly count: ToothCount;
  /** What the count would be worth if it were known that no shadow passes for metal. */
  readonly unshadowed?: number;
  readonly readSurely?: true;
}

/**
 * What the outline of the teeth, once fitted, says about a count: more where no shadow can be shifted far enough to
 * change it, less where it is unround for its pitch and was neither told by colour alone nor read by the network for teeth. Teeth may be so large that an
 * outline too unround to be measured still has the right number of them.
 */
export function weighOutline(
  { rim, count, contrast, unshadowed, readSurely }: CountToWeigh,
  circle: Pick<ToothCircle, "ovalMm" | "uOvalMm"> | undefined,
  unround: boolean,
): ToothCount {
  if (circle !== undefined && shadowIsHarmless(circle, rim.tipMm, count.count, contrast.noShadow))
    return { ...count, probability: Math.max(count.probability, unshadowed ?? 0) };
  const isColourAlone = contrast.growth !== 0 && contrast.noShadow;
  if (!unround || isColourAlone || readSurely) return count;
  return { ...count, probability: Math.min(count.probability, mostUnclear) };
}

/**
 * A wheel and its shadow, shifted by s, have an outline that is s wider one way than across. Its second harmonic has
 * the amplitude 2 s / (3 pi).
 */
const shiftPerUnround = (3 * Math.PI) / 4;
/**
 * Shifted by half a pitch, the teeth of a shadow as dark as the metal fill the spaces of the wheel, and may be taken
 * for the next ones. Blur fills spaces that are nearly closed; not so where the network has seen that what lies beside
 * the teeth does not pass for metal.
 */
const mostShiftInPitches = { asDark: 0.4, fainter: 0.5 };

/** The outline is so round that no shadow can have added or hidden a tooth. */
function shadowIsHarmless(
  circle: Pick<ToothCircle, "ovalMm" | "uOvalMm">,
  tipMm: number,
  count: number,
  isFainter: boolean,
): boolean {
  const uncertain = 2 * Math.hypot(...circle.ovalMm) + 4 * circle.uOvalMm;
  const most = isFainter ? mostShiftInPitches.fainter : mostShiftInPitches.asDark;
  return shiftPerUnround * uncertain < (most * 2 * Math.PI * tipMm) / count;
}

import { medianOf, robustScale } from "../../fit/index.js";
import type { ToothPlace } from "../part.js";

/** Finer teeth are counted, but not looked at one by one, px. */
const leastPitchPx = 8;
/** A short tooth ends so much lower than teeth of this picture scatter. */
const leastScatters = 5;
/** No form of a wheel is known better, of the pitch. */
const leastScatterPitches = 0.01;

/**
 * Of teeth that were found short, those that the picture cannot tell to be so: too fine; no lower than teeth of this
 * picture scatter (a colour that was packed coarsely), or not lower at all (another wheel over it).
 *
 * @param pitchPx from tip to tip; @param pitchMm the same. @param isRaked their tips say little of how long they are.
 * @returns indices into `list`.
 */
export function doubtedShortTeeth(
  list: readonly ToothPlace[],
  pitchPx: number,
  pitchMm: number,
  isRaked: boolean,
): Set<number> {
  const short = [...list.keys()].filter((i) => list[i]!.state === "short");
  if (pitchPx < leastPitchPx) return new Set(short);
  if (isRaked) return new Set();
  const whole = list.flatMap((p) =>
    p.state === "whole" && p.tipDeviationMm !== undefined ? [p.tipDeviationMm] : [],
  );
  if (whole.length === 0) return new Set();
  const middle = medianOf(whole);
  const least = leastScatters * Math.max(robustScale(whole), leastScatterPitches * pitchMm);
  return new Set(
    short.filter((i) => {
      const d = list[i]!.tipDeviationMm;
      return d !== undefined && d - middle > -least;
    }),
  );
}

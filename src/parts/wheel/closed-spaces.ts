import type { ThickOutline } from "../thick-outline.js";
import type { CountedWheel } from "./counted-wheel.js";

/** A tooth fills half of its pitch: moved sideways by the other half, it closes the space. */
const closingShift = 0.5;
/** Share of the places seen that show one tooth each: of wheels seen so far from the side and counted right, 0.9 and more. */
const leastFilled = 0.9;
const mostClosed = 0.6;
/** The network for teeth fills closed spaces in, with as many teeth as go on smoothly on both sides. */
const fillingShift = 0.6;
const mostFilledIn = 0.9;

/**
 * Seen from far to one side the lower edge of a tooth stands beside the upper one by up to a pitch. Where it does so along
 * the rim, walls that pass for metal close the spaces. Round those gaps a count may gain or lose a tooth at either end of
 * the wheel and still fit all that is seen, whichever way the teeth are told.
 *
 * @returns the most that a count is worth.
 */
export function mostWithClosedSpaces(
  { rim, count, byNetwork }: Pick<CountedWheel, "rim" | "count" | "byNetwork">,
  thick: Pick<ThickOutline, "lowerShiftMm">,
): number {
  const shift = (Math.hypot(...thick.lowerShiftMm) * count.count) / (2 * Math.PI * rim.tipMm);
  if (shift > closingShift && count.filled < leastFilled) return mostClosed;
  return shift > fillingShift && byNetwork ? mostFilledIn : 1;
}

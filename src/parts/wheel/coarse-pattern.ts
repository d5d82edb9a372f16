import { windingNear } from "./winding.js";

/** With fewer teeth the smoothing takes in most of the turn, and they are large enough to be seen one by one. */
const fewestTeeth = 24;
const leastSeen = 0.97;
/** Power of the next line of the spectrum over that of the pattern: lines of noise are all about as strong. */
const mostBeside = 0.2;
/** Weakest stretch of the pattern over its median: smoothed over four teeth, over eight. */
const leastPattern = { four: 0.35, eight: 0.5 };

/**
 * Is there a pattern of this many teeth, although single teeth are lost in the noise? Pictures store colour at half
 * resolution and drop its fine detail first, so that by colour every second tooth may be missed, while no shadow
 * adds one. Averaged over some teeth the pattern is clear: it runs on round the whole turn, counts the same over
 * short and long stretches, and nothing else in the spectrum comes near it.
 *
 * @param value height of the metal by colour against angle, without its slow wander; @param seen 1 where it was seen.
 * @param power of its spectrum; @param n strongest line of that.
 */
export function isCoarsePattern(
  value: Float64Array,
  seen: Uint8Array,
  power: Float64Array,
  n: number,
): boolean {
  if (n < fewestTeeth) return false;
  let shown = 0;
  for (const s of seen) shown += s;
  if (shown < leastSeen * seen.length) return false;
  if (strongestBeside(power, n) > mostBeside * power[n]!) return false;
  if (windingNear(value, seen, n, 2).count !== n) return false;
  const four = windingNear(value, seen, n, 4);
  const eight = windingNear(value, seen, n, 8);
  return (
    four.count === n &&
    eight.count === n &&
    four.weakest >= leastPattern.four &&
    eight.weakest >= leastPattern.eight
  );
}

/** Of the lines at some distance from that of the pattern, which a wander of the teeth widens. */
function strongestBeside(power: Float64Array, n: number): number {
  let most = 0;
  for (let k = fewestLine; k < power.length; k++) if (Math.abs(k - n) > 1) most = Math.max(most, power[k]!);
  return most;
}

/** Below it lie crossings, light and form. */
const fewestLine = 5;

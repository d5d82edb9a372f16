/** Share of U that rounding may take away; own choice between the examples of the source (0.2 and 4.5 %). */
const MAY_LOSE = 0.01;

/**
 * Value and uncertainty as they are printed: U with two significant digits, the value to the same place.
 * U is rounded to the nearest, but up where that would take away more than 1 %: as in the examples of the source,
 * 10.47 becomes 11 and 28.05 becomes 28.
 *
 * @param expandedU the uncertainty that is printed beside the value, 0 or more; 0 leaves the value as it is.
 * @returns plain decimal digits, no exponent.
 * @throws RangeError if the value is not finite, or U negative or not finite.
 * Source: JCGM 100:2008, 7.2.6.
 */
export function roundToUncertainty(
  value: number,
  expandedU: number,
): { readonly value: string; readonly u: string } {
  if (!Number.isFinite(value)) throw new RangeError(`value: expected a finite number, received ${value}`);
  if (!(expandedU >= 0 && expandedU < Infinity)) {
    throw new RangeError(`uncertainty: expected 0 or more, received ${expandedU}`);
  }
  if (expandedU === 0) return { value: String(value), u: "0" };
  // Exponent of the second digit: 0.0123 -> -3.
  let place = Number(expandedU.toExponential().split("e")[1]) - 1;
  const digits = expandedU / 10 ** place;
  let kept = Math.round(digits);
  if (digits - kept > MAY_LOSE * digits) kept++;
  if (kept >= 100) {
    kept /= 10;
    place++;
  }
  return { value: atPlace(value, place), u: atPlace(kept * 10 ** place, place) };
}

function atPlace(value: number, place: number): string {
  const text =
    place < 0
      ? value.toFixed(Math.min(100, -place))
      : (BigInt(Math.round(value / 10 ** place)) * 10n ** BigInt(place)).toString();
  // No sign on a zero.
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}

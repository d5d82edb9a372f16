type Xy = readonly [number, number];

/**
 * Path data of a polyline, small: absolute start, then steps. Steps are taken between rounded points, so that
 * rounding does not add up.
 *
 * @param grid points are rounded to multiples of this; 0.1 or 1.
 * @returns "" for fewer than two points.
 */
export function pathData(
  points: readonly Xy[],
  options: { readonly closed?: boolean; readonly grid?: 0.1 | 1 } = {},
): string {
  const { closed = false, grid = 0.1 } = options;
  if (points.length < 2) return "";
  // Whole numbers of grid steps: exact in floating point.
  const per = grid === 1 ? 1 : 10;
  const rounded = points.map(([x, y]) => [Math.round(x * per), Math.round(y * per)] as const);
  const text = (n: number): string => String(n / per);
  let d = `M${text(rounded[0]![0])},${text(rounded[0]![1])}l`;
  for (let i = 1; i < rounded.length; i++) {
    const dx = text(rounded[i]![0] - rounded[i - 1]![0]);
    const dy = text(rounded[i]![1] - rounded[i - 1]![1]);
    d += `${i > 1 && !dx.startsWith("-") ? " " : ""}${dx}${dy.startsWith("-") ? "" : ","}${dy}`;
  }
  return closed ? `${d}Z` : d;
}

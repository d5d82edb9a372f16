/**
 * Convex hull of a closed border x0, y0, x1, y1 ... that runs down the left side of what it encloses: the hull's corners
 * alone, the other way round, from the one that the border comes to last.
 *
 * Source: A. M. Andrew, 1979 (from memory).
 */
export function hullOf(border: Int32Array): Int32Array {
  if (border.length <= 2) return border.slice();
  const order = endsOfColumns(border);
  const bottom = halfHull(border, order);
  const top = halfHull(border, order.reverse());
  // Each half ends where the other one begins.
  const corners = [...bottom.slice(0, -1), ...top.slice(0, -1)];
  let last = 0;
  if (corners.length > 2)
    corners.forEach((at, k) => {
      if (at > corners[last]!) last = k;
    });
  return Int32Array.from(
    [...corners.slice(last), ...corners.slice(0, last)].flatMap((at) => [border[at]!, border[at + 1]!]),
  );
}

/** Places of the lowest and the highest point of every column, from right to left: no other point is a corner. */
function endsOfColumns(border: Int32Array): number[] {
  const lowest = new Map<number, number>();
  const highest = new Map<number, number>();
  for (let i = 0; i < border.length; i += 2) {
    const [x, y] = [border[i]!, border[i + 1]!];
    const low = lowest.get(x);
    const high = highest.get(x);
    if (low === undefined || y > border[low + 1]!) lowest.set(x, i);
    if (high === undefined || y < border[high + 1]!) highest.set(x, i);
  }
  return [...lowest.keys()].sort((a, b) => b - a).flatMap((x) => [lowest.get(x)!, highest.get(x)!]);
}

/** Places in `p` of the corners that are passed in this order, turning one way only. */
function halfHull(p: Int32Array, order: readonly number[]): number[] {
  const hull: number[] = [];
  for (const i of order) {
    const last = hull.at(-1);
    // A border may pass a pixel twice.
    if (last !== undefined && p[last] === p[i] && p[last + 1] === p[i + 1]) continue;
    while (hull.length >= 2 && !turnsRight(p, hull.at(-2)!, hull.at(-1)!, i)) hull.pop();
    hull.push(i);
  }
  return hull;
}

/** As seen in the picture, where y goes down. */
const turnsRight = (p: Int32Array, a: number, b: number, c: number): boolean =>
  (p[b]! - p[a]!) * (p[c + 1]! - p[a + 1]!) - (p[b + 1]! - p[a + 1]!) * (p[c]! - p[a]!) > 0;

/** Area inside a closed line of points x0, y0, x1, y1 ... */
export function areaInside(points: Int32Array): number {
  let twice = 0;
  const n = points.length;
  for (let i = 0, before = n - 2; i < n; before = i, i += 2)
    twice += points[before]! * points[i + 1]! - points[i]! * points[before + 1]!;
  return Math.abs(twice) / 2;
}

/**
 * Number of points in x0, y0, x1, y1 ...
 *
 * @throws RangeError if the length is odd, a coordinate is not finite, or weights do not match the points.
 */
export function checkPoints(xy: Float64Array, weights?: Float64Array): number {
  if (xy.length % 2 !== 0) throw new RangeError(`points: expected an even length, received ${xy.length}`);
  for (let i = 0; i < xy.length; i++) {
    if (!Number.isFinite(xy[i])) throw new RangeError(`point ${i >> 1}: coordinate is not a finite number`);
  }
  const n = xy.length / 2;
  if (weights !== undefined) {
    if (weights.length !== n) throw new RangeError(`weights: expected ${n}, received ${weights.length}`);
    for (let i = 0; i < n; i++) {
      if (!(weights[i]! >= 0 && weights[i]! < Infinity)) {
        throw new RangeError(`weight ${i}: expected 0 or more, received ${weights[i]}`);
      }
    }
  }
  return n;
}

/** Centre of gravity, size and narrowness of a set of points. */
export interface PointSpread {
  readonly x: number;
  readonly y: number;
  /** Root mean square distance from the centre of gravity. */
  readonly size: number;
  /** Smallest over largest standard deviation: 0 for points on a line. */
  readonly narrowness: number;
}

/** Two passes, so that points far from the origin lose no digits. */
export function pointSpread(xy: Float64Array, weights?: Float64Array): PointSpread {
  const n = xy.length / 2;
  let sw = 0;
  let x = 0;
  let y = 0;
  for (let i = 0; i < n; i++) {
    const w = weights ? weights[i]! : 1;
    sw += w;
    x += w * xy[2 * i]!;
    y += w * xy[2 * i + 1]!;
  }
  x /= sw;
  y /= sw;
  let xx = 0;
  let yy = 0;
  let xyMixed = 0;
  for (let i = 0; i < n; i++) {
    const w = weights ? weights[i]! : 1;
    const dx = xy[2 * i]! - x;
    const dy = xy[2 * i + 1]! - y;
    xx += w * dx * dx;
    yy += w * dy * dy;
    xyMixed += w * dx * dy;
  }
  const mean = (xx + yy) / 2;
  const half = Math.hypot((xx - yy) / 2, xyMixed);
  // The product form keeps the small eigenvalue's digits better than mean - half.
  const smallest = Math.max(0, (xx * yy - xyMixed * xyMixed) / (mean + half));
  return {
    x,
    y,
    size: Math.sqrt((xx + yy) / sw),
    narrowness: mean > 0 ? Math.sqrt(smallest / (mean + half)) : 0,
  };
}

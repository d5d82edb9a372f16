/** Plane to plane: 9 numbers, row-major, acting on (x, y, 1). */
export type Homography = readonly number[];

/**
 * Homography from point pairs: direct linear transform on points normalised as Hartley advises (centroid at
 * the origin, mean distance sqrt 2), so that it is least squares in well-scaled units. A start value: it
 * minimises an algebraic distance and carries no uncertainty.
 *
 * @param from n points x0, y0, x1, y1 ... (n at least 4, no three of four on a line).
 * @param to the same points in the other plane.
 * @returns undefined when the points do not fix a homography.
 * Source: R. Hartley, A. Zisserman, Multiple View Geometry, algorithm 4.2 (from memory).
 */
export function homographyFromPoints(from: ArrayLike<number>, to: ArrayLike<number>): Homography | undefined {
  const n = from.length >> 1;
  if (n < 4 || to.length !== from.length) return undefined;
  const a = similarityToUnit(from);
  const b = similarityToUnit(to);
  if (!a || !b) return undefined;
  // With the centroid at the origin, h33 is the depth there: never zero for a plane in front of a camera.
  const m = new Float64Array(72); // 8 x 9 normal equations, right-hand side last
  const row = new Float64Array(9);
  const add = (): void => {
    for (let i = 0; i < 8; i++) for (let j = 0; j < 9; j++) m[9 * i + j]! += row[i]! * row[j]!;
  };
  for (let i = 0; i < n; i++) {
    const x = a.scale * (from[2 * i]! - a.x);
    const y = a.scale * (from[2 * i + 1]! - a.y);
    const u = b.scale * (to[2 * i]! - b.x);
    const v = b.scale * (to[2 * i + 1]! - b.y);
    row.set([x, y, 1, 0, 0, 0, -u * x, -u * y, u]);
    add();
    row.set([0, 0, 0, x, y, 1, -v * x, -v * y, v]);
    add();
  }
  const h = solve8(m);
  if (!h) return undefined;
  const undo = [1 / b.scale, 0, b.x, 0, 1 / b.scale, b.y, 0, 0, 1];
  const normalise = [a.scale, 0, -a.scale * a.x, 0, a.scale, -a.scale * a.y, 0, 0, 1];
  const out = product3(undo, product3([...h, 1], normalise));
  const last = Math.abs(out[8]!) > 1e-12 ? out[8]! : 1;
  return out.map((value) => value / last);
}

/** Image of a point under a homography. Points on its vanishing line give infinities. */
export function mapPoint(h: Homography, x: number, y: number): [number, number] {
  const w = h[6]! * x + h[7]! * y + h[8]!;
  return [(h[0]! * x + h[1]! * y + h[2]!) / w, (h[3]! * x + h[4]! * y + h[5]!) / w];
}

/** Inverse of a row-major 3x3 matrix; undefined when singular. */
export function invert3(m: readonly number[]): number[] | undefined {
  const [a, b, c, d, e, f, g, h, i] = m as [
    number, number, number, number, number, number, number, number, number,
  ]; // prettier-ignore
  const p = e * i - f * h;
  const q = f * g - d * i;
  const r = d * h - e * g;
  const det = a * p + b * q + c * r;
  if (!(Math.abs(det) > 0) || !Number.isFinite(det)) return undefined;
  return [
    p / det, (c * h - b * i) / det, (b * f - c * e) / det,
    q / det, (a * i - c * g) / det, (c * d - a * f) / det,
    r / det, (b * g - a * h) / det, (a * e - b * d) / det,
  ]; // prettier-ignore
}

function product3(a: readonly number[], b: readonly number[]): number[] {
  return Array.from({ length: 9 }, (_, k) => {
    const i = 3 * Math.floor(k / 3);
    const j = k % 3;
    return a[i]! * b[j]! + a[i + 1]! * b[3 + j]! + a[i + 2]! * b[6 + j]!;
  });
}

function similarityToUnit(xy: ArrayLike<number>): { x: number; y: number; scale: number } | undefined {
  const n = xy.length >> 1;
  let x = 0;
  let y = 0;
  for (let i = 0; i < n; i++) {
    x += xy[2 * i]! / n;
    y += xy[2 * i + 1]! / n;
  }
  let distance = 0;
  for (let i = 0; i < n; i++) distance += Math.hypot(xy[2 * i]! - x, xy[2 * i + 1]! - y) / n;
  if (!(distance > 0) || !Number.isFinite(distance)) return undefined;
  return { x, y, scale: Math.SQRT2 / distance };
}

/** Gaussian elimination with row pivoting on an 8 x 9 system. */
function solve8(m: Float64Array): number[] | undefined {
  let largest = 0;
  for (let i = 0; i < 8; i++) largest = Math.max(largest, Math.abs(m[10 * i]!));
  for (let k = 0; k < 8; k++) {
    let pivot = k;
    for (let i = k + 1; i < 8; i++) if (Math.abs(m[9 * i + k]!) > Math.abs(m[9 * pivot + k]!)) pivot = i;
    if (!(Math.abs(m[9 * pivot + k]!) > 1e-13 * largest)) return undefined;
    if (pivot !== k) {
      for (let j = k; j < 9; j++) {
        const kept = m[9 * k + j]!;
        m[9 * k + j] = m[9 * pivot + j]!;
        m[9 * pivot + j] = kept;
      }
    }
    for (let i = k + 1; i < 8; i++) {
      const factor = m[9 * i + k]! / m[9 * k + k]!;
      for (let j = k; j < 9; j++) m[9 * i + j]! -= factor * m[9 * k + j]!;
    }
  }
  const out = new Array<number>(8).fill(0);
  for (let i = 7; i >= 0; i--) {
    let sum = m[9 * i + 8]!;
    for (let j = i + 1; j < 8; j++) sum -= m[9 * i + j]! * out[j]!;
    out[i] = sum / m[9 * i + i]!;
  }
  return out;
}

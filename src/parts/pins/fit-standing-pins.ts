import { choleskyFactor, choleskySolve, invertSymmetric, robustScale } from "../../fit/index.js";

/** One pin: where its foot stands on the face, and how far its end is seen from there. Local coordinates, mm. */
export interface StandingPin {
  readonly footMm: readonly [number, number];
  readonly uFootMm: number;
  /** The end of the pin as seen, minus its foot, without what a straight pin of the common height would show. */
  readonly bentMm: readonly [number, number];
  readonly uBentMm: number;
}

export interface StandingPins {
  readonly pins: readonly StandingPin[];
  readonly radiusMm: number;
  readonly uRadiusMm: number;
  /** How far the end of a pin is seen from its foot, as a share of the distance of the foot from the foot point. */
  readonly lean: number;
  readonly uLean: number;
}

/**
 * Feet, radius and height of pins that stand straight up on a face, from the outlines of their pictures.
 *
 *       foot point of the camera  F - - - - - (foot)====(end)     A pin h high at the distance d from F is a disc
 *                                         p ->                    drawn out away from F: its end is seen d h / (D - h)
 *                                                                 further. The near side of the picture is its foot.
 *
 * All pins share radius and height; Gauss-Newton over all of them, outline points far off are left aside.
 *
 * @param outlines points x0, y0 ... of each pin's outline, mm; @param starts middles of the outlines.
 * @param footPointMm straight below the camera; undefined where it is not known: then no pin leans.
 * @param correlated how many neighbouring outline points share their error.
 */
export function fitStandingPins(
  outlines: readonly Float64Array[],
  starts: readonly (readonly [number, number])[],
  footPointMm: readonly [number, number] | undefined,
  startRadiusMm: number,
  correlated: number,
): StandingPins | undefined {
  const n = outlines.length;
  const size = 2 * n + 2;
  const p = new Float64Array(size);
  starts.forEach(([x, y], i) => {
    p[2 * i] = x;
    p[2 * i + 1] = y;
  });
  p[2 * n] = startRadiusMm;
  let scale = 0.1 * startRadiusMm;
  let inverse: Float64Array | undefined;
  for (let round = 0; round < 25; round++) {
    const system = normalEquations(outlines, p, footPointMm, scale);
    const factor = choleskyFactor(system.matrix, size);
    if (factor === undefined) return undefined;
    const step = system.right;
    choleskySolve(factor, size, step);
    for (let i = 0; i < size; i++) p[i]! += step[i]!;
    scale = Math.max(1e-4, Math.min(scale, robustScale(system.residuals)));
    inverse = round > 3 && Math.max(...step.map(Math.abs)) < 1e-6 ? system.matrix : inverse;
    if (inverse !== undefined) break;
  }
  const { matrix, residuals } = normalEquations(outlines, p, footPointMm, scale);
  const covariance = invertSymmetric(matrix, size);
  if (covariance === undefined || !p.every(Number.isFinite)) return undefined;
  const u = (i: number): number =>
    robustScale(residuals) * Math.sqrt(correlated * covariance[i * size + i]!);
  return {
    pins: outlines.map((outline, i): StandingPin => {
      const uFootMm = Math.hypot(u(2 * i), u(2 * i + 1)) / Math.SQRT2;
      return { footMm: [p[2 * i]!, p[2 * i + 1]!], uFootMm, ...bendOf(outline, i, p, n, footPointMm), uBentMm: 2 * uFootMm };
    }),
    radiusMm: p[2 * n]!,
    uRadiusMm: u(2 * n),
    lean: p[2 * n + 1]!,
    uLean: u(2 * n + 1),
  };
}

/** Share of the lean that counts as known beforehand when there is no foot point: none at all. */
const noLean = 1e12;

interface System {
  readonly matrix: Float64Array;
  readonly right: Float64Array;
  readonly residuals: Float64Array;
}

function normalEquations(
  outlines: readonly Float64Array[],
  p: Float64Array,
  foot: readonly [number, number] | undefined,
  scale: number,
): System {
  const n = outlines.length;
  const size = 2 * n + 2;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const all: number[] = [];
  const [radius, lean] = [p[2 * n]!, p[2 * n + 1]!];
  outlines.forEach((outline, i) => {
    const [px, py] = [p[2 * i]!, p[2 * i + 1]!];
    const dx = foot === undefined ? 0 : px - foot[0];
    const dy = foot === undefined ? 0 : py - foot[1];
    for (let k = 0; k < outline.length; k += 2) {
      const { t, nx, ny, distance } = fromAxis(outline[k]! - px, outline[k + 1]! - py, lean * dx, lean * dy);
      const residual = distance - radius;
      all.push(residual);
      const q = residual / (4 * scale);
      if (!(Math.abs(q) < 1)) continue;
      const w = (1 - q * q) ** 2;
      // Index and derivative of the predicted outline along the normal.
      const index = [2 * i, 2 * i + 1, 2 * n, 2 * n + 1];
      const slope = [nx * (1 + t * lean), ny * (1 + t * lean), 1, t * (nx * dx + ny * dy)];
      for (let a = 0; a < 4; a++) {
        right[index[a]!]! += w * slope[a]! * residual;
        for (let b = 0; b < 4; b++) matrix[index[a]! * size + index[b]!]! += w * slope[a]! * slope[b]!;
      }
    }
  });
  const last = size - 1;
  matrix[last * size + last]! += foot === undefined ? noLean : 1e-6;
  for (let i = 0; i < size; i++) matrix[i * size + i]! += 1e-9;
  return { matrix, right, residuals: Float64Array.from(all) };
}

/** Distance of a point from the segment from the origin to (ax, ay), with the foot of it and the normal. */
function fromAxis(
  x: number,
  y: number,
  ax: number,
  ay: number,
): { t: number; nx: number; ny: number; distance: number } {
  const length2 = ax * ax + ay * ay;
  const t = length2 > 0 ? Math.min(1, Math.max(0, (x * ax + y * ay) / length2)) : 0;
  const dx = x - t * ax;
  const dy = y - t * ay;
  const distance = Math.hypot(dx, dy) || 1e-9;
  return { t, nx: dx / distance, ny: dy / distance, distance };
}

/** How far the far end of the outline lies from where a straight pin would show it: mean over the far half. */
function bendOf(
  outline: Float64Array,
  i: number,
  p: Float64Array,
  n: number,
  foot: readonly [number, number] | undefined,
): { readonly bentMm: readonly [number, number] } {
  const [px, py, radius, lean] = [p[2 * i]!, p[2 * i + 1]!, p[2 * n]!, p[2 * n + 1]!];
  const ax = foot === undefined ? 0 : lean * (px - foot[0]);
  const ay = foot === undefined ? 0 : lean * (py - foot[1]);
  // Least squares for a shift of the whole outline: a bent pin's picture lies off its straight neighbour's.
  let xx = 1e-9;
  let xy = 0;
  let yy = 1e-9;
  let bx = 0;
  let by = 0;
  for (let k = 0; k < outline.length; k += 2) {
    const { nx, ny, distance } = fromAxis(outline[k]! - px, outline[k + 1]! - py, ax, ay);
    const residual = distance - radius;
    if (!(residual > 0)) continue;
    xx += nx * nx;
    xy += nx * ny;
    yy += ny * ny;
    bx += nx * residual;
    by += ny * residual;
  }
  const det = xx * yy - xy * xy;
  return { bentMm: det > 1e-12 ? [(yy * bx - xy * by) / det, (xx * by - xy * bx) / det] : [0, 0] };
}

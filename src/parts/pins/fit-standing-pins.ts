import { choleskyFactor, choleskySolve, invertSymmetric, medianOf, robustScale } from "../../fit/index.js";

/** The end of a pin as it is seen on the plane of the face, local coordinates, mm. */
export interface PinEnd {
  readonly xMm: number;
  readonly yMm: number;
  readonly uMm: number;
}

export interface StandingPins {
  readonly ends: readonly PinEnd[];
  readonly radiusMm: number;
  readonly uRadiusMm: number;
  /**
   * How far the picture is drawn out away from the foot point, as a share of the distance from it. Less than the whole
   * pin where its wall mirrors the brass.
   */
  readonly lean: number;
  readonly uLean: number;
}

/**
 * Ends of pins that stand straight up on a face, from the outlines of their pictures.
 *
 *   foot point of the camera  F - - - - - (foot)====(end)     A pin h high at the distance d from F is a disc drawn
 *                                                             out away from F: its end is seen d h / (D - h) further.
 *
 * The far side of the picture is the end's own edge, whatever is seen of the wall: so ends are what is measured.
 * All pins share their radius and how far they are drawn out; Gauss-Newton, outline points far off are left aside.
 *
 * @param outlines points x0, y0 ... of each pin's outline, mm.
 * @param footPointMm straight below the camera; undefined where it is not known: then no pin leans.
 * @param correlated how many neighbouring outline points share their error.
 */
export function fitStandingPins(
  outlines: readonly Float64Array[],
  footPointMm: readonly [number, number] | undefined,
  correlated: number,
): StandingPins | undefined {
  const extents = outlines.map((outline) => extentOf(outline, footPointMm));
  if (footPointMm === undefined) return fitFrom(0, extents, outlines, footPointMm, correlated)?.pins;
  // As long as they look; or as usual, where openings beside them cut outlines short.
  const seenLean = medianOf(extents.map((e) => (e.alongMm - e.acrossMm) / e.awayMm));
  const fits = [Math.max(leastLean, seenLean), usualLean].flatMap(
    (lean) => fitFrom(lean, extents, outlines, footPointMm, correlated) ?? [],
  );
  return fits.sort((a, b) => a.scatterMm - b.scatterMm)[0]?.pins;
}

function fitFrom(
  startLean: number,
  extents: readonly Extent[],
  outlines: readonly Float64Array[],
  footPointMm: readonly [number, number] | undefined,
  correlated: number,
): { readonly pins: StandingPins; readonly scatterMm: number } | undefined {
  const n = outlines.length;
  const size = 2 * n + 2;
  const p = new Float64Array(size);
  const startRadiusMm = medianOf(extents.map((e) => e.acrossMm)) / 2;
  extents.forEach(({ xMm, yMm, outwards, awayMm }, i) => {
    p[2 * i] = xMm - 0.5 * startLean * awayMm * outwards[0];
    p[2 * i + 1] = yMm - 0.5 * startLean * awayMm * outwards[1];
  });
  p[2 * n] = startRadiusMm;
  p[2 * n + 1] = startLean;
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
  const scatterMm = robustScale(residuals);
  const u = (i: number): number => scatterMm * Math.sqrt(correlated * covariance[i * size + i]!);
  const lean = p[2 * n + 1]!;
  const ends = outlines.map((_, i): PinEnd => {
    const [x, y] = [p[2 * i]!, p[2 * i + 1]!];
    const [dx, dy] = footPointMm === undefined ? [0, 0] : [x - footPointMm[0], y - footPointMm[1]];
    return {
      xMm: x + lean * dx,
      yMm: y + lean * dy,
      uMm: Math.hypot(u(2 * i), u(2 * i + 1), u(2 * n + 1) * Math.hypot(dx, dy)) / Math.SQRT2,
    };
  });
  const pins = { ends, radiusMm: p[2 * n]!, uRadiusMm: u(2 * n), lean, uLean: u(2 * n + 1) };
  return { pins, scatterMm };
}

/** About 1 mm and 3 mm at 400 mm. A pin without length would never grow one: its outline has no far end. */
const leastLean = 0.0025;
const usualLean = 0.0075;

interface Extent {
  /** Middle of the outline. */
  readonly xMm: number;
  readonly yMm: number;
  /** Unit vector away from the foot point. */
  readonly outwards: readonly [number, number];
  readonly awayMm: number;
  readonly alongMm: number;
  readonly acrossMm: number;
}

/** How long an outline is away from the foot point, and how wide. */
function extentOf(outline: Float64Array, foot: readonly [number, number] | undefined): Extent {
  const xs = outline.filter((_, k) => k % 2 === 0);
  const ys = outline.filter((_, k) => k % 2 === 1);
  const mean = (v: Float64Array): number => v.reduce((s, x) => s + x, 0) / v.length;
  const [fx, fy] = [mean(xs) - (foot?.[0] ?? 0), mean(ys) - (foot?.[1] ?? 0)];
  const awayMm = Math.hypot(fx, fy) || 1e-9;
  const [ox, oy] = [fx / awayMm, fy / awayMm];
  const range = (value: (i: number) => number): readonly [number, number] => {
    let [least, most] = [Infinity, -Infinity];
    for (let i = 0; i < xs.length; i++) {
      least = Math.min(least, value(i));
      most = Math.max(most, value(i));
    }
    return [least, most];
  };
  const along = range((i) => xs[i]! * ox + ys[i]! * oy);
  const across = range((i) => ys[i]! * ox - xs[i]! * oy);
  const [a, c] = [0.5 * (along[0] + along[1]), 0.5 * (across[0] + across[1])];
  return {
    xMm: a * ox - c * oy,
    yMm: a * oy + c * ox,
    outwards: [ox, oy],
    awayMm,
    alongMm: along[1] - along[0],
    acrossMm: across[1] - across[0],
  };
}
/** Holds the lean where it is when there is no foot point. */
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

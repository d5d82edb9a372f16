/** One linear piece of a convex function of (x, y): value + gx x + gy y. */
export interface Cut {
  readonly gx: number;
  readonly gy: number;
  readonly value: number;
}

export interface Pieces {
  deepestCut(x: number, y: number): Cut;
}

/**
 * Least point of a convex, piecewise linear function of two variables, within a triangle round the origin: exact,
 * by exchange. Three pieces hold the least point of their own maximum; the piece that rises highest above that
 * point replaces one of the three, until none rises above.
 *
 * @param pieces which of them is greatest at (x, y); gradients no longer than 2.
 * @param reach distance of the triangle's sides from the origin.
 * @param tolerance rise above the least point that is taken for rounding, unit of the function.
 * Source: exchange method for linear Chebyshev problems (E. Stiefel; dual simplex), from memory.
 */
export function leastOverPlane(
  pieces: Pieces,
  reach: number,
  tolerance: number,
): { readonly x: number; readonly y: number; readonly value: number } {
  // The sides are pieces too, steep enough never to pay; they lie far below at the origin.
  const first = pieces.deepestCut(0, 0).value;
  const basis: Cut[] = [90, 210, 330].map((deg) => {
    const angle = (deg * Math.PI) / 180;
    return { gx: STEEP * Math.cos(angle), gy: STEEP * Math.sin(angle), value: first - STEEP * reach };
  });
  let least = { x: 0, y: 0, value: -Infinity };
  let stalled = 0;
  for (let round = 0; round < 500 && stalled < 20; round++) {
    const [p, q, r] = basis as [Cut, Cut, Cut];
    // p, q, r are equal at their least point.
    const ax = p.gx - r.gx;
    const ay = p.gy - r.gy;
    const bx = q.gx - r.gx;
    const by = q.gy - r.gy;
    const det = ax * by - ay * bx;
    const a = r.value - p.value;
    const b = r.value - q.value;
    const x = (a * by - b * ay) / det;
    const y = (ax * b - bx * a) / det;
    const value = r.value + r.gx * x + r.gy * y;
    if (!Number.isFinite(value)) break;
    stalled = value > least.value + tolerance ? 0 : stalled + 1;
    if (value >= least.value) least = { x, y, value };

    const cut = pieces.deepestCut(x, y);
    if (cut.value + cut.gx * x + cut.gy * y <= value + tolerance) break;
    // Weights with which the basis gradients add up to zero, and to the new gradient.
    const own = barycentric(ax, ay, bx, by, det, -r.gx, -r.gy);
    const entering = barycentric(ax, ay, bx, by, det, cut.gx - r.gx, cut.gy - r.gy);
    let leaving = -1;
    let smallest = Infinity;
    for (let i = 0; i < 3; i++) {
      const ratio = own[i]! / entering[i]!;
      if (entering[i]! > 1e-12 && ratio < smallest) {
        smallest = ratio;
        leaving = i;
      }
    }
    if (leaving < 0) break;
    basis[leaving] = cut;
  }
  return least;
}

/** Slope of the sides: more than any piece can fall. */
const STEEP = 8;

function barycentric(
  ax: number,
  ay: number,
  bx: number,
  by: number,
  det: number,
  x: number,
  y: number,
): [number, number, number] {
  const p = (x * by - y * bx) / det;
  const q = (ax * y - ay * x) / det;
  return [p, q, 1 - p - q];
}

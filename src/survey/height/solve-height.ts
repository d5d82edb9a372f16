import type { InputId, Quantity } from "../../quantity/index.js";
import type { Outcome } from "../../problem/index.js";
import type { Point } from "../../parts/index.js";
import { fitByTerms, widened, type TermedNumbers } from "../fit-by-terms.js";

/** A point of the wheel as one camera saw it on an assumed plane. mm, mat frame. */
export interface PointSeen {
  readonly seenMm: Point;
  /** How far it moves towards the foot point for each mm that it really lies higher: (seen - foot) / camera height. */
  readonly lean: Point;
  readonly terms: readonly { readonly id: InputId; readonly dxMm: number; readonly dyMm: number }[];
}

export interface HeightSolution {
  /** Above the assumed plane. */
  readonly aboveMm: Quantity<"mm">;
  readonly placeMm: Point;
  readonly residualsMm: readonly Point[];
  readonly chiSquared: number;
  readonly degreesOfFreedom: number;
}

/**
 * Triangulation: the place and the height at which all cameras see the same point,
 *
 *     seen_k = place + above x lean_k
 *
 * linear in both. Two cameras give four numbers for three unknowns; the fourth shows whether the wheel stayed where
 * it was.
 *
 * @returns or problem "too-few-points" if all cameras stood in the same place.
 */
export function solveHeight(points: readonly PointSeen[]): Outcome<HeightSolution> {
  const m = 2 * points.length;
  const values = new Float64Array(m);
  const design = new Float64Array(3 * m);
  const terms = new Map<InputId, Float64Array>();
  points.forEach((p, k) => {
    values.set(p.seenMm, 2 * k);
    design.set([1, 0, p.lean[0], 0, 1, p.lean[1]], 6 * k);
    for (const { id, dxMm, dyMm } of p.terms) {
      const term = terms.get(id) ?? new Float64Array(m);
      terms.set(id, term);
      term[2 * k]! += dxMm;
      term[2 * k + 1]! += dyMm;
    }
  });
  const observed: TermedNumbers = { values, terms };
  const fit = fitByTerms(design, 3, observed, "mm");
  if (!fit.ok) return fit;
  const { params, residuals, chiSquared, degreesOfFreedom } = fit.value;
  const birge = degreesOfFreedom > 0 ? Math.sqrt(chiSquared / degreesOfFreedom) : 1;
  return {
    ok: true,
    value: {
      aboveMm: widened(params[2]!, birge),
      placeMm: [params[0]!.value, params[1]!.value],
      residualsMm: points.map((_, k): Point => [residuals[2 * k]!, residuals[2 * k + 1]!]),
      chiSquared,
      degreesOfFreedom,
    },
  };
}

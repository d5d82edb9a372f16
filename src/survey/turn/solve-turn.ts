import type { Outcome } from "../../problem/index.js";
import { angleOfVector, magnitudeOfVector, type InputId, type Quantity } from "../../quantity/index.js";
import type { Point } from "../../parts/index.js";
import { fitByTerms, widened, type TermedNumbers } from "../fit-by-terms.js";

/** Centre of the tooth circle in one photograph, with all that may have moved it. mm, mat frame. */
export interface CentreSeen {
  readonly centreMm: Point;
  /** What one standard uncertainty of an input does to it; inputs of other photographs may be the same. */
  readonly terms: readonly { readonly id: InputId; readonly dxMm: number; readonly dyMm: number }[];
}

export interface TurnSolution {
  readonly axisMm: Point;
  /** Tooth circle's centre from the axis in the first photograph, along x and y. */
  readonly offsetMm: readonly [Quantity<"mm">, Quantity<"mm">];
  readonly eccentricityMm: Quantity<"mm">;
  readonly eccentricityAngleRad?: Quantity<"rad">;
  readonly residualsMm: readonly Point[];
  readonly chiSquared: number;
  readonly degreesOfFreedom: number;
}

/** Residuals a little larger than expected widen the result; much larger ones are for the caller to judge. */
const widensFrom = 1;

/**
 * The centre of a wheel that turns about a fixed axis runs on a circle: centre_k = axis + R(turn_k) offset. Linear
 * in axis and offset.
 *
 * @param turnsRad turn of the wheel in each photograph; the first is the frame of the offset.
 * @returns or problem "too-few-points" if the turns leave the offset open.
 */
export function solveTurn(
  centres: readonly CentreSeen[],
  turnsRad: readonly number[],
): Outcome<TurnSolution> {
  const design = new Float64Array(8 * centres.length);
  centres.forEach((_, k) => {
    const turn = turnsRad[k]! - turnsRad[0]!;
    const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
    design.set([1, 0, cos, -sin, 0, 1, sin, cos], 8 * k);
  });
  const fit = fitByTerms(design, 4, termedCentres(centres), "mm");
  if (!fit.ok) return fit;
  const { params, residuals, chiSquared, degreesOfFreedom } = fit.value;
  const birge = degreesOfFreedom > 0 ? Math.sqrt(chiSquared / degreesOfFreedom) : 1;
  const [x, y] = [params[2]!, params[3]!].map((p) => widened(p, birge / widensFrom)) as [
    Quantity<"mm">,
    Quantity<"mm">,
  ];
  const angle = angleOfVector(x, y);
  return {
    ok: true,
    value: {
      axisMm: [params[0]!.value, params[1]!.value],
      offsetMm: [x, y],
      eccentricityMm: magnitudeOfVector(x, y),
      ...(angle === undefined ? {} : { eccentricityAngleRad: angle }),
      residualsMm: centres.map((_, k): Point => [residuals[2 * k]!, residuals[2 * k + 1]!]),
      chiSquared,
      degreesOfFreedom,
    },
  };
}

/** x and y of all centres in one row, term by term. */
export function termedCentres(centres: readonly CentreSeen[]): TermedNumbers {
  const m = 2 * centres.length;
  const values = new Float64Array(m);
  const terms = new Map<InputId, Float64Array>();
  centres.forEach(({ centreMm, terms: own }, k) => {
    values.set(centreMm, 2 * k);
    for (const { id, dxMm, dyMm } of own) {
      const term = terms.get(id) ?? new Float64Array(m);
      terms.set(id, term);
      term[2 * k]! += dxMm;
      term[2 * k + 1]! += dyMm;
    }
  });
  return { values, terms };
}

import type { Outcome } from "../../problem/index.js";
import { angleOfVector, magnitudeOfVector, type InputId, type Quantity } from "../../quantity/index.js";
import { fitByTerms, widened } from "../fit-by-terms.js";
import { solveSlopes } from "../play/solve-slopes.js";
import type { WheelPhoto } from "../set-photo.js";
import type { CentreSeen } from "./solve-turn.js";

/** A wheel's own form makes its tips and its spacing differ by so much, as a slope: it turns with the wheel. */
const uWheelSlope = 0.003;
/** A little of each reading is its own, whatever photographs share. */
const leastSlope = 1e-4;
/** Light moves the teeth of one side by so much, px, once they have moved, as in `play/read-play.ts`; both readings show it. */
const lightPx = 0.06;
/** A wheel that is fixed askew by more, as a slope, is put right before anybody takes photographs. */
const usualAskew = 0.02;

/** How askew a wheel stands on its arbor, in the first photograph. */
export interface Askew {
  /** Rise of the rim for each mm away from the axis, times the tip radius, along x and y; mm. */
  readonly rise: readonly [Quantity<"mm">, Quantity<"mm">];
  readonly riseMm: Quantity<"mm">;
  /** Where the rim stands highest. */
  readonly highAngleRad?: Quantity<"rad">;
}

/**
 * How askew the face stands to the axis of the arbor. What light and a sloping sheet make stays where it is; what is
 * askew turns with the wheel:
 *
 *     slope_k = rest + R(turn_k) askew
 *
 * The slope is read in two ways. A face that slopes by s moves the tips by R² s / camera height and leaves the spacing
 * of the teeth alone: that shows from straight above, but the wheel's own form looks alike. And a camera from one side
 * sees every tooth, as it comes round, now higher and now lower: there each tooth's own place has no say.
 *
 * @param turnsRad turn of the wheel in each photograph; the first is the frame of the result.
 * @param isBounded wheels are not askew by more than is usual: for those who need a value even where nothing is seen.
 */
export function solveAskew(
  photos: readonly WheelPhoto[],
  turnsRad: readonly number[],
  isBounded = false,
): Outcome<Askew> {
  const n = photos.length;
  const radiusMm = photos[0]!.marks.tipRadiusMm;
  const teeth = solveSlopes(
    photos.map(({ marks }) => marks),
    turnsRad,
  );
  const m = (teeth === undefined ? 2 : 4) * n + (isBounded ? 2 : 0);
  const unknowns = teeth === undefined ? 4 : 6;
  const values = new Float64Array(m);
  const design = new Float64Array(unknowns * m);
  const terms = new Map<InputId, Float64Array>();
  const put = (id: InputId, row: number, effect: number): void => {
    const term = terms.get(id) ?? new Float64Array(m);
    terms.set(id, term);
    term[row]! += radiusMm * effect;
  };
  const say = (row: number, slope: number, turned: readonly [number, number], rest?: number): void => {
    values[row] = radiusMm * slope;
    design.set(turned, row * unknowns);
    if (rest !== undefined) design[row * unknowns + rest] = 1;
    put(`fit:slope-own-${row}`, row, leastSlope);
  };
  photos.forEach(({ marks }, k) => {
    const turn = turnsRad[k]! - turnsRad[0]!;
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const perMm = (marks.cameraMm[2] - marks.outlineMm) / marks.tipRadiusMm ** 2;
    for (const axis of [0, 1] as const) {
      const row = 2 * k + axis;
      const turned = axis === 0 ? ([c, -s] as const) : ([s, c] as const);
      say(row, perMm * marks.tipsOffMm[axis], turned, 2 + axis);
      put(`fit:slope-${row}`, row, perMm * marks.uTipsOffMm);
      put("edge:wall", row, perMm * marks.wallMm[axis] * marks.uWallShare);
      const light = (perMm * lightPx) / marks.pxPerMm;
      put(`edge:light-${row}`, row, light);
      put("edge:wheel-x", row, uWheelSlope * turned[0]);
      put("edge:wheel-y", row, uWheelSlope * turned[1]);
      if (teeth === undefined) continue;
      const also = 2 * n + row;
      say(also, teeth.slopes[k]![axis], turned, 4 + axis);
      put(`edge:light-${row}`, also, light);
      for (const [id, term] of teeth.terms) put(`${id}-of-teeth`, also, term[row]!);
    }
  });
  if (isBounded)
    for (const axis of [0, 1] as const) {
      const row = m - 2 + axis;
      say(row, 0, axis === 0 ? [1, 0] : [0, 1]);
      put(`fit:askew-${row}`, row, usualAskew);
    }
  const fit = fitByTerms(design, unknowns, { values, terms }, "mm");
  if (!fit.ok) return fit;
  const { params, chiSquared, degreesOfFreedom } = fit.value;
  const birge = degreesOfFreedom > 0 ? Math.sqrt(chiSquared / degreesOfFreedom) : 1;
  const [x, y] = [params[0]!, params[1]!].map((p) => widened(p, birge)) as [Quantity<"mm">, Quantity<"mm">];
  const highAngleRad = angleOfVector(x, y);
  return {
    ok: true,
    value: {
      rise: [x, y],
      riseMm: magnitudeOfVector(x, y),
      ...(highAngleRad === undefined ? {} : { highAngleRad }),
    },
  };
}

/**
 * The centre of the tooth circle without what a face that is askew adds to it: its tips are seen further out on the high
 * side, which looks like eccentricity, since it turns with the wheel.
 *
 * @param turnRad of the wheel since the first photograph.
 */
export function uprightCentre(
  centre: CentreSeen,
  { cameraMm, outlineMm, tipRadiusMm, tipsWeight }: WheelPhoto["marks"],
  turnRad: number,
  { rise: [x, y] }: Askew,
): CentreSeen {
  const perMm = (tipsWeight * tipRadiusMm) / (cameraMm[2] - outlineMm);
  const [c, s] = [perMm * Math.cos(turnRad), perMm * Math.sin(turnRad)];
  return {
    centreMm: [
      centre.centreMm[0] - c * x.value + s * y.value,
      centre.centreMm[1] - s * x.value - c * y.value,
    ],
    terms: [
      ...centre.terms,
      ...[...x.terms].map(([id, t]) => ({ id, dxMm: -c * t, dyMm: -s * t })),
      ...[...y.terms].map(([id, t]) => ({ id, dxMm: s * t, dyMm: -c * t })),
    ],
  };
}

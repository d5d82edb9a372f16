import type { Outcome } from "../../problem/index.js";
import type { WheelPhoto } from "../set-photo.js";
import { solveTurn, type CentreSeen, type TurnSolution } from "./solve-turn.js";

/** A wheel's own form makes its tips and its spacing differ by so much, as a slope: it turns with the wheel. */
const uWheelSlope = 0.003;

/**
 * How askew the face stands to the axis of the arbor. A face that slopes by s moves the tips by R² s / camera height and
 * leaves the spacing of the teeth alone. What light and a sloping sheet add stays where it is; what is askew turns with the
 * wheel:
 *
 *     slope_k = rest + R(turn_k) askew
 *
 * which is the circle that a wheel's centre runs on, with the slope times the tip radius in place of the centre.
 *
 * @returns the rise of the rim, mm, as `offsetMm` and `eccentricityMm`; its direction in the first photograph is where
 *   the rim stands highest.
 */
export function solveAskew(
  photos: readonly WheelPhoto[],
  turnsRad: readonly number[],
): Outcome<TurnSolution> {
  return solveTurn(
    photos.map(({ marks }, k) => riseSeen(marks, k, turnsRad[k]! - turnsRad[0]!)),
    turnsRad,
  );
}

function riseSeen(marks: WheelPhoto["marks"], k: number, turnRad: number): CentreSeen {
  const { cameraMm, outlineMm, tipRadiusMm, tipsOffMm, uTipsOffMm, wallMm, uWallShare } = marks;
  // Rise at the rim for each mm between the centre of the tips and the centre of the spacing.
  const perMm = (cameraMm[2] - outlineMm) / tipRadiusMm;
  const u = perMm * uTipsOffMm;
  const own = uWheelSlope * tipRadiusMm;
  const [c, s] = [Math.cos(turnRad), Math.sin(turnRad)];
  return {
    centreMm: [perMm * tipsOffMm[0], perMm * tipsOffMm[1]],
    terms: [
      { id: `fit:slope-x-${k}`, dxMm: u, dyMm: 0 },
      { id: `fit:slope-y-${k}`, dxMm: 0, dyMm: u },
      {
        id: "edge:wall",
        dxMm: perMm * wallMm[0] * uWallShare,
        dyMm: perMm * wallMm[1] * uWallShare,
      },
      { id: "edge:wheel-x", dxMm: own * c, dyMm: own * s },
      { id: "edge:wheel-y", dxMm: -own * s, dyMm: own * c },
    ],
  };
}

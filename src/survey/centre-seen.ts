import type { WheelMarks } from "../parts/index.js";
import type { CentreSeen } from "./turn/solve-turn.js";

/**
 * The tooth circle's centre with its inputs: scale and pose as the photograph has them, the height and the look of
 * the tooth walls that all share, and the edges of this photograph.
 *
 * @param owner unlike that of every other photograph.
 */
export function centreSeen(marks: WheelMarks, owner: string): CentreSeen {
  const [gx, gy] = leanOf(marks);
  return {
    centreMm: marks.centreMm,
    terms: [
      ...marks.centreTerms,
      {
        id: "edge:wall",
        dxMm: marks.centreWallMm[0] * marks.uWallShare,
        dyMm: marks.centreWallMm[1] * marks.uWallShare,
      },
      { id: "height:face", dxMm: -gx * marks.uHeightMm, dyMm: -gy * marks.uHeightMm },
      { id: `fit:tooth-circle-x-${owner}`, dxMm: marks.uCentreMm, dyMm: 0 },
      { id: `fit:tooth-circle-y-${owner}`, dxMm: 0, dyMm: marks.uCentreMm },
    ],
  };
}

/**
 * How far a point seen on the plane of the wheel moves outwards for every mm that it really stands higher:
 *
 *     camera *                     seen at s, standing h above the plane: true place s - h (s - foot) / camera height
 *             \
 *              o  h
 *     --F------s----
 */
export function leanOf({ centreMm, cameraMm, outlineMm }: WheelMarks): [number, number] {
  const up = cameraMm[2] - outlineMm;
  return [(centreMm[0] - cameraMm[0]) / up, (centreMm[1] - cameraMm[1]) / up];
}

import type { ViewGeometry } from "../geometry/index.js";
import { priorRows } from "./corner-system.js";
import { geometryOf, unknown, unknownCount, type MatFrame } from "./mat-camera.js";
import type { MatCamera } from "./solve-mat-camera.js";

/** What photographs taken by one camera over one sheet have in common. */
export const sharedUnknowns = [
  "lnF",
  "lnAspect",
  "cx",
  "cy",
  "k1",
  "k2",
  "p1",
  "p2",
  "sx",
  "sy",
] as const satisfies readonly (keyof typeof unknown)[];
export type SharedUnknown = (typeof sharedUnknowns)[number];

/** The solution for one photograph, open enough to be solved again together with others. */
export interface SolvedCamera {
  /** All unknowns of the photograph, in an order of the room's own. */
  readonly values: Float64Array;
  /** Row-major, as the corners and the prior alone make it. */
  readonly covariance: Float64Array;
  /** How much larger the variances are, by the residuals. */
  readonly widenedBy: number;
  /** Where the shared ones stand among the unknowns, and what was believed of them before. */
  readonly shared: readonly {
    readonly name: SharedUnknown;
    readonly index: number;
    readonly prior: readonly [estimate: number, u: number];
  }[];
  /** Where the pose starts from, and the height at which the sheet carries parts. Data, so that threads can be sent it. */
  readonly frame: MatFrame;
  readonly supportMm: number;
}

export function solvedCamera(camera: MatCamera): SolvedCamera {
  const prior = new Map(priorRows(camera.prior));
  return {
    values: camera.params,
    covariance: camera.covariance.map((v) => v / camera.widenedBy),
    widenedBy: camera.widenedBy,
    shared: sharedUnknowns.map((name) => ({ name, index: unknown[name], prior: prior.get(unknown[name])! })),
    frame: camera.frame,
    supportMm: camera.supportMm,
  };
}

/** What `quantities` measure, moved by each unknown by itself: rows of quantities, columns of unknowns. */
export function slopesOf(
  { values, covariance, frame, supportMm }: SolvedCamera,
  quantities: (geometry: ViewGeometry) => readonly number[],
): number[][] {
  const at = (j: number, step: number): readonly number[] =>
    quantities(
      geometryOf(
        frame,
        values.map((v, i) => (i === j ? v + step : v)),
        supportMm,
      ),
    );
  const rows: number[][] = [];
  for (let j = 0; j < unknownCount; j++) {
    // A thousandth of the standard uncertainty: far above rounding, far below any bend.
    const step = 1e-3 * Math.sqrt(covariance[j * (unknownCount + 1)]!);
    const [up, down] = [at(j, step), at(j, -step)];
    up.forEach((u, i) => ((rows[i] ??= [])[j] = (u - down[i]!) / (2 * step)));
  }
  return rows;
}

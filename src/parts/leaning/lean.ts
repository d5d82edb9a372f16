import { multiply3, rotationFromVector, type ViewGeometry } from "../../geometry/index.js";
import type { View } from "../../view/index.js";
import type { InputId } from "../../quantity/index.js";
import type { Point } from "../part.js";

/**
 * A wheel with its arbor does not lie flat: it rests on its rim and on the end of the arbor. The plane on which its
 * lower face lies is then the mat's, turned about an axis in the mat and raised.
 *
 * The plane has a frame of its own, x and y as nearly along the mat's as they can be: its point (xMm, yMm, 0) lies
 * over (xMm, yMm) of the mat, `raisedMm` up. In that frame everything is as for a wheel that lies flat.
 */
export interface Lean {
  /** Rotation vector, rad: along the axis, as long as the angle. */
  readonly turnRad: Point;
  readonly xMm: number;
  readonly yMm: number;
  readonly raisedMm: number;
}

export const leanAngleRad = ({ turnRad }: Lean): number => Math.hypot(...turnRad);

/** The camera as seen from the plane of the lower face. */
export function geometryOnLean({ camera, cameraFromMat }: ViewGeometry, lean: Lean): ViewGeometry {
  const turn = rotationFromVector(...lean.turnRad, 0);
  const at = offsetOf(lean, turn);
  const r = cameraFromMat.rotation;
  const t = cameraFromMat.translationMm;
  return {
    camera,
    cameraFromMat: {
      rotation: multiply3(r, turn),
      translationMm: [0, 1, 2].map(
        (i) => r[3 * i]! * at[0] + r[3 * i + 1]! * at[1] + r[3 * i + 2]! * at[2] + t[i]!,
      ),
    },
  };
}

/** A point of the leaning frame, mm in the mat's. */
export function matFromLean(lean: Lean, xMm: number, yMm: number, zMm: number): [number, number, number] {
  const turn = rotationFromVector(...lean.turnRad, 0);
  const at = offsetOf(lean, turn);
  const along = (i: number): number =>
    turn[3 * i]! * xMm + turn[3 * i + 1]! * yMm + turn[3 * i + 2]! * zMm + at[i]!;
  return [along(0), along(1), along(2)];
}

function offsetOf({ xMm, yMm, raisedMm }: Lean, turn: readonly number[]): [number, number, number] {
  const turned = (i: number): number => turn[3 * i]! * xMm + turn[3 * i + 1]! * yMm;
  return [xMm - turned(0), yMm - turned(1), raisedMm - turned(2)];
}

/**
 * The view from the plane of the lower face, and what it is worth: besides the camera's own inputs how well the lean
 * is known.
 *
 * @param moves the lean moved by one standard uncertainty of independent inputs.
 */
export function viewOnLean(
  view: View,
  lean: Lean,
  moves: readonly { readonly id: InputId; readonly lean: Lean }[],
): View {
  return {
    ...view,
    geometry: geometryOnLean(view.geometry, lean),
    inputs: [
      ...view.inputs.map(({ id, geometry }) => ({ id, geometry: geometryOnLean(geometry, lean) })),
      ...moves.map((move) => ({ id: move.id, geometry: geometryOnLean(view.geometry, move.lean) })),
    ],
  };
}

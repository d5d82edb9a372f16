import type { SceneCamera, ScenePose } from "./scene.js";

/**
 * The scene's own projection, written apart from the product's on purpose: a slip there must not hide here.
 * Pixel (0, 0) is the centre of the top-left pixel.
 */
export function project(
  camera: SceneCamera,
  pose: ScenePose,
  point: readonly [number, number, number],
): [number, number] {
  const [a, b, c] = toCamera(pose, point);
  const x = a / c;
  const y = b / c;
  const rr = x * x + y * y;
  const radial = 1 + camera.k1 * rr + camera.k2 * rr * rr;
  const dx = 2 * camera.p1 * x * y + camera.p2 * (rr + 2 * x * x);
  const dy = camera.p1 * (rr + 2 * y * y) + 2 * camera.p2 * x * y;
  return [camera.fxPx * (x * radial + dx) + camera.cxPx, camera.fyPx * (y * radial + dy) + camera.cyPx];
}

/** Point in the camera frame; the third value is the depth. */
export function toCamera(pose: ScenePose, p: readonly [number, number, number]): [number, number, number] {
  const row = (i: number): number =>
    pose.rotation[3 * i]! * p[0] +
    pose.rotation[3 * i + 1]! * p[1] +
    pose.rotation[3 * i + 2]! * p[2] +
    pose.translationMm[i]!;
  return [row(0), row(1), row(2)];
}

export function cameraPosition(pose: ScenePose): [number, number, number] {
  const r = pose.rotation;
  const t = pose.translationMm;
  const column = (j: number): number => -(r[j]! * t[0]! + r[3 + j]! * t[1]! + r[6 + j]! * t[2]!);
  return [column(0), column(1), column(2)];
}

/** Direction (mat frame, unnormalised, camera depth 1) of the ray through a pixel; fixed-point undistortion. */
export function rayThrough(
  camera: SceneCamera,
  pose: ScenePose,
  u: number,
  v: number,
): [number, number, number] {
  const xd = (u - camera.cxPx) / camera.fxPx;
  const yd = (v - camera.cyPx) / camera.fyPx;
  let x = xd;
  let y = yd;
  for (let i = 0; i < 60; i++) {
    const rr = x * x + y * y;
    const radial = 1 + camera.k1 * rr + camera.k2 * rr * rr;
    const nx = (xd - 2 * camera.p1 * x * y - camera.p2 * (rr + 2 * x * x)) / radial;
    const ny = (yd - camera.p1 * (rr + 2 * y * y) - 2 * camera.p2 * x * y) / radial;
    const moved = Math.abs(nx - x) + Math.abs(ny - y);
    x = nx;
    y = ny;
    if (moved < 1e-13) break;
  }
  const r = pose.rotation;
  return [r[0]! * x + r[3]! * y + r[6]!, r[1]! * x + r[4]! * y + r[7]!, r[2]! * x + r[5]! * y + r[8]!];
}

export interface LookAt {
  /** Point of the mat plane in the middle of the picture. */
  readonly targetMm: readonly [number, number];
  readonly distanceMm: number;
  /** Angle between the optical axis and the mat's normal, and the side the camera stands on. */
  readonly tiltRad: number;
  readonly azimuthRad: number;
  /** Turn of the picture: 0 puts the sheet's y axis upwards; positive turns the sheet clockwise on the screen. */
  readonly rollRad: number;
}

export function poseLookingAt(look: LookAt): ScenePose {
  const s = Math.sin(look.tiltRad);
  const forward = [
    -s * Math.cos(look.azimuthRad),
    -s * Math.sin(look.azimuthRad),
    -Math.cos(look.tiltRad),
  ] as const;
  const at = [
    look.targetMm[0] - look.distanceMm * forward[0],
    look.targetMm[1] - look.distanceMm * forward[1],
    -look.distanceMm * forward[2],
  ] as const;
  const cosRoll = Math.cos(look.rollRad);
  const sinRoll = Math.sin(look.rollRad);
  // The mat direction that should point right in the picture, made square to the optical axis.
  const wanted = [cosRoll, sinRoll, 0] as const;
  const along = wanted[0] * forward[0] + wanted[1] * forward[1];
  const right = unit([wanted[0] - along * forward[0], wanted[1] - along * forward[1], -along * forward[2]]);
  const down = cross(forward, right);
  const rotation = [...right, ...down, ...forward];
  const translationMm = [right, down, forward].map(
    (axis) => -(axis[0] * at[0] + axis[1] * at[1] + axis[2] * at[2]),
  );
  return { rotation, translationMm };
}

type Vector = readonly [number, number, number];

function unit(v: Vector): Vector {
  const n = Math.hypot(v[0], v[1], v[2]);
  return [v[0] / n, v[1] / n, v[2] / n];
}

function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

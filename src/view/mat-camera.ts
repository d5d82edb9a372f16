import { multiply3, rotationFromVector, type ViewGeometry } from "../geometry/index.js";

/**
 * The unknowns of one photograph of the mat, in this order.
 *
 * lnF: ln of the focal length in px (fx = fy) · cx, cy px · k1, k2
 * w: rotation vector of the camera frame after `startRotation`, rad · t: mat origin in the camera frame, mm
 * sx, sy: printed over nominal length across and along · bloom: how much smaller dark squares look on each
 * side, px · bow: height of the paper at the marker ring, z = bowXX X² + bowXY X Y + bowYY Y², mm, with X and Y
 * the position over half the ring's width and height (a sheet that curls; zero for a flat one)
 */
export const unknown = {
  lnF: 0,
  cx: 1,
  cy: 2,
  k1: 3,
  k2: 4,
  w: 5,
  t: 8,
  sx: 11,
  sy: 12,
  bloom: 13,
  bowXX: 14,
  bowXY: 15,
  bowYY: 16,
} as const;
export const unknownCount = 17;

/** What the unknowns are counted from. */
export interface MatFrame {
  /** Row-major rotation from mat to camera that w = 0 stands for. */
  readonly startRotation: readonly number[];
  /** Half width and half height of the marker ring, nominal mm. */
  readonly ringHalfMm: readonly [number, number];
}

/** Camera and pose at `params`, for lengths in true millimetres (the bow left out). */
export function geometryOf(frame: MatFrame, params: ArrayLike<number>): ViewGeometry {
  const f = Math.exp(params[unknown.lnF]!);
  return {
    camera: {
      fxPx: f,
      fyPx: f,
      cxPx: params[unknown.cx]!,
      cyPx: params[unknown.cy]!,
      k1: params[unknown.k1]!,
      k2: params[unknown.k2]!,
    },
    cameraFromMat: {
      rotation: rotationOf(frame, params),
      translationMm: [params[unknown.t]!, params[unknown.t + 1]!, params[unknown.t + 2]!],
    },
  };
}

function rotationOf(frame: MatFrame, params: ArrayLike<number>): number[] {
  const { w } = unknown;
  return multiply3(rotationFromVector(params[w]!, params[w + 1]!, params[w + 2]!), frame.startRotation);
}

/** Maps nominal points of the sheet to pixels, with derivatives. Made once per parameter vector. */
export interface Projector {
  /**
   * Pixel of the nominal sheet point (x, y), without bloom, into out[0], out[1]; with `derivatives` (2 x 17,
   * row-major) also d pixel / d params, the bloom columns left zero. False when the point is behind the camera.
   */
  readonly project: (xMm: number, yMm: number, out: Float64Array, derivatives?: Float64Array) => boolean;
}

export function projectorAt(frame: MatFrame, params: ArrayLike<number>): Projector {
  const { lnF, cx, cy, k1, k2, w, t, sx, sy, bowXX, bowXY, bowYY } = unknown;
  const f = Math.exp(params[lnF]!);
  const p1 = params[k1]!;
  const p2 = params[k2]!;
  const r = rotationOf(frame, params);
  const left = leftJacobian(params[w]!, params[w + 1]!, params[w + 2]!);
  const [hx, hy] = frame.ringHalfMm;
  const n = unknownCount;
  return {
    project: (xMm, yMm, out, derivatives) => {
      const X = xMm / hx;
      const Y = yMm / hy;
      const q0 = params[sx]! * xMm;
      const q1 = params[sy]! * yMm;
      const q2 = params[bowXX]! * X * X + params[bowXY]! * X * Y + params[bowYY]! * Y * Y;
      const a0 = r[0]! * q0 + r[1]! * q1 + r[2]! * q2;
      const a1 = r[3]! * q0 + r[4]! * q1 + r[5]! * q2;
      const a2 = r[6]! * q0 + r[7]! * q1 + r[8]! * q2;
      const z = a2 + params[t + 2]!;
      if (!(z > 1e-9)) return false;
      const x = (a0 + params[t]!) / z;
      const y = (a1 + params[t + 1]!) / z;
      const r2 = x * x + y * y;
      const d = 1 + r2 * (p1 + r2 * p2);
      out[0] = params[cx]! + f * x * d;
      out[1] = params[cy]! + f * y * d;
      if (!derivatives) return true;

      // d pixel / d (x, y), then / d point in the camera frame.
      const slope = 2 * (p1 + 2 * p2 * r2);
      const ux = f * (d + x * x * slope);
      const uy = f * x * y * slope;
      const vy = f * (d + y * y * slope);
      const u0 = ux / z;
      const u1 = uy / z;
      const u2 = -(ux * x + uy * y) / z;
      const v0 = uy / z;
      const v1 = vy / z;
      const v2 = -(uy * x + vy * y) / z;
      const J = derivatives;
      J.fill(0);
      J[lnF] = f * x * d;
      J[n + lnF] = f * y * d;
      J[cx] = 1;
      J[n + cy] = 1;
      J[k1] = f * x * r2;
      J[n + k1] = f * y * r2;
      J[k2] = f * x * r2 * r2;
      J[n + k2] = f * y * r2 * r2;
      for (let j = 0; j < 3; j++) {
        // d (exp(w) v) = (left jacobian dw) x (exp(w) v)
        const l0 = left[j]!;
        const l1 = left[3 + j]!;
        const l2 = left[6 + j]!;
        const d0 = l1 * a2 - l2 * a1;
        const d1 = l2 * a0 - l0 * a2;
        const d2 = l0 * a1 - l1 * a0;
        J[w + j] = u0 * d0 + u1 * d1 + u2 * d2;
        J[n + w + j] = v0 * d0 + v1 * d1 + v2 * d2;
      }
      J[t] = u0;
      J[t + 1] = u1;
      J[t + 2] = u2;
      J[n + t] = v0;
      J[n + t + 1] = v1;
      J[n + t + 2] = v2;
      J[sx] = xMm * (u0 * r[0]! + u1 * r[3]! + u2 * r[6]!);
      J[n + sx] = xMm * (v0 * r[0]! + v1 * r[3]! + v2 * r[6]!);
      J[sy] = yMm * (u0 * r[1]! + u1 * r[4]! + u2 * r[7]!);
      J[n + sy] = yMm * (v0 * r[1]! + v1 * r[4]! + v2 * r[7]!);
      const uz = u0 * r[2]! + u1 * r[5]! + u2 * r[8]!;
      const vz = v0 * r[2]! + v1 * r[5]! + v2 * r[8]!;
      J[bowXX] = uz * X * X;
      J[bowXY] = uz * X * Y;
      J[bowYY] = uz * Y * Y;
      J[n + bowXX] = vz * X * X;
      J[n + bowXY] = vz * X * Y;
      J[n + bowYY] = vz * Y * Y;
      return true;
    },
  };
}

/** d exp(w + dw) = exp(J dw) exp(w), row-major. Source: T. Barfoot, State Estimation for Robotics, 7.1 (from memory). */
function leftJacobian(x: number, y: number, z: number): number[] {
  const a2 = x * x + y * y + z * z;
  const a = Math.sqrt(a2);
  // (1 - cos a) / a² and (a - sin a) / a³, finite at zero.
  const b = a < 1e-4 ? 0.5 - a2 / 24 : (1 - Math.cos(a)) / a2;
  const c = a < 1e-3 ? 1 / 6 - a2 / 120 : (a - Math.sin(a)) / (a2 * a);
  return [
    1 - c * (y * y + z * z), c * x * y - b * z, c * x * z + b * y,
    c * x * y + b * z, 1 - c * (x * x + z * z), c * y * z - b * x,
    c * x * z - b * y, c * y * z + b * x, 1 - c * (x * x + y * y),
  ]; // prettier-ignore
}

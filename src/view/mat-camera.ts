import { multiply3, rotationFromVector, type ViewGeometry } from "../geometry/index.js";

/**
 * The unknowns of one photograph of the mat, in this order.
 *
 * lnF: ln of the focal length in px, geometric mean of fx and fy · cx, cy px · k1, k2
 * w: rotation vector, rad, of the mat in a frame whose z axis looks at the mat's origin, after `startRotation`
 * originU, originV: pixel of the mat's origin, lens distortion left out · lnScale: ln of px per mm there (f over depth)
 * sx, sy: printed over nominal length across and along · bloom: how much smaller dark squares look on each
 * side, px · bow: height of the paper at the marker ring, z = bowXX X² + bowXY X Y + bowYY Y², mm, with X and Y
 * the position over half the ring's width and height (a sheet that curls; zero for a flat one)
 * lnAspect: ln of fx over fy (pixels are square but for a few parts in ten thousand) · p1, p2: tangential terms
 *
 * Focal length, principal point, distance and tilt are hard to tell apart from one photograph. Counted like this
 * (place and scale in the picture, tilt against the line of sight) the valley of nearly equal fits is straight, so
 * that a solver runs down it in a few steps and a standard uncertainty may be taken as a straight move.
 */
export const unknown = {
  lnF: 0,
  cx: 1,
  cy: 2,
  k1: 3,
  k2: 4,
  w: 5,
  originU: 8,
  originV: 9,
  lnScale: 10,
  sx: 11,
  sy: 12,
  bloom: 13,
  bowXX: 14,
  bowXY: 15,
  bowYY: 16,
  lnAspect: 17,
  p1: 18,
  p2: 19,
} as const;
export const unknownCount = 20;

/** What the unknowns are counted from. */
export interface MatFrame {
  /** Row-major rotation from mat to the frame that looks at its origin, which w = 0 stands for. */
  readonly startRotation: readonly number[];
  /** Half width and half height of the marker ring, nominal mm. */
  readonly ringHalfMm: readonly [number, number];
}

/**
 * Camera and pose at `params`, for lengths in true millimetres. The bow is left out.
 *
 * @param planeMm height of the plane z = 0 of the result above the middle of the sheet, mm; default 0.
 */
export function geometryOf(frame: MatFrame, params: ArrayLike<number>, planeMm = 0): ViewGeometry {
  const { rotation, translationMm, fx, fy } = poseAt(frame, params);
  return {
    camera: {
      fxPx: fx,
      fyPx: fy,
      cxPx: params[unknown.cx]!,
      cyPx: params[unknown.cy]!,
      k1: params[unknown.k1]!,
      k2: params[unknown.k2]!,
      p1: params[unknown.p1]!,
      p2: params[unknown.p2]!,
    },
    cameraFromMat: {
      rotation,
      translationMm: translationMm.map((t, i) => t + planeMm * rotation[3 * i + 2]!),
    },
  };
}

/** Frame and pose parameters (w, originU, originV, lnScale) that stand for a pose, for w = 0. */
export function frameOfPose(
  rotation: readonly number[],
  [x, y, z]: readonly [number, number, number],
  camera: { readonly lnF: number; readonly cx: number; readonly cy: number },
  ringHalfMm: readonly [number, number],
): { readonly frame: MatFrame; readonly pose: readonly number[] } {
  const f = Math.exp(camera.lnF);
  const { look } = lineOfSight(x / z, y / z);
  return {
    frame: { startRotation: multiply3(transpose3(look), rotation), ringHalfMm },
    pose: [0, 0, 0, camera.cx + (f * x) / z, camera.cy + (f * y) / z, Math.log(f / z)],
  };
}

const transpose3 = (m: readonly number[]): number[] => [0, 3, 6, 1, 4, 7, 2, 5, 8].map((i) => m[i]!);

/**
 * Rotation that turns the z axis towards (x, y, 1): about y by alpha after about x by beta. `byX`, `byY` are the
 * rotation vectors per change of x and y, in the turned frame's outer axes.
 */
function lineOfSight(x: number, y: number): { look: number[]; byX: number[]; byY: number[] } {
  const alpha = Math.atan(x);
  const ca = Math.cos(alpha);
  const sa = Math.sin(alpha);
  const beta = -Math.atan(y * ca);
  const cb = Math.cos(beta);
  const sb = Math.sin(beta);
  const look = [ca, sa * sb, sa * cb, 0, cb, -sb, -sa, ca * sb, ca * cb];
  const alphaByX = ca * ca;
  const betaByX = y * sa * alphaByX * cb * cb;
  const betaByY = -ca * cb * cb;
  // Turning alpha turns about y; turning beta about the x axis as alpha has left it.
  return {
    look,
    byX: [betaByX * ca, alphaByX, -betaByX * sa],
    byY: [betaByY * ca, 0, -betaByY * sa],
  };
}

interface Pose {
  readonly fx: number;
  readonly fy: number;
  readonly rotation: number[];
  readonly translationMm: [number, number, number];
  readonly look: number[];
  readonly byX: number[];
  readonly byY: number[];
}

function poseAt(frame: MatFrame, params: ArrayLike<number>): Pose {
  const { lnF, lnAspect, cx, cy, w, originU, originV, lnScale } = unknown;
  const fx = Math.exp(params[lnF]! + params[lnAspect]! / 2);
  const fy = Math.exp(params[lnF]! - params[lnAspect]! / 2);
  const x = (params[originU]! - params[cx]!) / fx;
  const y = (params[originV]! - params[cy]!) / fy;
  const z = Math.exp(params[lnF]! - params[lnScale]!);
  const sight = lineOfSight(x, y);
  const turn = rotationFromVector(params[w]!, params[w + 1]!, params[w + 2]!);
  return {
    fx,
    fy,
    ...sight,
    rotation: multiply3(sight.look, multiply3(turn, frame.startRotation)),
    translationMm: [x * z, y * z, z],
  };
}

/**
 * Maps nominal points of the sheet to pixels, with derivatives. Made once per parameter vector.
 * A class, since compiled code of a closure is thrown away with it.
 */
export class Projector {
  readonly #frame: MatFrame;
  readonly #params: ArrayLike<number>;
  readonly #pose: Pose;
  readonly #left: readonly number[];

  constructor(frame: MatFrame, params: ArrayLike<number>) {
    const { w } = unknown;
    this.#frame = frame;
    this.#params = params;
    this.#pose = poseAt(frame, params);
    this.#left = multiply3(this.#pose.look, leftJacobian(params[w]!, params[w + 1]!, params[w + 2]!));
  }

  /**
   * Pixel of the nominal sheet point (x, y), without bloom, into out[0], out[1]; with `derivatives` (2 x 20,
   * row-major) also d pixel / d params, the bloom columns left zero. False when the point is behind the camera.
   */
  project(xMm: number, yMm: number, out: Float64Array, derivatives?: Float64Array): boolean {
    const { lnF, lnAspect, cx, cy, k1, k2, p1, p2, w, originU, originV, lnScale } = unknown;
    const { sx, sy, bowXX, bowXY, bowYY } = unknown;
    const params = this.#params;
    const radial1 = params[k1]!;
    const radial2 = params[k2]!;
    const tangential1 = params[p1]!;
    const tangential2 = params[p2]!;
    const { fx, fy, rotation: r, translationMm, byX, byY } = this.#pose;
    const t0 = translationMm[0];
    const t1 = translationMm[1];
    const t2 = translationMm[2];
    const left = this.#left;
    const half = this.#frame.ringHalfMm;
    const n = unknownCount;
    const X = xMm / half[0];
    const Y = yMm / half[1];
    const q0 = params[sx]! * xMm;
    const q1 = params[sy]! * yMm;
    const q2 = params[bowXX]! * X * X + params[bowXY]! * X * Y + params[bowYY]! * Y * Y;
    const a0 = r[0]! * q0 + r[1]! * q1 + r[2]! * q2;
    const a1 = r[3]! * q0 + r[4]! * q1 + r[5]! * q2;
    const a2 = r[6]! * q0 + r[7]! * q1 + r[8]! * q2;
    const z = a2 + t2;
    if (!(z > 1e-9)) return false;
    const x = (a0 + t0) / z;
    const y = (a1 + t1) / z;
    const r2 = x * x + y * y;
    const d = 1 + r2 * (radial1 + r2 * radial2);
    const bentX = x * d + 2 * tangential1 * x * y + tangential2 * (r2 + 2 * x * x);
    const bentY = y * d + tangential1 * (r2 + 2 * y * y) + 2 * tangential2 * x * y;
    out[0] = params[cx]! + fx * bentX;
    out[1] = params[cy]! + fy * bentY;
    if (!derivatives) return true;

    const slope = 2 * (radial1 + 2 * radial2 * r2);
    const mixed = x * y * slope + 2 * tangential1 * x + 2 * tangential2 * y;
    const J = derivatives;
    J.fill(0);
    for (let k = 0; k < 2; k++) {
      const at = k * n;
      // d pixel / d (x, y), then / d point in the camera frame (g), then / d rotation of the camera frame (h).
      const f = k === 0 ? fx : fy;
      const gx = f * (k === 0 ? d + x * x * slope + 2 * tangential1 * y + 6 * tangential2 * x : mixed);
      const gy = f * (k === 0 ? mixed : d + y * y * slope + 6 * tangential1 * y + 2 * tangential2 * x);
      const g0 = gx / z;
      const g1 = gy / z;
      const g2 = -(gx * x + gy * y) / z;
      const h0 = a1 * g2 - a2 * g1;
      const h1 = a2 * g0 - a0 * g2;
      const h2 = a0 * g1 - a1 * g0;
      const turnX = h0 * byX[0]! + h1 * byX[1]! + h2 * byX[2]!;
      const turnY = h0 * byY[0]! + h1 * byY[1]! + h2 * byY[2]!;
      const position = k === 0 ? x : y;
      // The mat's origin stays in its pixel and at its scale: depth grows with f, the line of sight turns.
      const byU = (turnX + g0 * t2) / fx;
      const byV = (turnY + g1 * t2) / fy;
      const bent = f * (k === 0 ? bentX : bentY);
      J[at + lnF] = bent + g2 * t2 - (t0 / t2) * turnX - (t1 / t2) * turnY;
      const stretch = k === 0 ? bent : -bent;
      J[at + lnAspect] = 0.5 * (stretch - (t0 / t2) * fx * byU + (t1 / t2) * fy * byV);
      J[at + originU] = byU;
      J[at + originV] = byV;
      J[at + cx] = (k === 0 ? 1 : 0) - byU;
      J[at + cy] = (k === 0 ? 0 : 1) - byV;
      J[at + lnScale] = -(g0 * t0 + g1 * t1 + g2 * t2);
      J[at + k1] = f * position * r2;
      J[at + k2] = f * position * r2 * r2;
      J[at + p1] = f * (k === 0 ? 2 * x * y : r2 + 2 * y * y);
      J[at + p2] = f * (k === 0 ? r2 + 2 * x * x : 2 * x * y);
      for (let j = 0; j < 3; j++) {
        J[at + w + j] = h0 * left[j]! + h1 * left[3 + j]! + h2 * left[6 + j]!;
      }
      J[at + sx] = xMm * (g0 * r[0]! + g1 * r[3]! + g2 * r[6]!);
      J[at + sy] = yMm * (g0 * r[1]! + g1 * r[4]! + g2 * r[7]!);
      const up = g0 * r[2]! + g1 * r[5]! + g2 * r[8]!;
      J[at + bowXX] = up * X * X;
      J[at + bowXY] = up * X * Y;
      J[at + bowYY] = up * Y * Y;
    }
    return true;
  }
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

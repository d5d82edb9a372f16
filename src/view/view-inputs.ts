import { choleskyFactor } from "../fit/index.js";
import { matFromPixel, pixelFromMat, type ViewGeometry } from "../geometry/index.js";
import type { InputId } from "../quantity/index.js";
import { geometryOf, unknown, unknownCount } from "./mat-camera.js";
import type { Held } from "./corner-system.js";
import type { MatCamera } from "./solve-mat-camera.js";

export interface MovedGeometry {
  readonly id: InputId;
  readonly geometry: ViewGeometry;
}

export interface ViewInputsOptions {
  /** Makes the ids of the pose unlike those of any other photograph. */
  readonly owner: string;
  /** Half width and height of the area that is measured on, mm. */
  readonly fieldHalfMm: readonly [number, number];
  /**
   * The camera solved again with some unknowns held, for a move too large for a straight line (the focal length
   * when little is known about it).
   */
  readonly solveHeld?: (held: readonly Held[]) => Float64Array | undefined;
}

/** Print scale first, then focal length: what is left over is the pose. Bloom and bow are no part of a geometry. */
const order: readonly number[] = [
  unknown.sx,
  unknown.sy,
  unknown.lnF,
  unknown.lnAspect,
  unknown.cx,
  unknown.cy,
  unknown.k1,
  unknown.k2,
  unknown.p1,
  unknown.p2,
  unknown.w,
  unknown.w + 1,
  unknown.w + 2,
  unknown.originU,
  unknown.originV,
  unknown.lnScale,
];

/**
 * Independent unit-variance inputs of a solved camera: covariance = L Lᵀ, each column of L one input, given as the
 * geometry moved by it. The columns of the pose are turned among themselves so that few of them matter for
 * measuring on the mat; those that do not are left out (under a hundredth of the variance together).
 *
 * @returns undefined when the markers leave some of the unknowns open.
 */
export function viewInputs(camera: MatCamera, options: ViewInputsOptions): MovedGeometry[] | undefined {
  const m = order.length;
  const covariance = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      covariance[i * m + j] = camera.covariance[order[i]! * unknownCount + order[j]!]!;
    }
  }
  const factor = choleskyFactor(scaled(covariance, m), m);
  if (!factor) return undefined;
  for (let i = 0; i < m; i++) {
    const u = Math.sqrt(covariance[i * m + i]!);
    for (let j = 0; j <= i; j++) factor[i * m + j]! *= u;
  }
  const column = (k: number): Float64Array => {
    const move = new Float64Array(unknownCount);
    for (let i = 0; i < m; i++) move[order[i]!] = factor[i * m + k]!;
    return move;
  };
  const moved = (move: Float64Array): ViewGeometry =>
    geometryOf(
      camera.frame,
      camera.params.map((p, i) => p + move[i]!),
      camera.supportMm,
    );
  const inputs: MovedGeometry[] = [
    { id: "scale:mat-across", geometry: moved(column(0)) },
    { id: "scale:mat-along", geometry: moved(column(1)) },
    { id: `pose:focal-length-${options.owner}`, geometry: focalMove(camera, column(2), moved, options) },
  ];
  const rest = Array.from({ length: m - 3 }, (_, k) => column(k + 3));
  principalMoves(camera, rest, options.fieldHalfMm).forEach((move, k) => {
    inputs.push({ id: `pose:${k + 1}-${options.owner}`, geometry: moved(move) });
  });
  if (camera.supportMm < 0) {
    // How far the part has pressed the sheet down is anyone's guess: u is half of the way.
    const lifted = geometryOf(camera.frame, camera.params, 0.5 * camera.supportMm);
    inputs.push({ id: `pose:bow-${options.owner}`, geometry: lifted });
  }
  return inputs;
}

/** A small step is a straight line; a large one follows the fit: the other unknowns are solved again. */
function focalMove(
  camera: MatCamera,
  move: Float64Array,
  moved: (move: Float64Array) => ViewGeometry,
  { solveHeld }: ViewInputsOptions,
): ViewGeometry {
  if (Math.abs(move[unknown.lnF]!) > 0.02 && solveHeld) {
    const params = solveHeld(
      [unknown.sx, unknown.sy, unknown.lnF].map((index) => ({
        index,
        value: camera.params[index]! + move[index]!,
      })),
    );
    if (params) return geometryOf(camera.frame, params, camera.supportMm);
  }
  return moved(move);
}

/** Unit diagonal, so that pivots of unlike units are judged alike. */
function scaled(covariance: Float64Array, m: number): Float64Array {
  return covariance.map((v, k) => {
    const i = Math.floor(k / m);
    const j = k % m;
    return v / Math.sqrt(covariance[i * m + i]! * covariance[j * m + j]!);
  });
}

/**
 * Turns independent moves among themselves (one-sided Jacobi) until their effects on measured lengths are
 * orthogonal, largest first, and keeps those that count.
 */
function principalMoves(
  camera: MatCamera,
  moves: readonly Float64Array[],
  fieldHalfMm: readonly [number, number],
): Float64Array[] {
  const base = effects(camera.geometry, camera.geometry, fieldHalfMm);
  const columns = moves.map((move) => {
    const step = 1e-3; // of a standard uncertainty: the effect's slope
    const geometry = geometryOf(
      camera.frame,
      camera.params.map((p, i) => p + step * move[i]!),
      camera.supportMm,
    );
    const effect = effects(camera.geometry, geometry, fieldHalfMm).map((v, i) => (v - base[i]!) / step);
    return { move: move.slice(), effect };
  });
  for (let sweep = 0; sweep < 30; sweep++) {
    let rotated = false;
    for (let p = 0; p < columns.length - 1; p++) {
      for (let q = p + 1; q < columns.length; q++) {
        const a = columns[p]!;
        const b = columns[q]!;
        const pp = dot(a.effect, a.effect);
        const qq = dot(b.effect, b.effect);
        const pq = dot(a.effect, b.effect);
        if (Math.abs(pq) <= 1e-9 * Math.sqrt(pp * qq)) continue;
        rotated = true;
        const zeta = (qq - pp) / (2 * pq);
        const t = Math.sign(zeta || 1) / (Math.abs(zeta) + Math.hypot(1, zeta));
        const c = 1 / Math.hypot(1, t);
        rotate(a.effect, b.effect, c, c * t);
        rotate(a.move, b.move, c, c * t);
      }
    }
    if (!rotated) break;
  }
  columns.sort((a, b) => dot(b.effect, b.effect) - dot(a.effect, a.effect));
  const total = columns.reduce((sum, { effect }) => sum + dot(effect, effect), 0);
  let left = total;
  return columns
    .filter(({ effect }) => {
      const matters = left > 1e-2 * total;
      left -= dot(effect, effect);
      return matters;
    })
    .map(({ move }) => move);
}

/**
 * What a geometry makes of fixed pixels, in mm: lengths of a grid of 30 mm crosses at two heights, how far a
 * height of 10 mm leans, and, with little weight, places.
 */
function effects(
  base: ViewGeometry,
  geometry: ViewGeometry,
  [halfX, halfY]: readonly [number, number],
): Float64Array {
  const out: number[] = [];
  for (let i = -1; i <= 1; i++) {
    for (let j = -1; j <= 1; j++) {
      const x = 0.7 * halfX * i;
      const y = 0.7 * halfY * j;
      const feet: [number, number][] = [];
      for (const z of [0, 10]) {
        const arm = (dx: number, dy: number): [number, number] => {
          const [u, v] = pixelFromMat(base, x + dx, y + dy, z);
          return matFromPixel(geometry, u, v, z);
        };
        const [left, right, low, high] = [arm(-15, 0), arm(15, 0), arm(0, -15), arm(0, 15)];
        out.push(right[0] - left[0], right[1] - left[1], high[0] - low[0], high[1] - low[1]);
        feet.push(arm(0, 0));
      }
      const [low, high] = feet as [[number, number], [number, number]];
      out.push(high[0] - low[0], high[1] - low[1], 0.02 * low[0], 0.02 * low[1]);
    }
  }
  return Float64Array.from(out);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function rotate(a: Float64Array, b: Float64Array, c: number, s: number): void {
  for (let i = 0; i < a.length; i++) {
    const x = a[i]!;
    const y = b[i]!;
    a[i] = c * x - s * y;
    b[i] = s * x + c * y;
  }
}

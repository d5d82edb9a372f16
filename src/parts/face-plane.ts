import type { ViewGeometry } from "../geometry/index.js";

/**
 * A plane parallel to the mat at the height of a part's outline, with polar coordinates about a centre.
 *
 * `affine` (row-major 2x2) turns local into plane coordinates before the centre is added: the identity over a
 * mat; without one it carries the ellipse that a slanting camera makes of a circle.
 */
export interface FacePlane {
  readonly geometry: ViewGeometry;
  readonly zMm: number;
  readonly xMm: number;
  readonly yMm: number;
  readonly affine: readonly [number, number, number, number];
}

export const identityAffine = [1, 0, 0, 1] as const;

/** Maps points of the plane to pixels without allocating: call `at`, read `u` and `v`. For inner loops. */
export class PlaneToPixel {
  u = 0;
  v = 0;
  readonly #m: Float64Array;
  readonly #k: Float64Array;

  constructor(geometry: ViewGeometry, zMm: number) {
    const { rotation: r, translationMm: t } = geometry.cameraFromMat;
    const c = geometry.camera;
    this.#m = Float64Array.of(
      r[0]!,
      r[1]!,
      r[2]! * zMm + t[0]!,
      r[3]!,
      r[4]!,
      r[5]! * zMm + t[1]!,
      r[6]!,
      r[7]!,
      r[8]! * zMm + t[2]!,
    );
    this.#k = Float64Array.of(c.fxPx, c.fyPx, c.cxPx, c.cyPx, c.k1, c.k2, c.p1 ?? 0, c.p2 ?? 0);
  }

  /**
   * Pixels at equal steps along a line, without numbers that are passed one by one: u0, v0, u1, v1 ... into `out`.
   *
   * @param line x, y of the first point, then the step to the next, mm.
   */
  along(line: Float64Array, out: Float64Array): void {
    const m = this.#m;
    const k = this.#k;
    for (let p = 0, i = 0; p < out.length; p += 2, i++) {
      const xMm = line[0]! + i * line[2]!;
      const yMm = line[1]! + i * line[3]!;
      const w = 1 / (m[6]! * xMm + m[7]! * yMm + m[8]!);
      const x = (m[0]! * xMm + m[1]! * yMm + m[2]!) * w;
      const y = (m[3]! * xMm + m[4]! * yMm + m[5]!) * w;
      const r2 = x * x + y * y;
      const d = 1 + r2 * (k[4]! + r2 * k[5]!);
      out[p] = k[2]! + k[0]! * (x * d + 2 * k[6]! * x * y + k[7]! * (r2 + 2 * x * x));
      out[p + 1] = k[3]! + k[1]! * (y * d + k[6]! * (r2 + 2 * y * y) + 2 * k[7]! * x * y);
    }
  }

  at(xMm: number, yMm: number): void {
    const m = this.#m;
    const k = this.#k;
    const w = 1 / (m[6]! * xMm + m[7]! * yMm + m[8]!);
    const x = (m[0]! * xMm + m[1]! * yMm + m[2]!) * w;
    const y = (m[3]! * xMm + m[4]! * yMm + m[5]!) * w;
    const r2 = x * x + y * y;
    const d = 1 + r2 * (k[4]! + r2 * k[5]!);
    this.u = k[2]! + k[0]! * (x * d + 2 * k[6]! * x * y + k[7]! * (r2 + 2 * x * x));
    this.v = k[3]! + k[1]! * (y * d + k[6]! * (r2 + 2 * y * y) + 2 * k[7]! * x * y);
  }
}

/** Pixel of a point in the local polar coordinates of a face. */
export function pixelFromFace(face: FacePlane, radiusMm: number, angleRad: number): [number, number] {
  const map = new PlaneToPixel(face.geometry, face.zMm);
  moveToFace(map, face, radiusMm, angleRad);
  return [map.u, map.v];
}

/** The same on a map of the face's plane that is there already. */
export function moveToFace(map: PlaneToPixel, face: FacePlane, radiusMm: number, angleRad: number): void {
  const { affine } = face;
  const x = radiusMm * Math.cos(angleRad);
  const y = radiusMm * Math.sin(angleRad);
  map.at(face.xMm + affine[0] * x + affine[1] * y, face.yMm + affine[2] * x + affine[3] * y);
}

/** Pixels per mm on the face at its centre, mean over directions. */
export function pxPerMmOnFace(face: FacePlane): number {
  const map = new PlaneToPixel(face.geometry, face.zMm);
  const [a, b, c, d] = face.affine;
  const h = 0.5;
  map.at(face.xMm + a * h, face.yMm + c * h);
  const [u1, v1] = [map.u, map.v];
  map.at(face.xMm - a * h, face.yMm - c * h);
  const [ux, vx] = [u1 - map.u, v1 - map.v];
  map.at(face.xMm + b * h, face.yMm + d * h);
  const [u2, v2] = [map.u, map.v];
  map.at(face.xMm - b * h, face.yMm - d * h);
  return Math.sqrt(Math.abs(ux * (v2 - map.v) - vx * (u2 - map.u)));
}

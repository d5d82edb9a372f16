/**
 * Pinhole camera with two radial terms and, for lenses that need them, two tangential ones:
 * with x, y in front of the lens and r² = x² + y²,
 * x' = x (1 + k1 r² + k2 r⁴) + 2 p1 x y + p2 (r² + 2 x²), y' = y (1 + k1 r² + k2 r⁴) + p1 (r² + 2 y²) + 2 p2 x y.
 * Source: D. C. Brown's model in the order of OpenCV's calib3d (k1, k2, p1, p2).
 * Frames: camera x right, y down, z forwards; mat x right, y up the sheet, z towards the camera.
 * Pixel (0, 0) is the centre of the top-left pixel of the upright photograph.
 */
export interface Camera {
  readonly fxPx: number;
  readonly fyPx: number;
  readonly cxPx: number;
  readonly cyPx: number;
  readonly k1: number;
  readonly k2: number;
  /** Default 0. */
  readonly p1?: number;
  /** Default 0. */
  readonly p2?: number;
}

/** y = rotation x + translation; rotation is row-major 3x3. */
export interface RigidMap {
  readonly rotation: readonly number[];
  readonly translationMm: readonly number[];
}

/** Where the camera was: the geometry of one photograph, without uncertainty. */
export interface ViewGeometry {
  readonly camera: Camera;
  readonly cameraFromMat: RigidMap;
}

/** Rotation matrix (row-major) from a rotation vector, rad. Rodrigues' formula. */
export function rotationFromVector(x: number, y: number, z: number): number[] {
  const angle = Math.hypot(x, y, z);
  // sin(a)/a and (1 - cos a)/a² stay finite at zero.
  const s = angle < 1e-9 ? 1 : Math.sin(angle) / angle;
  const c = angle < 1e-4 ? 0.5 : (1 - Math.cos(angle)) / (angle * angle);
  return [
    1 - c * (y * y + z * z), c * x * y - s * z, c * x * z + s * y,
    c * x * y + s * z, 1 - c * (x * x + z * z), c * y * z - s * x,
    c * x * z - s * y, c * y * z + s * x, 1 - c * (x * x + y * y),
  ]; // prettier-ignore
}

/** a b for row-major 3x3 matrices. */
export function multiply3(a: readonly number[], b: readonly number[]): number[] {
  const out = new Array<number>(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      out[3 * i + j] = a[3 * i]! * b[j]! + a[3 * i + 1]! * b[3 + j]! + a[3 * i + 2]! * b[6 + j]!;
  return out;
}

/** Pixel of a point given in mat coordinates, mm. Points behind the camera give NaN. */
export function pixelFromMat(view: ViewGeometry, xMm: number, yMm: number, zMm: number): [number, number] {
  const { camera, cameraFromMat } = view;
  const r = cameraFromMat.rotation;
  const t = cameraFromMat.translationMm;
  const z = r[6]! * xMm + r[7]! * yMm + r[8]! * zMm + t[2]!;
  if (z <= 0) return [NaN, NaN];
  const x = (r[0]! * xMm + r[1]! * yMm + r[2]! * zMm + t[0]!) / z;
  const y = (r[3]! * xMm + r[4]! * yMm + r[5]! * zMm + t[1]!) / z;
  const r2 = x * x + y * y;
  const d = 1 + r2 * (camera.k1 + r2 * camera.k2);
  const { p1 = 0, p2 = 0 } = camera;
  return [
    camera.cxPx + camera.fxPx * (x * d + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)),
    camera.cyPx + camera.fyPx * (y * d + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y),
  ];
}

/** Undistorted, normalised image coordinates (x/z, y/z in the camera frame) of a pixel. */
export function normalisedFromPixel(camera: Camera, uPx: number, vPx: number): [number, number] {
  const xd = (uPx - camera.cxPx) / camera.fxPx;
  const yd = (vPx - camera.cyPx) / camera.fyPx;
  const { k1, k2, p1 = 0, p2 = 0 } = camera;
  // Newton in the plane: quadratic, and well-behaved for every lens we accept.
  let x = xd;
  let y = yd;
  for (let i = 0; i < 12; i++) {
    const r2 = x * x + y * y;
    const d = 1 + r2 * (k1 + r2 * k2);
    const slope = 2 * (k1 + 2 * k2 * r2);
    const ex = x * d + 2 * p1 * x * y + p2 * (r2 + 2 * x * x) - xd;
    const ey = y * d + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y - yd;
    const xx = d + x * x * slope + 2 * p1 * y + 6 * p2 * x;
    const xy = x * y * slope + 2 * p1 * x + 2 * p2 * y;
    const yy = d + y * y * slope + 6 * p1 * y + 2 * p2 * x;
    const det = xx * yy - xy * xy;
    const dx = (ex * yy - ey * xy) / det;
    const dy = (ey * xx - ex * xy) / det;
    x -= dx;
    y -= dy;
    if (Math.abs(dx) + Math.abs(dy) < 1e-13) break;
  }
  return [x, y];
}

/** Point of the plane z = `zMm` (mat frame) that a pixel looks at. */
export function matFromPixel(view: ViewGeometry, uPx: number, vPx: number, zMm: number): [number, number] {
  const [x, y] = normalisedFromPixel(view.camera, uPx, vPx);
  const r = view.cameraFromMat.rotation;
  const [cx, cy, cz] = cameraCentreMm(view.cameraFromMat);
  // Direction of the ray in the mat frame: transposed rotation times (x, y, 1).
  const dx = r[0]! * x + r[3]! * y + r[6]!;
  const dy = r[1]! * x + r[4]! * y + r[7]!;
  const dz = r[2]! * x + r[5]! * y + r[8]!;
  const s = (zMm - cz) / dz;
  return [cx + s * dx, cy + s * dy];
}

/** Centre of projection in the mat frame, mm: minus transposed rotation times translation. */
export function cameraCentreMm(cameraFromMat: RigidMap): [number, number, number] {
  const r = cameraFromMat.rotation;
  const t = cameraFromMat.translationMm;
  return [
    -(r[0]! * t[0]! + r[3]! * t[1]! + r[6]! * t[2]!),
    -(r[1]! * t[0]! + r[4]! * t[1]! + r[7]! * t[2]!),
    -(r[2]! * t[0]! + r[5]! * t[1]! + r[8]! * t[2]!),
  ];
}

/** Local scale on the plane z = `zMm` at a mat point: pixels per mm, geometric mean of both directions. */
export function pxPerMmAt(view: ViewGeometry, xMm: number, yMm: number, zMm: number): number {
  const [u0, v0] = pixelFromMat(view, xMm - 0.5, yMm, zMm);
  const [u1, v1] = pixelFromMat(view, xMm + 0.5, yMm, zMm);
  const [u2, v2] = pixelFromMat(view, xMm, yMm - 0.5, zMm);
  const [u3, v3] = pixelFromMat(view, xMm, yMm + 0.5, zMm);
  return Math.sqrt(Math.abs((u1 - u0) * (v3 - v2) - (u3 - u2) * (v1 - v0)));
}

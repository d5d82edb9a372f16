import { normalisedFromPixel, pixelFromMat, type Camera, type ViewGeometry } from "./camera.js";

/**
 * What a picture can show, in normalised coordinates (x/z, y/z in the camera frame). A lens model is fitted to what lies
 * in the picture; far outside, its polynomial turns back, and a corner of the sheet that no camera could see would come
 * to lie in the middle of the photograph.
 */
export interface Sight {
  readonly xMin: number;
  readonly xMax: number;
  readonly yMin: number;
  readonly yMax: number;
  /** From this distance to the optical axis on the model turns back; Infinity if it never does. */
  readonly foldsAt: number;
}

/** The box round the picture's frame; points on the frame that the model cannot reach lie where it turns back. */
export function sightOf(camera: Camera, widthPx: number, heightPx: number): Sight {
  const foldsAt = foldRadius(camera);
  const xs: number[] = [];
  const ys: number[] = [];
  const steps = 8;
  for (let i = 0; i <= steps; i++) {
    const u = -0.5 + (i / steps) * widthPx;
    const v = -0.5 + (i / steps) * heightPx;
    const onFrame = [
      [u, -0.5],
      [u, heightPx - 0.5],
      [-0.5, v],
      [widthPx - 0.5, v],
    ] as const;
    for (const [a, b] of onFrame) {
      const [x, y] = reachable(camera, a, b, foldsAt);
      xs.push(x);
      ys.push(y);
    }
  }
  return {
    xMin: Math.min(...xs),
    xMax: Math.max(...xs),
    yMin: Math.min(...ys),
    yMax: Math.max(...ys),
    foldsAt,
  };
}

/** Is a point of the mat frame, mm, in the picture or as good as in it? */
export function isInSight({ cameraFromMat }: ViewGeometry, sight: Sight, point: Point3): boolean {
  const [x, y, z] = inCamera(cameraFromMat, point);
  return sidesOf(sight).every((side) => side([x, y, z]) >= 0) && Math.hypot(x, y) < sight.foldsAt * z;
}

/**
 * The part of a flat convex polygon that a picture can show, px: cut at the box of the frame, and its long sides bowed as
 * the lens bows them. Corners behind the camera and far outside the picture do no harm.
 *
 * @param cornersMm in order, mat frame. @returns no points if none of it can be seen.
 */
export function polygonInSight(
  view: ViewGeometry,
  sight: Sight,
  cornersMm: readonly Point3[],
): [number, number][] {
  let seen = cornersMm.map((p) => inCamera(view.cameraFromMat, p));
  for (const side of sidesOf(sight)) seen = cut(seen, side);
  const bow: ViewGeometry = { camera: view.camera, cameraFromMat: identity };
  return seen.flatMap(([x, y, z], i) => {
    const [nextX, nextY, nextZ] = seen[(i + 1) % seen.length]!;
    const [a, b] = [x / z, y / z];
    const [c, d] = [nextX / nextZ - a, nextY / nextZ - b];
    const pieces = Math.max(1, Math.ceil(Math.hypot(c, d) / longestPiece));
    return Array.from({ length: pieces }, (_, k): [number, number] => {
      const [p, q] = [a + (k / pieces) * c, b + (k / pieces) * d];
      const back = Math.min(1, sight.foldsAt / Math.hypot(p, q));
      return pixelFromMat(bow, back * p, back * q, 1);
    });
  });
}

type Point3 = readonly [number, number, number];
const identity = { rotation: [1, 0, 0, 0, 1, 0, 0, 0, 1], translationMm: [0, 0, 0] } as const;
/** A tenth of the focal length: over that the lens bows a line by less than a pixel or two. */
const longestPiece = 0.1;

/** Where r (1 + k1 r² + k2 r⁴) has its first greatest value. */
function foldRadius({ k1, k2 }: Camera): number {
  // Zero of the derivative 1 + 3 k1 s + 5 k2 s², s = r².
  if (k2 === 0) return k1 < 0 ? Math.sqrt(-1 / (3 * k1)) : Infinity;
  const root = 9 * k1 * k1 - 20 * k2;
  if (root < 0) return Infinity;
  const both = [-Math.sqrt(root), Math.sqrt(root)].map((r) => (-3 * k1 + r) / (10 * k2));
  const ahead = both.filter((s) => s > 0);
  return ahead.length === 0 ? Infinity : Math.sqrt(Math.min(...ahead));
}

function reachable(camera: Camera, u: number, v: number, foldsAt: number): [number, number] {
  const [x, y] = normalisedFromPixel(camera, u, v);
  if (Math.hypot(x, y) < foldsAt) return [x, y];
  const [a, b] = [(u - camera.cxPx) / camera.fxPx, (v - camera.cyPx) / camera.fyPx];
  const back = foldsAt / Math.hypot(a, b);
  return [back * a, back * b];
}

function inCamera(
  { rotation: r, translationMm: t }: ViewGeometry["cameraFromMat"],
  [x, y, z]: Point3,
): Point3 {
  return [
    r[0]! * x + r[1]! * y + r[2]! * z + t[0]!,
    r[3]! * x + r[4]! * y + r[5]! * z + t[1]!,
    r[6]! * x + r[7]! * y + r[8]! * z + t[2]!,
  ];
}

/** Zero or more on the inside of each side of the box; all four only in front of the camera. */
const sidesOf = ({ xMin, xMax, yMin, yMax }: Sight): readonly ((p: Point3) => number)[] => [
  ([x, , z]) => x - xMin * z,
  ([x, , z]) => xMax * z - x,
  ([, y, z]) => y - yMin * z,
  ([, y, z]) => yMax * z - y,
];

/** Sutherland and Hodgman's step (1974, from memory): what of a polygon lies on one side. */
function cut(polygon: readonly Point3[], side: (p: Point3) => number): Point3[] {
  return polygon.flatMap((p, i): Point3[] => {
    const q = polygon[(i + 1) % polygon.length]!;
    const [a, b] = [side(p), side(q)];
    const kept = a >= 0 ? [p] : [];
    if (a >= 0 === b >= 0) return kept;
    const t = a / (a - b);
    return [...kept, [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])]];
  });
}

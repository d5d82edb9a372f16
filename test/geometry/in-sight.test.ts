import { describe, expect, test } from "vitest";
import {
  isInSight,
  matFromPixel,
  multiply3,
  pixelFromMat,
  polygonInSight,
  rotationFromVector,
  sightOf,
  type ViewGeometry,
} from "../../src/geometry/index.js";

const [widthPx, heightPx] = [1536, 2048];

/** Close over one corner of the sheet, from aside, by a lens whose model turns back outside the picture. */
function closeCorner(k1: number, k2: number, tiltRad: number): ViewGeometry {
  const rotation = multiply3(rotationFromVector(Math.PI - tiltRad, 0, 0), rotationFromVector(0, 0, 0.04));
  const target = [-35, 60, 0] as const;
  const camera = { fxPx: 1900, fyPx: 1902, cxPx: 755, cyPx: 1030, k1, k2 };
  const t = [0, 1, 2].map((i) => -[0, 1, 2].reduce((s, j) => s + rotation[3 * i + j]! * target[j]!, 0));
  return { camera, cameraFromMat: { rotation, translationMm: [t[0]!, t[1]!, t[2]! + 190] } };
}

/** Even-odd rule, from memory. */
function isInside(polygon: readonly (readonly [number, number])[], u: number, v: number): boolean {
  let inside = false;
  polygon.forEach(([x, y], i) => {
    const [p, q] = polygon[(i + 1) % polygon.length]!;
    if (y > v !== q > v && u < x + ((v - y) / (q - y)) * (p - x)) inside = !inside;
  });
  return inside;
}

const box = (x0: number, y0: number, x1: number, y1: number): [number, number, number][] => [
  [x0, y0, 0],
  [x1, y0, 0],
  [x1, y1, 0],
  [x0, y1, 0],
];

describe("what a picture can show of the sheet", () => {
  // Where each pixel looks on the sheet is another way round, and held against OpenCV in camera.test.ts.
  test.each([
    ["a plain lens", 0, 0, 0.38],
    ["a lens whose model turns back outside the picture", -0.008, -0.065, 0.38],
    ["one that turns back just outside the picture", -0.2, 0, 0.38],
    ["a pincushion", 0.08, 0.02, 0.2],
    ["corners behind the camera", 0, -0.06, 1.2],
  ])("is what its pixels look at: %s", (_, k1, k2, tilt) => {
    const view = closeCorner(k1, k2, tilt);
    const sight = sightOf(view.camera, widthPx, heightPx);
    let compared = 0;
    for (const [x0, y0, x1, y1] of [
      [-105, -148, 105, 148],
      [-60, 20, -30, 75],
      [-400, 60, 900, 62],
    ] as const) {
      const polygon = polygonInSight(view, sight, box(x0, y0, x1, y1));
      for (let v = 1; v < heightPx; v += 41) {
        for (let u = 1; u < widthPx; u += 41) {
          const [x, y] = matFromPixel(view, u, v, 0);
          // Above the horizon the plane is met behind the camera.
          const [a, b] = pixelFromMat(view, x, y, 0);
          const isMet = Math.hypot(a - u, b - v) < 1;
          const margin = Math.min(x - x0, x1 - x, y - y0, y1 - y);
          if (isMet && Math.abs(margin) < 0.5) continue;
          compared++;
          expect(isInside(polygon, u, v), `${u}, ${v}: ${x} ${y}`).toBe(isMet && margin > 0);
        }
      }
    }
    expect(compared).toBeGreaterThan(3000);
  });

  test("is nothing where a box lies out of the picture, though the lens model folds it back into it", () => {
    const view = closeCorner(-0.008, -0.065, 0.38);
    const sight = sightOf(view.camera, widthPx, heightPx);
    const far = [330, 60, 0] as const;
    const [u, v] = pixelFromMat(view, ...far);
    expect(u > 0 && u < widthPx && v > 0 && v < heightPx).toBe(true);
    expect(isInSight(view, sight, far)).toBe(false);
    expect(isInSight(view, sight, [-35, 60, 0])).toBe(true);
    expect(polygonInSight(view, sight, box(310, 40, 350, 80))).toEqual([]);
  });
});

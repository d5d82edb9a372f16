import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import {
  cameraCentreMm,
  invert3,
  matFromPixel,
  multiply3,
  normalisedFromPixel,
  pixelFromMat,
  pxPerMmAt,
  rotationFromVector,
  type ViewGeometry,
} from "../../src/geometry/index.js";

interface OpencvCase {
  readonly fx: number;
  readonly fy: number;
  readonly cx: number;
  readonly cy: number;
  readonly k1: number;
  readonly k2: number;
  readonly p1: number;
  readonly p2: number;
  readonly rvec: [number, number, number];
  readonly rotation: number[];
  readonly tvec: number[];
  readonly points: [number, number, number][];
  readonly pixels: [number, number][];
  readonly normalised: [number, number][];
}
const { cases } = JSON.parse(
  readFileSync(new URL("../reference/opencv-projection/projection.json", import.meta.url), "utf8"),
) as { cases: OpencvCase[] };

const viewOf = (c: OpencvCase): ViewGeometry => ({
  camera: { fxPx: c.fx, fyPx: c.fy, cxPx: c.cx, cyPx: c.cy, k1: c.k1, k2: c.k2, p1: c.p1, p2: c.p2 },
  cameraFromMat: { rotation: c.rotation, translationMm: c.tvec },
});

/** Straight down from 400 mm, f 3000 px. */
const fromAbove: ViewGeometry = {
  camera: { fxPx: 3000, fyPx: 3000, cxPx: 2000, cyPx: 1500, k1: 0, k2: 0 },
  cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, 400] },
};

describe("against OpenCV (test/reference/opencv-projection)", () => {
  test("turns a rotation vector into the matrix that OpenCV gives", () => {
    for (const c of cases) {
      rotationFromVector(...c.rvec).forEach((v, i) => expect(v).toBeCloseTo(c.rotation[i]!, 12));
    }
  });

  test("projects points to the pixels that OpenCV gives, tangential terms included", () => {
    let compared = 0;
    for (const c of cases) {
      c.points.forEach((point, i) => {
        const [u, v] = pixelFromMat(viewOf(c), ...point);
        expect(u).toBeCloseTo(c.pixels[i]![0], 7);
        expect(v).toBeCloseTo(c.pixels[i]![1], 7);
        compared++;
      });
    }
    expect(compared).toBe(96);
  });

  test("takes the lens out as OpenCV does", () => {
    for (const c of cases) {
      c.pixels.forEach(([u, v], i) => {
        const [x, y] = normalisedFromPixel(viewOf(c).camera, u, v);
        // undistortPointsIter stops at about 1e-9.
        expect(x).toBeCloseTo(c.normalised[i]![0], 7);
        expect(y).toBeCloseTo(c.normalised[i]![1], 7);
      });
    }
  });
});

test("maps a pixel back to the point it came from, at any height", () => {
  for (const c of cases) {
    for (const [x, y, z] of c.points) {
      const [u, v] = pixelFromMat(viewOf(c), x, y, z);
      const back = matFromPixel(viewOf(c), u, v, z);
      expect(back[0]).toBeCloseTo(x, 8);
      expect(back[1]).toBeCloseTo(y, 8);
    }
  }
});

test("puts the camera's centre where its own projection has no depth", () => {
  const { cameraFromMat } = viewOf(cases[0]!);
  const [x, y, z] = cameraCentreMm(cameraFromMat);
  const r = cameraFromMat.rotation;
  for (let i = 0; i < 3; i++) {
    expect(
      r[3 * i]! * x + r[3 * i + 1]! * y + r[3 * i + 2]! * z + cameraFromMat.translationMm[i]!,
    ).toBeCloseTo(0, 9);
  }
});

test("gives NaN for points behind the camera instead of a mirror image", () => {
  expect(pixelFromMat(fromAbove, 0, 0, 401)).toEqual([NaN, NaN]);
});

// Closed form: px/mm is f over the distance to the plane.
test("knows the local scale straight below the camera", () => {
  expect(pxPerMmAt(fromAbove, 0, 0, 0)).toBeCloseTo(7.5, 9);
  expect(pxPerMmAt(fromAbove, 0, 0, 10)).toBeCloseTo(3000 / 390, 9);
});

// Closed form h/(D - h): 0.251, 0.503, 1.266, 2.564 % at D 400.
test.each([
  [1, 0.2506],
  [2, 0.5025],
  [5, 1.2658],
  [10, 2.5641],
])("reads a face %d mm up too large by %d %% when its height is forgotten", (heightMm, percent) => {
  const length = (zMm: number): number => {
    const [u0, v0] = pixelFromMat(fromAbove, -20, 5, heightMm);
    const [u1, v1] = pixelFromMat(fromAbove, 20, 5, heightMm);
    const [x0] = matFromPixel(fromAbove, u0, v0, zMm);
    const [x1] = matFromPixel(fromAbove, u1, v1, zMm);
    return x1 - x0;
  };
  expect(length(heightMm)).toBeCloseTo(40, 9);
  expect(100 * (length(0) / 40 - 1)).toBeCloseTo(percent, 4);
});

/*
 * The centre of an imaged circle is not the image of its centre; subject of J. Heikkila, IEEE PAMI 22 (2000) 1066-1077.
 * Table: image-ellipse centre (third column of H Q^-1 H^T) against the centre's own image, f 3000 px, 400 mm, no lens
 * terms; derived from projective geometry, in mm on the mat for a circle about the origin.
 */
test.each([
  [10, 5, 0.01069],
  [10, 20, 0.17102],
  [10, 40, 0.68425],
  [20, 5, 0.02009],
  [20, 20, 0.32149],
  [20, 40, 1.28708],
  [30, 5, 0.02706],
  [30, 20, 0.43328],
  [30, 40, 1.73639],
])(
  "images a circle at %d degrees tilt, radius %d mm, with its ellipse centre %d mm off",
  (tiltDeg, radius, biasMm) => {
    const tilted: ViewGeometry = {
      ...fromAbove,
      cameraFromMat: {
        ...fromAbove.cameraFromMat,
        rotation: multiply3(
          rotationFromVector((tiltDeg * Math.PI) / 180, 0, 0),
          fromAbove.cameraFromMat.rotation,
        ),
      },
    };
    // Centre of the conic through five imaged points of the circle, from its general equation.
    const points = [0, 1.1, 2.3, 3.7, 5.2].map((a) =>
      pixelFromMat(tilted, radius * Math.cos(a), radius * Math.sin(a), 0),
    );
    const [u0, v0] = pixelFromMat(tilted, 0, 0, 0);
    const centre = conicCentre(points.map(([u, v]) => [(u - u0) / 100, (v - v0) / 100]));
    // The table divides by the scale at the origin, 7.5 px/mm.
    expect((100 * Math.hypot(...centre)) / 7.5).toBeCloseTo(biasMm, 4);
    // Mapped to the plane first, edge points lie on the circle about its true centre.
    for (const [u, v] of points) expect(Math.hypot(...matFromPixel(tilted, u, v, 0))).toBeCloseTo(radius, 8);
  },
);

/** Centre of a x² + b xy + c y² + d x + e y = 1 through five points. */
function conicCentre(points: readonly (readonly number[])[]): [number, number] {
  const rows = points.map(([x, y]) => [x! * x!, x! * y!, y! * y!, x!, y!, 1]);
  for (let k = 0; k < 5; k++) {
    const pivot = rows.slice(k).reduce((best, row) => (Math.abs(row[k]!) > Math.abs(best[k]!) ? row : best));
    rows.splice(rows.indexOf(pivot), 1);
    rows.splice(k, 0, pivot);
    rows.forEach((row, i) => {
      if (i === k) return;
      const factor = row[k]! / pivot[k]!;
      for (let j = k; j < 6; j++) row[j]! -= factor * pivot[j]!;
    });
  }
  const [a, b, c, d, e] = rows.map((row, i) => row[5]! / row[i]!) as [number, number, number, number, number];
  const det = 4 * a * c - b * b;
  return [(b * e - 2 * c * d) / det, (b * d - 2 * a * e) / det];
}

test("inverts a matrix, and says when there is no inverse", () => {
  const m = [2, 0, 1, 1, 3, 0, 0, 1, 4];
  const inverse = invert3(m)!;
  multiply3(m, inverse).forEach((v, i) => expect(v).toBeCloseTo(i % 4 === 0 ? 1 : 0, 12));
  expect(invert3([1, 2, 3, 2, 4, 6, 0, 0, 1])).toBeUndefined();
});

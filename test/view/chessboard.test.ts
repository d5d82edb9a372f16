import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { solveLeastSquares } from "../../src/fit/index.js";
import { homographyFromPoints } from "../../src/geometry/index.js";
import { guessPose } from "../../src/view/guess-pose.js";
import { frameOfPose, geometryOf, Projector, unknown, unknownCount } from "../../src/view/mat-camera.js";
import type { CameraPrior, MarkerObservation } from "../../src/view/corner-system.js";
import { approachMatCamera, solveMatCamera } from "../../src/view/solve-mat-camera.js";

const read = <T>(name: string): T =>
  JSON.parse(readFileSync(new URL(`../reference/opencv-chessboard/${name}`, import.meta.url), "utf8")) as T;
const { cornersPx, board, published } = read<{
  board: [number, number];
  published: { fx: number; cx: number; cy: number };
  cornersPx: Record<string, [number, number][]>;
}>("corners.json");
const opencv = read<{
  rmsPx: number;
  fx: number;
  fy: number;
  cx: number;
  cy: number;
  k1: number;
  k2: number;
  views: Record<string, { rvec: number[]; tvecSquares: [number, number, number] }>;
}>("calibration.json");

/** Inner corners in squares, as OpenCV counts them. */
const boardPoints = Array.from(
  { length: board[0] * board[1] },
  (_, i) => [i % board[0], Math.floor(i / board[0])] as const,
);
const ringHalfMm = [8, 5] as const;
const poseIndices = [
  unknown.w,
  unknown.w + 1,
  unknown.w + 2,
  unknown.originU,
  unknown.originV,
  unknown.lnScale,
];
const sharedIndices = [unknown.lnF, unknown.lnAspect, unknown.cx, unknown.cy, unknown.k1, unknown.k2];

/*
 * Source: chessboard photographs of the OpenCV samples; expected numbers from cv2.calibrateCamera with the same lens
 * terms (test/reference/opencv-chessboard). 13 views, one camera: 6 shared unknowns and 6 of each pose.
 */
test("finds the camera of the chessboard photographs as OpenCV does, from thirteen views at once", () => {
  const views = Object.values(cornersPx).map((seen) => {
    const h = homographyFromPoints(boardPoints.flat(), seen.flat())!;
    const guess = guessPose(h, 600, 319.5, 239.5)!;
    return {
      seen,
      ...frameOfPose(
        guess.rotation,
        guess.translationMm,
        { lnF: Math.log(600), cx: 319.5, cy: 239.5 },
        ringHalfMm,
      ),
    };
  });
  const full = (params: Float64Array, view: number): Float64Array => {
    const out = new Float64Array(unknownCount);
    sharedIndices.forEach((index, i) => (out[index] = params[i]!));
    poseIndices.forEach((index, i) => (out[index] = params[6 + 6 * view + i]!));
    out[unknown.sx] = 1;
    out[unknown.sy] = 1;
    return out;
  };
  const n = 6 + 6 * views.length;
  const residualCount = 2 * boardPoints.length * views.length;
  const walk = (params: Float64Array, residuals?: Float64Array, jacobian?: Float64Array): void => {
    const pixel = new Float64Array(2);
    const derivatives = new Float64Array(2 * unknownCount);
    let row = 0;
    views.forEach(({ frame, seen }, view) => {
      const projector = new Projector(frame, full(params, view));
      boardPoints.forEach(([x, y], i) => {
        projector.project(x, y, pixel, derivatives);
        for (const k of [0, 1]) {
          if (residuals) residuals[row] = seen[i]![k]! - pixel[k]!;
          if (jacobian) {
            sharedIndices.forEach(
              (index, j) => (jacobian[row * n + j] = -derivatives[k * unknownCount + index]!),
            );
            poseIndices.forEach((index, j) => {
              jacobian[row * n + 6 + 6 * view + j] = -derivatives[k * unknownCount + index]!;
            });
          }
          row++;
        }
      });
    });
  };
  const fit = solveLeastSquares({
    residuals: (params, out) => walk(params, out),
    jacobian: (params, out) => {
      out.fill(0);
      walk(params, undefined, out);
    },
    residualCount,
    start: [Math.log(600), 0, 319.5, 239.5, 0, 0, ...views.flatMap(({ pose }) => pose)],
  });
  if (!fit.ok) throw new Error(fit.problem.text);
  const { params, sumOfSquares } = fit.value;
  const fx = Math.exp(params[0]! + params[1]! / 2);
  const fy = Math.exp(params[0]! - params[1]! / 2);
  // OpenCV's corners enter as 32-bit floats: agreement to about a thousandth of a pixel.
  expect(fx).toBeCloseTo(opencv.fx, 2);
  expect(fy).toBeCloseTo(opencv.fy, 2);
  expect(params[2]).toBeCloseTo(opencv.cx, 2);
  expect(params[3]).toBeCloseTo(opencv.cy, 2);
  expect(params[4]).toBeCloseTo(opencv.k1, 4);
  expect(params[5]).toBeCloseTo(opencv.k2, 4);
  expect(Math.sqrt(sumOfSquares / (residualCount / 2))).toBeCloseTo(opencv.rmsPx, 5);
  // The samples' own camera (five lens terms) is the same within its scatter (s.d. of f 1.4, c 1.5 px).
  expect(Math.abs(fx - published.fx)).toBeLessThan(3);
  expect(Math.abs(params[2]! - published.cx)).toBeLessThan(3);
  expect(Math.abs(params[3]! - published.cy)).toBeLessThan(3);
  Object.keys(cornersPx).forEach((name, view) => {
    const { translationMm } = geometryOf(views[view]!.frame, full(params, view)).cameraFromMat;
    translationMm.forEach((t, i) => expect(t).toBeCloseTo(opencv.views[name]!.tvecSquares[i]!, 3));
  });
});

/** The board's squares stand in for markers: every second one of every second row, no bloom between black and white. */
function squaresOf(seen: readonly (readonly [number, number])[]): MarkerObservation[] {
  const out: MarkerObservation[] = [];
  for (let row = 0; row + 1 < board[1]; row += 2) {
    for (let column = 0; column + 1 < board[0]; column += 2) {
      const at = [row * board[0] + column, row * board[0] + column + 1];
      const order = [at[0]!, at[1]!, at[1]! + board[0], at[0]! + board[0]];
      out.push({
        id: out.length,
        nominalMm: Float64Array.from(order.flatMap((i) => boardPoints[i]!)),
        cornersPx: Float64Array.from(order.flatMap((i) => seen[i]!)),
        uPx: 0.1,
      });
    }
  }
  return out;
}

test("finds the pose of single chessboard photographs, with the camera only roughly known", () => {
  const prior: CameraPrior = {
    lnF: [Math.log(536), 0.05],
    lnAspect: [0, 0.0005],
    cx: [342, 3],
    cy: [235, 3],
    k1: [0, 0.15],
    k2: [0, 0.3],
    tangential: [0, 0.0007],
    sx: [1, 0.002],
    sy: [1, 0.002],
    bloom: [0, 1.5],
    bow: [0, 0.012],
  };
  let compared = 0;
  let sumOfSquares = 0;
  for (const [name, seen] of Object.entries(cornersPx)) {
    // left02 is the bad photograph of the set: 1.2 px rms with every model.
    if (name === "left02.jpg") continue;
    const squares = squaresOf(seen);
    const h = homographyFromPoints(
      squares.flatMap(({ nominalMm }) => [...nominalMm]),
      squares.flatMap(({ cornersPx: corners }) => [...corners]),
    )!;
    const start = guessPose(h, 536, 342, 235)!;
    const solved = solveMatCamera(squares, prior, approachMatCamera(squares, prior, start, ringHalfMm));
    if (!solved.ok) throw new Error(solved.problem.text);
    const { covariance, params, frame, rmsPx } = solved.value;
    expect(rmsPx).toBeLessThan(0.3);
    expect(Math.abs(params[unknown.bloom]!)).toBeLessThan(0.15);
    // OpenCV's own standard deviation of the focal length is 0.25 %; distance goes with the focal length.
    const u = Math.hypot(Math.sqrt(covariance[unknown.lnF * (unknownCount + 1)]!), 0.0025);
    const { translationMm } = geometryOf(frame, params).cameraFromMat;
    const z = Math.log(translationMm[2]! / opencv.views[name]!.tvecSquares[2]) / u;
    expect(Math.abs(z)).toBeLessThan(3.5);
    expect(Math.abs(params[unknown.lnF]! - Math.log(opencv.fx)) / u).toBeLessThan(3.5);
    sumOfSquares += z * z;
    compared++;
  }
  expect(compared).toBe(12);
  // A wide lens that needs a sixth-order term we do not have: 1.5 rather than 1.
  expect(Math.sqrt(sumOfSquares / 12)).toBeLessThan(2);
});

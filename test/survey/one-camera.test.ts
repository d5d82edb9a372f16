import { expect, test } from "vitest";
import { cameraCentreMm, homographyFromPoints } from "../../src/geometry/index.js";
import { identityAffine } from "../../src/parts/face-plane.js";
import { readCamera } from "../../src/parts/reference-marks/read-camera.js";
import type { Photo } from "../../src/photo/index.js";
import { asOneCamera } from "../../src/survey/compare/one-camera.js";
import type { WheelPhoto } from "../../src/survey/set-photo.js";
import { guessPose } from "../../src/view/guess-pose.js";
import { approachMatCamera, solveMatCamera } from "../../src/view/solve-mat-camera.js";
import { solvedCamera } from "../../src/view/solved-camera.js";
import type { View } from "../../src/view/index.js";
import { cameraPosition } from "../scenes/scene-camera.js";
import { mulberry } from "../view/photograph-mat.js";
import { simulateCorners, type SimulatedCorners } from "../view/simulate-corners.js";
import { inventedMarks } from "./invented-marks.js";

const ringHalfMm = [88, 131.5] as const;

/** Solved from simulated corners, by itself; a wheel of 20 mm stands in the middle of the sheet. */
function photographed(corners: SimulatedCorners, file: string): WheelPhoto {
  const { observations, prior } = corners;
  const h = homographyFromPoints(
    observations.flatMap(({ nominalMm }) => [...nominalMm]),
    observations.flatMap(({ cornersPx }) => [...cornersPx]),
  )!;
  const guess = guessPose(h, Math.exp(prior.lnF[0]), prior.cx[0], prior.cy[0])!;
  const solved = solveMatCamera(
    observations,
    prior,
    approachMatCamera(observations, prior, guess, ringHalfMm),
  );
  if (!solved.ok) throw new Error(solved.problem.text);
  const photo = { widthPx: 4000, heightPx: 3000, cameraData: {} } as Photo;
  const { geometry } = solved.value;
  const view = { solved: solvedCamera(solved.value) } as View;
  const face = { geometry, zMm: 2, xMm: 0, yMm: 0, affine: identityAffine };
  const camera = readCamera(photo, view, face, 20)!;
  return { file, marks: { ...inventedMarks(), camera, cameraMm: cameraCentreMm(geometry.cameraFromMat) } };
}

// The simulated corners come from the scenes' own projection, and the truth from their camera.
const random = mulberry(91);
const sets = Array.from({ length: 12 }, () => {
  const options = { random, mostTiltRad: 0.12, uBowMm: 0, uTangential: 0, markerPx: 0.01, cornerPx: 0.03 };
  const first = simulateCorners(options);
  const corners = [first, ...[1, 2, 3].map(() => simulateCorners({ ...options, like: first }))];
  return { corners, apart: corners.map((c, k) => photographed(c, `${k}.jpg`)) };
});

/** Where the camera stood beside the truth, by its height: what a lean is wrong by. */
const leanErrors = (photos: readonly WheelPhoto[], corners: readonly SimulatedCorners[]): number[] =>
  photos.flatMap(({ marks }, k) => {
    const [x, y, z] = cameraPosition(corners[k]!.pose);
    return [(marks.cameraMm[0] - x) / z, (marks.cameraMm[1] - y) / z];
  });
const rms = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);

test("four photographs from above know where the camera stood three times better together than each alone", () => {
  const apart = sets.flatMap((s) => leanErrors(s.apart, s.corners));
  const together = sets.flatMap((s) => leanErrors(asOneCamera(s.apart), s.corners));
  expect(rms(together)).toBeLessThan(rms(apart) / 3);
});

test("and as well as they say: mean square of error over u is about 1", () => {
  const z = sets.flatMap(({ apart, corners }) =>
    asOneCamera(apart).flatMap(({ marks }, k) => {
      const truth = cameraPosition(corners[k]!.pose);
      return truth.map((t, i) => {
        const u = Math.hypot(...marks.centreTerms.map((term) => term.cameraMm[i]!));
        return (marks.cameraMm[i]! - t) / u;
      });
    }),
  );
  // 144 numbers of 12 sets, those of one set alike; lenses that wander are allowed for and do not here.
  expect(rms(z)).toBeGreaterThan(0.5);
  expect(rms(z)).toBeLessThan(1.4);
});

test("photographs of another camera change nothing", () => {
  const other = simulateCorners({ random, mostTiltRad: 0.4, uBowMm: 0, uTangential: 0, uLnF: 0.4 });
  const photos = [...sets[0]!.apart, photographed(other, "other.jpg")];
  expect(asOneCamera(photos)).toEqual(photos);
});

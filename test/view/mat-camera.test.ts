import { expect, test } from "vitest";
import { pixelFromMat } from "../../src/geometry/index.js";
import { frameOfPose, geometryOf, Projector, unknown, unknownCount } from "../../src/view/mat-camera.js";
import { poseLookingAt } from "../scenes/scene-camera.js";
import { mulberry } from "./photograph-mat.js";

const ringHalfMm = [88, 131] as const;

function randomCamera(random: () => number): {
  frame: ReturnType<typeof frameOfPose>["frame"];
  params: Float64Array;
} {
  const pose = poseLookingAt({
    targetMm: [20 * random(), -20 * random()],
    distanceMm: 300 + 200 * random(),
    tiltRad: 0.7 * random(),
    azimuthRad: 6.28 * random(),
    rollRad: 6.28 * random(),
  });
  const some = (size: number): number => size * (2 * random() - 1);
  const params = new Float64Array(unknownCount);
  params[unknown.lnF] = Math.log(3000);
  params[unknown.cx] = 2000;
  params[unknown.cy] = 1500;
  const camera = { lnF: Math.log(3000), cx: 2000, cy: 1500 };
  const { frame, pose: values } = frameOfPose(
    pose.rotation,
    pose.translationMm as [number, number, number],
    camera,
    ringHalfMm,
  );
  params.set(values, unknown.w);
  for (let i = 0; i < 3; i++) params[unknown.w + i] = some(0.2);
  params[unknown.k1] = some(0.3);
  params[unknown.k2] = some(0.2);
  params[unknown.p1] = some(0.003);
  params[unknown.p2] = some(0.003);
  params[unknown.lnAspect] = some(0.01);
  params[unknown.sx] = 1 + some(0.01);
  params[unknown.sy] = 1 + some(0.01);
  params[unknown.bowXX] = some(1);
  params[unknown.bowXY] = some(1);
  params[unknown.bowYY] = some(1);
  return { frame, params };
}

test("derivatives of the projection agree with differences", () => {
  const random = mulberry(3);
  const out = new Float64Array(2);
  const ahead = new Float64Array(2);
  const behind = new Float64Array(2);
  const derivatives = new Float64Array(2 * unknownCount);
  for (let trial = 0; trial < 20; trial++) {
    const { frame, params } = randomCamera(random);
    const x = 180 * (random() - 0.5);
    const y = 260 * (random() - 0.5);
    expect(new Projector(frame, params).project(x, y, out, derivatives)).toBe(true);
    for (let j = 0; j < unknownCount; j++) {
      const step = 1e-6 * Math.max(1, Math.abs(params[j]!));
      const moved = params.slice();
      moved[j]! += step;
      new Projector(frame, moved).project(x, y, ahead);
      moved[j]! -= 2 * step;
      new Projector(frame, moved).project(x, y, behind);
      for (const k of [0, 1]) {
        const difference = (ahead[k]! - behind[k]!) / (2 * step);
        const derivative = derivatives[k * unknownCount + j]!;
        // Rounding of pixels near 4000 over a step of 1e-6 leaves some 1e-6.
        expect(Math.abs(derivative - difference)).toBeLessThan(1e-5 * Math.max(1, Math.abs(derivative)));
      }
    }
  }
});

test("projects like the camera it stands for, with the print scale taken out and the bow as a height", () => {
  const random = mulberry(4);
  const out = new Float64Array(2);
  for (let trial = 0; trial < 20; trial++) {
    const { frame, params } = randomCamera(random);
    const geometry = geometryOf(frame, params);
    const x = 180 * (random() - 0.5);
    const y = 260 * (random() - 0.5);
    const X = x / ringHalfMm[0];
    const Y = y / ringHalfMm[1];
    const z =
      params[unknown.bowXX]! * X * X + params[unknown.bowXY]! * X * Y + params[unknown.bowYY]! * Y * Y;
    new Projector(frame, params).project(x, y, out);
    const [u, v] = pixelFromMat(geometry, params[unknown.sx]! * x, params[unknown.sy]! * y, z);
    expect(out[0]).toBeCloseTo(u, 8);
    expect(out[1]).toBeCloseTo(v, 8);
    // A plane chosen lower makes the same point higher.
    const [u2, v2] = pixelFromMat(
      geometryOf(frame, params, -0.7),
      params[unknown.sx]! * x,
      params[unknown.sy]! * y,
      z + 0.7,
    );
    expect(u2).toBeCloseTo(u, 8);
    expect(v2).toBeCloseTo(v, 8);
  }
});

test("keeps a pose through its parameters", () => {
  const pose = poseLookingAt({ targetMm: [5, 8], distanceMm: 350, tiltRad: 0.5, azimuthRad: 1, rollRad: 2 });
  const camera = { lnF: Math.log(2800), cx: 1990, cy: 1480 };
  const { frame, pose: values } = frameOfPose(
    pose.rotation,
    pose.translationMm as [number, number, number],
    camera,
    ringHalfMm,
  );
  const params = new Float64Array(unknownCount);
  params[unknown.lnF] = camera.lnF;
  params[unknown.cx] = camera.cx;
  params[unknown.cy] = camera.cy;
  params.set(values, unknown.w);
  const { rotation, translationMm } = geometryOf(frame, params).cameraFromMat;
  rotation.forEach((v, i) => expect(v).toBeCloseTo(pose.rotation[i]!, 12));
  translationMm.forEach((v, i) => expect(v).toBeCloseTo(pose.translationMm[i]!, 9));
});

import { describe, expect, test } from "vitest";
import { ThickOutline } from "../../src/parts/thick-outline.js";
import { faceAt, straightDown } from "./straight-down.js";

const thicknessMm = 1.5;
const cameraMm = 400;
const camera = straightDown(cameraMm);

/** Where the lower circle's outermost point lies along the normal, seen on the upper plane: rays, point by point. */
function lowerReach(xMm: number, yMm: number, radiusMm: number, angleRad: number): number {
  let most = -Infinity;
  for (let i = 0; i < 7200; i++) {
    const t = (2 * Math.PI * i) / 7200;
    const p = [xMm + radiusMm * Math.cos(t), yMm + radiusMm * Math.sin(t)] as const;
    // A ray from (0, 0, camera) to the point at height 0 meets the upper plane this far along.
    const s = (cameraMm - thicknessMm) / cameraMm;
    most = Math.max(most, (s * p[0] - xMm) * Math.cos(angleRad) + (s * p[1] - yMm) * Math.sin(angleRad));
  }
  return most;
}

describe("trap 2: silhouette of a thick disc", () => {
  test("1.5 mm thick, 100 mm off, 400 mm up: the near side stands out by 0.376 mm on the mat", () => {
    // Closed form t x / (D - t), with D above the lower edge: derived, 0.376 mm.
    const onMat = (thicknessMm * 100) / (cameraMm - thicknessMm);
    expect(onMat).toBeCloseTo(0.376, 3);
    // The near point of this wheel lies 100 mm from the foot point.
    const thick = new ThickOutline(faceAt(camera, 120, 0, thicknessMm), thicknessMm);
    const excess = thick.rimExcessMm(Math.PI, 20);
    // From the plane of the face down to the mat.
    expect(excess * (cameraMm / (cameraMm - thicknessMm))).toBeCloseTo(onMat, 9);
  });

  test("agrees with rays all round, for a rim and a hole", () => {
    const [x, y, radius] = [70, -45, 18];
    const thick = new ThickOutline(faceAt(camera, x, y, thicknessMm), thicknessMm);
    let seenBelow = 0;
    for (let k = 0; k < 24; k++) {
      const t = (2 * Math.PI * k) / 24;
      const out = lowerReach(x, y, radius, t) - radius;
      expect(thick.rimExcessMm(t, radius)).toBeCloseTo(Math.max(0, out), 4);
      expect(thick.holeExcessMm(t, radius)).toBeCloseTo(Math.min(0, out), 4);
      if (out > 0) seenBelow++;
    }
    // A half circle, and a little less: the lower figure is also smaller.
    expect(seenBelow).toBeGreaterThan(6);
    expect(seenBelow).toBeLessThan(13);
  });

  test("under the camera nothing looks out from below", () => {
    const thick = new ThickOutline(
      faceAt(straightDown(cameraMm, [30, 10]), 30, 10, thicknessMm),
      thicknessMm,
    );
    for (let k = 0; k < 12; k++) expect(thick.rimExcessMm(k / 2, 20)).toBe(0);
    // The bore's lower edge is seen inside the upper one: r t / D.
    expect(thick.holeExcessMm(0.7, 2)).toBeCloseTo((-2 * thicknessMm) / cameraMm, 12);
  });

  test("a sheet without thickness has one outline", () => {
    const thick = new ThickOutline(faceAt(camera, 90, 20, 1.5), 0);
    expect(thick.rimExcessMm(3, 20)).toBeCloseTo(0, 12);
    expect(thick.middleShiftMm(1)).toBeCloseTo(0, 12);
  });

  test("teeth beside the line to the foot point are seen half the offset towards it", () => {
    const thick = new ThickOutline(faceAt(camera, 100, 0, thicknessMm), thicknessMm);
    const half = (0.5 * thicknessMm * 100) / cameraMm;
    // At 90 degrees counter-clockwise is -x, towards the foot; at 270 degrees it is away from it.
    expect(thick.middleShiftMm(Math.PI / 2)).toBeCloseTo(half, 12);
    expect(thick.middleShiftMm((3 * Math.PI) / 2)).toBeCloseTo(-half, 12);
    expect(thick.middleShiftMm(0)).toBeCloseTo(0, 12);
  });
});

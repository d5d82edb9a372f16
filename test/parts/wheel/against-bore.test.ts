import { expect, test } from "vitest";
import type { CircleTerm } from "../../../src/parts/camera-terms.js";
import { boreOf } from "../../../src/parts/wheel/against-bore.js";
import type { Bore } from "../../../src/parts/wheel/find-bore.js";
import type { ToothCircle } from "../../../src/parts/wheel/fit-tooth-circle.js";
import type { ToothPlaces } from "../../../src/parts/wheel/tooth-places.js";
import { standardUncertainty } from "../../../src/quantity/index.js";

const circle = {
  radialMm: [0.3, 0],
  tangentialMm: [0.3, 0],
  centreMm: [0.3, 0],
  uCentreMm: 0.01,
  uRadialMm: 0.01,
  uTangentialMm: 0.01,
  centresAgree: true,
  wall: { share: 0.5, u: 0.25, withCentreMm: [0, 0] },
  ovalMm: [0, 0],
  threeLobeMm: [0, 0],
  tipScatterMm: 0.01,
  usedTeeth: 60,
} as unknown as ToothCircle;
const bore: Bore = {
  xMm: 0,
  yMm: 0,
  radiusMm: 2,
  uCentreMm: 0.01,
  uRadiusMm: 0.01,
  perWallMm: [0, 0],
  surelyOpen: true,
};
const places = { angleRad: Float64Array.of(0, 2, 4) } as unknown as ToothPlaces;
const lean = (dxMm: number): CircleTerm[] => [{ id: "pose:lean", dxMm, dyMm: 0, stretch: 0, ovalMm: [0, 0] }];
const uOf = (ofTips: number, ofBore: number): number =>
  standardUncertainty(
    boreOf(
      circle,
      bore,
      places,
      { owner: "w", terms: lean(ofTips), byLight: false, uEdgeMm: 0.01, uMeanEdgeMm: 0.01 },
      lean(ofBore),
    ).eccentricityMm!,
  );

test("a shift of the camera moves tips and bore alike, and says nothing of the eccentricity", () => {
  expect(uOf(0.08, 0.08)).toBeCloseTo(Math.hypot(0.01, 0.01), 4);
});

test("a lean of the camera that draws the tips off the bore makes the eccentricity as doubtful", () => {
  expect(uOf(0.08, 0.02)).toBeCloseTo(Math.hypot(0.06, 0.01, 0.01), 4);
});

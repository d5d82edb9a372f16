import { expect, test } from "vitest";
import { fitRakedDepth } from "../../../src/parts/wheel/fit-raked-depth.js";
import { toothProfile } from "../../scenes/tooth-profile.js";
import { meanAlongRadius, shareOfOutline } from "./drawn-teeth.js";

/** At 10 px/mm. */
const pxMm = 0.1;
const stepMm = 0.5 * pxMm;

// An upright tooth ends where its share of the pitch has nearly vanished; taken for one, these end 2 to 5 px too far out.
test.each([
  ["escape-recoil", 0.64],
  ["escape-recoil", 0.86],
  ["escape-deadbeat", 0.86],
  ["ratchet", 0.64],
  ["ratchet", 0.86],
] as const)(
  "trap 12: raked teeth of a %s wheel, module %f, end in a land: tip and root to half a pixel",
  (form, m) => {
    const toothCount = 36;
    const sigmaMm = 0.155;
    const { points, tipRadiusMm: tip, rootRadiusMm: root } = toothProfile(form, toothCount, m, { rake: 1 });
    const share = shareOfOutline(points, toothCount);
    const fromMm = root - 0.8;
    const count = Math.round((tip + 0.8 - fromMm) / stepMm) + 1;
    const seen = Float64Array.from({ length: count }, (_, j) =>
      meanAlongRadius(share, fromMm + j * stepMm, sigmaMm),
    );
    const depth = fitRakedDepth(
      { share: seen, fromMm, stepMm, pitchRad: (2 * Math.PI) / toothCount },
      // The guess is what the outline's quantiles give: inside the tip, outside the root.
      { tipMm: tip - 0.7 * pxMm, rootMm: root + 0.4 * pxMm },
      { sigmaMm, uMm: 0.018 },
    )!;
    expect(Math.abs(depth.tipMm - tip)).toBeLessThan(0.5 * pxMm);
    expect(Math.abs(depth.rootMm - root)).toBeLessThan(0.5 * pxMm);
  },
);

test("a share without teeth gives no depth that is claimed to be known", () => {
  const depth = fitRakedDepth(
    { share: new Float64Array(60).fill(0.5), fromMm: 18, stepMm, pitchRad: 0.17 },
    { tipMm: 20, rootMm: 19 },
    { sigmaMm: 0.08, uMm: 0.01 },
  );
  if (depth !== undefined) expect(depth.uTipMm).toBeGreaterThan(pxMm);
});

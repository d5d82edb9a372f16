import { describe, expect, test } from "vitest";
import { fitMeanTooth } from "../../../src/parts/wheel/fit-mean-tooth.js";
import type { MeanTooth } from "../../../src/parts/wheel/mean-tooth.js";
import type { ToothDepth } from "../../../src/parts/wheel/tooth-depth.js";
import { toothProfile } from "../../scenes/tooth-profile.js";
import { heightBeside, rectangular, rounded, shareOfProfile, type Share } from "./drawn-teeth.js";

/** At 10 px/mm. */
const pxMm = 0.1;
const stepMm = 0.5 * pxMm;

/** The mean tooth as a picture would show it, cells of half a pixel. */
function drawn(share: Share, toothCount: number, rootMm: number, tipMm: number, sigmaMm: number): MeanTooth {
  const pitchRad = (2 * Math.PI) / toothCount;
  const fromMm = rootMm - 0.5;
  const rows = Math.round((tipMm + 0.6 - fromMm) / stepMm) + 1;
  const columns = Math.ceil((pitchRad * tipMm) / 2 / stepMm);
  const value = new Float64Array(rows * columns);
  for (let j = 0; j < rows; j++)
    for (let h = 0; h < columns; h++) {
      const r = fromMm + j * stepMm;
      const pitchMm = pitchRad * r;
      value[j * columns + h] = heightBeside(
        share,
        r,
        ((h + 0.5) / (2 * columns)) * pitchMm,
        pitchMm,
        sigmaMm,
      );
    }
  return { value, rows, columns, fromMm, stepMm, pitchRad };
}

function fit(share: Share, toothCount: number, rootMm: number, tipMm: number, sigmaMm: number): ToothDepth {
  // The guess is what the outline's quantiles give: inside the tip, outside the root.
  const guess = { tipMm: tipMm - 0.7 * pxMm, rootMm: rootMm + 0.4 * pxMm };
  return fitMeanTooth(
    drawn(share, toothCount, rootMm, tipMm, sigmaMm),
    guess,
    { sigmaMm, uMm: 0.1 * sigmaMm },
    0,
  )!;
}

// Their height against the radius alone reads as that of longer, pointed teeth: 1 to 1.5 px too far out.
describe("blunt teeth are not read as longer, pointed ones", () => {
  test.each([
    [0.6, 0.08, 0],
    [1, 0.08, 0],
    [1.6, 0.12, 0],
    [1, 0.08, 0.1],
    [1, 0.12, 0.2],
    [1.6, 0.12, 0.3],
  ])(
    "%f mm deep, blurred by %f mm, corners of %f mm: tip and root to 0.25 px",
    (depthMm, sigmaMm, cornerMm) => {
      const [root, tip] = [19.13, 19.13 + depthMm];
      const share = cornerMm === 0 ? rectangular(root, tip, 0.48) : rounded(root, tip, 0.48, cornerMm, 80);
      const depth = fit(share, 80, root, tip, sigmaMm);
      expect(Math.abs(depth.tipMm - tip) / pxMm).toBeLessThan(0.25);
      expect(Math.abs(depth.rootMm - root) / pxMm).toBeLessThan(0.25);
    },
  );
});

describe("trap 12: narrow tips look short", () => {
  // Cycloidal teeth after BS 978-2:1952 as the scenes draw them.
  test.each([
    [0.4, 60, 8, 0.1],
    [0.5, 72, 7, 0.12],
    [0.8, 64, 8, 0.2],
  ])("module %f, %i teeth for %i leaves, blur %f mm", (m, toothCount, leaves, sigmaMm) => {
    const {
      points,
      tipRadiusMm: tip,
      rootRadiusMm: root,
    } = toothProfile("cycloidal", toothCount, m, { leaves, rake: 1 });
    const share = shareOfProfile(points, toothCount);
    // The profile is read as the generator means it: half metal on the pitch circle.
    expect(share((toothCount * m) / 2)).toBeCloseTo(0.5, 3);
    const short = halfHeightShortPx(share, tip, (2 * Math.PI * tip) / toothCount, sigmaMm);
    expect(short).toBeGreaterThan(0.4);
    const depth = fit(share, toothCount, root, tip, sigmaMm);
    const errors = `half height ${short.toFixed(2)} px short; fit ${((depth.tipMm - tip) / pxMm).toFixed(2)} px`;
    expect(Math.abs(depth.tipMm - tip) / pxMm, errors).toBeLessThan(0.3);
    expect(Math.abs(depth.tipMm - tip) / pxMm, errors).toBeLessThan(0.5 * short);
    expect(Math.abs(depth.rootMm - root) / pxMm).toBeLessThan(0.25);
  });
});

/** Where the picture of the tooth falls through half height on its middle line: px inside the tip. */
function halfHeightShortPx(share: Share, tipMm: number, pitchMm: number, sigmaMm: number): number {
  let [low, high] = [tipMm - 12 * pxMm, tipMm + 3 * pxMm];
  for (let i = 0; i < 30; i++) {
    const middle = 0.5 * (low + high);
    if (heightBeside(share, middle, 0, pitchMm, sigmaMm) > 0.5) low = middle;
    else high = middle;
  }
  return (tipMm - low) / pxMm;
}

test.each([
  ["involute-like", 0.6, 60],
  ["involute-like", 1, 60],
  ["pinion", 1, 10],
] as const)("%s teeth of module %f, %i of them: tip and root to 0.25 px", (form, m, toothCount) => {
  const { points, tipRadiusMm: tip, rootRadiusMm: root } = toothProfile(form, toothCount, m, { rake: 1 });
  const depth = fit(shareOfProfile(points, toothCount), toothCount, root, tip, 0.08);
  expect(Math.abs(depth.tipMm - tip) / pxMm).toBeLessThan(0.25);
  expect(Math.abs(depth.rootMm - root) / pxMm).toBeLessThan(0.25);
});

test("a picture without teeth gives no depth that is claimed to be known", () => {
  const mean: MeanTooth = {
    value: new Float64Array(60 * 8).fill(0.5),
    rows: 60,
    columns: 8,
    fromMm: 18,
    stepMm,
    pitchRad: 0.08,
  };
  const depth = fitMeanTooth(mean, { tipMm: 20, rootMm: 19 }, { sigmaMm: 0.08, uMm: 0.01 }, 0);
  if (depth !== undefined) expect(depth.uTipMm).toBeGreaterThan(pxMm);
});

import { describe, expect, test } from "vitest";
import { fitHarmonics } from "../../../src/fit/index.js";
import type { ToothCount } from "../../../src/parts/wheel/count-teeth.js";
import { isUnround, weighOutline } from "../../../src/parts/wheel/shadows.js";

const counted = (count: number, probability: number): ToothCount =>
  ({ count, probability, alternatives: [] }) as unknown as ToothCount;

/** The outline of a disc and of its shadow shifted by `shift` along x, as a circle fit sees it. Closed form. */
function outlineWithShadow(shift: number, uOvalMm: number) {
  const angles = Float64Array.from({ length: 360 }, (_, i) => (i * Math.PI) / 180);
  const radii = angles.map((t) => 20 + shift * Math.max(0, Math.cos(t)));
  const fit = fitHarmonics(angles, radii, [1, 2]);
  if (!fit.ok) throw new Error("no fit");
  const [, second] = fit.value.harmonics;
  return { ovalMm: [second!.cosine, second!.sine] as [number, number], uOvalMm };
}

describe("a count by lightness, once the outline is known", () => {
  const wheel = { rim: { tipMm: 20 }, count: counted(80, 0.93), unshadowed: 0.999 };
  const pitchMm = (2 * Math.PI * 20) / 80;

  test("is believed where the outline leaves no room for a shadow", () => {
    expect(weighOutline(wheel, outlineWithShadow(0.05 * pitchMm, 0.01), false).probability).toBe(0.999);
  });

  test("stays doubtful where a shadow may be shifted by half a pitch", () => {
    for (const shift of [0.45, 0.6, 1])
      expect(weighOutline(wheel, outlineWithShadow(shift * pitchMm, 0.01), false).probability).toBe(0.93);
  });

  test("stays doubtful where the outline is too coarse to tell", () => {
    expect(weighOutline(wheel, outlineWithShadow(0, 0.1 * pitchMm), false).probability).toBe(0.93);
  });

  test("is not sure at all where the outline is unround", () => {
    expect(weighOutline(wheel, outlineWithShadow(pitchMm, 0.01), true).probability).toBe(0.6);
  });

  test("without that doubt nothing is given back", () => {
    const doubted = { rim: wheel.rim, count: counted(80, 0.8) };
    expect(weighOutline(doubted, outlineWithShadow(0, 0.01), false).probability).toBe(0.8);
  });
});

test("the grain of a coarse picture makes no small wheel unround", () => {
  // Radius 2.5 mm at 10 px/mm: 0.5 px is 2 % of the radius.
  expect(isUnround(0.05, 2.5, 0.1)).toBe(false);
  expect(isUnround(0.05, 2.5, 0.01)).toBe(true);
  expect(isUnround(0.3, 20, 0.1)).toBe(true);
});

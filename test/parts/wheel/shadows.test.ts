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
  const contrast = { growth: 0, noShadow: false };
  const wheel = { rim: { tipMm: 20 }, contrast, count: counted(80, 0.93), unshadowed: 0.999 };
  const pitchMm = (2 * Math.PI * 20) / 80;

  test("is believed where the outline leaves no room for a shadow", () => {
    expect(weighOutline(wheel, outlineWithShadow(0.05 * pitchMm, 0.01), false).probability).toBe(0.999);
  });

  test("stays doubtful where a shadow may be shifted by half a pitch", () => {
    for (const shift of [0.45, 0.6, 1])
      expect(weighOutline(wheel, outlineWithShadow(shift * pitchMm, 0.01), false).probability).toBe(0.93);
  });

  test("is doubted less where the network saw nothing beside it that passes for metal, but not beyond half a pitch", () => {
    const clear = { ...wheel, contrast: { growth: 0, noShadow: true }, unshadowed: 0.999 };
    expect(weighOutline(clear, outlineWithShadow(0.42 * pitchMm, 0.005), true).probability).toBe(0.999);
    expect(weighOutline(wheel, outlineWithShadow(0.42 * pitchMm, 0.005), true).probability).toBe(0.6);
    expect(weighOutline(clear, outlineWithShadow(0.55 * pitchMm, 0.005), true).probability).toBe(0.6);
  });

  test("stays doubtful where the outline is too coarse to tell", () => {
    expect(weighOutline(wheel, outlineWithShadow(0, 0.1 * pitchMm), false).probability).toBe(0.93);
  });

  test("is not sure at all where the outline is unround", () => {
    expect(weighOutline(wheel, outlineWithShadow(pitchMm, 0.01), true).probability).toBe(0.6);
  });

  test("is believed on an unround wheel whose teeth are far larger than the shift", () => {
    // 14 teeth on the same circle: the outline is 3 % out of round, the shadow shifted by a sixth of a pitch.
    const few = { rim: wheel.rim, contrast, count: counted(14, 0.93), unshadowed: 0.997 };
    const outline = outlineWithShadow(1.4, 0.05);
    expect(isUnround(2 * Math.hypot(...outline.ovalMm), 20, 0.1)).toBe(true);
    expect(weighOutline(few, outline, true).probability).toBe(0.997);
  });

  test("by colour in which no shadow has a part is not made doubtful by an unround outline", () => {
    const outline = outlineWithShadow(pitchMm, 0.01);
    const byColour = (noShadow: boolean) => ({
      ...wheel,
      contrast: { growth: 0.1, noShadow },
      count: counted(80, 0.97),
    });
    expect(weighOutline(byColour(true), outline, true).probability).toBe(0.97);
    expect(weighOutline(byColour(false), outline, true).probability).toBe(0.6);
  });

  test("without that doubt nothing is given back", () => {
    const doubted = { rim: wheel.rim, contrast, count: counted(80, 0.8) };
    expect(weighOutline(doubted, outlineWithShadow(0, 0.01), false).probability).toBe(0.8);
  });
});

test("the grain of a coarse picture makes no small wheel unround", () => {
  // Radius 2.5 mm at 10 px/mm: 0.5 px is 2 % of the radius.
  expect(isUnround(0.05, 2.5, 0.1)).toBe(false);
  expect(isUnround(0.05, 2.5, 0.01)).toBe(true);
  expect(isUnround(0.3, 20, 0.1)).toBe(true);
});

import { describe, expect, test } from "vitest";
import { countFromSide } from "../../../src/parts/pinion/count-from-side.js";
import { countLyingPinion } from "../../../src/parts/pinion/count-lying-pinion.js";
import type { SideProfile } from "../../../src/parts/pinion/fit-side-profile.js";
import {
  cylinderFromSide,
  leavesFromSide,
  sideSteps,
  trundleRadius,
  trundlesFromSide,
} from "../../../src/parts/pinion/leaves-from-side.js";

const form = { addendum: 0.7, thickShare: 0.5 };

describe("leaves from the side", () => {
  test("six, one of them straight up, reach out by the tips that stand 60 degrees off, and are their own mirror image", () => {
    const side = leavesFromSide(6, 0, form);
    // Tips at 60 degrees are sin 60 out; the round of the leaf reaches a little further.
    const outMm = 1 - (2 * side.from) / sideSteps;
    expect(outMm).toBeGreaterThan(Math.sin(Math.PI / 3));
    expect(outMm).toBeLessThan(Math.sin(Math.PI / 3) + 0.1);
    expect(sideSteps - 1 - side.to).toBe(side.from);
    for (let s = side.from + 2; s < sideSteps / 2; s++) {
      const mirrored = sideSteps - 1 - s;
      expect(side.open[mirrored]).toBeCloseTo(side.open[s]!, 6);
    }
  });

  test("the bottom of a space sees less than the tip of a leaf", () => {
    const side = leavesFromSide(10, 0, form);
    const at = (rad: number): number => side.open[Math.round(((Math.sin(rad) + 1) / 2) * sideSteps)]!;
    expect(at(0)).toBe(1);
    expect(at(Math.PI / 10)).toBeLessThan(0.5);
  });
});

describe("trundles from the side", () => {
  test("are so thick as their share of the distance from one to the next says", () => {
    const r = trundleRadius(8, { thickShare: 0.4 });
    expect(2 * r).toBeCloseTo((0.4 * 2 * Math.PI * (1 - r)) / 8, 9);
  });

  test("of six, one straight up, two are seen on either side, the paper between them and the arbor", () => {
    const side = trundlesFromSide(6, 0, { thickShare: 0.36, arborShare: 0.3 });
    const r = trundleRadius(6, { thickShare: 0.36 });
    expect(1 - (2 * side.from) / sideSteps).toBeCloseTo((1 - r) * Math.sin(Math.PI / 3) + r, 1);
    const at = (x: number): number => Math.round(((x + 1) / 2) * sideSteps - 0.5);
    expect(side.through[at(0)]).toBe(0);
    expect(side.through[at(0.45)]).toBe(1);
    expect(side.through[at(-0.45)]).toBe(1);
    // The arbor lies deep between trundles, the trundle over it does not.
    expect(side.open[at(0.26)]).toBeLessThan(0.8);
    expect(side.open[at(0)]).toBe(1);
  });
});

/** Under a lamp and a bright sky; paper on both sides, the right one in shadow. */
function profileOf(side: ReturnType<typeof cylinderFromSide>, tipMm: number, pxPerMm: number): SideProfile {
  const stepMm = 0.5 / pxPerMm;
  const n = 2 * Math.floor((1.28 * tipMm) / stepMm);
  const fromMm = (-n / 2) * stepMm;
  const sharp = Float64Array.from({ length: n }, (_, i) => {
    const x = (fromMm + i * stepMm) / tipMm;
    const s = Math.round(((x + 1) / 2) * sideSteps - 0.5);
    if (s < side.from) return 210;
    if (s > side.to) return 120;
    if (side.through[s] === 1) return 70;
    const normal = side.normalRad[s]!;
    const mirrored = 90 + 70 * Math.exp(-(((normal - 0.3) / 0.25) ** 2)) + 60 * Math.sin(normal) ** 2;
    return side.open[s]! * mirrored + (1 - side.open[s]!) * 35;
  });
  const blurred = sharp.map((_, i) => {
    let [sum, weight] = [0, 0];
    for (let d = -6; d <= 6; d++) {
      const w = Math.exp(-0.5 * (d / 2.2) ** 2);
      sum += w * sharp[Math.min(n - 1, Math.max(0, i + d))]!;
      weight += w;
    }
    return sum / weight;
  });
  return { values: blurred, fromMm, stepMm };
}

describe("counting the leaves of which one half is seen", () => {
  // Forms and turns that are none of those tried.
  const leafForm = { addendum: 0.71, thickShare: 0.47 };
  // Spaces twice as wide as the leaves, as books of the trade have them for pinions of eight.
  const thinForm = { addendum: 0.5, thickShare: 0.33 };
  test("8 thin leaves", () => {
    const profile = profileOf(leavesFromSide(8, 0.1, thinForm), 2.4, 12);
    const found = countFromSide(profile, { tipMm: 2.4 * 1.04, arborMm: 0.8 }, 12, ["cut"])!;
    expect(found.count).toBe(8);
    expect(found.lead).toBeGreaterThan(3);
  });

  test.each([7, 10])("%i leaves, the tip radius known to 4 %%", (leaves) => {
    for (const turn of [0.13]) {
      const profile = profileOf(leavesFromSide(leaves, (2 * Math.PI * turn) / leaves, leafForm), 2.4, 12);
      const found = countFromSide(profile, { tipMm: 2.4 * 1.04, arborMm: 0.8 }, 12, ["cut"])!;
      expect(found.count).toBe(leaves);
      expect(found.leadOverPlain).toBeGreaterThan(12);
      expect(found.tipMm).toBeCloseTo(2.4, 1);
    }
  });

  test.each([6, 10])("%i trundles, and that they are no leaves, the arbor seen between them", (trundles) => {
    const lantern = { thickShare: 0.37, arborShare: 0.36 };
    const profile = profileOf(trundlesFromSide(trundles, (2 * Math.PI * 0.13) / trundles, lantern), 2.9, 12);
    const found = countFromSide(profile, { tipMm: 2.9 * 0.97, arborMm: 1.04 }, 12, ["cut", "lantern"])!;
    expect(found.kind).toBe("lantern");
    expect(found.count).toBe(trundles);
    expect(found.tipMm).toBeCloseTo(2.9, 1);
    expect(found.thickShare).toBeGreaterThan(0.3);
    expect(found.thickShare).toBeLessThan(0.44);
  });

  test("leaves are no trundles", () => {
    const profile = profileOf(leavesFromSide(8, 0.1, leafForm), 2.4, 12);
    const found = countFromSide(profile, { tipMm: 2.4, arborMm: 0.8 }, 12, ["cut", "lantern"])!;
    expect(found.kind).toBe("cut");
    expect(found.count).toBe(8);
    expect(found.leadOverOther).toBeGreaterThan(3);
  });

  test("a plain cylinder has none", () => {
    const found = countFromSide(profileOf(cylinderFromSide(), 2.4, 12), { tipMm: 2.4, arborMm: 0.8 }, 12, [
      "cut",
    ])!;
    expect(found.leadOverPlain).toBeLessThan(0);
  });
});

test("what is wider than any pinion, a wheel on edge, has no leaves to count", () => {
  const unread = undefined as never;
  expect(countLyingPinion(unread, unread, unread, 0, 15, { inMiddle: false, ends: 0 })).toEqual({
    count: undefined,
    isPlain: false,
  });
});

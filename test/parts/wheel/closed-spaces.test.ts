import { describe, expect, test } from "vitest";
import type { ToothCount } from "../../../src/parts/wheel/count-teeth.js";
import type { Rim } from "../../../src/parts/wheel/find-rim.js";
import { mostWithClosedSpaces } from "../../../src/parts/wheel/closed-spaces.js";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { faceAt, straightDown } from "../straight-down.js";

/** A camera 200 mm up; the face of a wheel of 60 teeth and 24 mm, 1.6 mm up and 1.6 mm thick: pitch 1.26 mm. */
const faceMm = 1.6;
const seenFrom = (besideMm: number) =>
  new ThickOutline(faceAt(straightDown(200), besideMm, 0, faceMm), faceMm);
const wheel = (filled: number) => ({
  rim: { tipMm: 12 } as Rim,
  count: { count: 60, probability: 0.98, filled } as ToothCount,
});

describe("walls that close the spaces between teeth", () => {
  // 125 mm beside the foot point the lower edge stands 1.6 x 125 / 200 = 1 mm beside the upper one: 0.8 pitches.
  test("leave a count doubtful where places are empty", () => {
    expect(mostWithClosedSpaces(wheel(0.78), seenFrom(125))).toBeLessThan(0.95);
    expect(mostWithClosedSpaces(wheel(0.99), seenFrom(125))).toBe(1);
  });

  test("do so for a count by the network too, which leaves no place empty", () => {
    const byNetwork = { ...wheel(1), byNetwork: true } as const;
    expect(mostWithClosedSpaces(byNetwork, seenFrom(125))).toBeLessThan(0.95);
    expect(mostWithClosedSpaces(byNetwork, seenFrom(60))).toBe(1);
  });

  test("close none near the foot point, however many teeth are missing", () => {
    expect(mostWithClosedSpaces(wheel(0.5), seenFrom(40))).toBe(1);
  });
});

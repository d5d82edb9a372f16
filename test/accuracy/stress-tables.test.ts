import { expect, test } from "vitest";
import type { KnownWheel } from "./known-photo.js";
import type { WheelOutcome } from "./measure-known-photo.js";
import { reliabilityTable, stressText, wilsonInterval } from "./stress-tables.js";
import type { StressOutcome } from "./stress-tables.js";

// Source: R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, score method (from memory).
test.each([
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
])("Wilson's interval of %i in %i", (hits, n, low, high) => {
  const [from, to] = wilsonInterval(hits, n);
  expect(from).toBeCloseTo(low, 4);
  expect(to).toBeCloseTo(high, 4);
});

const wheel: KnownWheel = {
  label: "T1",
  toothCount: 60,
  isCountWheel: false,
  centrePx: [0, 0],
  centreMm: [0, 0],
  faceHeightMm: 1,
  tipDiameterMm: 40,
  rootDiameterMm: 36,
  ovalityMm: 0,
  leanRad: 0,
  pxPerMm: 8,
  pxPerTooth: 16,
  fromFootMm: 0,
  rimSeen: 1,
};
const counted = (countSaid: number, probability: number): WheelOutcome => ({
  wheel,
  verdict:
    probability < 0.95
      ? countSaid === 60
        ? "not sure, but right"
        : "not sure"
      : countSaid === 60
        ? "right"
        : "confidently wrong",
  countSaid,
  probability,
  errors: [{ size: "tip", error: 0.1, u: 0.02 }],
});
const photo = (seed: number, ...wheels: WheelOutcome[]): StressOutcome => ({
  seed,
  photo: { kind: "tilt", path: "x.jpg", onMat: true, bars: {}, wheels: [wheel], plateCount: 0 },
  wheels,
  falseParts: [],
});

test("a bin of the reliability table holds the counts of its stated probability", () => {
  const rows = reliabilityTable([counted(60, 0.6), counted(59, 0.7), counted(60, 1), counted(60, 0.9995)]);
  expect(rows).toContain("| 0.5 to 0.8 |   2 |       0.650 | 0.500 |");
  expect(rows).toContain("| 0.999 to 1 |   2 |       1.000 | 1.000 |");
});

test("odd and even seeds are told apart, and a wrong claim is seen in its own half", () => {
  const text = stressText(
    [photo(1, counted(60, 1)), photo(2, counted(59, 0.99)), photo(4, counted(60, 0.5))],
    "Photographs.",
  );
  expect(text).toMatch(/\| tilt +\| +1 \| +0 \| +0 \| +0 \| +0 \| +1 \| +1 \| +0 \|/);
  expect(text).toMatch(/tip, mm +\| +1 \| +0\.100 \| 0 %/);
});

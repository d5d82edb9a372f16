import { expect, test, vi } from "vitest";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { photographed } from "./photographed.js";

vi.setConfig({ testTimeout: 300_000 });

// Rendered: six invented pinions of 6 to 16 leaves in each, their ends 4 to 9 mm above the sheet, some with their arbor.
// In that of seed 7, one of 13 leaves in its own shadow was a locking cam with one slot, at 0.97.
test.each([
  [4, 5],
  [7, 5],
])(
  "pinions on their end, seed %i: what is sure is right, and none is another kind",
  async (seed, leastSure) => {
    const { photo, view, truth } = await photographed("pinions-on-end", seed, "3mp");
    const { parts } = await findAndMeasureParts(photo, view, networksForPhoto().ask);
    const sure = parts.filter(({ teeth }) => teeth && teeth.probability >= 0.95);
    for (const { kind, centreMm, teeth } of sure) {
      expect(kind).toBe("pinion");
      const near = truth.wheels.filter(
        ({ centreMm: [x, y] }) => Math.hypot(centreMm![0] - x, centreMm![1] - y) < 3,
      );
      expect(near.map(({ toothCount }) => toothCount)).toEqual([teeth!.count]);
    }
    expect(sure.length).toBeGreaterThanOrEqual(leastSure);
  },
);

import { describe, expect, it } from "vitest";
import { nearestTurn, placeInTurn, withinTurn } from "../../src/geometry/index.js";

const turn = 2 * Math.PI;

describe("directions and places round a circle", () => {
  it("brings a direction within one turn from 0", () => {
    expect(withinTurn(-0.25)).toBeCloseTo(turn - 0.25, 12);
    expect(withinTurn(3 * turn + 1)).toBeCloseTo(1, 12);
    expect(withinTurn(-1e-20)).toBeGreaterThanOrEqual(0);
  });

  it("brings a direction to the nearest of its turns", () => {
    expect(nearestTurn(turn - 0.1)).toBeCloseTo(-0.1, 12);
    expect(nearestTurn(-2 * turn - 0.3)).toBeCloseTo(-0.3, 12);
    for (let rad = -20; rad < 20; rad += 0.37) {
      expect(Math.abs(nearestTurn(rad))).toBeLessThanOrEqual(Math.PI + 1e-12);
      expect(Math.sin(nearestTurn(rad))).toBeCloseTo(Math.sin(rad), 12);
    }
  });

  it("counts places on past the last and before the first", () => {
    expect([-1, 0, 7, 8, -9].map((i) => placeInTurn(i, 8))).toEqual([7, 0, 7, 0, 7]);
  });
});

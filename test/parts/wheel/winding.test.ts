import { describe, expect, test } from "vitest";
import { windingNear } from "../../../src/parts/wheel/winding.js";
import { rimSignal } from "./rim-signals.js";

/** The signal less its mean, as the count takes it. */
const level = (value: Float64Array): Float64Array => {
  const mean = value.reduce((a, b) => a + b, 0) / value.length;
  return value.map((v) => v - mean);
};

describe("teeth counted by phase", () => {
  test.each([58, 59, 60, 61, 62])("a trial of %i finds the 60 teeth all the same", (trial) => {
    const { value, seen } = rimSignal({ toothCount: 60, noise: 0.05 });
    const found = windingNear(level(value), seen, trial, 2);
    expect(found.count).toBe(60);
    expect(found.weakest).toBeGreaterThan(0.5);
  });

  test("an eccentric wheel's teeth run ahead and fall behind, and are none the more for it", () => {
    const turns = 3072;
    // Half a pitch ahead on one side, half a pitch behind on the other.
    const value = Float64Array.from({ length: turns }, (_, i) => {
      const t = (2 * Math.PI * i) / turns;
      return Math.cos(72 * t + Math.PI * Math.sin(t));
    });
    expect(windingNear(value, new Uint8Array(turns).fill(1), 72, 2).count).toBe(72);
  });

  test("a missing tooth is counted by the gap that it leaves", () => {
    const { value, seen } = rimSignal({ toothCount: 60, missing: [17] });
    expect(windingNear(level(value), seen, 60, 4).count).toBe(60);
  });

  test("where an outline passes from 60 teeth a turn to 61, the pattern vanishes and says so", () => {
    const turns = 3072;
    // The wheel on one half, on the other a shadow whose teeth are half a pitch out of step at one end only.
    const value = Float64Array.from({ length: turns }, (_, i) => {
      const t = (2 * Math.PI * i) / turns;
      return Math.cos((t < Math.PI ? 60 : 61) * t);
    });
    const { weakest } = windingNear(value, new Uint8Array(turns).fill(1), 60, 2);
    expect(weakest).toBeLessThan(0.1);
  });

  test("noise alone has no pattern that stands out", () => {
    const { value, seen } = rimSignal({ toothCount: 60, noise: 40, seed: 5 });
    expect(windingNear(level(value), seen, 60, 2).clearness).toBeLessThan(4);
  });
});

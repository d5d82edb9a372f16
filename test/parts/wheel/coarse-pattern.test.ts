import { describe, expect, test } from "vitest";
import { countTeeth } from "../../../src/parts/wheel/count-teeth.js";
import { placesOfPattern } from "../../../src/parts/wheel/winding.js";
import { rimSignal, type RimWishes } from "./rim-signals.js";

const sure = 0.95;

/** Teeth that blur and the noise of stored colour leave hardly visible one by one. */
const lostInNoise = (wishes: Partial<RimWishes> & { toothCount: number }) =>
  rimSignal({ pxPerTooth: 8, blurPx: 1.8, noise: 0.35, ...wishes });

describe("teeth by colour, where single ones are lost in the noise", () => {
  test("are counted as a pattern", () => {
    let tried = 0;
    for (const toothCount of [48, 59, 79, 96])
      for (const seed of [1, 2, 3]) {
        const signal = lostInNoise({ toothCount, seed });
        // One by one they are not sure: the picture's fine grain is left out of what each of them is worth.
        expect(countTeeth(signal)!.probability).toBeLessThan(sure);
        const count = countTeeth({ ...signal, coarse: true })!;
        expect(count.count).toBe(toothCount);
        expect(count.probability).toBeGreaterThan(sure);
        tried++;
      }
    expect(tried).toBe(12);
  });

  test("stay doubtful where the pattern vanishes on part of the turn", () => {
    for (const toothCount of [48, 79]) {
      // A quarter of the teeth is gone.
      const missing = Array.from({ length: Math.round(toothCount / 4) }, (_, k) => k);
      const count = countTeeth({ ...lostInNoise({ toothCount, missing }), coarse: true });
      expect(count?.probability ?? 0).toBeLessThan(sure);
    }
  });

  test("are none where they would be large enough to be seen one by one: 36 pins close to a rim", () => {
    const signal = lostInNoise({ toothCount: 36, pxPerTooth: 16, noise: 0.6 });
    const { probability } = countTeeth(signal)!;
    expect(probability).toBeLessThan(sure);
    expect(countTeeth({ ...signal, coarse: true })!.probability).toBe(probability);
  });

  test("stay doubtful where noise has lines as strong", () => {
    for (let seed = 1; seed <= 20; seed++) {
      const count = countTeeth({ ...lostInNoise({ toothCount: 70, noise: 3, seed }), coarse: true });
      expect(count?.probability ?? 0).toBeLessThan(sure);
    }
  });
});

test("where the teeth of a pattern stand, and how they wander", () => {
  const { value, seen } = rimSignal({ toothCount: 60, phaseRad: 0.02, wanderPitches: 0.2, wanderRad: 1 });
  const mean = value.reduce((a, b) => a + b, 0) / value.length;
  const { phase, wander } = placesOfPattern(
    value.map((v) => v - mean),
    seen,
    60,
    2,
  );
  // Closed form: the teeth lead by 0.2 sin(t - 1) pitches; smoothing over two of 60 takes 2 % of that.
  expect(phase).toBeCloseTo((0.02 * 60) / (2 * Math.PI), 2);
  expect(Math.abs(wander[0] + 0.2 * Math.sin(1))).toBeLessThan(0.01);
  expect(Math.abs(wander[1] - 0.2 * Math.cos(1))).toBeLessThan(0.01);
  expect(Math.hypot(wander[2], wander[3])).toBeLessThan(0.01);
});

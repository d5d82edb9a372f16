import { expect, test } from "vitest";
import { expandedUncertainty, standardUncertainty } from "../../src/quantity/index.js";
import { solveHeight } from "../../src/survey/height/solve-height.js";
import { random, simulateHeight } from "./simulate.js";

test("heights from 0 to 14 mm come back from cameras 15 cm apart, as well as stated", () => {
  const rng = random(6, "heights");
  const held: boolean[] = [];
  for (let i = 0; i < 200; i++) {
    const height = 14 * rng.next();
    const fit = solveHeight(simulateHeight(rng, height, 150, 2 + (i % 3)));
    if (!fit.ok) throw new Error(fit.problem.text);
    // 0.006 mm of edge over a lean of 0.4 between the cameras: 0.02 mm.
    expect(Math.abs(fit.value.aboveMm.value - height)).toBeLessThan(0.15);
    held.push(Math.abs(fit.value.aboveMm.value - height) <= expandedUncertainty(fit.value.aboveMm));
  }
  expect(held).toHaveLength(200);
  const share = held.filter(Boolean).length / held.length;
  // Two cameras leave one degree of freedom to find the scatter by; widened only upwards, never below.
  expect(share).toBeGreaterThanOrEqual(0.9);
});

test("cameras in one place leave the height open", () => {
  const [point] = simulateHeight(random(7, "one place"), 5, 0, 1);
  const again = { ...point!, terms: point!.terms.map((t) => ({ ...t, id: `${t.id}-2` as const })) };
  const fit = solveHeight([point!, again]);
  expect(!fit.ok || standardUncertainty(fit.value.aboveMm) > 0.6).toBe(true);
});

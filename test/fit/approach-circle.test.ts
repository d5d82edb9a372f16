import { expect, test } from "vitest";
import { approachCircle } from "../../src/fit/approach-circle.js";
import { solveCircle } from "../../src/fit/fit-circle.js";
import { seededRandom } from "../../src/quantity/index.js";
import { arcPoints, valueOf } from "./points.js";

const truth = { x: 130, y: -42, radius: 20 };

// Against the Levenberg-Marquardt solver, which is itself held to published fits.
test.each([
  ["a whole turn", 2 * Math.PI],
  ["a third of it", (2 * Math.PI) / 3],
  ["a short arc", 0.3],
])("ends where the slower solver ends: %s", (_, arcRad) => {
  const random = seededRandom(8);
  for (let run = 0; run < 20; run++) {
    const points = arcPoints({ ...truth, count: 80, toRad: arcRad }, 0.02, random);
    const weights = Float64Array.from({ length: 80 }, () => (random.uniform() < 0.2 ? 0 : random.uniform()));
    const start = { x: truth.x + 0.3, y: truth.y - 0.2, radius: 20.2 };
    const fast = valueOf(approachCircle(start, points, weights));
    const slow = valueOf(solveCircle(start, points, weights));
    // Both stop a tenth of a millionth short of the scatter at most; a short arc spreads that.
    const near = arcRad < 1 ? 4 : 7;
    expect(fast.x).toBeCloseTo(slow.x, near);
    expect(fast.y).toBeCloseTo(slow.y, near);
    expect(fast.radius).toBeCloseTo(slow.radius, near);
  }
});

test("finds the circle also from a start that is far off, or that lies on a point", () => {
  const points = arcPoints({ ...truth, count: 12 });
  const weights = new Float64Array(12).fill(1);
  for (const start of [
    { x: 0, y: 0, radius: 1 },
    { x: points[0]!, y: points[1]!, radius: 5 },
  ]) {
    const fit = valueOf(approachCircle(start, points, weights));
    expect(fit.x).toBeCloseTo(truth.x, 6);
    expect(fit.radius).toBeCloseTo(truth.radius, 6);
  }
});

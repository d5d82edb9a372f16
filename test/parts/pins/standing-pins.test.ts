import { describe, expect, test } from "vitest";
import { fitStandingPins } from "../../../src/parts/pins/fit-standing-pins.js";
import { pinHeight } from "../../../src/parts/pins/pin-height.js";
import { seededRandom } from "../../../src/quantity/index.js";

/** Outline of a disc drawn out from a foot by (ax, ay): what a pin's picture is on the plane of the face. */
function drawnOut(
  x: number,
  y: number,
  radius: number,
  ax: number,
  ay: number,
  noise: () => number,
): Float64Array {
  const points: number[] = [];
  for (let i = 0; i < 40; i++) {
    const t = (2 * Math.PI * i) / 40;
    const [nx, ny] = [Math.cos(t), Math.sin(t)];
    // Support point of the capsule in this direction.
    const end = nx * ax + ny * ay > 0 ? 1 : 0;
    const r = radius + noise();
    points.push(x + end * ax + r * nx, y + end * ay + r * ny);
  }
  return Float64Array.from(points);
}

const eyeMm = 400;
const heightMm = 3.5;
const lean = heightMm / (eyeMm - heightMm);
const foot = [-18, 9] as const;
const feet = Array.from({ length: 8 }, (_, i) => {
  const t = 0.4 + (i * Math.PI) / 4;
  return [19 * Math.cos(t), 19 * Math.sin(t)] as const;
});

describe("pins that stand up", () => {
  test.each([
    [1.5, 30],
    [5, 110],
    [7, 200],
  ])("%d mm high and %d mm beside the camera, thin, end where they end", (high, beside) => {
    const random = seededRandom(5);
    const eyeAt = [-0.6 * beside, -0.8 * beside] as const;
    const by = high / (380 - high);
    const outlines = feet.map(([x, y]) =>
      drawnOut(x, y, 0.4, by * (x - eyeAt[0]), by * (y - eyeAt[1]), () => 0.02 * (random.uniform() - 0.5)),
    );
    const fit = fitStandingPins(outlines, eyeAt, 1)!;
    expect(fit.radiusMm).toBeCloseTo(0.4, 1);
    fit.ends.forEach((end, i) => {
      const [x, y] = feet[i]!;
      expect(Math.hypot(end.xMm - x - by * (x - eyeAt[0]), end.yMm - y - by * (y - eyeAt[1]))).toBeLessThan(
        0.03,
      );
      expect(end.uMm).toBeLessThan(0.05);
    });
  });

  test("are found by their ends, and how far they are drawn out: closed form", () => {
    const random = seededRandom(11);
    const outlines = feet.map(([x, y]) =>
      drawnOut(x, y, 0.6, lean * (x - foot[0]), lean * (y - foot[1]), () => 0.01 * (random.uniform() - 0.5)),
    );
    const fit = fitStandingPins(outlines, foot, 1)!;
    expect(fit.radiusMm).toBeCloseTo(0.6, 2);
    expect(Math.abs(fit.lean - lean)).toBeLessThan(3 * fit.uLean);
    fit.ends.forEach((end, i) => {
      const [x, y] = feet[i]!;
      expect(end.xMm).toBeCloseTo(x + lean * (x - foot[0]), 2);
      expect(end.yMm).toBeCloseTo(y + lean * (y - foot[1]), 2);
    });
  });

  test("trap 1: have the height that shifts their circle off the axis by away h / (D - h)", () => {
    const away = [18, -9] as const;
    const height = pinHeight({
      eyeMm,
      shiftMm: [lean * away[0], lean * away[1]],
      uShiftMm: 0.02,
      awayMm: away,
      drawnOut: 0,
      uDrawnOut: 0.002,
    });
    expect(height.seenMm).toBeCloseTo(heightMm, 2);
    expect(Math.abs(height.lean - lean)).toBeLessThan(2 * height.uLean);
    // Shift over distance, times the camera's height.
    expect(height.uSeenMm).toBeCloseTo((0.02 / Math.hypot(...away)) * eyeMm, 3);
  });

  test("straight below the camera show no height: then the usual one, with its doubt", () => {
    const height = pinHeight({
      eyeMm,
      shiftMm: [0.01, 0],
      uShiftMm: 0.03,
      awayMm: [0.2, 0],
      drawnOut: 0.001,
      uDrawnOut: 0.01,
    });
    expect(height.uSeenMm).toBeGreaterThan(1.2);
    expect(height.uLean * eyeMm).toBeGreaterThan(0.7);
    expect(height.lean * eyeMm).toBeGreaterThan(2);
    expect(height.lean * eyeMm).toBeLessThan(5);
  });
});

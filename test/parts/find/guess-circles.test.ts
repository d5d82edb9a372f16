import { describe, expect, test } from "vitest";
import { guessCircles, resampleClosed } from "../../../src/parts/find/guess-circles.js";
import { seededRandom } from "../../../src/quantity/index.js";
import { wheelOutline } from "../../scenes/wheel-outline.js";

function moved(xy: Float64Array, x: number, y: number): Float64Array {
  return xy.map((v, i) => v + (i % 2 === 0 ? x : y));
}

/** Andrew's monotone chain. */
function hullOf(xy: Float64Array): Float64Array {
  const points: [number, number][] = [];
  for (let i = 0; i < xy.length; i += 2) points.push([xy[i]!, xy[i + 1]!]);
  points.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly [number, number][]): [number, number][] => {
    const out: [number, number][] = [];
    for (const p of list) {
      while (out.length >= 2) {
        const [a, b] = [out.at(-2)!, out.at(-1)!];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return Float64Array.from([...half(points), ...half([...points].reverse())].flat());
}

const joined = (...parts: Float64Array[]): Float64Array => Float64Array.from(parts.flatMap((p) => [...p]));

const first = wheelOutline({ toothCount: 60, moduleMm: 0.6, form: "cycloidal" });
const second = wheelOutline({ toothCount: 48, moduleMm: 0.6, form: "cycloidal", phaseRad: 0.05 });
const [r1, r2] = [first.tipDiameterMm / 2, second.tipDiameterMm / 2];

describe("circles that explain the border of a patch", () => {
  test("one wheel: its tip circle", () => {
    const border = moved(first.xyMm, 30, -12);
    const circles = guessCircles(hullOf(border), border, 2.5);
    expect(circles).toHaveLength(1);
    const [c] = circles;
    // The hull's straight sides between the tips lie a little inside: R (1 - cos(pi/60)) = 0.14 %.
    expect(Math.hypot(c!.x - 30, c!.y + 12)).toBeLessThan(0.02);
    expect(Math.abs(c!.radius / r1 - 1)).toBeLessThan(0.004);
    expect(c!.support).toBeGreaterThan(0.95);
  });

  test("a wheel that lies across the rim of one twice its size is found beside it", () => {
    const small = wheelOutline({ toothCount: 28, moduleMm: 0.6, form: "cycloidal" });
    const r = small.tipDiameterMm / 2;
    const apart = 0.8 * (r1 + r);
    const inside = (xy: Float64Array, x: number, radius: number): Float64Array => {
      const out: number[] = [];
      for (let i = 0; i < xy.length; i += 2)
        if (Math.hypot(xy[i]! - x, xy[i + 1]!) > radius) out.push(xy[i]!, xy[i + 1]!);
      return Float64Array.from(out);
    };
    // Of either the border that the other does not cover.
    const border = joined(
      inside(first.xyMm, apart, r),
      inside(
        moved(small.xyMm, 0, 0).map((v, i) => (i % 2 === 0 ? v + apart : v)),
        0,
        r1,
      ),
    );
    const circles = guessCircles(hullOf(border), border, 2.5);
    const near = circles.find((c) => Math.hypot(c.x - apart, c.y) < 0.08 * r);
    expect(near).toBeDefined();
    // Within the depth of a tooth, 14 % of the radius: the rim search comes after.
    expect(Math.abs(near!.radius / r - 1)).toBeLessThan(0.12);
    expect(circles.some((c) => Math.hypot(c.x, c.y) < 0.08 * r1)).toBe(true);
  });

  test("two wheels that touch: both, not one round them", () => {
    const apart = r1 + r2 + 0.05;
    const border = joined(moved(first.xyMm, 0, 0), moved(second.xyMm, apart, 0));
    const circles = guessCircles(hullOf(border), border, 2.5);
    expect(circles.length).toBeGreaterThanOrEqual(2);
    for (const [x, radius] of [
      [0, r1],
      [apart, r2],
    ] as const) {
      const near = circles.find((c) => Math.hypot(c.x - x, c.y) < 0.08 * radius);
      expect(near, `wheel at ${x}`).toBeDefined();
      // Rim search comes after: a guess within 6 % will do.
      expect(Math.abs(near!.radius / radius - 1)).toBeLessThan(0.06);
    }
  });

  test("the same border gives the same circles", () => {
    const border = joined(moved(first.xyMm, 0, 0), moved(second.xyMm, r1 + r2, 3));
    const hull = hullOf(border);
    expect(guessCircles(hull, border, 2.5)).toEqual(guessCircles(hull, border, 2.5));
  });

  test("a long strip holds no circle", () => {
    const strip = resampleClosed(Float64Array.from([0, 0, 90, 0, 90, 8, 0, 8]), 400);
    expect(guessCircles(hullOf(strip), strip, 5)).toEqual([]);
  });

  test("scattered points hold no well-supported circle; too few points none", () => {
    const random = seededRandom(9);
    const points = Float64Array.from({ length: 300 }, () => 100 * random.uniform());
    for (const c of guessCircles(hullOf(points), points, 5)) expect(c.support).toBeLessThan(0.75);
    expect(guessCircles(Float64Array.of(0, 0, 1, 0, 0, 1), Float64Array.of(0, 0, 1, 0, 0, 1), 5)).toEqual([]);
  });

  test("nothing smaller than asked for", () => {
    const border = moved(first.xyMm, 0, 0);
    expect(guessCircles(hullOf(border), border, 1.2 * r1)).toEqual([]);
  });
});

test("resampling puts points at equal distances along a closed line", () => {
  const square = Float64Array.of(0, 0, 4, 0, 4, 4, 0, 4);
  const out = resampleClosed(square, 8);
  expect([...out]).toEqual([0, 0, 2, 0, 4, 0, 4, 2, 4, 4, 2, 4, 0, 4, 0, 2]);
});

import { describe, expect, test } from "vitest";
import { stepsAboveTips, stripRows, readToothStrip } from "../../../src/parts/wheel/tooth-strip.js";
import type { Rim } from "../../../src/parts/wheel/find-rim.js";
import { drawnFace, drawnPhoto } from "./drawn-wheel.js";

const look = {
  pxPerMm: 8,
  metal: [180, 140, 60],
  paper: [230, 228, 222],
  blurPx: 1.2,
  noise: 0,
} as const;
const wheel = { toothCount: 24, rootMm: 8.6, tipMm: 10 };
const photo = drawnPhoto(wheel, look);

const rimAt = (tipMm: number, offMm: readonly [number, number] = [0, 0]): Rim => ({
  face: drawnFace(photo, look.pxPerMm, offMm),
  outlineMm: new Float64Array(),
  tipMm,
  rootMm: wheel.rootMm,
  seen: 1,
});

describe("a strip of a rim", () => {
  const strip = readToothStrip(photo, rimAt(10), 0.5)!;
  const at = (k: number, row: number, i: number): number =>
    strip.planes[(k * stripRows + row) * strip.columns + strip.seam + i]!;

  test("goes once round, half a pixel a column", () => {
    expect(strip.turn).toBe(Math.round((2 * Math.PI * 10 * look.pxPerMm) / 0.5));
    expect(strip.columns).toBe(strip.turn + 2 * strip.seam);
    expect(strip.seen.every((v) => v === 1)).toBe(true);
  });

  test("shows paper above the tips, a tooth and a space in the middle of the depth, metal below", () => {
    const middle = stepsAboveTips + Math.round((0.7 * look.pxPerMm) / 0.5);
    const space = Math.round(strip.turn / wheel.toothCount / 2);
    // Blue: paper is light, metal dark.
    const [paper, tooth, gap, metal] = [
      at(2, 0, 0),
      at(2, middle, 0),
      at(2, middle, space),
      at(2, stripRows - 1, 0),
    ];
    expect(paper - tooth).toBeGreaterThan(1.5);
    expect(Math.abs(tooth - metal)).toBeLessThan(0.1);
    expect(Math.abs(gap - paper)).toBeLessThan(0.1);
  });

  test("closes: its ends repeat the other end", () => {
    for (const row of [3, 20])
      for (const i of [1, 50, strip.seam]) {
        expect(at(1, row, -i)).toBe(at(1, row, strip.turn - i));
        expect(at(1, row, strip.turn + i - 1)).toBe(at(1, row, i - 1));
      }
  });

  test("is given less its mean over its spread", () => {
    let [sum, squares] = [0, 0];
    for (let row = 0; row < 3 * stripRows; row++)
      for (let i = 0; i < strip.turn; i++) {
        const v = strip.planes[row * strip.columns + strip.seam + i]!;
        [sum, squares] = [sum + v, squares + v * v];
      }
    const n = 3 * stripRows * strip.turn;
    expect(sum / n).toBeCloseTo(0, 4);
    expect(Math.sqrt(squares / n)).toBeGreaterThan(0.85);
    expect(Math.sqrt(squares / n)).toBeLessThan(1);
  });
});

test("what lies outside the picture is not seen", () => {
  const strip = readToothStrip(photo, rimAt(10, [8, 0]), 0.5)!;
  const seen = strip.seen.reduce((a, b) => a + b, 0) / strip.turn;
  expect(strip.seen[0]).toBe(0);
  expect(strip.seen[strip.turn >> 1]).toBe(1);
  expect(seen).toBeGreaterThan(0.6);
  expect(seen).toBeLessThan(0.85);
});

test("a wheel of a dozen pixels has no strip", () => {
  expect(readToothStrip(photo, rimAt(0.9), 0.5)).toBeUndefined();
});

import { expect, test } from "vitest";
import { homographyFromPoints, mapPoint } from "../../src/geometry/index.js";

// Source: the Oxford graffiti pair, graf1 to graf3, H1to3p.xml of the OpenCV samples (Debian opencv-doc 4.6.0).
const graffiti = [
  0.76285898, -0.29922929, 225.67123, 0.33443473, 1.0143901, -76.999973, 3.4663091e-4, -1.4364524e-5, 1,
];
// The picture's corners and a middle point under it, to the digits given.
const mapped: [number, number, number, number][] = [
  [0, 0, 225.6712, -77.0],
  [799, 0, 654.0509, 148.9582],
  [799, 639, 507.9655, 661.3207],
  [0, 639, 34.783, 576.4868],
  [400, 320, 383.6332, 336.2963],
];

test("maps points by the published graffiti homography", () => {
  for (const [x, y, u, v] of mapped) {
    const [a, b] = mapPoint(graffiti, x, y);
    expect(a).toBeCloseTo(u, 3);
    expect(b).toBeCloseTo(v, 3);
  }
});

test("finds the graffiti homography again from five of its points", () => {
  const h = homographyFromPoints(
    mapped.flatMap(([x, y]) => [x, y]),
    mapped.flatMap(([x, y]) => mapPoint(graffiti, x, y)),
  )!;
  h.forEach((value, i) => expect(value / graffiti[i]!).toBeCloseTo(1, 7));
});

test("finds the exact homography of four points", () => {
  const from = [0, 0, 1, 0, 1, 1, 0, 1];
  const to = [10, 20, 200, 31, 180, 240, 5, 190];
  const h = homographyFromPoints(from, to)!;
  for (let i = 0; i < 4; i++) {
    const [u, v] = mapPoint(h, from[2 * i]!, from[2 * i + 1]!);
    expect(u).toBeCloseTo(to[2 * i]!, 9);
    expect(v).toBeCloseTo(to[2 * i + 1]!, 9);
  }
});

test.each([
  ["three points", [0, 0, 1, 0, 0, 1], [0, 0, 1, 0, 0, 1]],
  ["unlike counts", [0, 0, 1, 0, 1, 1, 0, 1], [0, 0, 1, 0, 1, 1]],
  ["one point four times", [2, 2, 2, 2, 2, 2, 2, 2], [0, 0, 1, 0, 1, 1, 0, 1]],
  ["points on a line", [0, 0, 1, 1, 2, 2, 3, 3], [0, 0, 1, 0, 1, 1, 0, 1]],
  ["not a number", [0, 0, 1, 0, 1, NaN, 0, 1], [0, 0, 1, 0, 1, 1, 0, 1]],
])("refuses %s", (_, from, to) => {
  expect(homographyFromPoints(from, to)).toBeUndefined();
});

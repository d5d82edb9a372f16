import { describe, expect, test } from "vitest";
import { lookInside, standsAway } from "../../../src/parts/wheel/arbor-in-bore.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown } from "../straight-down.js";

const size = 101;
/** 5 px/mm all over the mat; the picture is a corner of what the camera sees, its middle at pixel (50, 50). */
const face = faceAt(straightDown(400, [0, 0], 2000), -390, 290, 0);
const radiusMm = 6;

/** Grey by distance and direction from the middle, mm. */
function picture(grey: (xMm: number, yMm: number) => number) {
  const rgb = new Uint8Array(3 * size * size);
  for (let v = 0; v < size; v++)
    for (let u = 0; u < size; u++)
      rgb.fill(
        grey((u - (size - 1) / 2) / 5, ((size - 1) / 2 - v) / 5),
        3 * (v * size + u),
        3 * (v * size + u) + 3,
      );
  return lookInside(inventedPhoto(size, size, rgb), face, radiusMm)!;
}

describe("trap 3: the polished end of an arbor is no hole", () => {
  test("paper is one even surface", () => {
    expect(picture(() => 220)).toEqual({ even: true, ringed: false });
  });

  test("a shadow that lies over part of a hole is neither even nor a ring", () => {
    expect(picture((x) => (x < -1 ? 90 : 220))).toEqual({ even: false, ringed: false });
  });

  test("a pivot on the end of an arbor shows a dark ring that does not touch the edge", () => {
    const end = (x: number, y: number): number => {
      const r = Math.hypot(x - 0.6, y);
      return r > 1.6 && r < 2.6 ? 80 : 220;
    };
    expect(picture(end).ringed).toBe(true);
  });

  test("an end that stands 8 mm up is seen away from the foot point, by as much as its height says", () => {
    // 100 mm to the right of the foot point: 8 mm up at 400 mm moves it by 100 * 8 / 392 mm.
    const face = faceAt(straightDown(400), 100, 0, 0);
    const byMm = (100 * 8) / 392;
    expect(standsAway(face, [byMm, 0], 0.02)).toBe(true);
    expect(standsAway(face, [-byMm, 0], 0.02)).toBe(false);
    expect(standsAway(face, [0, byMm], 0.02)).toBe(false);
    // An eccentricity that is no more than its uncertainty says nothing.
    expect(standsAway(face, [0.05, 0], 0.02)).toBe(false);
  });
});

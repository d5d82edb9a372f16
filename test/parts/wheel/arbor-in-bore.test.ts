import { describe, expect, test } from "vitest";
import { lookInside, standsAway } from "../../../src/parts/wheel/arbor-in-bore.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown } from "../straight-down.js";

const size = 101;
/** 5 px/mm all over the mat; the picture is a corner of what the camera sees, its middle at pixel (50, 50). */
const face = faceAt(straightDown(400, [0, 0], 2000), -390, 290, 0);
const radiusMm = 6;
/** Linear light of the sheet beside the part: code value 220. */
const paper = [0.716, 0.716, 0.716] as const;

/** Grey or a colour by distance and direction from the middle, mm. */
function picture(look: (xMm: number, yMm: number) => number | number[]) {
  const rgb = new Uint8Array(3 * size * size);
  for (let v = 0; v < size; v++)
    for (let u = 0; u < size; u++) {
      const seen = look((u - (size - 1) / 2) / 5, ((size - 1) / 2 - v) / 5);
      rgb.set(typeof seen === "number" ? [seen, seen, seen] : seen, 3 * (v * size + u));
    }
  return lookInside(inventedPhoto(size, size, rgb), face, radiusMm, paper, [0, 0], 0.2)!;
}

describe("trap 3: the polished end of an arbor is no hole", () => {
  test("paper is one even surface", () => {
    expect(picture(() => 220)).toMatchObject({ bright: true, even: true, ringed: false });
  });

  test("a shadow that lies over part of a hole is neither even nor a ring", () => {
    expect(picture((x) => (x < -1 ? 90 : 220))).toMatchObject({
      bright: true,
      even: false,
      ringed: false,
    });
  });

  test("a pivot on the end of an arbor shows a dark ring that does not touch the edge", () => {
    const end = (x: number, y: number): number => {
      const r = Math.hypot(x - 0.6, y);
      return r > 1.6 && r < 2.6 ? 80 : 220;
    };
    expect(picture(end).ringed).toBe(true);
  });

  test("the sheet in the shade of a hole is dark, smooth and grey", () => {
    expect(picture((x) => 70 + 5 * x)).toMatchObject({ bright: false, shaded: true, ringed: false });
  });

  test("what mirrors a lamp, is rough or has a colour is no sheet in the shade", () => {
    expect(picture((x, y) => (Math.hypot(x - 2, y + 1) < 1.2 ? 255 : 70)).shaded).toBe(false);
    expect(picture((x, y) => 70 + 45 * Math.sin(2 * x) * Math.sin(2 * y)).shaded).toBe(false);
    expect(picture(() => [120, 95, 55]).shaded).toBe(false);
  });

  test("a grey end that is dark and flat is no sheet in the shade", () => {
    expect(picture(() => 125).shaded).toBe(false);
    // The shade of a hole lies to one side of it.
    expect(picture((x) => 125 + 4 * x).shaded).toBe(true);
    // A shallow hole in soft light is hardly darker than the sheet beside it.
    expect(picture(() => 175).shaded).toBe(true);
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

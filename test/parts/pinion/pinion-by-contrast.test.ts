import { describe, expect, test } from "vitest";
import type { Part } from "../../../src/parts/index.js";
import { linearFromSrgb } from "../../../src/parts/linear-light.js";
import { pinionByContrast } from "../../../src/parts/pinion/pinion-by-contrast.js";
import type { CountedWheel } from "../../../src/parts/wheel/counted-wheel.js";
import { matFromPixel } from "../../../src/geometry/index.js";
import { quantity, standardUncertainty } from "../../../src/quantity/index.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown, viewOf } from "../straight-down.js";

type Colour = readonly [number, number, number];
const paper: Colour = [228, 230, 226];

const [widthPx, heightPx] = [1500, 1800];
const foot = [60, -20] as const;
const eyeMm = 260;
const geometry = straightDown(eyeMm, foot);
const view = viewOf(geometry);

/** Eight straight-sided leaves about (0.3, -0.2), tip circle of 3.2 mm, body of 1.5 mm. */
function isFace(x: number, y: number): boolean {
  const r = Math.hypot(x - 0.3, y + 0.2);
  const place = (8 * Math.atan2(y + 0.2, x - 0.3)) / (2 * Math.PI) + 0.3;
  return r < 1.5 || (r < 3.2 && (Math.abs(place - Math.round(place)) * 2 * Math.PI * r) / 8 < 0.5);
}

/** So high, seen from aside: the face, and below it walls a third as bright. */
function photoOf([red, green, blue]: Colour, pinionMm: number) {
  const rgb = new Uint8Array(3 * widthPx * heightPx);
  for (let v = 0, p = 0; v < heightPx; v++)
    for (let u = 0; u < widthPx; u++, p += 3) {
      const [x, y] = matFromPixel(geometry, u, v, 0);
      let seen: Colour = paper;
      if (Math.hypot(x, y) < 6)
        for (let k = 0; k <= 20; k++) {
          const by = (eyeMm - (pinionMm * k) / 20) / eyeMm;
          const bright = k === 20 ? 1 : 0.34;
          if (isFace(foot[0] + by * (x - foot[0]), foot[1] + by * (y - foot[1])))
            seen = [bright * red, bright * green, bright * blue];
        }
      rgb.set(seen, p);
    }
  return inventedPhoto(widthPx, heightPx, rgb);
}

const linear = (c: Colour): [number, number, number] => [
  linearFromSrgb[c[0]]!,
  linearFromSrgb[c[1]]!,
  linearFromSrgb[c[2]]!,
];

/** As a wheel that lies on the mat, 1.4 mm high. */
const asWheel = (metal: Colour, growth: number): CountedWheel =>
  ({
    rim: { face: faceAt(geometry, -0.3, -0.1, 1.4), tipMm: 3.5 },
    contrast: { metal: linear(metal), around: linear(paper), growth },
  }) as unknown as CountedWheel;

const pinion: Part = {
  outlinePx: { tipCircle: [], rootCircle: [], pitchCircle: [] },
  id: "part-1",
  kind: "pinion",
  centrePx: [0, 0],
  centreMm: [-0.3, -0.1],
  teeth: { count: 8, probability: 0.98, alternatives: [], places: [], missing: [], bent: [] },
  tipDiameterMm: quantity(6.55, "mm", [["edge:tip", 0.03]]),
  moduleMm: quantity(0.7, "mm", [["edge:tip", 0.01]]),
  faceHeightMm: quantity(1.5, "mm", [["height:p", 0.35]]),
  findings: [],
  problems: [],
};

const measured = (metal: Colour, growth: number, part = pinion, standsMm = 7) =>
  pinionByContrast(photoOf(metal, standsMm), view, asWheel(metal, growth), part);

const brass: Colour = [196, 158, 74];
const steel: Colour = [120, 122, 124];

describe("a pinion on its end that was measured as a wheel that lies", () => {
  test("brass: its walls tell how high its face is", () => {
    const { kind, teeth, tipDiameterMm, faceHeightMm } = measured(brass, -0.2);
    expect(kind).toBe("pinion");
    expect(teeth!.count).toBe(8);
    expect(teeth!.probability).toBe(0.98);
    expect(Math.abs(faceHeightMm!.value - 7)).toBeLessThan(2 * standardUncertainty(faceHeightMm!));
    expect(Math.abs(tipDiameterMm!.value - 6.4)).toBeLessThan(2 * standardUncertainty(tipDiameterMm!));
  });

  test("brass: a count that its walls do not fit is not sure", () => {
    const seven: Part = { ...pinion, teeth: { ...pinion.teeth!, count: 7 } };
    expect(measured(brass, -0.2, seven).teeth!.probability).toBeLessThan(0.95);
  });

  test("without colour nobody knows how high it stands: sizes are smaller, and less sure", () => {
    const { tipDiameterMm, moduleMm, faceHeightMm, centreMm } = measured(steel, 0);
    const by = (260 - 5) / (260 - 1.4);
    expect(faceHeightMm!.value).toBe(5);
    expect(standardUncertainty(faceHeightMm!)).toBeCloseTo(2.5, 6);
    expect(tipDiameterMm!.value).toBeCloseTo(by * 6.55, 6);
    expect(moduleMm!.value).toBeCloseTo(by * 0.7, 6);
    expect(centreMm![0]).toBeCloseTo(60 + by * (-0.3 - 60), 6);
    // 2.5 mm of 260 mm, a third of 1.2 mm of wall, a shadow.
    expect(standardUncertainty(tipDiameterMm!)).toBeGreaterThan(0.3);
  });

  test("a wheel of few teeth, larger than pinions are, is left as it was", () => {
    const large: Part = { ...pinion, tipDiameterMm: quantity(13, "mm", [["edge:tip", 0.03]]) };
    expect(measured(steel, 0, large)).toBe(large);
  });

  test("brass whose walls are short lies flat", () => {
    expect(measured(brass, -0.2, pinion, 1.5)).toBe(pinion);
  });
});

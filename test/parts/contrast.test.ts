import { describe, expect, test } from "vitest";
import { learnContrast, respond, type Contrast } from "../../src/parts/contrast.js";
import { linearFromSrgb } from "../../src/parts/linear-light.js";
import { seededRandom } from "../../src/quantity/index.js";

type Rgb = readonly [number, number, number];

/** IEC 61966-2-1, encoding. */
const codeOf = (linear: number): number =>
  255 * (linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055);

/** Linear reflectances (invented): brass, patinated brass, steel, paper. */
const brass: Rgb = [0.55, 0.36, 0.12];
const steel: Rgb = [0.3, 0.31, 0.33];
const paper: Rgb = [0.8, 0.8, 0.77];

/** `count` noisy pixels of a colour under light that varies by `light`, relative. */
function pixels(colour: Rgb, seed: number, light = 0.05, count = 300): number[] {
  const random = seededRandom(seed);
  const out: number[] = [];
  for (let i = 0; i < count; i++) {
    const shade = 1 + light * random.normal();
    for (const c of colour)
      out.push(Math.min(255, Math.max(0, Math.round(codeOf(c * shade) + 1.5 * random.normal()))));
  }
  return out;
}

const signalOf = (contrast: Contrast, colour: Rgb): number => {
  const [r, g, b] = colour.map((c) => Math.round(codeOf(c))) as [number, number, number];
  return contrast.red[r]! + contrast.green[g]! + contrast.blue[b]!;
};
const shaded = (colour: Rgb, share: number): Rgb => [share * colour[0], share * colour[1], share * colour[2]];

test("light is linear as IEC 61966-2-1 has it", () => {
  // Published: 0.04045 divides the two pieces; 128 is 21.586 %, 188 is 50.289 % in linear light.
  expect(linearFromSrgb[0]).toBe(0);
  expect(linearFromSrgb[255]).toBeCloseTo(1, 6);
  expect(linearFromSrgb[10]).toBeCloseTo(10 / 255 / 12.92, 7);
  expect(linearFromSrgb[11]).toBeCloseTo(((11 / 255 + 0.055) / 1.055) ** 2.4, 7);
  expect(linearFromSrgb[128]).toBeCloseTo(0.2158605, 6);
  expect(linearFromSrgb[188]).toBeCloseTo(0.5028865, 6);
});

describe("brass on paper", () => {
  const contrast = learnContrast(pixels(brass, 1), pixels(paper, 2))!;

  test("is 1 on the metal and 0 on the paper", () => {
    expect(signalOf(contrast, brass)).toBeCloseTo(1, 1);
    expect(signalOf(contrast, paper)).toBeCloseTo(0, 1);
  });

  test("trap 8: a shadow on the paper stays near 0, where lightness alone takes it for metal", () => {
    // Samples held no shadow at all.
    for (const share of [0.7, 0.5, 0.3]) {
      expect(Math.abs(signalOf(contrast, shaded(paper, share)))).toBeLessThan(0.25);
    }
    expect(signalOf(contrast.byLight!, shaded(paper, 0.4))).toBeGreaterThan(0.9);
    expect(signalOf(contrast, shaded(brass, 0.6))).toBeGreaterThan(0.5);
  });

  test("knows how the signal bends what the lens mixes: the response rises from 0 to 1", () => {
    expect(contrast.response[0]).toBe(0);
    expect(contrast.response[32]).toBeCloseTo(1, 12);
    for (let k = 1; k <= 32; k++) expect(contrast.response[k]!).toBeGreaterThan(contrast.response[k - 1]!);
    let checked = 0;
    for (const share of [0.1, 0.25, 0.5, 0.8]) {
      const mixed = [0, 1, 2].map((c) => share * brass[c]! + (1 - share) * paper[c]!) as unknown as Rgb;
      const [zero, one] = [signalOf(contrast, paper), signalOf(contrast, brass)];
      // Whole code values: a few parts in a thousand.
      const seen = (signalOf(contrast, mixed) - zero) / (one - zero);
      expect(Math.abs(respond(contrast.response, share) - seen)).toBeLessThan(0.02);
      checked++;
    }
    expect(checked).toBe(4);
    expect(respond(contrast.response, -1)).toBe(0);
    expect(respond(contrast.response, 2)).toBeCloseTo(1, 12);
  });

  test("growth is the area under the softened edge less that under the straight one", () => {
    // Trapezoids over the normal distribution, where the code uses a logistic stand-in: 0.01 over 7 sigma.
    let area = 0;
    for (let z = -4; z < 4; z += 0.01) {
      const covered = 0.5 * (1 + erf(z / Math.SQRT2));
      area += 0.01 * (respond(contrast.response, covered) - covered);
    }
    expect(contrast.growth).not.toBe(0);
    expect(Math.abs(contrast.growth - area)).toBeLessThan(0.02);
  });

  test("remembers the light of the surroundings", () => {
    contrast.around.forEach((a, c) => expect(Math.abs(a - paper[c]!)).toBeLessThan(0.02));
  });
});

test("steel goes by light, which the lens mixes evenly: no growth", () => {
  const contrast = learnContrast(pixels(steel, 3), pixels(paper, 4))!;
  expect(contrast.growth).toBe(0);
  expect(contrast.byLight).toBeUndefined();
  expect(signalOf(contrast, steel)).toBeCloseTo(1, 1);
  expect(signalOf(contrast, paper)).toBeCloseTo(0, 1);
  const half = steel.map((s, c) => 0.5 * (s + paper[c]!)) as unknown as Rgb;
  expect(signalOf(contrast, half)).toBeCloseTo(0.5, 1);
});

test("two classes that are alike, or too few pixels, give nothing", () => {
  expect(learnContrast(pixels(paper, 5), pixels(paper, 6))).toBeUndefined();
  expect(learnContrast([], pixels(paper, 6))).toBeUndefined();
  expect(learnContrast(pixels(brass, 5, 0.05, 10), pixels(paper, 6))).toBeUndefined();
});

test("brass as light as the paper about it has no contrast by light, but one by colour", () => {
  const grey: Rgb = [0.37, 0.37, 0.36];
  const contrast = learnContrast(pixels(brass, 7), pixels(grey, 8))!;
  expect(contrast.growth).not.toBe(0);
  expect(contrast.byLight).toBeUndefined();
});

/** Abramowitz and Stegun 7.1.26; error below 1.5e-7. */
function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * Math.abs(x));
  const poly =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return Math.sign(x) * (1 - poly * Math.exp(-x * x));
}

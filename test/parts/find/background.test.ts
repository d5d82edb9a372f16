import { describe, expect, test } from "vitest";
import { compareWithBackground } from "../../../src/parts/find/background.js";
import {
  shrinkPhoto,
  smallFromPhoto,
  photoFromSmall,
  type SmallPicture,
} from "../../../src/parts/find/small-picture.js";
import type { Photo } from "../../../src/photo/index.js";

/** IEC 61966-2-1, encoding. */
const codeOf = (linear: number): number =>
  Math.round(255 * (linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055));

const [width, height] = [320, 240];
const paper = [0.8, 0.79, 0.75] as const;
const brass = [0.5, 0.32, 0.1] as const;
const inShadow = (i: number, j: number): boolean => i > 40 && i < 110 && j > 60 && j < 150;
const onBrass = (i: number, j: number): boolean => Math.hypot(i - 220, j - 120) < 45;
/** Light that falls off smoothly over the picture. */
const light = (i: number, j: number): number => Math.exp(-0.3 * (i / width) - 0.2 * (j / height) ** 2);

function picture(): SmallPicture {
  const rgb = new Uint8Array(3 * width * height);
  for (let j = 0; j < height; j++)
    for (let i = 0; i < width; i++) {
      const shade = light(i, j) * (inShadow(i, j) ? 0.4 : 1);
      (onBrass(i, j) ? brass : paper).forEach((c, k) => {
        rgb[3 * (j * width + i) + k] = codeOf(c * shade);
      });
    }
  return { factor: 1, width, height, rgb };
}

describe("the photograph against its background", () => {
  const against = compareWithBackground(picture(), new Uint8Array(width * height).fill(1), true)!;
  const at = (field: Float32Array, i: number, j: number): number => field[j * width + i]!;

  test("plain paper is 0 everywhere, however the light falls off", () => {
    let worst = 0;
    for (let j = 4; j < height; j += 8)
      for (let i = 4; i < width; i += 8)
        if (!inShadow(i, j) && !onBrass(i, j)) worst = Math.max(worst, Math.abs(at(against.lightness, i, j)));
    // The floor under near-black bends the logarithm a little; 8-bit steps are 0.01.
    expect(worst).toBeLessThan(0.05);
  });

  test("trap 8: a shadow changes lightness alone, never colour", () => {
    let tried = 0;
    for (let j = 66; j < 146; j += 8)
      for (let i = 46; i < 106; i += 8) {
        expect(at(against.lightness, i, j)).toBeCloseTo(Math.log(0.4), 1);
        expect(Math.abs(at(against.redGreen, i, j))).toBeLessThan(0.03);
        expect(Math.abs(at(against.greenBlue, i, j))).toBeLessThan(0.03);
        tried++;
      }
    expect(tried).toBe(80);
  });

  test("brass differs in colour by what it should", () => {
    const redGreen = Math.log(brass[0] / paper[0]) - Math.log(brass[1] / paper[1]);
    const greenBlue = Math.log(brass[1] / paper[1]) - Math.log(brass[2] / paper[2]);
    expect(at(against.redGreen, 220, 120)).toBeCloseTo(redGreen, 1);
    expect(Math.abs(at(against.greenBlue, 220, 120) - greenBlue)).toBeLessThan(0.1);
  });

  test("nowhere to look gives nothing", () => {
    expect(compareWithBackground(picture(), new Uint8Array(width * height), true)).toBeUndefined();
  });
});

test("a shrunk photograph holds block means, and its pixels know where they came from", () => {
  const rgb = Uint8Array.from({ length: 3 * 8 * 6 }, (_, k) => 10 * (Math.floor(k / 3) % 8) + (k % 3));
  const photo = { widthPx: 8, heightPx: 6, rgb } as Photo;
  const small = shrinkPhoto(photo, 12);
  expect([small.factor, small.width, small.height]).toEqual([2, 4, 3]);
  // Columns 0 and 1 are 0 and 10: mean 5.
  expect([...small.rgb.slice(0, 6)]).toEqual([5, 6, 7, 25, 26, 27]);
  expect(photoFromSmall(small, 0)).toBe(0.5);
  expect(smallFromPhoto(small, photoFromSmall(small, 3))).toBe(3);
});

import { describe, expect, test } from "vitest";
import { learnContrast } from "../../../src/parts/contrast.js";
import { pixelFromFace, pxPerMmOnFace } from "../../../src/parts/face-plane.js";
import { codeFromLinear } from "../../../src/parts/linear-light.js";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { fitLayeredBore } from "../../../src/parts/wheel/fit-layered-bore.js";
import { inventedPhoto } from "../invented-photo.js";
import { faceAt, straightDown } from "../straight-down.js";

type Colour = readonly [number, number, number];

const size = 121;
const blurPx = 1;
const thicknessMm = 1.5;
const radiusMm = 2.5;
/** 10 px/mm, far from the foot point: 7 px of the wall are seen. */
const geometry = straightDown(400, [0, 0], 4000);
const face = faceAt(geometry, -193, 143, thicknessMm);
const below = faceAt(geometry, -193, 143, 0);
const pxPerMm = pxPerMmOnFace(face);
const brass: Colour = [0.55, 0.42, 0.2];
const paper: Colour = [0.8, 0.8, 0.78];

/** The middle of the hole lies so far from that of the face, mm. */
const trueX = 0.11;
const trueY = -0.07;

/** Under a camera that looks straight down circles stay circles: upper edge, lower edge, and what lies between them. */
function drawn(wall: Colour, floor: (u: number) => number) {
  const at = (plane: typeof face) => pixelFromFace(plane, Math.hypot(trueX, trueY), Math.atan2(trueY, trueX));
  const [upper, lower] = [at(face), at(below)];
  const [upperPx, lowerPx] = [radiusMm * pxPerMm, radiusMm * pxPerMmOnFace(below)];
  const fine = 4;
  const n = fine * size;
  const sharp = [0, 1, 2].map(() => new Float64Array(n * n));
  for (let j = 0; j < n; j++)
    for (let i = 0; i < n; i++) {
      const u = (i + 0.5) / fine - 0.5;
      const v = (j + 0.5) / fine - 0.5;
      const isHole = Math.hypot(u - upper[0], v - upper[1]) < upperPx;
      const isFloor = Math.hypot(u - lower[0], v - lower[1]) < lowerPx;
      for (let c = 0; c < 3; c++)
        sharp[c]![j * n + i] = !isHole ? brass[c]! : isFloor ? floor(u) * paper[c]! : wall[c]!;
    }
  const rgb = new Uint8Array(3 * size * size);
  const reach = Math.ceil(3 * blurPx * fine);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, k) =>
    Math.exp(-0.5 * ((k - reach) / (blurPx * fine)) ** 2),
  );
  const total = kernel.reduce((a, b) => a + b, 0);
  sharp.forEach((channel, c) => {
    const across = new Float64Array(n * n);
    const blur = (from: Float64Array, p: number, step: number, place: number): number =>
      kernel.reduce((sum, k, d) => {
        const q = Math.min(n - 1, Math.max(0, place + d - reach));
        return sum + (k / total) * from[p + (q - place) * step]!;
      }, 0);
    for (let j = 0; j < n; j++)
      for (let i = 0; i < n; i += 1) across[j * n + i] = blur(channel, j * n + i, 1, i);
    for (let v = 0; v < size; v++)
      for (let u = 0; u < size; u++) {
        // Four samples make a pixel: two of them about its middle say what it is, blurred as the picture is.
        const [i, j] = [fine * u + fine / 2, fine * v + fine / 2];
        const light =
          [i - 1, i].reduce(
            (s, a) => s + [j - 1, j].reduce((t, b) => t + blur(across, b * n + a, n, b), 0),
            0,
          ) / 4;
        rgb[3 * (v * size + u) + c] = Math.round(codeFromLinear(light));
      }
  });
  return inventedPhoto(size, size, rgb);
}

const samplesOf = (colour: Colour): number[] =>
  Array.from({ length: 100 }, (_, k) =>
    colour.map((c) => Math.round(codeFromLinear(c * (1 + 0.04 * Math.sin(7 * k))))),
  ).flat();

const contrast = learnContrast(samplesOf(brass), samplesOf(paper))!;
const thick = new ThickOutline(face, thicknessMm);

describe("the bore of a wheel in its own shade", () => {
  const dark = (): number => 0.12;
  const fromOneSide = (u: number): number => 0.06 + 0.3 * (u / size);
  for (const [words, wall, floor] of [
    ["a dark wall", [0.05, 0.035, 0.015], dark],
    ["a wall nearly as bright as the face", [0.42, 0.31, 0.13], dark],
    ["light from one side", [0.09, 0.065, 0.03], fromOneSide],
  ] as const)
    test(`${words}: centre and radius to 0.15 px, though only its floor was found first`, () => {
      // The floor alone: half-way between both edges, and smaller.
      const [shiftX, shiftY] = thick.lowerShiftMm;
      const floorFace = { ...face, xMm: face.xMm + trueX + shiftX / 2, yMm: face.yMm + trueY + shiftY / 2 };
      const edge = fitLayeredBore(drawn(wall, floor), contrast, floorFace, 2.2, thick, blurPx, blurPx)!;
      expect(Math.abs(edge.radiusMm - radiusMm) * pxPerMm).toBeLessThan(0.15);
      expect(Math.abs(edge.xMm + shiftX / 2) * pxPerMm).toBeLessThan(0.15);
      expect(Math.abs(edge.yMm + shiftY / 2) * pxPerMm).toBeLessThan(0.15);
      expect(Math.hypot(shiftX, shiftY) * pxPerMm).toBeGreaterThan(6);
    });

  test("a wall that hides most of the floor leaves nothing to be measured", () => {
    const tall = new ThickOutline(face, 5);
    const photo = drawn([0.05, 0.035, 0.015], dark);
    expect(fitLayeredBore(photo, contrast, face, radiusMm, tall, blurPx, blurPx)).toBeUndefined();
  });
});

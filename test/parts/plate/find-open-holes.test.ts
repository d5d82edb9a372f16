import { expect, test } from "vitest";
import { heightOfFace } from "../../../src/parts/face-height.js";
import type { CentredHole } from "../../../src/parts/plate/centre-hole.js";
import { findOpenHoles, type WithinPlate } from "../../../src/parts/plate/find-open-holes.js";
import { lookInside } from "../../../src/parts/plate/hole-inside.js";
import { FaceHere } from "../../../src/parts/plate/local-face.js";
import { inventedPlate } from "./invented-plate.js";

type Colour = readonly [number, number, number];

const darkBrass: Colour = [96, 82, 47];
const paper: Colour = [215, 215, 213];
const shade: Colour = [40, 40, 41];

/** What is told within a plate of 36 mm on which something is seen. */
function within(codeAt: (xMm: number, yMm: number) => Colour | undefined, paperLight?: number): WithinPlate {
  const plate = inventedPlate(380, codeAt, paperLight);
  const outline = [
    [-18, -18],
    [18, -18],
    [18, 18],
    [-18, 18],
  ] as const;
  const height = heightOfFace({ everyPartMm: 1 }, undefined);
  return findOpenHoles(plate, outline, height, 0.7);
}

const holesIn = (...args: Parameters<typeof within>): CentredHole[] => [...within(...args).holes];

const isWithin = (x: number, y: number, xMm: number, yMm: number, radiusMm: number): boolean =>
  Math.hypot(x - xMm, y - yMm) < radiusMm;

test("sheet and darkness are seen through holes; a dark spot of the metal's colour is none", () => {
  const found = holesIn((x, y) => {
    if (isWithin(x, y, -8, 2, 1.2)) return shade;
    if (isWithin(x, y, 1, 6, 2)) return paper;
    if (isWithin(x, y, 7, -3, 1.5)) return darkBrass;
    return undefined;
  });
  const places = found.map(({ xMm, yMm, shape: [x, y] }) => [Math.round(xMm + x), Math.round(yMm + y)]);
  expect(places.sort((a, b) => a[0]! - b[0]!)).toEqual([
    [-8, 2],
    [1, 6],
  ]);
});

test("holes of a plate that is a quarter as bright at one end are found there too", () => {
  const found = holesIn((x, y) => {
    if ([-10, 0, 10].some((at) => isWithin(x, y, at, 3, 1.2))) return shade;
    // Code values of light that falls off from left to right.
    return [200, 172, 100].map((code) => code * 0.25 ** ((0.42 * (x + 18)) / 36)) as unknown as Colour;
  });
  expect(found).toHaveLength(3);
});

test("of a dark bush and its hole the hole is measured, and the bush is kept", () => {
  const found = holesIn((x, y) => {
    if (isWithin(x, y, 2, 1, 1)) return shade;
    return isWithin(x, y, 2, 1, 2.5) ? darkBrass : undefined;
  });
  expect(found).toHaveLength(1);
  // Half height, 10 px/mm.
  expect(found[0]!.shape[2]).toBeCloseTo(1, 1);
  expect(found[0]!.bushRadiusMm).toBeCloseTo(2.5, 1);
});

test("a stain of any shape is no opening", () => {
  expect(
    holesIn((x, y) => (Math.abs(x) < 5 && Math.abs(y - Math.sin(x)) < 2 ? darkBrass : undefined)),
  ).toEqual([]);
});

// Flash: brass is blown out, and paper is not.
const white: Colour = [255, 255, 255];

test("holes are seen in brass that is white with light, where the paper is greyer", () => {
  const found = holesIn((x, y) => {
    if (isWithin(x, y, -8, 2, 1.2) || isWithin(x, y, 9, -4, 2)) return paper;
    return x < 0 ? white : undefined;
  });
  expect(found.map(({ here }) => here.isBlown).sort()).toEqual([false, true]);
  const own = found.find(({ here }) => here.isBlown)!;
  expect(
    [own.xMm + own.shape[0], own.yMm + own.shape[1], own.shape[2]].map((v) => Math.round(10 * v)),
  ).toEqual([-80, 20, 12]);
});

test("a glint that is whiter than paper is no hole", () => {
  const greyPaper = 0.6;
  expect(holesIn((x, y) => (isWithin(x, y, 3, 3, 1.2) ? white : undefined), greyPaper)).toEqual([]);
  // Where paper is as white, it may be paper, or the mirror of a post's end: neither is said.
  const { holes, noHoles } = within((x, y) => (isWithin(x, y, 3, 3, 1.2) ? white : undefined), 0.95);
  expect(holes).toEqual([]);
  expect(noHoles.map((no) => no.isPost)).toEqual([false]);
});

test("the head of a screw is no hole: grey as shaded paper, but slotted; paper half in shade is one", () => {
  const steel: Colour = [128, 130, 132];
  const found = holesIn((x, y) => {
    if (isWithin(x, y, -7, 2, 2.2)) return Math.abs(x + 7 - 0.6 * (y - 2)) < 0.35 ? shade : steel;
    if (isWithin(x, y, 6, 2, 2.2)) return x < 6 ? shade : paper;
    return undefined;
  });
  expect(found.map(({ xMm, shape: [x] }) => Math.round(xMm + x))).toEqual([6]);
});

test("a hole of which the wall hides half is a hole: beside the wall the sheet is seen", () => {
  // Seen from 40 degrees aside the lower edge lies 0.8 mm beside the upper one.
  const plate = inventedPlate(200, (x, y) => {
    if (!isWithin(x, y, 0, 0, 1)) return undefined;
    return isWithin(x, y, 0.8, 0, 1) ? shade : [130, 112, 65];
  });
  const sheet = [0, 0, 1, 0, 0] as const;
  const hole = { xMm: 0, yMm: 0, shape: sheet, here: new FaceHere(plate.signal) } as unknown as CentredHole;
  expect(lookInside(plate, hole).isMetal).toBe(true);
  expect(lookInside(plate, hole, [0.8, 0]).isMetal).toBe(false);
});

test("a deep hole whose walls tint it brown is a hole; a stain as dark, whose edge is soft, is none", () => {
  // Half of the metal's colour, a fifth of its light.
  const tinted: Colour = [88, 82, 66];
  const found = holesIn((x, y) => {
    if (isWithin(x, y, -8, 2, 1.2)) return tinted;
    const r = Math.hypot(x - 6, y - 2);
    const share = Math.max(0, Math.min(1, (r - 1) / 1.2));
    return r < 2.2
      ? (tinted.map((c, k) => c + share * ([200, 172, 100][k]! - c)) as unknown as Colour)
      : undefined;
  });
  expect(found.map(({ xMm, shape: [x] }) => Math.round(xMm + x))).toEqual([-8]);
});

/** Code values of brass in so much of the light of the bare face. */
const inLight = (share: number): Colour =>
  [200, 172, 100].map((code) => Math.round(code * share ** 0.42)) as unknown as Colour;

test("of an oil sink whose one side is dark the hole is found, not the rim on that side", () => {
  const found = holesIn((x, y) => {
    if (isWithin(x, y, 3, -2, 0.75)) return paper;
    return isWithin(x, y, 3, -2, 1.9)
      ? inLight(0.65 + (0.3 * (x - 3)) / Math.hypot(x - 3, y + 2))
      : undefined;
  });
  expect(found).toHaveLength(1);
  const [{ xMm, yMm, shape, sink }] = found as [CentredHole];
  expect(sink).toBeDefined();
  expect(shape[2]).toBeGreaterThan(0.65);
  expect(shape[2]).toBeLessThan(0.85);
  expect(Math.hypot(xMm + shape[0] - 3, yMm + shape[1] + 2)).toBeLessThan(0.05);
});

test("a deep narrow hole in an oil sink is one, though all that is seen in it is its wall", () => {
  const wall = inLight(0.22);
  const seen = (sinkMm: number): CentredHole[] =>
    holesIn((x, y) => {
      if (isWithin(x, y, 3, -2, 0.75)) return wall;
      return isWithin(x, y, 3, -2, sinkMm)
        ? inLight(0.8 + (0.15 * (x - 3)) / Math.hypot(x - 3, y + 2))
        : undefined;
    });
  expect(seen(1.9)).toHaveLength(1);
  // Without a sink it may be a punch mark.
  expect(seen(0)).toHaveLength(0);
});

test("the dark bowl of an oil sink is not taken for its hole: metal all round, lighter than what is seen in its middle", () => {
  // Of the hole a lens is left, grey and to one side: the rest is its wall, as brown as the bowl.
  const lens: Colour = [66, 72, 80];
  const { holes, noHoles } = within((x, y) => {
    if (isWithin(x, y, 2.4, -2, 0.85) && isWithin(x, y, 3.3, -2, 0.9)) return lens;
    return isWithin(x, y, 3, -2, 2) ? inLight(isWithin(x, y, 3, -2, 1.3) ? 0.27 : 0.36) : undefined;
  });
  expect(holes.filter(({ shape }) => shape[2] > 1)).toEqual([]);
  expect(noHoles.map(({ isPost, radiusMm }) => [isPost, Math.round(radiusMm)])).toEqual([[false, 2]]);
});

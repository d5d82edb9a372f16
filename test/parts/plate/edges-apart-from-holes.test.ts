import { expect, test } from "vitest";
import type { CentredHole } from "../../../src/parts/plate/centre-hole.js";
import { edgesApartFromHoles } from "../../../src/parts/plate/edges-apart-from-holes.js";
import type { PlateFace } from "../../../src/parts/plate/plate-face.js";
import { ThickOutline } from "../../../src/parts/thick-outline.js";
import { faceAt, straightDown } from "../straight-down.js";

const face = faceAt(straightDown(300), 0, 0, 0);
const plate = { face, pxMm: 0.1 } as unknown as PlateFace;

/** A round hole of a plate so thick, seen from the middle of what shows of it, its wall as bright as the face or dark. */
function hole(xMm: number, yMm: number, radiusMm: number, thickMm: number, isLit: boolean): CentredHole {
  const [sx, sy] = new ThickOutline({ ...face, xMm, yMm }, thickMm).lowerShiftMm;
  const isOpen = (x: number, y: number): boolean =>
    Math.hypot(x + sx / 2, y + sy / 2) < radiusMm &&
    (!isLit || Math.hypot(x - sx / 2, y - sy / 2) < radiusMm);
  const rays = Array.from({ length: 96 }, (_, i) => {
    const angleRad = (2 * Math.PI * i) / 96;
    let r = 0.1;
    while (isOpen(r * Math.cos(angleRad), r * Math.sin(angleRad))) r += 0.01;
    return { angleRad, start: r / 0.05, stepMm: 0.05 };
  });
  return { xMm, yMm, rays, here: { isBlown: false } } as unknown as CentredHole;
}

const holes = (thickMm: number, isLit: boolean): CentredHole[] =>
  [
    [60, 10, 2],
    [70, -20, 1.2],
    [50, 30, 1.6],
    [80, 0, 2.3],
  ].map(([x, y, r]) => hole(x!, y!, r!, thickMm, isLit));

test("lit walls tell how thick a plate on pillars is, dark ones leave what is usual", () => {
  const lit = edgesApartFromHoles(plate, holes(2.4, true), 1.3);
  expect(lit.apartMm).toBeCloseTo(2.4, 0);
  expect(Math.abs(lit.apartMm - 2.4)).toBeLessThan(2 * lit.uMm);
  const dark = edgesApartFromHoles(plate, holes(2.4, false), 1.3);
  expect(dark.apartMm).toBe(1.3);
  expect(dark.uMm).toBeGreaterThan(lit.uMm);
});

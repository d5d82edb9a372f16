import { expect, test } from "vitest";
import { regionOf } from "./region.js";
import { wheelOutline } from "./wheel-outline.js";

// BS 978-2:1952, addendum factors as tabulated in an open gear library (the standard itself not seen).
const leaves = [6, 7, 8, 9, 10, 12, 14, 15, 16];
const ratios = [3, 4, 5, 6, 7, 8, 9, 10, 11, 12];
const publishedAddendum = [
  [1.259, 1.28, 1.293, 1.303, 1.31, 1.315, 1.32, 1.322, 1.326, 1.328],
  [1.335, 1.359, 1.374, 1.385, 1.393, 1.399, 1.404, 1.408, 1.411, 1.414],
  [1.403, 1.43, 1.447, 1.459, 1.468, 1.475, 1.48, 1.484, 1.488, 1.491],
  [1.465, 1.494, 1.513, 1.526, 1.536, 1.543, 1.549, 1.554, 1.558, 1.561],
  [1.523, 1.554, 1.574, 1.588, 1.599, 1.607, 1.613, 1.618, 1.623, 1.626],
  [1.626, 1.661, 1.684, 1.7, 1.712, 1.721, 1.728, 1.734, 1.739, 1.743],
  [1.718, 1.756, 1.782, 1.799, 1.812, 1.822, 1.83, 1.837, 1.842, 1.847],
  [1.76, 1.801, 1.827, 1.845, 1.859, 1.869, 1.878, 1.884, 1.89, 1.895],
  [1.801, 1.843, 1.87, 1.889, 1.903, 1.914, 1.923, 1.929, 1.935, 1.94],
];

test("cuts cycloidal teeth with the addendum of BS 978-2 for every pinion and ratio", () => {
  let checked = 0;
  leaves.forEach((n, i) =>
    ratios.forEach((ratio, j) => {
      const outline = wheelOutline({ toothCount: n * ratio, moduleMm: 1, form: "cycloidal", leaves: n });
      const addendum = (outline.tipDiameterMm - n * ratio) / 2;
      // Printed to three places; the derivation agrees to 0.0008.
      expect(Math.abs(addendum - publishedAddendum[i]![j]!)).toBeLessThan(0.001);
      let farthest = 0;
      let nearest = Infinity;
      for (let k = 0; k < outline.xyMm.length; k += 2) {
        const r = Math.hypot(outline.xyMm[k]!, outline.xyMm[k + 1]!);
        farthest = Math.max(farthest, r);
        nearest = Math.min(nearest, r);
      }
      expect(2 * farthest).toBeCloseTo(outline.tipDiameterMm, 6);
      // Root diameter (N - pi) m: dedendum pi/2 modules.
      expect(2 * nearest).toBeCloseTo(n * ratio - Math.PI, 6);
      checked++;
    }),
  );
  expect(checked).toBe(90);
});

test("makes teeth half a circular pitch thick at the pitch circle, outlines that never run back", () => {
  for (const form of ["cycloidal", "involute-like"] as const) {
    const outline = wheelOutline({ toothCount: 64, moduleMm: 0.8, form, leaves: 8 });
    const pitchRadius = (64 * 0.8) / 2;
    const crossings: number[] = [];
    let area = 0;
    const n = outline.xyMm.length / 2;
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      const [ax, ay, bx, by] = [
        outline.xyMm[2 * i]!,
        outline.xyMm[2 * i + 1]!,
        outline.xyMm[2 * j]!,
        outline.xyMm[2 * j + 1]!,
      ];
      area += (ax * by - ay * bx) / 2;
      const ra = Math.hypot(ax, ay) - pitchRadius;
      const rb = Math.hypot(bx, by) - pitchRadius;
      if (ra > 0 !== rb > 0) {
        const t = ra / (ra - rb);
        crossings.push(Math.atan2(ay + t * (by - ay), ax + t * (bx - ax)));
      }
    }
    expect(crossings.length).toBe(128);
    expect(area).toBeGreaterThan(Math.PI * (outline.rootDiameterMm / 2) ** 2);
    crossings.sort((a, b) => a - b);
    const widths = crossings.slice(1).map((c, i) => c - crossings[i]!);
    for (const width of widths) expect(width * pitchRadius).toBeCloseTo((Math.PI / 2) * 0.8, 3);
  }
});

/** Farthest outline point within half a pitch of an angle: the tip of that tooth. */
function tipNear(
  outline: Float64Array,
  angleRad: number,
  halfPitchRad: number,
): { r: number; angle: number } {
  let best = { r: 0, angle: 0 };
  for (let i = 0; i < outline.length; i += 2) {
    const angle = Math.atan2(outline[i + 1]!, outline[i]!);
    const off = Math.atan2(Math.sin(angle - angleRad), Math.cos(angle - angleRad));
    const r = Math.hypot(outline[i]!, outline[i + 1]!);
    if (Math.abs(off) < halfPitchRad && r > best.r) best = { r, angle: off };
  }
  return best;
}

test("makes ovals and lobes of the size asked for", () => {
  const half = Math.PI / 72;
  const wheel = { toothCount: 72, moduleMm: 0.5, form: "cycloidal" } as const;
  const tip = wheelOutline(wheel).tipDiameterMm / 2;
  const oval = wheelOutline({ ...wheel, ovalMm: 0.4, ovalAngleRad: Math.PI / 2 }).xyMm;
  // Largest minus smallest diameter; the tips at 0 and 90 degrees lie on both.
  const diameter = (angle: number): number =>
    tipNear(oval, angle, half).r + tipNear(oval, angle + Math.PI, half).r;
  expect(diameter(Math.PI / 2) - diameter(0)).toBeCloseTo(0.4, 4);
  const lobed = wheelOutline({ ...wheel, threeLobeMm: 0.3, threeLobeAngleRad: 0 }).xyMm;
  expect(tipNear(lobed, 0, half).r - tip).toBeCloseTo(0.15, 4);
  expect(tipNear(lobed, Math.PI / 3, half).r - tip).toBeCloseTo(-0.15, 4);
});

test("bends, breaks and removes the teeth that are named, and no others", () => {
  const half = Math.PI / 60;
  const plain = wheelOutline({ toothCount: 60, moduleMm: 0.8, form: "cycloidal" });
  const tip = plain.tipDiameterMm / 2;
  const root = plain.rootDiameterMm / 2;
  const { xyMm, teeth } = wheelOutline({
    toothCount: 60,
    moduleMm: 0.8,
    form: "cycloidal",
    missing: [7],
    broken: [{ index: 20, fraction: 0.4 }],
    bent: [{ index: 33, offsetMm: 0.3 }],
  });
  const at = (i: number): { r: number; angle: number } => tipNear(xyMm, teeth[i]!.angleRad, half);
  expect(at(7).r).toBeLessThan(root + 0.06 * (tip - root));
  expect(at(20).r).toBeGreaterThan(root + 0.33 * (tip - root));
  expect(at(20).r).toBeLessThan(root + 0.47 * (tip - root));
  expect(at(33).angle * tip).toBeCloseTo(0.3, 6);
  let whole = 0;
  teeth.forEach((tooth, i) => {
    if (tooth.state !== "whole") return;
    expect(at(i).r).toBeCloseTo(tip, 9);
    expect(at(i).angle).toBeCloseTo(0, 9);
    whole++;
  });
  expect(whole).toBe(57);
});

test("turns the steep faces of escape and ratchet teeth the way that is asked for", () => {
  for (const form of ["escape-recoil", "escape-deadbeat", "ratchet"] as const)
    for (const rake of [1, -1] as const) {
      const { xyMm, tipDiameterMm } = wheelOutline({ toothCount: 30, moduleMm: 1, form, rake });
      expect(tipDiameterMm).toBeCloseTo(30, 9);
      // Just clockwise of the steep face at half depth is metal, just counter-clockwise air; rake -1 mirrors it.
      const region = regionOf([xyMm], 0.01);
      const r = 15 - (0.6 * Math.PI) / 2;
      const isMetal = (angle: number): boolean => region.isInside(r * Math.cos(angle), r * Math.sin(angle));
      const step = 0.0005;
      const faces: number[] = [];
      for (let angle = -0.06; angle < 0.06; angle += step) {
        if (isMetal(angle) !== isMetal(angle + step)) faces.push(angle + step / 2);
      }
      const steep = faces.sort((a, b) => Math.abs(a) - Math.abs(b))[0]!;
      expect(isMetal(steep - 0.005 * rake)).toBe(true);
      expect(isMetal(steep + 0.005 * rake)).toBe(false);
    }
});

import { expect, test } from "vitest";
import { plainOptics, plainSensor } from "./scene-base.js";
import { poseLookingAt, project } from "./scene-camera.js";
import { onFace } from "./scene-truth.js";
import { renderScene } from "./render-scene.js";
import type { Rendered } from "./render-scene.js";
import { sceneOfKind } from "./scene-kinds.js";
import type { Scene, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";

const plainLook = { metal: "steel", finish: "matt", mottling: 0, scratches: 0, engraving: 0 } as const;

/** A bare wheel or disc over a lit table, camera 400 mm up. */
function silhouette(
  part: Partial<WheelPart>,
  pose: Parameters<typeof poseLookingAt>[0],
  f: number,
  size = 900,
): Scene {
  const wheel: WheelPart = {
    type: "wheel",
    label: "T1",
    atMm: [0, 0],
    faceHeightMm: 1.5,
    thicknessMm: 1.5,
    turnRad: 0,
    tiltRad: 0,
    tiltDirectionRad: 0,
    outline: { toothCount: 60, moduleMm: 0.6, form: "cycloidal", leaves: 8 },
    boreRadiusMm: 0,
    boreAtMm: [0, 0],
    bevelMm: 0,
    look: plainLook,
    ...part,
  };
  return {
    kind: "silhouette",
    widthPx: size,
    heightPx: size,
    camera: { fxPx: f, fyPx: f, cxPx: (size - 1) / 2, cyPx: (size - 1) / 2, k1: 0, k2: 0, p1: 0, p2: 0 },
    pose: poseLookingAt(pose),
    ground: { kind: "surface", surface: "light-table" },
    parts: [wheel],
    light: {
      atMm: [0, 0, 800],
      radiusMm: 100,
      ambient: 0.5,
      gradient: [0, 0],
      whiteBalance: [1, 1, 1],
      glare: 0,
    },
    optics: plainOptics,
    sensor: plainSensor,
    given: {},
  };
}

const straightDown = { targetMm: [0, 0] as const, distanceMm: 400, tiltRad: 0, azimuthRad: 0, rollRad: 0 };

/** Share of metal in each pixel, from linear green between the two flat levels of the picture. */
function coverage(picture: Rendered): Float64Array {
  const linear = (v: number): number => {
    const s = v / 255;
    return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
  };
  const green = Float64Array.from({ length: picture.rgb.length / 3 }, (_, i) =>
    linear(picture.rgb[3 * i + 1]!),
  );
  const bright = green[0]!;
  const sorted = Float64Array.from(green).sort();
  const dark = sorted[Math.floor(sorted.length * 0.01)]!;
  return green.map((g) => (bright - g) / (bright - dark));
}

function bilinear(values: Float64Array, width: number, u: number, v: number): number {
  const c = Math.floor(u);
  const r = Math.floor(v);
  const i = r * width + c;
  const a = values[i]! + (values[i + 1]! - values[i]!) * (u - c);
  const b = values[i + width]! + (values[i + width + 1]! - values[i + width]!) * (u - c);
  return a + (b - a) * (v - r);
}

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

test("renders the same bytes for the same seed and other bytes for another", () => {
  const scene = sceneOfKind("single", 5, "1mp");
  const first = renderScene(scene, 5);
  expect(Buffer.compare(first.rgb, renderScene(sceneOfKind("single", 5, "1mp"), 5).rgb)).toBe(0);
  expect(Buffer.compare(first.rgb, renderScene(scene, 6).rgb)).not.toBe(0);
  expect(JSON.parse(JSON.stringify(first.truth))).toEqual(first.truth);
  expect(JSON.parse(JSON.stringify(scene))).toEqual(scene);
});

test("puts every outline point of a flat wheel where the projection says", () => {
  // 20 px/mm; nothing hidden, no blur: the half-level line is the outline.
  const scene = silhouette({ thicknessMm: 0.01, faceHeightMm: 0.01 }, straightDown, 8000);
  const cover = coverage(renderScene(scene, 1));
  const outline = wheelOutline((scene.parts[0] as WheelPart).outline).xyMm;
  const n = outline.length / 2;
  let sum = 0;
  let sumAbs = 0;
  let worst = 0;
  let used = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const dx = outline[2 * j]! - outline[2 * i]!;
    const dy = outline[2 * j + 1]! - outline[2 * i + 1]!;
    const length = Math.hypot(dx, dy);
    const [u, v] = project(
      scene.camera,
      scene.pose,
      onFace(scene.parts[0]!, outline[2 * i]! + dx / 2, outline[2 * i + 1]! + dy / 2),
    );
    // Outward normal; the picture's v axis points down the sheet.
    const nu = dy / length;
    const nv = dx / length;
    // Shares of metal from 2 px inside to 2 px outside add up to the place of a sharp edge.
    let metal = 0;
    for (let s = -2; s < 2; s += 0.05)
      metal += 0.05 * bilinear(cover, scene.widthPx, u + nu * (s + 0.025), v + nv * (s + 0.025));
    const offset = metal - 2;
    if (Math.abs(offset) > 1.5) continue;
    sum += offset;
    sumAbs += Math.abs(offset);
    worst = Math.max(worst, Math.abs(offset));
    used++;
  }
  expect(used).toBeGreaterThan(0.95 * n);
  expect(Math.abs(sum / used)).toBeLessThan(0.02);
  expect(sumAbs / used).toBeLessThan(0.15);
});

/** Area of the silhouette, px2. */
const metalArea = (scene: Scene): number => coverage(renderScene(scene, 1)).reduce((a, b) => a + b, 0);

test("shows a face 10 mm up by h/(D - h) too large: 2.564 % at 400 mm", () => {
  const area = (height: number): number =>
    metalArea(silhouette({ faceHeightMm: height, thicknessMm: 0.01 }, straightDown, 8000));
  const growth = Math.sqrt(area(10) / area(0.01)) - 1;
  // Closed form: 10 / 390; 16 rays a pixel hold an area of this size to about 1e-5.
  expect(growth).toBeCloseTo(9.99 / 390, 4);
});

test("shifts the outline of a thick disc off the foot point by t x / (D - t): 0.376 mm", () => {
  // Far edge 100 mm from the foot point, disc of 10 mm diameter and 1.5 mm thickness, camera 400 mm up.
  const disc: Partial<WheelPart> = {
    type: "count-wheel",
    atMm: [95, 0],
    outline: { toothCount: 10, moduleMm: 1, form: "cycloidal" },
  };
  const scene = silhouette(disc, straightDown, 4000, 600);
  const moved = { ...scene, camera: { ...scene.camera, cxPx: 300 - 950 } };
  const cover = coverage(renderScene(moved, 1));
  // Widest row: through the disc's middle, v = cy.
  const row = Math.round(moved.camera.cyPx);
  let near = -1;
  let far = -1;
  for (let u = 0; u + 1 < moved.widthPx; u++) {
    const [a, b] = [cover[row * moved.widthPx + u]!, cover[row * moved.widthPx + u + 1]!];
    if (a < 0.5 && b >= 0.5) near = u + (0.5 - a) / (b - a);
    if (a >= 0.5 && b < 0.5) far = u + (0.5 - a) / (b - a);
  }
  // On the sheet's plane: pixels per mm = f / D = 10.
  const onSheet = (u: number): number => (u - moved.camera.cxPx) / 10;
  // Half a pixel row off the middle and 1/16 px sampling: 0.01 mm.
  expect(onSheet(near)).toBeCloseTo(90, 1);
  expect(Math.abs(onSheet(far) - 100 - (1.5 * 100) / 398.5)).toBeLessThan(0.01);
});

import { expect, test } from "vitest";
import { plainOptics, plainSensor } from "./scene-base.js";
import { poseLookingAt, project } from "./scene-camera.js";
import { onFace } from "./scene-truth.js";
import { renderScene } from "./render-scene.js";
import type { Rendered } from "./render-scene.js";
import { sceneOfKind } from "./scene-kinds.js";
import type { Scene, WheelPart } from "./scene.js";
import { sceneKinds } from "./scene-kinds.js";
import { sceneSetKinds, sceneSetOfKind } from "./scene-sets.js";
import { crossingOpenings } from "./outlines.js";
import { maskClass, rotated, tippedRotation } from "./solids.js";
import { wheelOutline } from "./wheel-outline.js";
import aruco from "js-aruco2";
import "js-aruco2/src/dictionaries/apriltag_36h11.js";

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
  // The middle brightness of whole metal pixels: faces are a little mottled.
  const metal = Float64Array.from(green.filter((_, i) => picture.mask[i] === maskClass.wheel)).sort();
  const dark = metal[metal.length >> 1]!;
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

test("renders the same bytes for the same seed and other bytes for another", () => {
  const scene = sceneOfKind("single", 5, "0.3mp");
  const first = renderScene(scene, 5);
  expect(Buffer.compare(first.rgb, renderScene(sceneOfKind("single", 5, "0.3mp"), 5).rgb)).toBe(0);
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
  let perimeter = 0;
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
    // By length: round tips and fillets, drawn with short pieces, look blunter than they are by their curvature.
    sum += offset * length;
    sumAbs += Math.abs(offset) * length;
    perimeter += length;
    worst = Math.max(worst, Math.abs(offset));
    used++;
  }
  expect(used).toBeGreaterThan(0.95 * n);
  // Sixteen rays a pixel place an edge to about 1/16 px each, without bias.
  expect(Math.abs(sum / perimeter)).toBeLessThan(0.01);
  expect(sumAbs / perimeter).toBeLessThan(0.06);
  expect(worst).toBeLessThan(0.4);
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

/** Area of a closed polygon. */
function areaOf(xy: ArrayLike<number>): number {
  let sum = 0;
  const n = xy.length / 2;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    sum += (xy[2 * i]! * xy[2 * j + 1]! - xy[2 * j]! * xy[2 * i + 1]!) / 2;
  }
  return Math.abs(sum);
}

/** Convex hull, counter-clockwise (monotone chain). */
function hullOf(points: readonly (readonly [number, number])[]): number[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly (readonly [number, number])[]): (readonly [number, number])[] => {
    const chain: (readonly [number, number])[] = [];
    for (const p of list) {
      while (chain.length > 1) {
        const [a, b] = [chain.at(-2)!, chain.at(-1)!];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        chain.pop();
      }
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())].flat();
}

test("outlines a thick disc seen at 30 degrees as the hull of its two rims", () => {
  const disc: Partial<WheelPart> = {
    type: "count-wheel",
    outline: { toothCount: 20, moduleMm: 1, form: "cycloidal" },
    thicknessMm: 6,
    faceHeightMm: 6,
  };
  const scene = silhouette(
    disc,
    { ...straightDown, tiltRad: Math.PI / 6, azimuthRad: 0.7, rollRad: 0.3 },
    8000,
  );
  const rims: [number, number][] = [];
  for (let i = 0; i < 1440; i++) {
    const [x, y] = [10 * Math.cos((i * Math.PI) / 720), 10 * Math.sin((i * Math.PI) / 720)];
    for (const z of [0, 6]) rims.push(project(scene.camera, scene.pose, [x, y, z]));
  }
  // Top and wall differ in brightness: every pixel darker than the lit table counts, edges by their share.
  const picture = renderScene(scene, 1);
  const metal = picture.mask.reduce((n, c) => n + (c === maskClass.wheel ? 1 : 0), 0);
  // Whole pixels by their centres: about 1500 edge pixels, each wrong by up to half, give 0.1 %.
  expect(Math.abs(metal / areaOf(hullOf(rims)) - 1)).toBeLessThan(0.001);
});

test("marks crossings and bore as holes: pixels times their size are the area of the openings", () => {
  const crossings = {
    count: 5,
    rimRadiusMm: 14,
    hubRadiusMm: 4.5,
    armHubMm: 2.4,
    armRimMm: 1.6,
    cornerMm: 0.6,
    phaseRad: 0.4,
  };
  const scene = silhouette(
    { crossings, boreRadiusMm: 1.5, thicknessMm: 0.01, faceHeightMm: 0.01 },
    straightDown,
    8000,
  );
  const { mask } = renderScene(scene, 1);
  const holes = mask.reduce((n, c) => n + (c === maskClass.hole ? 1 : 0), 0);
  const expected = crossingOpenings(crossings).reduce((sum, p) => sum + areaOf(p), Math.PI * 1.5 ** 2) * 400;
  expect(Math.abs(holes / expected - 1)).toBeLessThan(0.003);
});

test("shows the end of a leaning arbor where the lean puts it", () => {
  const lean = 5 * (Math.PI / 180);
  const arbor = {
    radiusMm: 1.5,
    upMm: 20,
    downMm: 0,
    pivotRadiusMm: 0.5,
    pivotLengthMm: 2,
    leanRad: lean,
    leanDirectionRad: 1.1,
  };
  const scene = silhouette({ boreRadiusMm: 1.5, arbor }, straightDown, 8000);
  const { mask } = renderScene(scene, 1);
  const reach = 21.9;
  const end = [
    reach * Math.sin(lean) * Math.cos(1.1),
    reach * Math.sin(lean) * Math.sin(1.1),
    1.5 + reach * Math.cos(lean),
  ] as const;
  const [u, v] = project(scene.camera, scene.pose, end);
  const at = (x: number, y: number): number => mask[Math.round(y) * scene.widthPx + Math.round(x)]!;
  expect(at(u, v)).toBe(maskClass.steel);
  // Past the tip, away from the foot, the face shows again.
  const [u0, v0] = project(scene.camera, scene.pose, [0, 0, 1.5]);
  const away = Math.hypot(u - u0, v - v0);
  expect(at(u + (45 * (u - u0)) / away, v + (45 * (v - v0)) / away)).toBe(maskClass.wheel);
});

interface Detector {
  detect(picture: { width: number; height: number; data: Uint8Array }): {
    id: number;
    corners: { x: number; y: number }[];
    hammingDistance: number;
  }[];
}

test("prints markers that a general decoder reads, where the truth puts them", () => {
  const scene = sceneOfKind("mat-only", 2, "2mp");
  const picture = renderScene(scene, 2);
  const data = new Uint8Array(4 * picture.mask.length);
  for (let i = 0; i < picture.mask.length; i++) data.set(picture.rgb.subarray(3 * i, 3 * i + 3), 4 * i);
  const { Detector: make } = aruco.AR as unknown as {
    Detector: new (options: { dictionaryName: string }) => Detector;
  };
  const found = new make({ dictionaryName: "APRILTAG_36h11" }).detect({
    width: picture.widthPx,
    height: picture.heightPx,
    data,
  });
  const truth = picture.truth.mat!.markers.filter((m) => m.seen);
  expect(truth.length).toBe(40);
  let matched = 0;
  for (const marker of found) {
    // It offers codes up to ten bits off: letters and crosses become markers then.
    if (marker.hammingDistance > 1) continue;
    const expected = truth.find((m) => m.id === marker.id);
    expect(expected).toBeDefined();
    marker.corners.forEach((corner, i) => {
      const [u, v] = expected!.cornersPx[i]!;
      // The decoder's corners are whole pixels of a contour: 2 px.
      expect(Math.hypot(corner.x - u, corner.y - v)).toBeLessThan(2.5);
    });
    matched++;
  }
  expect(matched).toBeGreaterThanOrEqual(36);
});

test("makes every kind of scene the same way twice, as plain JSON, other seeds other scenes", () => {
  let made = 0;
  for (const kind of sceneKinds) {
    const scene = sceneOfKind(kind, 7, "0.3mp");
    expect(sceneOfKind(kind, 7, "0.3mp")).toEqual(scene);
    expect(sceneOfKind(kind, 8, "0.3mp")).not.toEqual(scene);
    expect(JSON.parse(JSON.stringify(scene))).toEqual(scene);
    made++;
  }
  expect(made).toBeGreaterThan(55);
});

test("tells what is hidden: fingers over markers, wheels cut off by the frame, things without teeth", () => {
  const render = (kind: Parameters<typeof sceneOfKind>[0], seed: number) =>
    renderScene(sceneOfKind(kind, seed, "0.3mp"), seed).truth;
  const covered = render("covered-mat", 3);
  const seen = covered.mat!.markers.filter((m) => m.seen).length;
  expect(seen).toBeLessThan(40);
  expect(seen).toBeGreaterThan(15);
  const cut = render("cut-off", 3).wheels[0]!;
  expect(cut.rimSeen).toBeLessThan(0.95);
  expect(cut.rimSeen).toBeGreaterThan(0.05);
  const things = render("distractors", 3);
  expect(things.wheels).toEqual([]);
  expect(things.others.length).toBeGreaterThan(2);
  const tray = render("tray", 3);
  expect(tray.wheels.length).toBeGreaterThanOrEqual(6);
  for (const a of tray.wheels)
    for (const b of tray.wheels) {
      if (a === b) continue;
      const apart = Math.hypot(a.centreMm[0] - b.centreMm[0], a.centreMm[1] - b.centreMm[1]);
      expect(apart).toBeGreaterThan((a.tipDiameterMm + b.tipDiameterMm) / 2);
    }
});

test("keeps the arbor of a set in its place and moves the wheel as the truth says", () => {
  let sets = 0;
  for (const kind of sceneSetKinds) {
    const { scenes, truth } = sceneSetOfKind(kind, 4, "0.3mp");
    scenes.forEach((scene, i) => {
      const wheel = scene.parts[0] as WheelPart;
      const angle = wheel.turnRad;
      const [bx, by] = wheel.boreAtMm;
      const bore = [bx * Math.cos(angle) - by * Math.sin(angle), bx * Math.sin(angle) + by * Math.cos(angle)];
      // Tooth circle to bore: the eccentricity; bore to axis: the play.
      expect(Math.hypot(bx, by)).toBeCloseTo(truth.eccentricityMm, 9);
      expect(wheel.atMm[0] + bore[0]! - truth.axisMm[0] - truth.movedMm[i]![0]).toBeCloseTo(
        truth.playMm[i]![0],
        9,
      );
      expect(wheel.atMm[1] + bore[1]! - truth.axisMm[1] - truth.movedMm[i]![1]).toBeCloseTo(
        truth.playMm[i]![1],
        9,
      );
      expect(angle).toBeCloseTo(truth.turnsRad[i]! + truth.twistRad[i]!, 9);
      // One camera for all.
      expect(scene.camera).toEqual(scenes[0]!.camera);
    });
    expect(scenes.length).toBeGreaterThanOrEqual(kind === "height" ? 2 : 3);
    sets++;
  }
  expect(sets).toBe(22);
});

test("lets the rim of a wheel that is askew rise and fall as it turns, and keeps its arbor upright", () => {
  for (const [kind, isAskew] of [
    ["turn-askew", true],
    ["turn-askew-close", true],
    ["turn-raised", false],
  ] as const) {
    const { scenes, truth } = sceneSetOfKind(kind, 4, "0.3mp");
    const radiusMm = wheelOutline((scenes[0]!.parts[0] as WheelPart).outline).tipDiameterMm / 2;
    // A gauge beside the rim: the same tooth is highest, whatever the turn.
    const marked = scenes.map(({ parts: [part] }) => {
      const { tiltRad, tiltDirectionRad, turnRad, arbor } = part as WheelPart;
      const r = tippedRotation(tiltRad, tiltDirectionRad, turnRad);
      const heights = Array.from({ length: 720 }, (_, k): number => {
        const a = (k * Math.PI) / 360;
        return rotated(r, [radiusMm * Math.cos(a), radiusMm * Math.sin(a), 0])[2];
      });
      const top = Math.max(...heights);
      expect(top - Math.min(...heights)).toBeCloseTo(truth.axialRunoutMm, 4);
      const lean = tippedRotation(arbor!.leanRad, arbor!.leanDirectionRad, 0);
      const up = rotated(r, rotated(lean, [0, 0, 1]));
      expect(up[2]).toBeCloseTo(1, 12);
      return heights.indexOf(top);
    });
    expect(truth.axialRunoutMm > 0.1).toBe(isAskew);
    if (isAskew) for (const k of marked) expect(Math.abs(k - marked[0]!) % 719).toBeLessThanOrEqual(1);
  }
});

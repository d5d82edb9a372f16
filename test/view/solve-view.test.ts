import { beforeAll, describe, expect, test, vi } from "vitest";
import { matFromPixel, pixelFromMat, pxPerMmAt } from "../../src/geometry/index.js";
import { describeSheet, markerCornersMm, tags, type Paper } from "../../src/mat/index.js";
import type { Photo } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { paperRgbAt, solveView, type View } from "../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind } from "../scenes/index.js";
import { poseLookingAt, project, type LookAt } from "../scenes/scene-camera.js";
import type { SceneCamera, ScenePose } from "../scenes/scene.js";
import { encode, photographMat, photoOf, type MatPhotoSettings } from "./photograph-mat.js";

// Photographs are drawn here: seconds each on a busy machine.
vi.setConfig({ testTimeout: 180_000, hookTimeout: 180_000 });

const widthPx = 1200;
const heightPx = 900;

const cameraOf = (width: number, height: number, k1 = 0): SceneCamera => ({
  fxPx: 0.85 * width,
  fyPx: 0.85 * width,
  cxPx: (width - 1) / 2 + 0.002 * width,
  cyPx: (height - 1) / 2 - 0.0015 * width,
  k1,
  k2: 0,
  p1: 0,
  p2: 0,
});

/** A landscape picture: the sheet lies on its side, with some table round it. */
const over = (wishes: Partial<LookAt> = {}): ScenePose =>
  poseLookingAt({
    targetMm: [0, 0],
    distanceMm: 300,
    tiltRad: 0.2,
    azimuthRad: 0.7,
    rollRad: 1.52,
    ...wishes,
  });

let plainPhoto: Photo | undefined;
const photograph = (wishes?: Partial<MatPhotoSettings>): Photo =>
  wishes ? take(wishes) : (plainPhoto ??= take({}));

const take = (wishes: Partial<MatPhotoSettings>): Photo =>
  photographMat({
    paper: "a4",
    widthPx,
    heightPx,
    camera: cameraOf(wishes.widthPx ?? widthPx, wishes.heightPx ?? heightPx),
    pose: over(),
    blurSigmaPx: 0.7,
    noise: 0.004,
    ...wishes,
  });

/** Seen corners less the truth, px, per coordinate. */
function cornerErrors(
  view: View,
  camera: SceneCamera,
  pose: ScenePose,
  paper: Paper = "a4",
): [number, number][] {
  const { markers } = describeSheet(paper);
  return view.mat!.markers.flatMap(({ id, cornersPx }) => {
    const corners = markerCornersMm(markers.find((marker) => marker.id === id)!);
    return cornersPx.map(([u, v], c): [number, number] => {
      const [trueU, trueV] = project(camera, pose, [...corners[c]!, 0]);
      return [u - trueU, v - trueV];
    });
  });
}

const rms = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;

/** Greatest relative error of lengths of 30 mm over the field, at a height. */
function worstLengthError(view: View, camera: SceneCamera, pose: ScenePose, z: number): number {
  let worst = 0;
  for (let x = -60; x <= 30; x += 30) {
    for (let y = -90; y <= 60; y += 30) {
      for (const [dx, dy] of [
        [30, 0],
        [0, 30],
      ] as const) {
        const [u, v] = project(camera, pose, [x, y, z]);
        const [u2, v2] = project(camera, pose, [x + dx, y + dy, z]);
        const [a, b] = matFromPixel(view.geometry, u, v, z);
        const [c, d] = matFromPixel(view.geometry, u2, v2, z);
        worst = Math.max(worst, Math.abs(Math.hypot(c - a, d - b) / 30 - 1));
      }
    }
  }
  return worst;
}

const measured = { matAcrossMm: 150, matAlongMm: 150, matUMm: 0.05 };

describe("a clean photograph of the mat", () => {
  const camera = cameraOf(widthPx, heightPx);
  const pose = over();
  let photo: Photo;
  let view: View;
  beforeAll(async () => {
    photo = photograph();
    view = await solveView(photo, measured);
  });

  test("is solved from every marker, with nothing to complain about", () => {
    expect(view.source).toBe("mat");
    expect(view.problems).toEqual([]);
    expect(view.mat!.paper).toBe("a4");
    expect(view.mat!.markers.length).toBe(describeSheet("a4").markers.length);
    // The bar: 0.2 px on clean samples.
    expect(view.mat!.reprojectionRmsPx).toBeLessThan(0.2);
  });

  test("has its corners within 0.05 px, and no half-pixel in them", () => {
    const errors = cornerErrors(view, camera, pose);
    expect(errors.length).toBe(160);
    expect(rms(errors.flat())).toBeLessThan(0.05);
    expect(Math.abs(mean(errors.map(([u]) => u)))).toBeLessThan(0.01);
    expect(Math.abs(mean(errors.map(([, v]) => v)))).toBeLessThan(0.01);
  });

  test("gives true lengths on the mat and on a face above it", () => {
    expect(worstLengthError(view, camera, pose, 0)).toBeLessThan(5e-4);
    // At a height the distance to the camera comes in, which one photograph knows to some per cent.
    expect(worstLengthError(view, camera, pose, 3)).toBeLessThan(1e-3);
  });

  test("tells the blur: lens and pixel together", () => {
    expect(view.edge.blurSigmaPx).toBeCloseTo(Math.hypot(0.7, 1 / Math.sqrt(12)), 1);
  });

  test("sees no bloom where there is none", () => {
    expect(Math.abs(view.edge.shiftPx)).toBeLessThan(0.05);
    expect(view.edge.uShiftPx).toBeLessThan(0.06);
  });

  test("knows the paper's brightness all over the sheet, 0.8 in linear light", () => {
    for (const [x, y] of [
      [0, 0],
      [60, 100],
      [-60, -100],
    ] as const) {
      const rgb = paperRgbAt(view.paper!, ...pixelFromMat(view.geometry, x, y, 0));
      for (const v of rgb) expect(v).toBeCloseTo(0.8, 2);
    }
    // No grey patch is printed here.
    expect(view.paper!.greyOverPaper).toBeUndefined();
  });

  test("comes out the same every time, and leaves the photograph alone", async () => {
    const before = photo.rgb.slice();
    expect(await solveView(photo, measured)).toEqual(view);
    expect(Buffer.compare(photo.rgb, before)).toBe(0);
  });

  test("survives being sent to another thread", () => {
    expect(structuredClone(view)).toEqual(view);
  });

  test("without readings of the check bars carries the printer's uncertainty instead", async () => {
    const plain = await solveView(photo);
    expect(plain.mat!.printScaleMeasured).toBe(false);
    expect(view.mat!.printScaleMeasured).toBe(true);
    // 0.05 mm of 150 mm against 0.6 % across and along, which the picture ties to each other: 0.6 % / sqrt 2.
    expect(standardUncertainty(view.mat!.printScaleAcross)).toBeLessThan(0.05 / 150);
    expect(standardUncertainty(plain.mat!.printScaleAcross)).toBeGreaterThan(0.003);
    expect(standardUncertainty(plain.mat!.printScaleAcross)).toBeLessThan(0.006);
  });

  test("takes readings for what they are: 1 % more on paper makes everything 1 % larger", async () => {
    const larger = await solveView(photo, { matAcrossMm: 151.5, matAlongMm: 151.5, matUMm: 0.05 });
    const ratio = pxPerMmAt(view.geometry, 0, 0, 0) / pxPerMmAt(larger.geometry, 0, 0, 0);
    expect(ratio).toBeCloseTo(1.01, 4);
  });

  test("does not believe a reading that belongs to another bar", async () => {
    const wrong = await solveView(photo, { matAcrossMm: 250, matAlongMm: 150 });
    expect(wrong.problems.map(({ code }) => code)).toEqual(["mat-other-paper"]);
    expect(wrong.problems[0]!.text).toContain("150 mm nominal");
    expect(wrong.source).toBe("mat");
    expect(wrong.mat!.printScaleMeasured).toBe(false);
    expect(Math.abs(wrong.mat!.printScaleAcross.value - 1)).toBeLessThan(0.01);
  });
});

test("finds blooming: white that spreads by 0.4 px into every black square", async () => {
  const view = await solveView(photograph({ bloomPx: 0.4 }), measured);
  expect(view.edge.shiftPx).toBeCloseTo(0.4, 1);
  expect(worstLengthError(view, cameraOf(widthPx, heightPx), over(), 0)).toBeLessThan(5e-4);
});

describe("hard views are solved", () => {
  const cases: [string, Partial<MatPhotoSettings>, number][] = [
    ["upside down", { pose: over({ rollRad: 1.52 + Math.PI }) }, 40],
    ["upright in a landscape picture, most of the mat outside", { pose: over({ rollRad: 0.02 }) }, 14],
    ["tilted by 40 degrees", { pose: over({ tiltRad: (40 * Math.PI) / 180, distanceMm: 340 }) }, 38],
    ["through a lens that bends much", { camera: cameraOf(widthPx, heightPx, -0.25) }, 38],
    ["on US Letter", { paper: "letter" }, 36],
    ["on A3, further away", { paper: "a3", pose: over({ distanceMm: 430 }) }, 42],
    ["in light that falls to a third across the picture", { shade: (u) => 1 - (0.67 * u) / widthPx }, 38],
    [
      "under a glare spot that washes some markers out",
      { shade: (u, v) => 1 + 8 * Math.exp(-((u - 215) ** 2 + (v - 130) ** 2) / 1.5e4) },
      34,
    ],
    ["out of focus", { blurSigmaPx: 1.6 }, 36],
    [
      "with every second marker covered",
      { without: new Set(Array.from({ length: 60 }, (_, i) => 2 * i)) },
      20,
    ],
    ["in the dark, noisy", { white: 0.12, ink: 0.01, noise: 0.006 }, 36],
  ];
  test.each(cases)("%s", async (_, wishes, markerCount) => {
    const view = await solveView(photograph(wishes), { matUMm: 0.05, ...barsOf(wishes.paper) });
    const camera = wishes.camera ?? cameraOf(widthPx, heightPx);
    const pose = wishes.pose ?? over();
    expect(view.source).toBe("mat");
    expect(view.mat!.paper).toBe(wishes.paper ?? "a4");
    expect(view.mat!.markers.length).toBeGreaterThanOrEqual(markerCount);
    expect(rms(cornerErrors(view, camera, pose, wishes.paper).flat())).toBeLessThan(0.15);
    // 0.15 % of a length: half the bar of a 60 mm wheel (0.03 mm + 0.1 %) here at 4 px/mm and less.
    expect(worstLengthError(view, camera, pose, 0)).toBeLessThan(1.5e-3);
  });
});

const barsOf = (paper: Paper = "a4"): { matAcrossMm: number; matAlongMm: number } => {
  const { lengthMm } = describeSheet(paper).bars[0]!;
  return { matAcrossMm: lengthMm, matAlongMm: lengthMm };
};

test("works on a picture only 420 px wide", async () => {
  const size = { widthPx: 420, heightPx: 315 };
  const view = await solveView(photograph({ ...size, blurSigmaPx: 0.5 }), measured);
  expect(view.source).toBe("mat");
  expect(view.mat!.markers.length).toBeGreaterThan(30);
  expect(worstLengthError(view, cameraOf(420, 315), over(), 0)).toBeLessThan(4e-3);
  expect(Math.abs(view.edge.shiftPx)).toBeLessThan(0.06);
});

test("scale and lengths come out the same from a print at 100.4 % and 99.7 %, bars measured", async () => {
  const printScale = [1.004, 0.997] as const;
  const view = await solveView(photograph({ printScale }), {
    matAcrossMm: 150.6,
    matAlongMm: 149.55,
    matUMm: 0.05,
  });
  expect(view.mat!.printScaleAcross.value).toBeCloseTo(1.004, 3);
  expect(view.mat!.printScaleAlong.value).toBeCloseTo(0.997, 3);
  expect(worstLengthError(view, cameraOf(widthPx, heightPx), over(), 0)).toBeLessThan(7e-4);
});

test("notices readings of across and along that were swapped", async () => {
  // From nearly straight above; a tilt and a wrong focal length could do the same to the picture.
  const photo = photograph({ printScale: [1.005, 0.996], pose: over({ tiltRad: 0.05 }) });
  const right = await solveView(photo, { matAcrossMm: 150.75, matAlongMm: 149.4, matUMm: 0.05 });
  expect(right.problems).toEqual([]);
  const swapped = await solveView(photo, { matAcrossMm: 149.4, matAlongMm: 150.75, matUMm: 0.05 });
  expect(swapped.problems.map(({ code }) => code)).toEqual(["mat-other-paper"]);
  expect(swapped.problems[0]!.text).toContain("-0.9 %");
});

test("finds its way in a cropped picture, whose middle and camera data speak of another one", async () => {
  const photo = photograph();
  const width = 820;
  const height = 700;
  const rgb = new Uint8Array(3 * width * height);
  // The lower right part of the picture, with camera data that stand for another focal length.
  for (let v = 0; v < height; v++) {
    const from = 3 * ((v + heightPx - height) * widthPx + widthPx - width);
    rgb.set(photo.rgb.subarray(from, from + 3 * width), 3 * v * width);
  }
  const view = await solveView(photoOf(rgb, width, height, { focalLength35mm: 60 }), measured);
  expect(view.source).toBe("mat");
  const camera = cameraOf(widthPx, heightPx);
  const moved = { ...camera, cxPx: camera.cxPx - (widthPx - width), cyPx: camera.cyPx - (heightPx - height) };
  expect(worstLengthError(view, moved, over(), 0)).toBeLessThan(2e-3);
});

describe("what cannot be used is said", () => {
  test("a flipped picture", async () => {
    const photo = photograph();
    const rgb = new Uint8Array(photo.rgb.length);
    for (let v = 0; v < heightPx; v++) {
      for (let u = 0; u < widthPx; u++) {
        for (let c = 0; c < 3; c++) {
          rgb[3 * (v * widthPx + u) + c] = photo.rgb[3 * (v * widthPx + (widthPx - 1 - u)) + c]!;
        }
      }
    }
    const view = await solveView({ ...photo, rgb });
    expect(view.source).toBe("none");
    expect(view.problems.map(({ code }) => code)).toEqual(["mat-mirrored"]);
  });

  test("two mats: the larger one is used", async () => {
    // The right third shows part of another sheet, turned by half a turn.
    const photo = photograph();
    const other = photograph({ paper: "letter", pose: over({ rollRad: 1.52 + Math.PI }) });
    const rgb = photo.rgb.slice();
    for (let v = 0; v < heightPx; v++) {
      const from = 3 * (v * widthPx + 857);
      rgb.set(other.rgb.subarray(from, 3 * (v + 1) * widthPx), from);
    }
    const view = await solveView({ ...photo, rgb }, measured);
    expect(view.problems.map(({ code }) => code)).toEqual(["two-mats"]);
    expect(view.mat!.paper).toBe("a4");
    expect(worstLengthError(view, cameraOf(widthPx, heightPx), over(), 0)).toBeLessThan(1.5e-3);
  });

  test("the same mat twice, at odds with itself", async () => {
    const photo = photograph();
    const other = photograph({ pose: over({ targetMm: [0, 60] }) });
    const rgb = photo.rgb.slice();
    for (let v = 0; v < heightPx; v++) {
      const from = 3 * (v * widthPx + 815);
      rgb.set(other.rgb.subarray(from, 3 * (v + 1) * widthPx), from);
    }
    const view = await solveView({ ...photo, rgb }, measured);
    expect(view.problems.map(({ code }) => code)).toEqual(["two-mats"]);
    expect(worstLengthError(view, cameraOf(widthPx, heightPx), over(), 0)).toBeLessThan(1.5e-3);
  });

  test("three markers in one corner are too little", async () => {
    const { markers } = describeSheet("a4");
    const without = new Set(markers.slice(3).map(({ id }) => id));
    const view = await solveView(photograph({ without }));
    expect(view.problems.map(({ code }) => code)).toEqual(["mat-too-little-seen"]);
  });

  test("one marker is no mat", async () => {
    const { markers } = describeSheet("a4");
    const without = new Set(markers.slice(1).map(({ id }) => id));
    const view = await solveView(photograph({ without }));
    expect(view.source).toBe("none");
    expect(view.problems.map(({ code }) => code)).toEqual(["mat-too-little-seen"]);
  });

  test("a mat that is not flat", async () => {
    const view = await solveView(photograph({ heightMm: (_, y) => 3 * (y / 131) ** 2 }), measured);
    expect(view.source).toBe("mat");
    expect(view.mat!.bowMm!).toBeGreaterThan(2);
    expect(view.mat!.bowMm!).toBeLessThan(4);
    expect(view.problems.map(({ text }) => text).join()).toContain("not flat");
  });

  test.each([
    ["one pixel", 1, 1],
    ["one row", 300, 1],
    ["a stamp", 24, 18],
    ["plain grey", 400, 300],
  ])("no mat: %s", async (_, width, height) => {
    const view = await solveView(photoOf(new Uint8Array(3 * width * height).fill(120), width, height));
    expect(view.source).toBe("none");
    expect(view.problems.map(({ code }) => code)).toEqual(["no-mat"]);
    expect(view.inputs.length).toBe(2);
    expect(pxPerMmAt(view.geometry, 0, 0, 0)).toBeCloseTo(1, 6);
  });
});

describe("a scale that is given", () => {
  const photo = photoOf(new Uint8Array(3 * 800 * 600).fill(encode(0.5)), 800, 600);

  test("by two points gives px/mm, x to the right and y up from the picture's middle", async () => {
    const view = await solveView(photo, { scale: { x1: 100, y1: 100, x2: 700, y2: 100, mm: 120 } });
    expect(view.source).toBe("given");
    expect(view.problems.map(({ code }) => code)).toEqual(["no-mat"]);
    expect(pxPerMmAt(view.geometry, 0, 0, 0)).toBeCloseTo(5, 6);
    const [x, y] = matFromPixel(view.geometry, 399.5 + 50, 299.5 - 100, 0);
    expect(x).toBeCloseTo(10, 6);
    expect(y).toBeCloseTo(20, 6);
    // A face 5 mm up: so distant a camera sees no parallax.
    expect(matFromPixel(view.geometry, 449.5, 199.5, 5)[0]).toBeCloseTo(10, 3);
  });

  test("carries what picking two points and reading a rule leaves open", async () => {
    const view = await solveView(photo, { scale: { x1: 100, y1: 100, x2: 700, y2: 100, mm: 120 } });
    const scale = view.inputs.filter(({ id }) => id.startsWith("scale:"));
    expect(scale.length).toBe(1);
    const moved =
      matFromPixel(scale[0]!.geometry, 700, 299.5, 0)[0] / matFromPixel(view.geometry, 700, 299.5, 0)[0];
    // 1 px at each end of 600 px, 0.15 mm on 120 mm.
    expect(Math.abs(moved - 1)).toBeCloseTo(Math.hypot(Math.SQRT2 / 600, 0.15 / 120), 6);
    expect(view.inputs.filter(({ id }) => id.startsWith("pose:")).length).toBe(2);
  });

  test("in px/mm is shared by all photographs it is given for", async () => {
    const [a, b] = await Promise.all([
      solveView(photo, { pxPerMm: 8 }),
      solveView({ ...photo, sha256: "f".repeat(64) }, { pxPerMm: 8 }),
    ]);
    expect(pxPerMmAt(a.geometry, 0, 0, 0)).toBeCloseTo(8, 6);
    const ids = [a, b].map(({ inputs }) => inputs.map(({ id }) => id));
    expect(ids[0]!.filter((id) => ids[1]!.includes(id))).toEqual(["scale:px-per-mm"]);
  });

  test.each([
    ["outside the picture", { x1: -20, y1: 0, x2: 500, y2: 0, mm: 100 }],
    ["twice the same point", { x1: 5, y1: 5, x2: 5, y2: 5, mm: 100 }],
    ["no length", { x1: 5, y1: 5, x2: 500, y2: 5, mm: 0 }],
    ["not a number", { x1: NaN, y1: 5, x2: 500, y2: 5, mm: 10 }],
  ])("is refused: %s", async (_, scale) => {
    const view = await solveView(photo, { scale });
    expect(view.source).toBe("none");
    expect(view.problems.map(({ code }) => code)).toEqual(["no-mat", "scale-off-picture"]);
  });
});

test("reads the tags that lie about, and where they are", async () => {
  const scene = sceneOfKind("tagged", 3, "2mp");
  const rendered = renderScene(scene, 3);
  const view = await solveView(await photoOfRendered(rendered, scene, "tagged.jpg"));
  const expected = rendered.truth.tags;
  expect(expected.length).toBeGreaterThan(0);
  expect(view.tags.map(({ label }) => label).sort()).toEqual(expected.map(({ label }) => label).sort());
  for (const { label, centrePx } of expected) {
    expect(tags.some((tag) => tag.label === label)).toBe(true);
    const seen = view.tags.find((tag) => tag.label === label)!;
    // The marker stands beside the words: the card's middle is within a card of it.
    expect(Math.hypot(seen.centrePx[0] - centrePx[0], seen.centrePx[1] - centrePx[1])).toBeLessThan(
      25 * pxPerMmAt(view.geometry, 0, 0, 0),
    );
  }
});

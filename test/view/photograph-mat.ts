import { describeSheet, markerBits, markerCells, type Paper, type Sheet } from "../../src/mat/index.js";
import type { Photo } from "../../src/photo/index.js";
import { cameraPosition, rayThrough } from "../scenes/scene-camera.js";
import type { SceneCamera, ScenePose } from "../scenes/scene.js";

export interface MatPhotoSettings {
  readonly paper: Paper;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly camera: SceneCamera;
  readonly pose: ScenePose;
  readonly printScale?: readonly [number, number];
  /** Gaussian, px, in linear light. */
  readonly blurSigmaPx?: number;
  /** Black squares drawn smaller by this on every side, px (a stand-in for blooming). */
  readonly bloomPx?: number;
  /** Linear levels of ink and paper; default 0.04 and 0.8. */
  readonly ink?: number;
  readonly white?: number;
  /** Standard deviation of the noise, linear. */
  readonly noise?: number;
  readonly seed?: number;
  /** Height of the sheet, mm, at nominal sheet mm. */
  readonly heightMm?: (x: number, y: number) => number;
  /** Linear factor on the light at a pixel. */
  readonly shade?: (uPx: number, vPx: number) => number;
  /** Ids that are not printed (as if covered by white paper). */
  readonly without?: ReadonlySet<number>;
}

/**
 * A photograph of the sheet and nothing else: exact areas by 8 x 8 rays where a pixel holds an edge, then blur, noise,
 * sRGB. Projection is the scenes' own, not the product's.
 */
export function photographMat(settings: MatPhotoSettings): Photo {
  const { paper, widthPx, heightPx, camera, pose } = settings;
  const sheet = describeSheet(paper);
  const ink = settings.ink ?? 0.04;
  const white = settings.white ?? 0.8;
  const [sx, sy] = settings.printScale ?? [1, 1];
  const print = printedSheet(sheet, settings.without ?? new Set());
  const eye = cameraPosition(pose);
  const height = settings.heightMm;
  const level = (u: number, v: number): number => {
    const d = rayThrough(camera, pose, u, v);
    if (d[2] >= 0) return 0.02;
    let z = 0;
    let x = 0;
    let y = 0;
    for (let i = 0; i < (height ? 6 : 1); i++) {
      const s = (z - eye[2]) / d[2];
      x = (eye[0] + s * d[0]) / sx;
      y = (eye[1] + s * d[1]) / sy;
      if (height) z = height(x, y);
    }
    // mm per px, for the bloom.
    const shrink = settings.bloomPx ? (settings.bloomPx * -eye[2]) / d[2] / camera.fxPx : 0;
    const dark = print(x, y, shrink);
    return dark === 2 ? 0.25 : dark === 1 ? ink : white;
  };
  const linear = new Float32Array(widthPx * heightPx);
  // Levels on the corners between pixels tell where a pixel is plain.
  let above = Float32Array.from({ length: widthPx + 1 }, (_, i) => level(i - 0.5, -0.5));
  const n = 8;
  for (let row = 0; row < heightPx; row++) {
    const below = Float32Array.from({ length: widthPx + 1 }, (_, i) => level(i - 0.5, row + 0.5));
    for (let column = 0; column < widthPx; column++) {
      const a = above[column]!;
      if (a === above[column + 1] && a === below[column] && a === below[column + 1]) {
        linear[row * widthPx + column] = a;
        continue;
      }
      let sum = 0;
      for (let i = 0; i < n; i++) {
        for (let j = 0; j < n; j++) sum += level(column - 0.5 + (i + 0.5) / n, row - 0.5 + (j + 0.5) / n);
      }
      linear[row * widthPx + column] = sum / (n * n);
    }
    above = below;
  }
  if (settings.blurSigmaPx) blur(linear, widthPx, heightPx, settings.blurSigmaPx);
  const random = mulberry(settings.seed ?? 1);
  const rgb = new Uint8Array(3 * widthPx * heightPx);
  for (let i = 0; i < linear.length; i++) {
    const shade = settings.shade ? settings.shade(i % widthPx, Math.floor(i / widthPx)) : 1;
    const value = linear[i]! * shade;
    for (let c = 0; c < 3; c++) {
      const noisy = settings.noise ? value + settings.noise * gauss(random) : value;
      rgb[3 * i + c] = encode(noisy);
    }
  }
  return photoOf(rgb, widthPx, heightPx);
}

export function photoOf(
  rgb: Uint8Array,
  widthPx: number,
  heightPx: number,
  cameraData: Photo["cameraData"] = {},
): Photo {
  return {
    file: "rendered.png",
    byteCount: 1,
    sha256: "0123456789abcdef".repeat(4),
    format: "png",
    widthPx,
    heightPx,
    rgb,
    colourHalved: false,
    cameraData,
  };
}

/** 0 paper, 1 ink, 2 off the sheet. */
function printedSheet(
  sheet: Sheet,
  without: ReadonlySet<number>,
): (x: number, y: number, shrink: number) => 0 | 1 | 2 {
  const bits = new Map(sheet.markers.map(({ id }) => [id, markerBits(id)]));
  const half = sheet.markerSizeMm / 2;
  const cell = sheet.markerSizeMm / markerCells;
  const gridMm = 8;
  const columns = Math.ceil(sheet.widthMm / gridMm) + 2;
  const rows = Math.ceil(sheet.heightMm / gridMm) + 2;
  const near: (typeof sheet.markers)[number][][] = Array.from({ length: columns * rows }, () => []);
  const at = (x: number, y: number): number =>
    Math.floor((y + sheet.heightMm / 2) / gridMm + 1) * columns +
    Math.floor((x + sheet.widthMm / 2) / gridMm + 1);
  for (const marker of sheet.markers) {
    if (without.has(marker.id)) continue;
    const [x, y] = marker.centreMm;
    for (let dx = -half - 0.1; dx <= half + gridMm; dx += gridMm / 2) {
      for (let dy = -half - 0.1; dy <= half + gridMm; dy += gridMm / 2) {
        const list = near[at(x + Math.min(dx, half), y + Math.min(dy, half))]!;
        if (!list.includes(marker)) list.push(marker);
      }
    }
  }
  return (x, y, shrink) => {
    if (Math.abs(x) > sheet.widthMm / 2 || Math.abs(y) > sheet.heightMm / 2) return 2;
    for (const { id, centreMm } of near[at(x, y)]!) {
      const dx = x - centreMm[0] + half;
      const dy = half - (y - centreMm[1]);
      if (dx < 0 || dy < 0 || dx >= 2 * half || dy >= 2 * half) continue;
      // Only the outer edge is moved by bloom: the inner cells are not measured.
      if (Math.min(dx, dy, 2 * half - dx, 2 * half - dy) < shrink) return 0;
      return bits.get(id)![Math.floor(dy / cell)]![Math.floor(dx / cell)]! ? 1 : 0;
    }
    return 0;
  };
}

export function blur(values: Float32Array, width: number, height: number, sigma: number): void {
  const reach = Math.ceil(4 * sigma);
  const kernel = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-((i - reach) ** 2) / (2 * sigma ** 2)),
  );
  const total = kernel.reduce((sum, v) => sum + v, 0);
  const line = new Float64Array(Math.max(width, height));
  const pass = (count: number, length: number, start: (k: number) => number, step: number): void => {
    for (let k = 0; k < count; k++) {
      const from = start(k);
      for (let i = 0; i < length; i++) line[i] = values[from + i * step]!;
      for (let i = 0; i < length; i++) {
        let sum = 0;
        for (let j = -reach; j <= reach; j++)
          sum += kernel[j + reach]! * line[Math.min(length - 1, Math.max(0, i + j))]!;
        values[from + i * step] = sum / total;
      }
    }
  };
  pass(height, width, (row) => row * width, 1);
  pass(width, height, (column) => column, width);
}

export function mulberry(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export const gauss = (random: () => number): number =>
  Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());

export function encode(linear: number): number {
  const v = Math.min(1, Math.max(0, linear));
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}

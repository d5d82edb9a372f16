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
  /** Nominal sheet point under a pixel, and mm per px there; undefined above the horizon. */
  const sheetPoint = (u: number, v: number): [number, number, number] | undefined => {
    const d = rayThrough(camera, pose, u, v);
    if (d[2] >= 0) return undefined;
    let z = 0;
    let x = 0;
    let y = 0;
    for (let i = 0; i < (height ? 6 : 1); i++) {
      const s = (z - eye[2]) / d[2];
      x = (eye[0] + s * d[0]) / sx;
      y = (eye[1] + s * d[1]) / sy;
      if (height) z = height(x, y);
    }
    return [x, y, -eye[2] / d[2] / camera.fxPx];
  };
  const table = 0.25;
  const level = (u: number, v: number): number => {
    const point = sheetPoint(u, v);
    if (!point) return 0.02;
    const dark = print.at(point[0], point[1], (settings.bloomPx ?? 0) * point[2]);
    return dark === 2 ? table : dark === 1 ? ink : white;
  };
  const linear = new Float32Array(widthPx * heightPx).fill(-1);
  // Tiles with no print near any of nine points are plain.
  const tile = 8;
  for (let top = 0; top < heightPx; top += tile) {
    for (let left = 0; left < widthPx; left += tile) {
      const levels = new Set<number | undefined>();
      for (const v of [top - 0.5, top + tile / 2, top + tile - 0.5]) {
        for (const u of [left - 0.5, left + tile / 2, left + tile - 0.5]) {
          const point = sheetPoint(u, v);
          const plain = point && print.plain(point[0], point[1]);
          levels.add(plain === undefined ? undefined : plain === 0 ? white : table);
        }
      }
      const [only] = levels;
      if (levels.size > 1 || only === undefined) continue;
      for (let row = top; row < Math.min(top + tile, heightPx); row++) {
        linear.fill(only, row * widthPx + left, row * widthPx + Math.min(left + tile, widthPx));
      }
    }
  }
  const n = 8;
  for (let row = 0; row < heightPx; row++) {
    for (let column = 0; column < widthPx; column++) {
      const i = row * widthPx + column;
      if (linear[i]! >= 0) continue;
      const a = level(column - 0.5, row - 0.5);
      const same =
        a === level(column + 0.5, row - 0.5) &&
        a === level(column - 0.5, row + 0.5) &&
        a === level(column + 0.5, row + 0.5);
      if (same) {
        linear[i] = a;
        continue;
      }
      let sum = 0;
      for (let j = 0; j < n * n; j++) {
        sum += level(column - 0.5 + ((j % n) + 0.5) / n, row - 0.5 + (Math.floor(j / n) + 0.5) / n);
      }
      linear[i] = sum / (n * n);
    }
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

interface PrintedSheet {
  /** 0 paper, 1 ink, 2 off the sheet. */
  readonly at: (x: number, y: number, shrink: number) => 0 | 1 | 2;
  /** 0 paper or 2 table with neither print nor paper's edge within some mm; undefined elsewhere. */
  readonly plain: (x: number, y: number) => 0 | 2 | undefined;
}

function printedSheet(sheet: Sheet, without: ReadonlySet<number>): PrintedSheet {
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
  const print = (x: number, y: number, shrink: number): 0 | 1 | 2 => {
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
  const plain = (x: number, y: number): 0 | 2 | undefined => {
    const beyond = Math.max(Math.abs(x) - sheet.widthMm / 2, Math.abs(y) - sheet.heightMm / 2);
    if (beyond > gridMm) return 2;
    return beyond < -gridMm && near[at(x, y)]!.length === 0 ? 0 : undefined;
  };
  return { at: print, plain };
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

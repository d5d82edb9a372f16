import { develop } from "./develop.js";
import { groundSurface } from "./ground.js";
import { noiseField } from "./noise-field.js";
import { rayTracer, tilePx } from "./ray-tracer.js";
import { cameraPosition, rayThrough } from "./scene-camera.js";
import { sceneTruth } from "./scene-truth.js";
import type { SceneTruth } from "./scene-truth.js";
import type { Scene } from "./scene.js";
import { shaderFor } from "./shading.js";
import type { Hit } from "./shading.js";
import { maskClass, solidsOf } from "./solids.js";
import { tagPrintFor } from "./tag-print.js";

export interface Rendered {
  /** sRGB, 8 bit, row-major, 3 bytes a pixel. */
  readonly rgb: Uint8Array;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly truth: SceneTruth;
  /** Class per pixel: 0 background, 1 wheel or plate metal, 2 steel, 3 hole through the part. */
  readonly mask: Uint8Array;
}

/**
 * Renders a scene. Rays are traced once per pixel, and 16 times where a neighbour shows another surface.
 * Colour is worked out once per pixel and surface; coverage is what the extra rays give.
 *
 * @param seed of noise and textures; the same scene and seed give the same bytes.
 */
export function renderScene(scene: Scene, seed: number): Rendered {
  const { widthPx, heightPx, camera, pose, light } = scene;
  const noise = noiseField(seed);
  const ground = groundSurface(scene.ground, noise);
  const solids = solidsOf(scene.parts);
  const tracer = rayTracer(solids, ground, camera, pose, widthPx, heightPx);
  const eye = cameraPosition(pose);
  const tagPrint = tagPrintFor(scene.parts);
  const shader = shaderFor(solids, ground, light, eye, Math.abs(camera.fxPx) / eye[2], noise, seed, tagPrint);
  const count = widthPx * heightPx;
  const linear = new Float32Array(3 * count);
  const keys = new Int32Array(count);
  const mask = new Uint8Array(count);
  const hit: Hit = { kind: 0, solid: -1, groundCode: 0, along: 0, x: 0, y: 0, z: 0, nx: 0, ny: 0 };
  const colour = new Float64Array(3);
  const keyOf = (h: Hit): number => {
    if (h.kind === 0) return h.groundCode;
    const solid = solids[h.solid]!;
    // Print on a card has edges of its own.
    const printed = solid.role === "card" && h.kind === 1 && tagPrint(solid, h.x, h.y) !== undefined;
    return (h.solid + 1) * 8 + h.kind + (printed ? 4 : 0);
  };
  // Ground under the inside of a wheel, at the height of its face, is a hole.
  const holed = solids.filter((s) => s.holeRadiusMm > 0);
  const isHole = (d: readonly [number, number, number]): boolean =>
    holed.some((s) => {
      const along = (s.originMm[2] - eye[2]) / d[2];
      const x = eye[0] + along * d[0] - s.originMm[0];
      const y = eye[1] + along * d[1] - s.originMm[1];
      return x * x + y * y < s.holeRadiusMm * s.holeRadiusMm;
    });

  const rays = rayGrid(scene);
  const direction: [number, number, number] = [0, 0, 0];
  for (let v = 0; v < heightPx; v++) {
    rays.enterRow(v);
    for (let u = 0; u < widthPx; u++) {
      const i = v * widthPx + u;
      rays.inRow(u, direction);
      const list = tracer.candidates(Math.floor(u / tilePx), Math.floor(v / tilePx));
      tracer.trace(direction[0], direction[1], direction[2], list, hit);
      keys[i] = keyOf(hit);
      shader.shade(hit, direction[0], direction[1], direction[2], colour);
      linear[3 * i] = colour[0]!;
      linear[3 * i + 1] = colour[1]!;
      linear[3 * i + 2] = colour[2]!;
      if (hit.kind !== 0) mask[i] = solids[hit.solid]!.maskClass;
      else if (list.length > 0 && isHole(direction)) mask[i] = maskClass.hole;
    }
  }

  const edges = edgePixels(keys, widthPx, heightPx);
  const seenKeys = new Int32Array(16);
  const seenCounts = new Int32Array(16);
  const seenColours = new Float64Array(48);
  const offsets = samplePattern();
  const right: [number, number, number] = [0, 0, 0];
  const below: [number, number, number] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    if (i % widthPx === 0) rays.enterRow(i / widthPx);
    if (edges[i] === 0) continue;
    const u = i % widthPx;
    const v = (i - u) / widthPx;
    const list = tracer.candidates(Math.floor(u / tilePx), Math.floor(v / tilePx));
    // Within a pixel the lens is straight (error below 1e-5 px).
    rays.inRow(u, direction);
    rays.inRow(u + 1, right);
    rays.belowRow(u, below);
    const [ox, oy, oz] = direction;
    let kinds = 0;
    for (let s = 0; s < 16; s++) {
      const du = offsets[2 * s]!;
      const dv = offsets[2 * s + 1]!;
      direction[0] = ox + du * (right[0] - ox) + dv * (below[0] - ox);
      direction[1] = oy + du * (right[1] - oy) + dv * (below[1] - oy);
      direction[2] = oz + du * (right[2] - oz) + dv * (below[2] - oz);
      tracer.trace(direction[0], direction[1], direction[2], list, hit);
      const key = keyOf(hit);
      let k = 0;
      while (k < kinds && seenKeys[k] !== key) k++;
      if (k === kinds) {
        kinds++;
        seenKeys[k] = key;
        seenCounts[k] = 0;
        shader.shade(hit, direction[0], direction[1], direction[2], colour);
        seenColours.set(colour, 3 * k);
      }
      seenCounts[k]!++;
    }
    for (let channel = 0; channel < 3; channel++) {
      let sum = 0;
      for (let k = 0; k < kinds; k++) sum += seenCounts[k]! * seenColours[3 * k + channel]!;
      linear[3 * i + channel] = sum / 16;
    }
  }
  const rgb = develop(linear, widthPx, heightPx, scene.optics, light, scene.sensor, seed);
  return { rgb, widthPx, heightPx, truth: sceneTruth(scene, solids, tracer), mask };
}

interface RayGrid {
  enterRow(v: number): void;
  /** Ray direction of pixel u of the row that was entered, or of the row below it. */
  inRow(u: number, out: [number, number, number]): void;
  belowRow(u: number, out: [number, number, number]): void;
}

/** Ray directions: exact at every eighth pixel, cubic in between (error below 1e-6 px). */
function rayGrid(scene: Scene): RayGrid {
  const step = 8;
  const { camera, pose, widthPx, heightPx } = scene;
  const columns = Math.ceil(widthPx / step) + 5;
  const rows = Math.ceil(heightPx / step) + 5;
  const grid = new Float64Array(3 * columns * rows);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      grid.set(rayThrough(camera, pose, (c - 2) * step, (r - 2) * step), 3 * (r * columns + c));
    }
  const weights = new Float64Array(4 * step);
  for (let k = 0; k < step; k++) lagrange(k / step, weights.subarray(4 * k, 4 * k + 4));
  const line = 3 * columns;
  const here = new Float64Array(line);
  const below = new Float64Array(line);
  const fillRow = (v: number, into: Float64Array): void => {
    const r = Math.floor(v / step) + 2;
    const w = 4 * (v - step * (r - 2));
    for (let i = 0; i < line; i++) {
      into[i] =
        weights[w]! * grid[(r - 1) * line + i]! +
        weights[w + 1]! * grid[r * line + i]! +
        weights[w + 2]! * grid[(r + 1) * line + i]! +
        weights[w + 3]! * grid[(r + 2) * line + i]!;
    }
  };
  const pick = (from: Float64Array, u: number, out: [number, number, number]): void => {
    const c = u >> 3;
    const w = 4 * (u - 8 * c);
    const i = 3 * (c + 1);
    const a = weights[w]!;
    const b = weights[w + 1]!;
    const d = weights[w + 2]!;
    const e = weights[w + 3]!;
    out[0] = a * from[i]! + b * from[i + 3]! + d * from[i + 6]! + e * from[i + 9]!;
    out[1] = a * from[i + 1]! + b * from[i + 4]! + d * from[i + 7]! + e * from[i + 10]!;
    out[2] = a * from[i + 2]! + b * from[i + 5]! + d * from[i + 8]! + e * from[i + 11]!;
  };
  return {
    enterRow(v) {
      fillRow(v, here);
      fillRow(v + 1, below);
    },
    inRow: (u, out) => pick(here, u, out),
    belowRow: (u, out) => pick(below, u, out),
  };
}

/** Cubic through four equidistant values, at t between the middle two. */
function lagrange(t: number, out: Float64Array): void {
  out[0] = (-t * (t - 1) * (t - 2)) / 6;
  out[1] = ((t + 1) * (t - 1) * (t - 2)) / 2;
  out[2] = (-(t + 1) * t * (t - 2)) / 2;
  out[3] = ((t + 1) * t * (t - 1)) / 6;
}

/** Pixels whose neighbourhood (3 x 3; 5 x 5 near parts, whose teeth may be finer than a pixel) is mixed. */
function edgePixels(keys: Int32Array, w: number, h: number): Uint8Array {
  const out = new Uint8Array(w * h);
  const mark = (u: number, v: number, reach: number): void => {
    for (let y = Math.max(0, v - reach); y <= Math.min(h - 1, v + reach); y++)
      out.fill(1, y * w + Math.max(0, u - reach), y * w + Math.min(w - 1, u + reach) + 1);
  };
  const compare = (u: number, v: number, key: number, u2: number, v2: number): void => {
    if (u2 < 0 || u2 >= w || v2 >= h) return;
    const other = keys[v2 * w + u2]!;
    if (other === key) return;
    const reach = key >= 8 || other >= 8 ? 2 : 1;
    mark(u, v, reach);
    mark(u2, v2, reach);
  };
  for (let v = 0; v < h; v++)
    for (let u = 0; u < w; u++) {
      const key = keys[v * w + u]!;
      compare(u, v, key, u + 1, v);
      compare(u, v, key, u - 1, v + 1);
      compare(u, v, key, u, v + 1);
      compare(u, v, key, u + 1, v + 1);
    }
  return out;
}

/** Sixteen offsets within a pixel, one per row, column and 4 x 4 cell: straight edges of any slope are fair. */
function samplePattern(): Float64Array {
  const out = new Float64Array(32);
  for (let i = 0; i < 16; i++) {
    const a = i >> 2;
    const b = i & 3;
    out[2 * i] = (4 * a + b + 0.5) / 16 - 0.5;
    out[2 * i + 1] = (4 * b + a + 0.5) / 16 - 0.5;
  }
  return out;
}

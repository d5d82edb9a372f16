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
  const shader = shaderFor(solids, ground, light, eye, noise, seed, tagPrint);
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
    for (let u = 0; u < widthPx; u++) {
      const i = v * widthPx + u;
      rays.at(u, v, direction);
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
  for (let i = 0; i < count; i++) {
    if (edges[i] === 0) continue;
    const u = i % widthPx;
    const v = (i - u) / widthPx;
    const list = tracer.candidates(Math.floor(u / tilePx), Math.floor(v / tilePx));
    let kinds = 0;
    for (let s = 0; s < 16; s++) {
      rays.at(u + offsets[2 * s]!, v + offsets[2 * s + 1]!, direction);
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

/** Ray directions for fractional pixels: exact on a grid of 8 px, cubic in between (error below 1e-6 px). */
function rayGrid(scene: Scene): { at(u: number, v: number, out: [number, number, number]): void } {
  const step = 8;
  const { camera, pose, widthPx, heightPx } = scene;
  const columns = Math.ceil(widthPx / step) + 5;
  const rows = Math.ceil(heightPx / step) + 5;
  const grid = new Float64Array(3 * columns * rows);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      grid.set(rayThrough(camera, pose, (c - 2) * step, (r - 2) * step), 3 * (r * columns + c));
    }
  const straight = camera.k1 === 0 && camera.k2 === 0 && camera.p1 === 0 && camera.p2 === 0;
  const wu = new Float64Array(4);
  const wv = new Float64Array(4);
  return {
    at(u, v, out) {
      const a = u / step + 2;
      const b = v / step + 2;
      const c = Math.floor(a);
      const r = Math.floor(b);
      if (straight) {
        // Affine: two differences are exact.
        const i = 3 * (r * columns + c);
        const fu = a - c;
        const fv = b - r;
        for (let k = 0; k < 3; k++) {
          const o = grid[i + k]!;
          out[k] = o + (grid[i + 3 + k]! - o) * fu + (grid[i + 3 * columns + k]! - o) * fv;
        }
        return;
      }
      lagrange(a - c, wu);
      lagrange(b - r, wv);
      let x = 0;
      let y = 0;
      let z = 0;
      for (let j = 0; j < 4; j++) {
        const base = 3 * ((r + j - 1) * columns + c - 1);
        for (let k = 0; k < 4; k++) {
          const w = wv[j]! * wu[k]!;
          x += w * grid[base + 3 * k]!;
          y += w * grid[base + 3 * k + 1]!;
          z += w * grid[base + 3 * k + 2]!;
        }
      }
      out[0] = x;
      out[1] = y;
      out[2] = z;
    },
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
  for (let v = 0; v < h; v++)
    for (let u = 0; u < w; u++) {
      const i = v * w + u;
      const key = keys[i]!;
      for (const j of [
        u + 1 < w ? i + 1 : i,
        v + 1 < h ? i + w : i,
        u + 1 < w && v + 1 < h ? i + w + 1 : i,
        u > 0 && v + 1 < h ? i + w - 1 : i,
      ]) {
        const other = keys[j]!;
        if (other === key) continue;
        const reach = key >= 8 || other >= 8 ? 2 : 1;
        mark(u, v, reach);
        mark(j % w, (j - (j % w)) / w, reach);
      }
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

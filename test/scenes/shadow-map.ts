import type { Light } from "./scene.js";
import type { Solid } from "./solids.js";

/** Share of the lamp, and of the light from all around, that reaches points of a plane. */
export interface ShadowMap {
  readonly minX: number;
  readonly minY: number;
  readonly cellMm: number;
  readonly columns: number;
  readonly rows: number;
  readonly lamp: Float32Array;
  readonly around: Float32Array;
}

/**
 * Soft shadows of bodies on the plane z = `planeMm`: for some points of the lamp each body's outline is slid
 * from its foot to its top along the light and painted; the share of lamp points that see a cell is its light.
 * One light direction per group serves; shadows are scenery, no truth depends on them.
 *
 * @param groups bodies that belong together; each group is one part.
 */
export function shadowMap(
  groups: readonly (readonly Solid[])[],
  light: Light,
  planeMm: number,
  cellMm: number,
): ShadowMap {
  const lampPoints = light.radiusMm < 15 ? 4 : 32;
  const boxes = groups.map((solids) => shadowBox(solids, light, planeMm));
  const minX = Math.min(...boxes.map((b) => b[0])) - 4;
  const minY = Math.min(...boxes.map((b) => b[1])) - 4;
  const columns = Math.ceil((Math.max(...boxes.map((b) => b[2])) + 4 - minX) / cellMm);
  const rows = Math.ceil((Math.max(...boxes.map((b) => b[3])) + 4 - minY) / cellMm);
  const lamp = new Float32Array(columns * rows).fill(1);
  const around = new Float32Array(columns * rows).fill(1);
  groups.forEach((solids, g) => {
    const box = boxes[g]!;
    const c0 = Math.floor((box[0] - 3 - minX) / cellMm);
    const r0 = Math.floor((box[1] - 3 - minY) / cellMm);
    const w = Math.ceil((box[2] - box[0] + 6) / cellMm);
    const h = Math.ceil((box[3] - box[1] + 6) / cellMm);
    const originX = minX + c0 * cellMm;
    const originY = minY + r0 * cellMm;
    const masks = solids.map((solid) => maskOf(solid, cellMm));
    const count = new Float32Array(w * h);
    const one = new Uint8Array(w * h);
    for (let j = 0; j < lampPoints; j++) {
      // Vogel's spiral covers the disc evenly.
      const radius = light.radiusMm * Math.sqrt((j + 0.5) / lampPoints);
      const angle = 2.399963 * j;
      const lx = light.atMm[0] + radius * Math.cos(angle);
      const ly = light.atMm[1] + radius * Math.sin(angle);
      one.fill(0);
      solids.forEach((solid, i) =>
        paint(one, w, h, originX, originY, cellMm, solid, masks[i]!, lx, ly, light.atMm[2], planeMm),
      );
      for (let k = 0; k < count.length; k++) count[k]! += one[k]!;
    }
    for (let k = 0; k < count.length; k++) count[k]! /= lampPoints;
    boxBlur(count, w, h, 1);
    // Light from all around: the part's own footprint, spread out by about its height.
    const near = new Float32Array(w * h);
    one.fill(0);
    solids.forEach((solid, i) => {
      const [x, y, z] = solid.originMm;
      paint(one, w, h, originX, originY, cellMm, solid, masks[i]!, x, y, z + 1e6, planeMm);
    });
    for (let k = 0; k < near.length; k++) near[k] = one[k]!;
    const height = Math.max(...solids.map((s) => s.originMm[2] + Math.min(s.topMm, 4) - planeMm));
    const spread = Math.max(1, Math.round(Math.min(4, 0.5 * height) / cellMm));
    boxBlur(near, w, h, spread);
    boxBlur(near, w, h, spread);
    for (let r = 0; r < h; r++)
      for (let c = 0; c < w; c++) {
        const rr = r + r0;
        const cc = c + c0;
        if (rr < 0 || cc < 0 || rr >= rows || cc >= columns) continue;
        lamp[rr * columns + cc]! *= 1 - count[r * w + c]!;
        around[rr * columns + cc]! *= 1 - 0.75 * near[r * w + c]!;
      }
  });
  return { minX, minY, cellMm, columns, rows, lamp, around };
}

/** Bilinear; 1 outside the map. */
export function shadowAt(map: ShadowMap, values: Float32Array, x: number, y: number): number {
  const u = (x - map.minX) / map.cellMm - 0.5;
  const v = (y - map.minY) / map.cellMm - 0.5;
  const c = Math.floor(u);
  const r = Math.floor(v);
  if (c < 0 || r < 0 || c >= map.columns - 1 || r >= map.rows - 1) return 1;
  const i = r * map.columns + c;
  const fu = u - c;
  const a = values[i]! + (values[i + 1]! - values[i]!) * fu;
  const b = values[i + map.columns]! + (values[i + map.columns + 1]! - values[i + map.columns]!) * fu;
  return a + (b - a) * (v - r);
}

/** Where a point at height z (over the plane) casts its shadow, as a shift per unit of height. */
const slope = (
  light: readonly [number, number, number],
  x: number,
  y: number,
  planeMm: number,
): [number, number] => [(x - light[0]) / (light[2] - planeMm), (y - light[1]) / (light[2] - planeMm)];

function shadowBox(
  solids: readonly Solid[],
  light: Light,
  planeMm: number,
): [number, number, number, number] {
  let box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const solid of solids) {
    const [ox, oy, oz] = solid.originMm;
    const [sx, sy] = slope(light.atMm, ox, oy, planeMm);
    const soft = light.radiusMm / (light.atMm[2] - planeMm);
    const { minX, minY, maxX, maxY } = solid.region;
    for (const z of [solid.bottomMm, solid.topMm])
      for (const x of [minX, maxX])
        for (const y of [minY, maxY]) {
          const r = solid.rotation;
          const wx = ox + r[0]! * x + r[1]! * y + r[2]! * z;
          const wy = oy + r[3]! * x + r[4]! * y + r[5]! * z;
          const wz = Math.max(0, oz + r[6]! * x + r[7]! * y + r[8]! * z - planeMm);
          const px = wx + sx * wz;
          const py = wy + sy * wz;
          const s = soft * wz;
          box = [
            Math.min(box[0], px - s, wx),
            Math.min(box[1], py - s, wy),
            Math.max(box[2], px + s, wx),
            Math.max(box[3], py + s, wy),
          ];
        }
  }
  return box;
}

interface Mask {
  /** Per row: from, to (exclusive) of each filled run of cells. */
  readonly runs: readonly Int32Array[];
  /** Offset of the first cell from the solid's origin, mat axes. */
  readonly x: number;
  readonly y: number;
}

/** The region filled on a grid, turned into mat axes (small tilts only foreshorten: left out). */
function maskOf(solid: Solid, cellMm: number): Mask {
  const r = solid.rotation;
  const polygons = solid.polygons.map((p) => {
    const out = new Float64Array(p.length);
    for (let i = 0; i < p.length; i += 2) {
      out[i] = r[0]! * p[i]! + r[1]! * p[i + 1]!;
      out[i + 1] = r[3]! * p[i]! + r[4]! * p[i + 1]!;
    }
    return out;
  });
  let minX = Infinity;
  let minY = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  for (const p of polygons)
    for (let i = 0; i < p.length; i += 2) {
      minX = Math.min(minX, p[i]!);
      maxX = Math.max(maxX, p[i]!);
      minY = Math.min(minY, p[i + 1]!);
      maxY = Math.max(maxY, p[i + 1]!);
    }
  const w = Math.ceil((maxX - minX) / cellMm) + 1;
  const h = Math.ceil((maxY - minY) / cellMm) + 1;
  const xs: number[][] = Array.from({ length: h }, () => []);
  for (const p of polygons) {
    const n = p.length / 2;
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      const ay = p[2 * i + 1]!;
      const by = p[2 * j + 1]!;
      const first = Math.max(0, Math.floor((Math.min(ay, by) - minY) / cellMm) - 1);
      const last = Math.min(h - 1, Math.ceil((Math.max(ay, by) - minY) / cellMm));
      for (let row = first; row <= last; row++) {
        const y = minY + (row + 0.5) * cellMm;
        if (ay > y === by > y) continue;
        xs[row]!.push(p[2 * i]! + ((y - ay) / (by - ay)) * (p[2 * j]! - p[2 * i]!));
      }
    }
  }
  const runs = xs.map((crossings) => {
    const line = crossings.sort((a, b) => a - b);
    const ends: number[] = [];
    for (let k = 0; k + 1 < line.length; k += 2) {
      const from = Math.max(0, Math.ceil((line[k]! - minX) / cellMm - 0.5));
      const to = Math.min(w, Math.floor((line[k + 1]! - minX) / cellMm - 0.5) + 1);
      if (to > from) ends.push(from, to);
    }
    return Int32Array.from(ends);
  });
  return { runs, x: minX, y: minY };
}

function paint(
  into: Uint8Array,
  w: number,
  h: number,
  originX: number,
  originY: number,
  cellMm: number,
  solid: Solid,
  mask: Mask,
  lx: number,
  ly: number,
  lz: number,
  planeMm: number,
): void {
  const [ox, oy, oz] = solid.originMm;
  const r = solid.rotation;
  const sx = (ox - lx) / (lz - planeMm);
  const sy = (oy - ly) / (lz - planeMm);
  const length = solid.topMm - solid.bottomMm;
  // Sideways step per mm of height: the light's slope and the body's own lean.
  const stepX = r[2]! + sx * r[8]!;
  const stepY = r[5]! + sy * r[8]!;
  const slices = Math.max(1, Math.min(600, Math.ceil((Math.hypot(stepX, stepY) * length) / cellMm)));
  for (let s = 0; s <= slices; s++) {
    const z = solid.bottomMm + (length * s) / slices;
    const worldZ = oz + r[8]! * z - planeMm;
    if (worldZ < 0) continue;
    const x = ox + r[2]! * z + sx * worldZ + mask.x;
    const y = oy + r[5]! * z + sy * worldZ + mask.y;
    const dc = Math.round((x - originX) / cellMm);
    const dr = Math.round((y - originY) / cellMm);
    const { runs } = mask;
    for (let row = Math.max(0, -dr); row < Math.min(runs.length, h - dr); row++) {
      const run = runs[row]!;
      const line = (row + dr) * w;
      for (let k = 0; k < run.length; k += 2) {
        const from = Math.max(0, run[k]! + dc);
        const to = Math.min(w, run[k + 1]! + dc);
        if (to - from > 24) into.fill(1, line + from, line + to);
        else for (let c = from; c < to; c++) into[line + c] = 1;
      }
    }
  }
}

/** In place, running sums; the window is cut off at the border. */
function boxBlur(values: Float32Array, w: number, h: number, radius: number): void {
  const line = new Float32Array(Math.max(w, h));
  const pass = (start: number, step: number, n: number): void => {
    let sum = 0;
    for (let i = 0; i < Math.min(radius, n); i++) sum += values[start + i * step]!;
    for (let i = 0; i < n; i++) {
      if (i + radius < n) sum += values[start + (i + radius) * step]!;
      if (i - radius - 1 >= 0) sum -= values[start + (i - radius - 1) * step]!;
      line[i] = sum / (2 * radius + 1);
    }
    for (let i = 0; i < n; i++) values[start + i * step] = line[i]!;
  };
  for (let r = 0; r < h; r++) pass(r * w, 1, w);
  for (let c = 0; c < w; c++) pass(c, w, h);
}

import { random } from "./random.js";
import type { Solid } from "./solids.js";

/** Brightness factors over a face from scratches and engraved marks, in the solid's own frame. */
export interface FaceTexture {
  readonly minX: number;
  readonly minY: number;
  readonly cellMm: number;
  readonly columns: number;
  readonly rows: number;
  readonly factor: Float32Array;
}

export function faceTexture(solid: Solid, finestMm: number, seed: number): FaceTexture | undefined {
  const { scratches, engraving } = solid.look;
  if (solid.role !== "face" || (scratches <= 0 && engraving <= 0)) return undefined;
  const rng = random(seed, "face-texture");
  const { minX, minY, maxX, maxY } = solid.region;
  const cellMm = Math.min(0.2, Math.max(0.04, finestMm));
  const columns = Math.ceil((maxX - minX) / cellMm);
  const rows = Math.ceil((maxY - minY) / cellMm);
  const map: FaceTexture = {
    minX,
    minY,
    cellMm,
    columns,
    rows,
    factor: new Float32Array(columns * rows).fill(1),
  };
  const size = Math.max(maxX - minX, maxY - minY);
  const count = Math.round(scratches * 90);
  for (let i = 0; i < count; i++) {
    const x = rng.uniform(minX, maxX);
    const y = rng.uniform(minY, maxY);
    const direction = rng.uniform(0, 2 * Math.PI);
    const bend = rng.normal(0.02);
    stroke(
      map,
      x,
      y,
      direction,
      bend,
      rng.uniform(0.05, 0.5) * size,
      rng.uniform(0.03, 0.1),
      rng.chance(0.6) ? 1.35 : 0.65,
    );
  }
  const marks = Math.round(engraving * 9);
  const radius = 0.36 * size;
  const start = rng.uniform(0, 6.28);
  for (let i = 0; i < marks; i++) {
    // Rows of strokes like scratched letters, running round the rim.
    const angle = start + (i * 2.4) / radius;
    const x = radius * Math.cos(angle);
    const y = radius * Math.sin(angle);
    for (let k = 0; k < 3; k++) {
      const lean = angle + rng.pick([0, Math.PI / 2, 0.5, -0.5]);
      stroke(map, x + rng.normal(0.4), y + rng.normal(0.4), lean, 0, rng.uniform(0.8, 1.8), 0.16, 0.35);
    }
  }
  return map;
}

export function textureAt(map: FaceTexture, x: number, y: number): number {
  const u = (x - map.minX) / map.cellMm - 0.5;
  const v = (y - map.minY) / map.cellMm - 0.5;
  const c = Math.floor(u);
  const r = Math.floor(v);
  if (c < 0 || r < 0 || c >= map.columns - 1 || r >= map.rows - 1) return 1;
  const i = r * map.columns + c;
  const f = map.factor;
  const a = f[i]! + (f[i + 1]! - f[i]!) * (u - c);
  const b = f[i + map.columns]! + (f[i + map.columns + 1]! - f[i + map.columns]!) * (u - c);
  return a + (b - a) * (v - r);
}

function stroke(
  map: FaceTexture,
  x: number,
  y: number,
  direction: number,
  bendPerMm: number,
  lengthMm: number,
  widthMm: number,
  factor: number,
): void {
  let px = x;
  let py = y;
  let angle = direction;
  const step = map.cellMm;
  const reach = Math.ceil(widthMm / map.cellMm) + 1;
  for (let s = 0; s < lengthMm; s += step) {
    px += step * Math.cos(angle);
    py += step * Math.sin(angle);
    angle += bendPerMm * step;
    const c0 = Math.floor((px - map.minX) / map.cellMm);
    const r0 = Math.floor((py - map.minY) / map.cellMm);
    for (let r = r0 - reach; r <= r0 + reach; r++)
      for (let c = c0 - reach; c <= c0 + reach; c++) {
        if (r < 0 || c < 0 || r >= map.rows || c >= map.columns) continue;
        const d = Math.hypot(map.minX + (c + 0.5) * map.cellMm - px, map.minY + (r + 0.5) * map.cellMm - py);
        const cover = Math.min(1, Math.max(0, 0.5 + (widthMm / 2 - d) / map.cellMm));
        if (cover <= 0) continue;
        const value = 1 + cover * (factor - 1);
        const index = r * map.columns + c;
        const old = map.factor[index]!;
        if (Math.abs(value - 1) > Math.abs(old - 1)) map.factor[index] = value;
      }
  }
}

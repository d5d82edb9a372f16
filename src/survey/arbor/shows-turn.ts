import type { HubPicture } from "../../parts/index.js";
import type { ArborSpot } from "./find-arbor.js";

const steps = 96;
const mostWaves = 20;
/**
 * A tall round arbor seen from one side is drawn out: one or two waves in a turn, which follow the camera and not the
 * arbor. Pinions, squares and flats have more.
 */
const fewestWaves = 3;
/** Amplitude of such a wave on some ring that noise and the grid of pixels do not make. */
const leastAmplitude = 0.08;

/** Does the picture of the arbor show how it is turned? */
export function showsTurn({ size: n, stepMm, bare }: HubPicture, spot: ArborSpot): boolean {
  const x = spot.xMm / stepMm + (n - 1) / 2;
  const y = spot.yMm / stepMm + (n - 1) / 2;
  const reach = spot.reachMm / stepMm;
  const ring = new Float64Array(steps);
  for (let share = 0.3; share <= 1; share += 0.05) {
    const r = share * reach;
    for (let k = 0; k < steps; k++) {
      const t = (2 * Math.PI * k) / steps;
      ring[k] = sample(bare, n, x + r * Math.cos(t), y + r * Math.sin(t));
    }
    for (let waves = fewestWaves; waves <= mostWaves; waves++) {
      let re = 0;
      let im = 0;
      for (let k = 0; k < steps; k++) {
        const t = (2 * Math.PI * k * waves) / steps;
        re += ring[k]! * Math.cos(t);
        im += ring[k]! * Math.sin(t);
      }
      if ((2 * Math.hypot(re, im)) / steps > leastAmplitude) return true;
    }
  }
  return false;
}

function sample(bare: Float32Array, n: number, x: number, y: number): number {
  const i = Math.min(n - 2, Math.max(0, Math.floor(x)));
  const j = Math.min(n - 2, Math.max(0, Math.floor(y)));
  const fx = Math.min(1, Math.max(0, x - i));
  const fy = Math.min(1, Math.max(0, y - j));
  const at = (a: number, b: number): number => bare[(j + b) * n + i + a]!;
  return (1 - fy) * ((1 - fx) * at(0, 0) + fx * at(1, 0)) + fy * ((1 - fx) * at(0, 1) + fx * at(1, 1));
}

import { type Brassiness } from "../brassiness.js";
import type { FaceSampler } from "../face-sampler.js";
import { codeFromLinear, linearFromSrgb } from "../linear-light.js";

const rays = 40;

/**
 * Where a spot ends and the face begins, by half height along rays from its middle.
 *
 * Colour is read as a ratio of code values, but the lens mixes light: of two colours mixed half and half the ratio is
 * nearer to that of the brighter one. So the level of half height is worked out on every ray from what lies on
 * either side of the edge there.
 *
 * @param stepMm about half a pixel.
 * @returns points x0, y0, x1, y1 ..., local coordinates, mm; rays on which no clear edge lies are left out.
 */
export function readSpotEdge(
  sampler: FaceSampler,
  brassiness: Brassiness,
  xMm: number,
  yMm: number,
  reachMm: number,
  stepMm: number,
): Float64Array {
  const steps = Math.ceil(reachMm / stepMm) + 1;
  const ray: Ray = { brass: new Float64Array(steps), rgb: new Float64Array(3 * steps) };
  const points: number[] = [];
  const at = Math.atan2(yMm, xMm);
  for (let i = 0; i < rays; i++) {
    const t = (2 * Math.PI * i) / rays;
    const [cos, sin] = [Math.cos(t), Math.sin(t)];
    let seen = true;
    for (let k = 0; k < steps && seen; k++) {
      seen = sampler.at(xMm + k * stepMm * cos, yMm + k * stepMm * sin);
      ray.brass[k] = brassiness.at(sampler, at);
      ray.rgb[3 * k] = sampler.red;
      ray.rgb[3 * k + 1] = sampler.green;
      ray.rgb[3 * k + 2] = sampler.blue;
    }
    const r = seen ? edgeOn(ray, brassiness, at) : undefined;
    if (r !== undefined) points.push(xMm + r * stepMm * cos, yMm + r * stepMm * sin);
  }
  return Float64Array.from(points);
}

interface Ray {
  readonly brass: Float64Array;
  /** Code values, three a step. */
  readonly rgb: Float64Array;
}

/** Samples from the rough edge to where each side's own colour is read. */
const clear = 4;
const wide = 4;
const isFace = 0.6;
const isOther = 0.55;

/** Place of the edge in steps. */
function edgeOn(ray: Ray, brassiness: Brassiness, at: number): number | undefined {
  const rough = firstAbove(ray.brass, 0.5, 0);
  if (rough === undefined) return undefined;
  const outer = meanOf(ray, Math.ceil(rough) + clear, wide);
  const inner = meanOf(ray, Math.max(0, Math.floor(rough) - clear - wide + 1), wide);
  if (outer === undefined || inner === undefined) return undefined;
  if (brassiness.at(outer, at) < isFace || brassiness.at(inner, at) > isOther) return undefined;
  const half = mixed(inner, outer);
  return firstAbove(ray.brass, brassiness.at(half, at), Math.max(0, Math.floor(rough) - clear));
}

interface Colour {
  red: number;
  green: number;
  blue: number;
}

function meanOf(ray: Ray, from: number, count: number): Colour | undefined {
  if (from + count > ray.brass.length) return undefined;
  const sum = [0, 0, 0];
  for (let k = from; k < from + count; k++)
    for (let c = 0; c < 3; c++) sum[c]! += ray.rgb[3 * k + c]! / count;
  return { red: sum[0]!, green: sum[1]!, blue: sum[2]! };
}

/** Half and half in light, as a code value. */
function mixed(a: Colour, b: Colour): Colour {
  const mix = (p: number, q: number): number => codeFromLinear(0.5 * (linear(p) + linear(q)));
  return { red: mix(a.red, b.red), green: mix(a.green, b.green), blue: mix(a.blue, b.blue) };
}

const linear = (code: number): number => {
  const i = Math.min(254, Math.max(0, Math.floor(code)));
  return linearFromSrgb[i]! + (code - i) * (linearFromSrgb[i + 1]! - linearFromSrgb[i]!);
};

function firstAbove(profile: Float64Array, level: number, from: number): number | undefined {
  for (let k = from + 1; k < profile.length; k++) {
    const before = profile[k - 1]!;
    const now = profile[k]!;
    if (before < level && now >= level) return k - 1 + (level - before) / (now - before);
  }
  return undefined;
}

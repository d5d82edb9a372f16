import type { Brassiness } from "../brassiness.js";
import type { FaceSampler } from "../face-sampler.js";

const rays = 40;

/**
 * Where a spot ends and the face begins, by half height along rays from its middle.
 *
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
  const profile = new Float64Array(steps);
  let inner = Infinity;
  for (const [dx, dy] of middle) {
    if (sampler.at(xMm + dx * stepMm, yMm + dy * stepMm)) inner = Math.min(inner, brassiness.at(sampler));
  }
  const points: number[] = [];
  for (let i = 0; i < rays; i++) {
    const t = (2 * Math.PI * i) / rays;
    const [cos, sin] = [Math.cos(t), Math.sin(t)];
    let seen = true;
    for (let k = 0; k < steps && seen; k++) {
      seen = sampler.at(xMm + k * stepMm * cos, yMm + k * stepMm * sin);
      profile[k] = brassiness.at(sampler);
    }
    const r = seen ? crossing(profile, inner) : undefined;
    if (r !== undefined) points.push(xMm + r * stepMm * cos, yMm + r * stepMm * sin);
  }
  return Float64Array.from(points);
}

const middle = [
  [0, 0],
  [1, 0],
  [-1, 0],
  [0, 1],
  [0, -1],
] as const;

/** First rise through half of the way from the inner level to the level just outside the edge, in steps. */
function crossing(profile: Float64Array, inner: number): number | undefined {
  const rough = firstAbove(profile, 0.5 * (inner + 1));
  if (rough === undefined) return undefined;
  // The face is not of one colour all over: its level is read where the edge has died away.
  const from = Math.min(profile.length - 1, Math.ceil(rough) + 3);
  const to = Math.min(profile.length, from + 4);
  let outer = 0;
  for (let k = from; k < to; k++) outer += profile[k]! / (to - from);
  if (!(outer > 0.6)) return undefined;
  return firstAbove(profile, 0.5 * (inner + outer));
}

function firstAbove(profile: Float64Array, level: number): number | undefined {
  for (let k = 1; k < profile.length; k++) {
    const before = profile[k - 1]!;
    const now = profile[k]!;
    if (before < level && now >= level) return k - 1 + (level - before) / (now - before);
  }
  return undefined;
}

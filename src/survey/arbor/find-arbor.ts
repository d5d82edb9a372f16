import type { HubPicture } from "../../parts/index.js";

/** The arbor (with its pinion, if it stands above the face) as it is seen in the middle of the wheel. */
export interface ArborSpot {
  /** Centroid of what is seen of it, from the centre of the tooth circle, mm. */
  readonly xMm: number;
  readonly yMm: number;
  /** It lies within this distance of the centroid, mm. */
  readonly reachMm: number;
  /** Share of the ring at that reach that is not of the wheel's colour: 0 where there is wheel all round. */
  readonly openShare: number;
  /** What is not of the wheel's colour within that reach, mm². */
  readonly areaMm2: number;
}

const bareEnough = 0.5;
/** A speck is no arbor: fewer samples than this are not taken for one. */
const fewestSamples = 30;

/**
 * Finds the patch without the wheel's colour nearest to the centre, and how far it reaches before what shows
 * through the crossings begins.
 *
 * @returns undefined if nothing of another colour stands in the middle (a hidden, a brass or a patinated arbor).
 */
export function findArbor(hub: HubPicture): ArborSpot | undefined {
  const { size: n, bare, stepMm } = hub;
  const middle = (n - 1) / 2;
  let at = { x: middle, y: middle };
  let reach = 0.25 * n;
  let openShare = 1;
  for (let round = 0; round < 4; round++) {
    ({ reach, openShare } = reachOf(hub, at.x, at.y));
    const sums = { w: 0, x: 0, y: 0, samples: 0 };
    for (let j = 0; j < n; j++) {
      for (let i = 0; i < n; i++) {
        if (Math.hypot(i - at.x, j - at.y) > reach) continue;
        const w = Math.min(1, Math.max(0, bare[j * n + i]!));
        if (w < 0.25) continue;
        sums.w += w;
        sums.x += w * i;
        sums.y += w * j;
        sums.samples++;
      }
    }
    if (sums.samples < fewestSamples) return undefined;
    const next = { x: sums.x / sums.w, y: sums.y / sums.w };
    if (Math.hypot(next.x - middle, next.y - middle) > 0.3 * n) return undefined;
    const moved = Math.hypot(next.x - at.x, next.y - at.y);
    at = next;
    if (moved < 0.01 || round === 3)
      return {
        xMm: (at.x - middle) * stepMm,
        yMm: (at.y - middle) * stepMm,
        reachMm: reach * stepMm,
        openShare,
        areaMm2: sums.w * stepMm ** 2,
      };
  }
  return undefined;
}

/** Radius, in samples, at which the least of the ring is bare once the arbor itself is passed; and that least. */
function reachOf(
  { size: n, bare }: HubPicture,
  x: number,
  y: number,
): { readonly reach: number; readonly openShare: number } {
  const most = Math.floor(Math.min(x, y, n - 1 - x, n - 1 - y));
  let least = Infinity;
  let at = most;
  let passed = false;
  for (let r = 2; r <= most; r++) {
    const steps = Math.ceil(2 * Math.PI * r);
    let sum = 0;
    for (let k = 0; k < steps; k++) {
      const t = (2 * Math.PI * k) / steps;
      const i = Math.round(x + r * Math.cos(t));
      const j = Math.round(y + r * Math.sin(t));
      if (bare[j * n + i]! > bareEnough) sum++;
    }
    const share = sum / steps;
    passed ||= share < 0.6;
    if (!passed) continue;
    if (share < least - 1e-9) {
      least = share;
      at = r;
    }
    if (share === 0 || share > least + 0.25) break;
  }
  return { reach: at + 1, openShare: Math.min(1, least) };
}

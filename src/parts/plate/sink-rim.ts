import { medianOf } from "../../fit/index.js";
import type { Point } from "../part.js";
import { NormalEquations } from "./normal-equations.js";
import type { PlateFace } from "./plate-face.js";

/** The circle in which an oil sink, or a bush, meets the face. */
export interface SinkRim {
  readonly radiusMm: number;
  /** How far the edge of the hole lies below it, by how far beside its middle the hole is seen, mm. */
  readonly depthMm: number;
  /** Standard uncertainty of its middle, mm. */
  readonly uCentreMm: number;
}

const sectors = 48;
const darkest = 0.03;
/** Narrowest and widest slope, mm (common practice, no source), and deepest. */
const slopeMm = { from: 0.38, to: 1.7 };
const deepestMm = 1.3;
const shallowestMm = -0.15;
/** Light is compared so far to both sides of a rim, px; nearer to the hole its own edge is what is seen. */
const sidePx = 2;
const clearPx = 2.5;
const leastCover = 0.6;
/** What a rim explains of its ring, over what is left: rings of plain holes leave as much as they explain. */
const leastScore = 3;
/** Steps by which its place is found, and how far from where it explains most, px. */
const [coarsePx, finePx, farthestPx] = [0.3, 0.03, 1.5];
const mostRounds = 12;
/** Of its middle, mm and px: found on drawn plates. */
const uCentreMm = 0.06;
const uCentrePx = 0.3;

/** What mean and first wave of a signal round a ring explain, and what they leave. */
interface Wave {
  readonly explained: number;
  readonly left: number;
}

/** Middle, from that of the hole, and radius, mm. */
type RingPlace = readonly [xMm: number, yMm: number, radiusMm: number];

interface Ring {
  readonly at: RingPlace;
  readonly cover: number;
  readonly step: Wave;
  readonly ridge: Wave;
}

/**
 * Looks for the rim of a sink round a hole. Where the slope meets the face light changes, up on one side and down on the
 * other, or there is a bright or dark line: the mean and one wave of either explain the ring. The hole lies deeper than
 * its rim, so that it is seen beside the middle of the rim, towards the foot point of the camera.
 *
 * @param xMm, yMm middle of the hole as it is seen, local coordinates.
 * @param leanMm where a point 1 mm deeper is seen beside itself, mm.
 */
export function findSinkRim(
  { sampler, signal, pxMm }: Pick<PlateFace, "sampler" | "signal" | "pxMm">,
  xMm: number,
  yMm: number,
  holeRadiusMm: number,
  leanMm: Point,
): SinkRim | undefined {
  const lightAt = (x: number, y: number): number =>
    sampler.at(xMm + x, yMm + y) ? Math.log(Math.max(darkest, signal.light(sampler))) : NaN;
  const lean = Math.hypot(...leanMm);
  const stepMm = 0.5 * pxMm;
  const clearMm = holeRadiusMm + clearPx * pxMm;
  const ringAt = (place: RingPlace): Ring | undefined => {
    const [cx, cy, radiusMm] = place;
    const [angles, steps, ridges]: [number[], number[], number[]] = [[], [], []];
    for (let k = 0; k < sectors; k++) {
      const t = (2 * Math.PI * k) / sectors;
      const [cos, sin] = [Math.cos(t), Math.sin(t)];
      const inner = radiusMm - sidePx * pxMm;
      if (Math.hypot(cx + inner * cos, cy + inner * sin) < clearMm) continue;
      const at = (px: number): number =>
        lightAt(cx + (radiusMm + px * pxMm) * cos, cy + (radiusMm + px * pxMm) * sin);
      const [a, b, m, c, d] = [at(-sidePx), at(-sidePx / 2), at(0), at(sidePx / 2), at(sidePx)];
      if (!Number.isFinite(a + b + m + c + d)) continue;
      angles.push(t);
      steps.push((c + d - a - b) / 2);
      ridges.push(m - (a + d) / 2);
    }
    const cover = angles.length / sectors;
    if (cover < leastCover) return undefined;
    return { at: place, cover, step: waveOf(angles, steps), ridge: waveOf(angles, ridges) };
  };
  const depthStep = lean * deepestMm > stepMm ? stepMm / lean : deepestMm;
  const [from, to] = [holeRadiusMm + slopeMm.from, holeRadiusMm + slopeMm.to];
  const rings: Ring[] = [];
  for (let depth = shallowestMm; depth <= deepestMm; depth += depthStep)
    for (let radius = from; radius < to; radius += stepMm) {
      const ring = ringAt([-depth * leanMm[0], -depth * leanMm[1], radius]);
      if (ring) rings.push(ring);
    }
  if (rings.length === 0) return undefined;
  const [uStep, uRidge] = [medianOf(rings.map((r) => r.step.left)), medianOf(rings.map((r) => r.ridge.left))];
  const score = ({ cover, step, ridge }: Ring): number =>
    cover * (step.explained / (step.left + uStep) + ridge.explained / (ridge.left + uRidge));
  const best = rings.reduce((p, q) => (score(q) > score(p) ? q : p));
  // Nearest to the hole its own bevel looks like a rim.
  if (score(best) < leastScore || best.at[2] < from + 1.5 * stepMm) return undefined;
  // What is left of a clear rim is not noise, but its own uneven light: energy tells its place better.
  const energy = ({ step, ridge }: Ring): number => step.explained / uStep + ridge.explained / uRidge;
  let place = best;
  let h = coarsePx * pxMm;
  for (let round = 0; round < mostRounds && h > finePx * pxMm; round++) {
    const here = place;
    for (const k of [0, 1, 2])
      for (const sign of [-1, 1]) {
        const at = here.at.map((v, i) => (i === k ? v + sign * h : v)) as unknown as RingPlace;
        const ring = ringAt(at);
        if (ring && apart(at, best.at) < farthestPx * pxMm && energy(ring) > energy(place)) place = ring;
      }
    if (place === here) h /= 2;
  }
  const [x, y, radiusMm] = place.at;
  return {
    radiusMm,
    depthMm: lean > 0 ? -(x * leanMm[0] + y * leanMm[1]) / lean ** 2 : 0,
    uCentreMm: Math.hypot(uCentreMm, uCentrePx * pxMm),
  };
}

const apart = (a: RingPlace, b: RingPlace): number => Math.hypot(...a.map((v, i) => v - b[i]!));

const allOf = [0, 1, 2];

/** Least squares of a mean and a first wave; directions may be missing. */
function waveOf(angles: readonly number[], values: readonly number[]): Wave {
  const equations = new NormalEquations(3);
  angles.forEach((t, k) => equations.add(Float64Array.of(1, Math.cos(t), Math.sin(t)), allOf, values[k]!, 1));
  const left = equations.misfit();
  const all = values.reduce((sum, v) => sum + v * v, 0);
  return { explained: (all - left) / values.length, left: left / values.length };
}

import { fitCircleRobust, medianOf } from "../../fit/index.js";
import type { Point } from "../part.js";

/** Leaves of a pinion seen from its end. Local coordinates of the sampler, mm. */
export interface Leaves {
  readonly count: number;
  readonly probability: number;
  readonly alternatives: readonly { readonly count: number; readonly probability: number }[];
  readonly xMm: number;
  readonly yMm: number;
  readonly tipMm: number;
  readonly uTipMm: number;
  /** Middles of the places of the even division; whether a leaf of its own was seen there. */
  readonly places: readonly { readonly angleRad: number; readonly isSeen: boolean }[];
}

const angles = 720;
const turn = 2 * Math.PI;
/** Clock pinions have 6 to 16 leaves as a rule, toys and some watches 5 (trade). */
const fewest = 5;
const most = 16;
/** Where leaves are read, as shares of the tip radius: beyond the body, within the rounded tips. */
const band = [0.82, 0.85, 0.88, 0.91, 0.94];
const isMetal = 0.5;
const leastLevel = 0.3;
/** Pitches by which leaves may stray from an even division. */
const mostScatter = 0.07;
/** Amplitude of the strongest wave that a ring of leaves gives at the least. */
const leastWave = 0.16;

type MetalAt = (xMm: number, yMm: number) => number;

interface Circle {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

/** What tells that a count stands. */
const sureProbability = 0.95;
/** Two starts that come to different counts. */
const mostOfTwo = 0.6;

/**
 * Counts the leaves of a pinion on its end by runs of metal round a ring, and by the strongest wave along it; neither
 * is believed alone. A shadow that was taken for metal joins two leaves to one run and leaves the wave as it is.
 *
 * @param metalAt 0 to 1, NaN where not seen. @param start middle and radius, to a third of the radius.
 * @param footMm straight below the camera: leaves on that side show their walls, and look longer.
 */
export function countLeaves(metalAt: MetalAt, start: Circle, footMm?: Point): Leaves | undefined {
  const first = countFrom(metalAt, start, 1.45, footMm);
  if (first !== undefined && first.probability >= sureProbability) return first;
  // Something lies beside it: where else would a ring of leaves stand out?
  const again = countFrom(metalAt, mostWaving(metalAt, start), 1.14, footMm);
  if (first === undefined || again === undefined) return again ?? first;
  const [better, worse] = again.probability > first.probability ? [again, first] : [first, again];
  return better.count === worse.count
    ? better
    : { ...better, probability: Math.min(better.probability, mostOfTwo) };
}

/** One picture alone, or two that are half sure, leave a doubt. */
const mostOfOne = 0.9;
/** What two pictures must reach to be believed together. */
const leastOfTwo = 0.9;
/** What another picture must reach to speak against them. */
const leastAgainst = 0.55;

/**
 * Of several pictures of one pinion: the surest count. Two that agree are believed, where both see leaves set evenly;
 * what the network makes of a shadow changes with the size of the picture. Less sure where another picture gives
 * another count.
 */
export function agreedLeaves(counts: readonly (Leaves | undefined)[]): Leaves | undefined {
  const found = counts.filter((c) => c !== undefined).sort((a, b) => b.probability - a.probability);
  const [best] = found;
  if (best === undefined) return undefined;
  const against = found.find((o) => o.count !== best.count && o.probability > leastAgainst);
  if (against !== undefined)
    return {
      ...best,
      probability: Math.min(best.probability, mostOfTwo),
      alternatives: [{ count: against.count, probability: 0.3 }],
    };
  const sure = found.filter((o) => o.count === best.count && o.probability >= leastOfTwo);
  // Five are rare: one of six may be hidden, in all pictures alike.
  if (sure.length < 2 || best.count <= fewest)
    return { ...best, probability: Math.min(mostOfOne, best.probability) };
  const doubt = sure.reduce((product, c) => product * (1 - c.probability), 1);
  return { ...best, probability: Math.min(0.99, 1 - 2 * doubt) };
}

function countFrom(
  metalAt: MetalAt,
  start: Circle,
  reach: number,
  footMm: Point | undefined,
): Leaves | undefined {
  let [x, y, radius] = [start.xMm, start.yMm, start.radiusMm];
  let scatter = 0;
  let tips: readonly number[] = [];
  for (let round = 0; round < 4; round++) {
    const outline = outlineFrom(metalAt, x, y, reach * radius, radius / 60);
    tips = tipPoints(outline);
    if (tips.length < 2 * fewest) return undefined;
    const fit = fitCircleRobust(Float64Array.from(tips), { uPointMm: 0.05 });
    if (!fit.ok || Math.hypot(fit.value.x, fit.value.y) > 0.6 * radius) return undefined;
    x += fit.value.x;
    y += fit.value.y;
    radius = fit.value.radius;
    scatter = fit.value.scale;
    tips = tips.map((v, i) => v - (i % 2 === 0 ? fit.value.x : fit.value.y));
  }
  const ring = ringOf(metalAt, { xMm: x, yMm: y, radiusMm: radius }, angles);
  const wave = ring && strongestWave(ring);
  if (ring === undefined || wave === undefined) return undefined;
  const runs = runsOf(ring, wave.count);
  const onPlaces = layOn(wave.count, wave.phaseRad, runs);
  if (onPlaces.seen < 0.6 * wave.count || onPlaces.scatter > mostScatter) return undefined;
  const rivals = [...new Set([runs.length, wave.count - 1, wave.count + 1])]
    .filter((n) => n !== wave.count && n >= fewest)
    .slice(0, 2);
  const probability = probabilityOf(wave, onPlaces, runs.length);
  return {
    count: wave.count,
    probability,
    alternatives: rivals.map((count) => ({ count, probability: (0.9 * (1 - probability)) / rivals.length })),
    ...upperCircle(tips, { xMm: x, yMm: y, radiusMm: radius }, footMm, scatter),
    places: onPlaces.places,
  };
}

function probabilityOf(wave: Wave, { seen, scatter }: OnPlaces, runs: number): number {
  const even = scatter < 0.8 * mostScatter && wave.lead > 1.8;
  if (seen === wave.count && runs === wave.count) return even ? 0.985 : 0.9;
  // One place that is confused leaves the others to say how the circle is divided.
  if (seen >= wave.count - 1 && scatter < mostScatter / 2 && wave.lead > 1.8) return 0.955;
  return 0.9 * (seen / wave.count);
}

/** Of circles near the start, that on which the strongest wave runs. */
function mostWaving(metalAt: MetalAt, start: Circle): Circle {
  let best = { circle: start, amplitude: 0 };
  const step = 0.11 * start.radiusMm;
  for (let j = -4; j <= 4; j++)
    for (let i = -4; i <= 4; i++)
      for (const share of [0.75, 0.85, 0.95, 1.05]) {
        const circle = {
          xMm: start.xMm + i * step,
          yMm: start.yMm + j * step,
          radiusMm: share * start.radiusMm,
        };
        const ring = ringOf(metalAt, circle, 180);
        const amplitude = (ring && strongestWave(ring)?.amplitude) ?? 0;
        if (amplitude > best.amplitude) best = { circle, amplitude };
      }
  return best.circle;
}

/** Outermost metal of each direction, mm; NaN where there is none. */
function outlineFrom(metalAt: MetalAt, x: number, y: number, reachMm: number, stepMm: number): Float64Array {
  return Float64Array.from({ length: angles }, (_, i) => {
    const t = (turn * i) / angles;
    const [cos, sin] = [Math.cos(t), Math.sin(t)];
    let before = metalAt(x + reachMm * cos, y + reachMm * sin);
    // Something else that begins further out still: no edge of this part.
    if (!(before < isMetal)) return NaN;
    for (let r = reachMm - stepMm; r > stepMm; r -= stepMm) {
      const now = metalAt(x + r * cos, y + r * sin);
      if (now >= isMetal) return r + (stepMm * (now - isMetal)) / (now - before);
      before = now;
    }
    return NaN;
  });
}

/** One point for each outward bulge: as far as two thirds of the sixteenth of a turn on either side lie inside it. */
function tipPoints(outline: Float64Array): number[] {
  const points: number[] = [];
  const reach = Math.floor(angles / (2 * most));
  const far = [...outline].filter((r) => !Number.isNaN(r)).sort((a, b) => a - b);
  const least = 0.72 * (far[Math.floor(0.9 * far.length)] ?? Infinity);
  for (let i = 0; i < angles; i++) {
    const r = outline[i]!;
    if (!(r > least)) continue;
    let higher = 0;
    for (let d = 1; d <= reach; d++) {
      if (outline[(i + d) % angles]! > r) higher++;
      if (outline[(i - d + angles) % angles]! >= r) higher++;
    }
    if (higher > 0) continue;
    const t = (turn * i) / angles;
    points.push(r * Math.cos(t), r * Math.sin(t));
  }
  return points;
}

/** Fewer points than this, on half of the turn, say less than all do. */
const fewestAway = 4;
/** Fitted to half of the turn it should come out near the circle through all tips, as a share of the radius. */
const mostMoved = 0.2;

/** Circle through the tips whose walls are hidden below them; through all where they are too few. */
function upperCircle(
  tips: readonly number[],
  { xMm, yMm, radiusMm }: Circle,
  footMm: Point | undefined,
  scatter: number,
): Pick<Leaves, "xMm" | "yMm" | "tipMm" | "uTipMm"> {
  const away = footMm === undefined ? tips : awayFrom(tips, [xMm - footMm[0], yMm - footMm[1]]);
  const fit = fitCircleRobust(Float64Array.from(away), { uPointMm: 0.05 });
  const moved = fit.ok
    ? Math.hypot(fit.value.x, fit.value.y) + Math.abs(fit.value.radius - radiusMm)
    : Infinity;
  if (!fit.ok || moved > mostMoved * radiusMm)
    return { xMm, yMm, tipMm: radiusMm, uTipMm: Math.max(0.04 * radiusMm, scatter) };
  const { x, y, radius } = fit.value;
  // How far the wall draws the others out is half believed.
  const uTipMm = Math.hypot(0.05, (2 * scatter) / Math.sqrt(away.length), 0.25 * (radius - radiusMm));
  return { xMm: xMm + x, yMm: yMm + y, tipMm: radius, uTipMm };
}

function awayFrom(tips: readonly number[], [ax, ay]: Point): readonly number[] {
  const kept: number[] = [];
  for (let k = 0; k < tips.length; k += 2) {
    const [x, y] = [tips[k]!, tips[k + 1]!];
    const r = Math.hypot(x, y);
    // Where the foot point lies within the tip circle no wall is seen anywhere.
    if ((x * ax + y * ay) / r + r > 0) kept.push(x, y);
  }
  return kept.length >= 2 * fewestAway ? kept : tips;
}

function ringOf(metalAt: MetalAt, { xMm, yMm, radiusMm }: Circle, count: number): Float64Array | undefined {
  let unseen = 0;
  const ring = Float64Array.from({ length: count }, (_, i) => {
    const t = (turn * i) / count;
    const [cos, sin] = [radiusMm * Math.cos(t), radiusMm * Math.sin(t)];
    let sum = 0;
    let n = 0;
    for (const share of band) {
      const m = metalAt(xMm + share * cos, yMm + share * sin);
      if (Number.isNaN(m)) continue;
      sum += m;
      n++;
    }
    if (n === 0) unseen++;
    return n === 0 ? 0 : sum / n;
  });
  return unseen > 0.02 * count ? undefined : ring;
}

interface Wave {
  readonly count: number;
  readonly phaseRad: number;
  readonly amplitude: number;
  /** Over the next strongest. */
  readonly lead: number;
}

function strongestWave(ring: Float64Array): Wave | undefined {
  const n = ring.length;
  const waves = Array.from({ length: most + 6 - fewest }, (_, k) => {
    const count = fewest - 1 + k;
    let re = 0;
    let im = 0;
    for (let i = 0; i < n; i++) {
      re += (2 * ring[i]! * Math.cos((turn * count * i) / n)) / n;
      im += (2 * ring[i]! * Math.sin((turn * count * i) / n)) / n;
    }
    return { count, amplitude: Math.hypot(re, im), phase: Math.atan2(im, re) };
  });
  const [best, next] = [...waves].sort((a, b) => b.amplitude - a.amplitude);
  if (best === undefined || best.count < fewest || best.count > most || best.amplitude < leastWave)
    return undefined;
  const { count, amplitude, phase } = best;
  return { count, phaseRad: phase / count, amplitude, lead: amplitude / (next?.amplitude || 1e-9) };
}

/** Half way between the most and the least within a pitch: a shadow half taken for metal raises both. */
function localMiddle(ring: Float64Array, count: number): Float64Array {
  const half = Math.round(angles / count / 2);
  return ring.map((_, i) => {
    let [low, high] = [1, 0];
    for (let d = -half; d <= half; d++) {
      const v = ring[(i + d + angles) % angles]!;
      low = Math.min(low, v);
      high = Math.max(high, v);
    }
    return Math.max(leastLevel, 0.5 * (low + high));
  });
}

/** Middles and widths of the runs of metal, rad. */
function runsOf(ring: Float64Array, count: number): { readonly middle: number; readonly width: number }[] {
  const level = localMiddle(ring, count);
  const start = ring.findIndex((v, i) => v < level[i]!);
  if (start < 0) return [];
  const runs: { middle: number; width: number }[] = [];
  let from: number | undefined;
  for (let k = start; k <= start + angles; k++) {
    const metal = ring[k % angles]! >= level[k % angles]!;
    if (metal && from === undefined) from = k;
    if (!metal && from !== undefined) {
      if (k - from >= 4)
        runs.push({ middle: (turn * (0.5 * (from + k - 1))) / angles, width: (turn * (k - from)) / angles });
      from = undefined;
    }
  }
  return runs;
}

interface OnPlaces {
  readonly seen: number;
  /** Root mean square, in pitches. */
  readonly scatter: number;
  readonly places: Leaves["places"];
}

function layOn(
  n: number,
  phase: number,
  runs: readonly { readonly middle: number; readonly width: number }[],
): OnPlaces {
  const pitch = turn / n;
  const usual = runs.length === 0 ? 0 : medianOf(runs.map((r) => r.width));
  const offs: number[] = [];
  const taken = new Set<number>();
  for (const { middle, width } of runs) {
    // What is wider than a leaf by half holds a shadow: its middle says nothing.
    if (width > 1.5 * usual) continue;
    const at = (middle - phase) / pitch;
    offs.push(at - Math.round(at));
    taken.add(((Math.round(at) % n) + n) % n);
  }
  return {
    seen: taken.size,
    scatter: Math.sqrt(offs.reduce((s, o) => s + o * o, 0) / Math.max(1, offs.length)),
    places: Array.from({ length: n }, (_, k) => ({
      angleRad: (((phase + k * pitch) % turn) + turn) % turn,
      isSeen: taken.has(k),
    })).sort((a, b) => a.angleRad - b.angleRad),
  };
}

import { medianOf } from "../../fit/index.js";
import { placeInTurn } from "../../geometry/index.js";
import type { Point } from "../part.js";
import { fromMiddle, sampleSquare } from "./sample-square.js";

/** Share of brass's own colour at a point, NaN where not seen. */
type BrassAt = (xMm: number, yMm: number) => number;

/** A point of the wheel's axis so far over its face, as it is seen on the face; and how much larger things there look. */
export interface AxisSeen {
  readonly middle: Point;
  readonly larger: number;
}

/** Ends of trundles in the upper cap of a lantern, evenly set round the axis. */
export interface TrundleEnds {
  readonly count: number;
  readonly probability: number;
  /** Over the wheel's face, where the axis is seen from the side. */
  readonly overMm: number;
  /** Of the circle of their middles, at that height. */
  readonly circleMm: number;
  readonly places: readonly { readonly angleRad: number; readonly isSeen: boolean }[];
}

/** Lanterns of clocks have 6 to 12 trundles (common practice, no source). */
const [fewest, most] = [5, 13] as const;
const usualFewest = 6;
/** Radii of their circles, mm. */
const [leastCircleMm, mostCircleMm] = [1.2, 5.5] as const;
/** Heights over the face at which an even ring about the axis is looked for, mm. */
const [leastOverMm, mostOverMm, overStepMm] = [0, 25, 0.25] as const;
const cellMm = 0.1;
/** An end is 0.6 to 1.4 mm wide: what is compared are its middle and a ring of brass round it, mm. */
const [innerMm, ringMm] = [0.2, 0.85] as const;
/** Least difference of their colours, of brass's own. */
const leastContrast = 0.22;
/** Brass all round: of twelve points of the ring so many at the most have less colour: an arbor is near, a leaf hangs on to steel. */
const [leastRing, mostSteel] = [0.5, 2] as const;
/** Two ends are further apart, mm. */
const leastApartMm = 0.7;
/** Off their circle, mm; off their places, of the pitch. */
const [mostOffMm, mostAside] = [0.2, 0.12] as const;
/** The lower cap shows ends as well, and trundles between both. */
const mostOthers = 2;
const [allSeen, oneHidden, few] = [0.98, 0.85, 0.8] as const;
/** Where the ring may lie in the face itself it may be that of rivets or screws of a hub. */
const mayBeRivets = 0.8;

interface Spot {
  readonly x: number;
  readonly y: number;
  readonly contrast: number;
}

/**
 * Counts the ends of a lantern's trundles where its upper cap shows them: spots without colour in brass, on a circle about
 * the axis of the wheel, every place of an even division taken but one at the most.
 *
 * @param middle of the square that is searched, on the plane of the face; @param halfMm half of its side.
 * @param axisAt the axis so many mm over the face.
 */
export function findTrundleEnds(
  brassAt: BrassAt,
  middle: Point,
  halfMm: number,
  axisAt: (overMm: number) => AxisSeen,
): TrundleEnds | undefined {
  const spots = spotsIn(brassAt, middle, halfMm);
  if (spots.length < fewest - 1) return undefined;
  let best: (Ring & { readonly overMm: number }) | undefined;
  for (let overMm = leastOverMm; overMm <= mostOverMm; overMm += overStepMm) {
    const ring = ringAbout(spots, axisAt(overMm));
    if (ring !== undefined && (best === undefined || ring.merit > best.merit)) best = { ...ring, overMm };
  }
  if (best === undefined || !isApart(brassAt, best, axisAt(best.overMm))) return undefined;
  const { count, places, circleMm, overMm } = best;
  const hidden = places.filter(({ isSeen }) => !isSeen).length;
  const seen = count < usualFewest ? few : hidden > 0 ? oneHidden : allSeen;
  const isClearOfFace = ringAbout(spots, axisAt(0))?.count !== count;
  return {
    count,
    probability: isClearOfFace ? seen : Math.min(seen, mayBeRivets),
    overMm,
    circleMm,
    places,
  };
}

/** Of the ends seen so many have brass between them and the arbor, so far in from their middles, mm: leaves have steel there. */
const [leastApart, leastBetween] = [0.7, 0.6] as const;
const inwardsMm = [0.6, 0.7, 0.8] as const;

function isApart(
  brassAt: BrassAt,
  { places, circleMm }: Ring,
  { middle: [x, y], larger }: AxisSeen,
): boolean {
  const seen = places.filter(({ isSeen }) => isSeen);
  const apart = seen.filter(({ angleRad }) => {
    const shareAt = (radiusMm: number): number =>
      brassAt(x + larger * radiusMm * Math.cos(angleRad), y + larger * radiusMm * Math.sin(angleRad));
    const inwards = Math.max(...inwardsMm.map((mm) => shareAt(circleMm - mm)));
    return inwards > leastBetween && inwards > shareAt(circleMm) + leastContrast;
  });
  return apart.length >= leastApart * seen.length;
}

interface Ring {
  readonly count: number;
  readonly circleMm: number;
  readonly places: TrundleEnds["places"];
  readonly merit: number;
}

interface PolarSpot {
  readonly radiusMm: number;
  readonly angleRad: number;
}

/** The fullest even ring of spots about a point. */
function ringAbout(spots: readonly Spot[], { middle: [x, y], larger }: AxisSeen): Ring | undefined {
  const polar = spots.map((s): PolarSpot => ({
    radiusMm: Math.hypot(s.x - x, s.y - y) / larger,
    angleRad: Math.atan2(s.y - y, s.x - x),
  }));
  let best: Ring | undefined;
  for (const { radiusMm } of polar) {
    if (radiusMm < leastCircleMm || radiusMm > mostCircleMm) continue;
    const near = polar.filter((p) => Math.abs(p.radiusMm - radiusMm) < mostOffMm);
    if (near.length < fewest - 1) continue;
    for (let count = fewest; count <= most; count++) {
      const ring = evenRing(near, count);
      if (ring !== undefined && (best === undefined || ring.merit > best.merit)) best = ring;
    }
  }
  return best;
}

/** Undefined where more than one place is empty, or one and something stands between the others. */
function evenRing(near: readonly PolarSpot[], count: number): Ring | undefined {
  if (near.length < count - 1) return undefined;
  const pitch = (2 * Math.PI) / count;
  let best: Ring | undefined;
  for (const { angleRad: first } of near) {
    const on = near.filter(({ angleRad }) => Math.abs(asideOf(angleRad - first, pitch)) < mostAside);
    const phase =
      first + (pitch * on.reduce((sum, s) => sum + asideOf(s.angleRad - first, pitch), 0)) / on.length;
    const ring = ringAt(near, count, phase);
    if (ring !== undefined && (best === undefined || ring.merit > best.merit)) best = ring;
  }
  return best;
}

/** From the nearest place of an even division, of its pitch. */
const asideOf = (angleRad: number, pitch: number): number => angleRad / pitch - Math.round(angleRad / pitch);

function ringAt(near: readonly PolarSpot[], count: number, phase: number): Ring | undefined {
  const pitch = (2 * Math.PI) / count;
  const circleMm = medianOf(near.map(({ radiusMm }) => radiusMm));
  const seen = new Array<boolean>(count).fill(false);
  let [off, others] = [0, 0];
  for (const { radiusMm, angleRad } of near) {
    const aside = asideOf(angleRad - phase, pitch);
    const at = placeInTurn(Math.round((angleRad - phase) / pitch), count);
    if (Math.abs(aside) > mostAside || seen[at]) {
      others++;
      continue;
    }
    seen[at] = true;
    off += (aside / mostAside) ** 2 + ((radiusMm - circleMm) / mostOffMm) ** 2;
  }
  const taken = near.length - others;
  const isFull = taken === count;
  if (!isFull && (taken < count - 1 || others > 0 || count < usualFewest)) return undefined;
  if (others > (count < usualFewest ? 0 : mostOthers)) return undefined;
  return {
    count,
    circleMm,
    places: seen.map((isSeen, k) => ({ angleRad: phase + k * pitch, isSeen })),
    // One more end is worth more than any better fit.
    merit: taken - off / taken / 2 - (isFull ? 0 : 0.5) - others,
  };
}

const around = Array.from({ length: 12 }, (_, k): Point => {
  const t = (2 * Math.PI * k) / 12;
  return [Math.cos(t), Math.sin(t)];
});

function spotsIn(brassAt: BrassAt, middle: Point, halfMm: number): Spot[] {
  const side = Math.round((2 * halfMm) / cellMm);
  const share = sampleSquare(brassAt, middle, side, cellMm);
  const reach = Math.ceil(ringMm / cellMm);
  const inner = around.map(
    ([c, s]) => Math.round((innerMm * s) / cellMm) * side + Math.round((innerMm * c) / cellMm),
  );
  const ring = around.map(
    ([c, s]) => Math.round((ringMm * s) / cellMm) * side + Math.round((ringMm * c) / cellMm),
  );
  const found: Spot[] = [];
  for (let j = reach; j < side - reach; j++)
    for (let i = reach; i < side - reach; i++) {
      const p = j * side + i;
      // Most places are plain brass.
      if (!(share[p]! < 1 - leastContrast)) continue;
      const contrast = contrastAt(share, p, inner, ring);
      if (contrast < leastContrast) continue;
      const [x, y] = [middle[0] + fromMiddle(i, side, cellMm), middle[1] + fromMiddle(j, side, cellMm)];
      found.push({ x, y, contrast });
    }
  found.sort((a, b) => b.contrast - a.contrast);
  const kept: Spot[] = [];
  for (const spot of found)
    if (kept.every((k) => Math.hypot(k.x - spot.x, k.y - spot.y) > leastApartMm)) kept.push(spot);
  return kept;
}

/** How much less colour a spot has than the ring round it; 0 where that is not all brass. */
function contrastAt(
  share: Float32Array,
  p: number,
  inner: readonly number[],
  ring: readonly number[],
): number {
  let steel = 0;
  for (const d of ring) if (!(share[p + d]! > leastRing) && ++steel > mostSteel) return 0;
  const outer = ring.map((d) => share[p + d]!);
  const within = inner.reduce((sum, d) => sum + share[p + d]!, share[p]!) / (inner.length + 1);
  return medianOf(outer) - within;
}

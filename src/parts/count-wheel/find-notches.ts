import { medianOf } from "../../fit/index.js";
import { placeInTurn, withinTurn } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace } from "../face-plane.js";
import type { Notch } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { unroll, type Unrolled } from "../unroll.js";
import type { Rim } from "../wheel/find-rim.js";
import { usualWall } from "../wheel/weigh-centres.js";

export interface OpenNotch extends Required<Notch> {
  /** Just above its floor it is open; else walls close it, and it may be deeper. */
  readonly isFloorSeen: boolean;
}

/** What is known of it: its depth only where its floor is seen. */
export const asNotch = ({ isFloorSeen, depthMm, ...notch }: OpenNotch): Notch => ({
  ...notch,
  ...(isFloorSeen && { depthMm }),
});

export interface NotchedRim {
  readonly notches: readonly OpenNotch[];
  /** How much of a notch its own wall covers at this angle, mm. */
  readonly coveredMm: (angleRad: number) => number;
  /** Middles of dips that are too small to be called notches, but may be all that walls leave of one. */
  readonly faintRad: readonly number[];
  /** Share of the rim that is metal, just below its edge. */
  readonly metal: number;
  /** Share of the rim that was seen. */
  readonly seen: number;
}

/** Below the edge of the disc, where a notch is as wide as it is cut: from, to, mm. */
const bandMm = [0.35, 1.1] as const;
/** A notch is at least so wide and deep, mm; anything less is a burr or a scratch. */
const leastWidthMm = 0.45;
/** So much of it must be open to the camera, mm and px; its wall may cover the rest. */
const leastOpenMm = 0.2;
const leastOpenPx = 1.3;
/** What is narrower than the blur is seen as wide as that. */
const mostDipPx = 8;
/** Less than this is noise. */
const leastFaintMm = 0.07;
const leastFaintPx = 0.7;
const leastDepthMm = 0.5;
/**
 * Shallower than this share of its neighbours: half filled. But where walls close a notch from both sides its floor is
 * not seen: just above a floor a notch is still open over this share of its width.
 */
const shallowShare = 0.65;
const leastOpenShare = 0.5;
const justAboveFloor = 0.8;

/** Of a count wheel or a locking cam, where nothing says how large it is (common practice, no source). */
const usualRadiusMm = 15;

/**
 * How long a millimetre is on the plane of a disc: without a scale one pixel stands for one millimetre, and widths and
 * depths are judged by the size of the disc instead.
 */
export const millimetreOn = (view: Pick<View, "source">, rim: Pick<Rim, "tipMm">): number =>
  view.source === "none" ? rim.tipMm / usualRadiusMm : 1;

/**
 * Notches in the rim of a disc: openings that reach in from its edge. Seen from the side, one wall of a notch stands in
 * it: what is open is narrower by that, and its middle lies beside that of the notch by half as much.
 *
 * @param mm length of a millimetre on its plane: see `millimetreOn`; @param edgesApartMm thickness of the disc.
 */
export function findNotches(
  photo: Photo,
  contrast: Contrast,
  rim: Rim,
  mm: number,
  edgesApartMm: number,
): NotchedRim {
  const { face, tipMm } = rim;
  const pxMm = 1 / pxPerMmOnFace(face);
  const angles = 4096;
  const [edgeMm, bandEndMm] = [bandMm[0] * mm, bandMm[1] * mm];
  const depthMm = Math.min(0.45 * tipMm, 8 * mm);
  const stepMm = Math.max(0.6 * pxMm, 0.05 * mm);
  const ring = unroll(photo, contrast, face, tipMm - depthMm, tipMm - edgeMm, stepMm, angles);
  const bandRows = Math.max(2, Math.round((bandEndMm - edgeMm) / stepMm));
  const band = new Float64Array(angles);
  let seen = 0;
  let metal = 0;
  for (let i = 0; i < angles; i++) {
    let sum = 0;
    for (let j = ring.radii - bandRows; j < ring.radii; j++)
      sum += Math.min(1.2, Math.max(-0.2, ring.data[i * ring.radii + j]!)) / bandRows;
    band[i] = sum;
    if (Number.isNaN(sum)) continue;
    seen++;
    if (sum > 0.5) metal++;
  }
  const middleMm = tipMm - 0.5 * (edgeMm + bandEndMm);
  const mmPerStep = (2 * Math.PI * middleMm) / angles;
  const thick = new ThickOutline(face, edgesApartMm);
  const besideMm = (t: number): number => usualWall.share * thick.middleShiftMm(t);
  const coveredMm = (t: number): number => 2 * Math.abs(besideMm(t));
  const all = openings(band, (mostDipPx * pxMm) / mmPerStep).map(({ middle, steps }) => {
    const seenRad = (2 * Math.PI * middle) / angles;
    const openMm = steps * mmPerStep;
    return {
      middle,
      openMm,
      angleRad: withinTurn(seenRad - besideMm(seenRad) / middleMm),
      widthMm: openMm + coveredMm(seenRad),
    };
  });
  const isOpen = ({ openMm, widthMm }: (typeof all)[number]): boolean =>
    widthMm >= Math.max(leastWidthMm * mm, 2.5 * pxMm) &&
    openMm >= Math.max(leastOpenMm * mm, leastOpenPx * pxMm);
  const found = all
    .filter(isOpen)
    .map(({ middle, openMm, angleRad, widthMm }) => {
      // Deep at two places of the middle part: a burr or a thin wall in it does not make it shallow.
      const deep = acrossNotch
        .map((x) => tipMm - floorMm(ring, middle + (x * openMm) / mmPerStep))
        .sort((a, b) => b - a)[1]!;
      const reach = (0.6 * widthMm) / mmPerStep;
      const openSteps = openStepsAt(ring, tipMm - justAboveFloor * deep, middle - reach, middle + reach);
      const isFloorSeen = openSteps * mmPerStep >= leastOpenShare * widthMm;
      return { angleRad, widthMm, depthMm: deep, isFloorSeen };
    })
    .filter((n) => n.depthMm >= leastDepthMm * mm);
  const seenDepths = found.filter((n) => n.isFloorSeen).map((n) => n.depthMm);
  const usual = seenDepths.length > 0 ? medianOf(seenDepths) : 0;
  return {
    notches: found
      .map((n) => ({
        ...n,
        state: n.isFloorSeen && n.depthMm < shallowShare * usual ? ("shallow" as const) : ("whole" as const),
      }))
      .sort((a, b) => a.angleRad - b.angleRad),
    coveredMm,
    faintRad: all
      .filter((o) => !isOpen(o) && o.openMm >= Math.max(leastFaintMm * mm, leastFaintPx * pxMm))
      .map((o) => o.angleRad),
    metal: seen === 0 ? 0 : metal / seen,
    seen: seen / angles,
  };
}

/** Shares of the width, from the middle. The floor is flat or follows the circle; so near the middle that is all one. */
const acrossNotch = [-0.25, -0.12, 0, 0.12, 0.25];

/** An opening of the band: its middle and its width, in steps round the turn. */
interface Opening {
  readonly middle: number;
  readonly steps: number;
}

/**
 * Runs below half height round the turn, to a fraction of a step. What is hardly wider than the blur of the picture does
 * not fall so low: a dip is an opening as well, as wide as what it takes away.
 *
 * @param mostAcross of such a dip, steps; where a wider one is shallow the edge of the disc dips into the band.
 */
function openings(band: Float64Array, mostAcross: number): Opening[] {
  const runs = runsBelow(band, 0.5);
  const dips = runsBelow(band, mostInDip).filter(
    (dip) =>
      !runs.some((run) => run.from < dip.to && run.to > dip.from) &&
      leastIn(band, dip) < mostAtBottom &&
      dip.to - dip.from < mostAcross,
  );
  return [
    ...runs.map(({ from, to }) => ({ middle: 0.5 * (from + to), steps: to - from })),
    ...dips.map((dip) => openingOf(band, dip)),
  ];
}

/** A dip, to the places on both sides of it from where on the rim is whole. */
function openingOf(band: Float64Array, { from, to }: Run): Opening {
  const n = band.length;
  const shareAt = (k: number): number => 1 - band[placeInTurn(k, n)]!;
  let [first, last] = [Math.ceil(from), Math.floor(to)];
  for (let k = 0; k < tail && shareAt(first - 1) > 0; k++) first--;
  for (let k = 0; k < tail && shareAt(last + 1) > 0; k++) last++;
  let [open, moment] = [0, 0];
  for (let k = first; k <= last; k++) {
    open += shareAt(k);
    moment += k * shareAt(k);
  }
  return { middle: moment / open, steps: open };
}

const leastIn = (band: Float64Array, { from, to }: Run): number => {
  let least = Infinity;
  for (let k = Math.ceil(from); k <= to; k++) least = Math.min(least, band[k % band.length]!);
  return least;
};

/** Steps; a dip that is shallow from there on is no part of it. */
const tail = 10;
/** Down to here the face of a disc is uneven. */
const mostInDip = 0.85;
const mostAtBottom = 0.75;

interface Run {
  readonly from: number;
  readonly to: number;
}

/** Runs below a level; each begins in the turn that follows the first place above it. */
function runsBelow(band: Float64Array, level: number): Run[] {
  const n = band.length;
  const start = band.findIndex((v) => v > level);
  if (start < 0) return [];
  const out: Run[] = [];
  let from: number | undefined;
  for (let k = start + 1; k <= start + n; k++) {
    const before = band[(k - 1) % n]!;
    const now = band[k % n]!;
    if (before > level && now <= level) from = k - 1 + (before - level) / (before - now);
    else if (before <= level && now > level && from !== undefined) {
      out.push({ from, to: k - 1 + (level - before) / (now - before) });
      from = undefined;
    } else if (Number.isNaN(now)) from = undefined;
  }
  return out;
}

/** How many steps between two angles are open at a radius. */
function openStepsAt(
  { data, radii, angles, fromRadiusMm, stepMm }: Unrolled,
  radiusMm: number,
  from: number,
  to: number,
): number {
  const j = Math.min(radii - 1, Math.max(0, Math.round((radiusMm - fromRadiusMm) / stepMm)));
  let open = 0;
  for (let k = Math.round(from); k <= to; k++)
    if (data[(((k % angles) + angles) % angles) * radii + j]! < 0.5) open++;
  return open;
}

/**
 * Radius at which metal begins, from outside, at an angle; where it never does, that of the ring's inner end. In an opening
 * no wider than the blur the signal falls less: half way from its least is the edge.
 */
function floorMm({ data, radii, angles, fromRadiusMm, stepMm }: Unrolled, at: number): number {
  const first = (((Math.round(at) % angles) + angles) % angles) * radii;
  let least = Infinity;
  for (let j = radii >> 1; j < radii; j++) least = Math.min(least, data[first + j]!);
  const half = Math.max(0.5, 0.5 * (1 + least));
  let j = radii - 1;
  while (j > 0 && !(data[first + j]! > half)) j--;
  const [metal, open] = [data[first + j]!, data[first + j + 1]!];
  const part = j > 0 && j < radii - 1 && open < metal ? (metal - half) / (metal - open) : 0;
  return fromRadiusMm + stepMm * (j + part);
}

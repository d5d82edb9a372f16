import type { ToothState } from "../part.js";
import { slowAlong } from "./slow-along.js";
import type { ToothPlaces } from "./tooth-places.js";

export interface BentTooth {
  readonly place: number;
  /** How far its outer half stands off, counter-clockwise, in pitches. */
  readonly offsetPitches: number;
}

/** Off its place by as much as one normal value in 150 000 is, and by so much of the pitch at its outer half. */
const leastDeviations = 4.5;
const leastOffset = 0.025;
/** Where outer halves scatter by more, in pitches, the picture does not tell teeth well enough (soft, covered, cut off). */
const mostScatter = 0.03;
/**
 * A tooth bends from its foot: of what its outer half is off, its inner half is off by this share, where the offset
 * grows with the 1.3th power of the height. One that was cut out of its place is off by the same all the way up.
 */
const innerShare = 0.45;
/** Fewer whole teeth, or a smaller share of all, do not tell how much teeth of this wheel scatter. */
const fewestTeeth = 8;
const leastShare = 0.6;
/** Finer teeth are counted, but not looked at one by one, px. */
const leastPitchPx = 8;
/** No offset is known better, in pitches. */
const floorPitches = 0.002;

/**
 * Teeth that stand off their place as bent ones do. Both halves of a tooth are weighed together, by how much they
 * scatter from tooth to tooth and how far they do so together. What changes slowly round the rim is none of the
 * teeth's doing: light from one side makes the teeth of one side lean.
 */
export function findBentTeeth(places: ToothPlaces, states: readonly ToothState[], pxMm: number): BentTooth[] {
  const { angleRad: angle } = places;
  if (places.pitchRad * places.tipMm < leastPitchPx * pxMm) return [];
  const ofWhole = (offset: Float64Array): Float64Array =>
    offset.map((v, k) => (states[k] === "whole" ? v : NaN));
  const outer = slowAlong(angle, ofWhole(places.offsetOuter));
  const inner = slowAlong(angle, ofWhole(places.offsetInner));
  if (outer === undefined || inner === undefined || outer.scatter > mostScatter) return [];
  const [o, i] = [outer.residual, inner.residual];
  const core = [...o.keys()].filter(
    (k) => Math.abs(o[k]!) < 4 * outer.scatter && Math.abs(i[k]!) < 4 * inner.scatter,
  );
  if (core.length < Math.max(fewestTeeth, leastShare * places.count)) return [];
  // Mean and two orders were taken off.
  const freedom = core.length - 5;
  const mean = (product: (k: number) => number): number => core.reduce((s, k) => s + product(k), 0) / freedom;
  const oo = mean((k) => o[k]! ** 2) + floorPitches ** 2;
  const ii = mean((k) => i[k]! ** 2) + floorPitches ** 2;
  const oi = mean((k) => o[k]! * i[k]!);
  const det = oo * ii - oi ** 2;
  /** Generalised least squares: how far off, over its uncertainty, if the inner half has that share in it. */
  const offBy = (k: number, share: number): { off: number; u: number } => {
    const [wo, wi] = [(ii - share * oi) / det, (share * oo - oi) / det];
    const u = 1 / Math.sqrt(wo + share * wi);
    return { off: u ** 2 * (wo * o[k]! + wi * i[k]!), u };
  };
  const bent: BentTooth[] = [];
  for (let k = 0; k < o.length; k++) {
    const asBent = offBy(k, innerShare);
    const asMisplaced = offBy(k, 1);
    const surely = Math.abs(asBent.off) / asBent.u;
    if (!(normalOf(surely, freedom) > leastDeviations && Math.abs(asBent.off) > leastOffset)) continue;
    if (surely > Math.abs(asMisplaced.off) / asMisplaced.u) bent.push({ place: k, offsetPitches: o[k]! });
  }
  return bent;
}

/** The normal deviation that is as rare as this one of Student's t. Wallace 1959, without its last factor (from memory). */
const normalOf = (t: number, freedom: number): number => Math.sqrt(freedom * Math.log1p(t ** 2 / freedom));

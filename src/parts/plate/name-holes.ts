import type { HoleKind } from "../part.js";

export interface HoleSize {
  readonly diameterMm: number;
  /** Against other holes of the plate. */
  readonly uDiameterMm: number;
  readonly ovalityMm: number;
  readonly uOvalityMm: number;
  /** Round to the eye: else it is an opening of some other shape. */
  readonly isRound: boolean;
  /** In an oil sink, or countersunk. */
  readonly isSunk: boolean;
  /** From the outline of the plate. */
  readonly fromEdgeMm: number;
}

/** Wider holes let winding squares, hands or levers through (common practice, no source). */
export const widestMm = 7.5;
/** Holes of one drill agree so nearly, mm. */
const sameDrillMm = 0.1;
/** Holes further apart are not called alike, however badly they were seen. */
const mostApartMm = 0.35;
/**
 * Screws of plates go through thinner holes; wider ones alike are those of both great arbors (common practice, no
 * source).
 */
const screwMm = [1.6, 3] as const;
/** Pillars stand within this share of the plate's shorter side from its edge. */
const nearEdgeShare = 0.2;

/**
 * What the holes of a plate are for, by size, place and company: pillars come in threes or more, alike and near the
 * edge, and in no sinks; screws come in pairs or more, alike and round; pivot holes are each of their own size, or worn. A guess: two
 * pivots of one size look like screws.
 */
export function nameHoles(holes: readonly HoleSize[], shorterSideMm: number): HoleKind[] {
  const alike = (a: HoleSize, b: HoleSize, mm: number): boolean =>
    a.isRound && b.isRound && Math.abs(a.diameterMm - b.diameterMm) < mm;
  // Place speaks for pillars too, so that badly seen ones may differ by what is not known of them.
  const mayBeAlike = (a: HoleSize, b: HoleSize): boolean =>
    alike(a, b, Math.max(sameDrillMm, Math.min(mostApartMm, 2 * Math.hypot(a.uDiameterMm, b.uDiameterMm))));
  const nearEdge = (h: HoleSize): boolean => h.fromEdgeMm < nearEdgeShare * shorterSideMm;
  const isWorn = (h: HoleSize): boolean => h.ovalityMm > Math.max(0.06, 2.5 * h.uOvalityMm);
  // The widest company of at least three along the edge.
  const pillars = holes
    .map((lead) => holes.filter((h) => mayBeAlike(h, lead) && nearEdge(h) && !h.isSunk))
    .filter((company) => company.length >= 3)
    .sort((a, b) => b.length - a.length || b[0]!.diameterMm - a[0]!.diameterMm)[0];
  return holes.map((h): HoleKind => {
    if (!h.isRound || h.diameterMm > widestMm) return "opening";
    if (pillars?.includes(h)) return "pillar";
    const company = holes.filter(
      (o) => o !== h && alike(o, h, sameDrillMm) && !pillars?.includes(o) && !isWorn(o),
    );
    const mayBeScrew = h.diameterMm > screwMm[0] && h.diameterMm < screwMm[1];
    return company.length > 0 && !isWorn(h) && mayBeScrew ? "screw" : "pivot";
  });
}

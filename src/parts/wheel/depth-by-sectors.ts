import { solveLinearLeastSquares } from "../../fit/index.js";
import type { ThickOutline } from "../thick-outline.js";
import type { ToothCircle } from "./fit-tooth-circle.js";
import type { ToothDepth } from "./tooth-depth.js";
import type { ToothPlaces } from "./tooth-places.js";

/** Where sectors end, off the direction to the foot point of the camera, on both sides of it alike. */
const sectorEndsRad = [22.5, 67.5, 112.5, 157.5, 180].map((deg) => (deg * Math.PI) / 180);
const fewestTeeth = 3;
const fewestSectors = 4;

// Found on drawn and ray-traced photographs; the result hardly changes where they are halved or doubled.

/** Of tip and root of one sector, px: light that changes round the rim. */
const uSectorPx = 0.35;
/** A tip that is drawn out slantwise ends in a slanting edge, which no upright tooth has: of what a wall adds at the most. */
const uTip = { along: 0.2, aslant: 0.15 };
/** Tips come out a little short, by this share of what a wall adds at the most: half-way between three renderers (0 to 0.08). */
const tipsShort = 0.035;
/** Walls of flanks close the spaces from below on both sides of the rim. */
const uRootClosed = 0.5;
/** How much of a wall beyond the tips, or the floor of the spaces, passes for metal. */
const usualShare = { share: 0.75, u: 0.35 };
/** How far the centre that marks on the tips gave may lie off, of what a wall adds at the most. */
const uCentreByWall = 0.3;

interface Sector {
  /** Mean cosine of its teeth off the direction to the foot point. */
  readonly cosine: number;
  /** By how much the lower edge looks out beyond the upper one there, in the mean, mm. */
  readonly excessMm: number;
  /** About the middle of the face. */
  readonly depth: ToothDepth;
}

/**
 * Tip and root radius of a wheel that is seen from the side. Its walls look out beyond the tips on the side of the camera, widen
 * the teeth to one side of it and the other, and hide on the far side: each part of the rim shows teeth of another form,
 * and a mark on a pointed tip lies further inside it than one on a widened tip. Teeth of all sides laid over each other by such marks
 * come out too long. So each sector has its own mean tooth, and radii, centre and the share of the walls that passes
 * for metal are solved for together.
 *
 * @param chosen places.
 * @param fit tip and root of the mean of some of these, whose flanks are spread by their walls by so many mm (standard deviation).
 * @returns undefined where too little of the rim is seen.
 */
export function depthBySectors(
  { angleRad, tipMm }: Pick<ToothPlaces, "angleRad" | "tipMm">,
  circle: Pick<ToothCircle, "centreMm" | "uCentreMm" | "radialShiftMm">,
  thick: ThickOutline,
  chosen: readonly number[],
  pxMm: number,
  fit: (chosen: readonly number[], flankSpreadMm: number) => ToothDepth | undefined,
): ToothDepth | undefined {
  const [shiftX, shiftY] = thick.lowerShiftMm;
  const footRad = Math.atan2(shiftY, shiftX);
  const off = (k: number): number => angleRad[k]! - footRad;
  const teethOf: number[][] = sectorEndsRad.map(() => []);
  for (const k of chosen) {
    const besideRad = Math.acos(Math.cos(off(k)));
    teethOf[sectorEndsRad.findIndex((end) => besideRad <= end)]!.push(k);
  }
  const sectors = teethOf.flatMap((teeth): Sector[] => {
    if (teeth.length < fewestTeeth) return [];
    const mean = (of: (k: number) => number): number => teeth.reduce((s, k) => s + of(k), 0) / teeth.length;
    // A flank and its wall are seen side by side: evenly spread over the width of the wall.
    const flankSpreadMm =
      (mean((k) => Math.abs(Math.sin(off(k)))) * Math.hypot(shiftX, shiftY)) / Math.sqrt(12);
    const depth = fit(teeth, flankSpreadMm);
    if (depth === undefined) return [];
    const besideMm = mean((k) => circle.radialShiftMm[k]!);
    return [
      {
        cosine: mean((k) => Math.cos(off(k))),
        excessMm: mean((k) => thick.rimExcessMm(angleRad[k]!, tipMm)),
        depth: { ...depth, tipMm: depth.tipMm + besideMm, rootMm: depth.rootMm + besideMm },
      },
    ];
  });
  if (sectors.length < fewestSectors) return undefined;
  const [x, y] = circle.centreMm;
  const mostMm = thick.mostRimExcessMm(tipMm);
  return solveSectors(sectors, mostMm, uSectorPx * pxMm, {
    mm: x * Math.cos(footRad) + y * Math.sin(footRad),
    uMm: uCentreByWall * mostMm + circle.uCentreMm,
  });
}

/** @param centre towards the foot point. */
function solveSectors(
  sectors: readonly Sector[],
  mostMm: number,
  uSectorMm: number,
  centre: { readonly mm: number; readonly uMm: number },
): ToothDepth | undefined {
  // Unknown: tip, root, centre, share of the wall beyond the tips, and beyond the floor of the spaces.
  const unknowns = 5;
  const rows: { readonly of: readonly number[]; readonly value: number; readonly u: number }[] = [
    { of: [0, 0, 1, 0, 0], value: centre.mm, u: centre.uMm },
    { of: [0, 0, 0, 1, 0], value: usualShare.share, u: usualShare.u },
    { of: [0, 0, 0, 0, 1], value: usualShare.share, u: usualShare.u },
  ];
  for (const { cosine, excessMm, depth } of sectors) {
    const sine = Math.sqrt(1 - cosine ** 2);
    const along = uTip.along * (1 - sine) * mostMm;
    const aslant = uTip.aslant * 4 * sine * (1 - sine) * mostMm;
    rows.push(
      {
        of: [1, 0, cosine, excessMm, 0],
        value: depth.tipMm,
        u: Math.hypot(depth.uTipMm, uSectorMm, along, aslant),
      },
      {
        of: [0, 1, cosine, 0, excessMm],
        value: depth.rootMm,
        u: Math.hypot(depth.uRootMm, uSectorMm, uRootClosed * sine * mostMm),
      },
    );
  }
  const a = new Float64Array(unknowns * rows.length);
  rows.forEach(({ of }, i) => a.set(of, unknowns * i));
  const values = Float64Array.from(rows, ({ value }) => value);
  const fit = solveLinearLeastSquares(
    a,
    values,
    unknowns,
    Float64Array.from(rows, ({ u }) => 1 / u ** 2),
  );
  if (!fit.ok) return undefined;
  const { params, covariance } = fit.value;
  const misfit = rows.reduce(
    (sum, { of, value, u }) => sum + ((of.reduce((s, f, j) => s + f * params[j]!, 0) - value) / u) ** 2,
    0,
  );
  // Sectors that differ by more than they should are each worth less (Birge 1932).
  const birge = Math.max(1, Math.sqrt(misfit / (rows.length - unknowns)));
  return {
    tipMm: params[0]! + tipsShort * mostMm,
    rootMm: params[1]!,
    uTipMm: birge * Math.sqrt(covariance[0]!),
    uRootMm: birge * Math.sqrt(covariance[unknowns + 1]!),
    blurMm: sectors.reduce((s, { depth }) => s + depth.blurMm, 0) / sectors.length,
    rms: Math.max(...sectors.map(({ depth }) => depth.rms)),
  };
}

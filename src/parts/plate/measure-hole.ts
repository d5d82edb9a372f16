import { medianOf } from "../../fit/index.js";
import {
  angleOfVector,
  magnitudeOfVector,
  propagate,
  quantity,
  type Quantity,
  type Term,
} from "../../quantity/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import { pixelFromFace, type FacePlane } from "../face-plane.js";
import type { Hole } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { findBush } from "./find-bush.js";
import type { FittedHole } from "./fit-holes.js";
import type { PlateFace } from "./plate-face.js";

/** Light on bevel and wall moves the edges of a hole by so much, px: found on rendered photographs. */
const uCentrePx = 0.2;
const uRadiusPx = 0.2;
const uOvalPx = 0.1;
/** Of the place of a bush's seam. */
const uSeamPx = 0.5;
/** Of the bevel's width, mm, and what share of it the radius feels. */
const uBevelMm = 0.02;
const bevelShare = 0.6;
/** Rays that speak against the shape (a glint, a lit wall) lie on one side: px, were they all of them. */
const againstCentre = 0.8;
const againstRadius = 1;
const againstOval = 1.2;
/**
 * Where the face is so bright that the picture is blown out, its blur reaches further into the hole than the model
 * knows: code values near the top, as a share of the light of the topmost, and px.
 */
const blownLight = 0.85;
const uBlownPx = 0.7;
/** Sharpening that was clipped cannot be taken off whole, nor is that of phones one Gaussian: px, per unit of it. */
const uSharpenedPx = 0.25;
/** Where the face is brighter or darker than most of the plate, its bevels mirror something else too: px, per e-fold. */
const uUnevenPx = 0.4;
const darkestFace = 0.05;

/** Of the radius in an oil sink: what the other holes tell of bevels does not hold there, mm. */
const uSinkEdgeMm = 0.03;
/** The face above the plane of outlines, on which everything is read (common practice, no source), mm. */
const faceAboveMm = 0.1;

/** A lit wall passes for the face: the middle of what is left lies half as far off as the lower edge is seen. */
const wallShare = 0.5;

export type MeasuredHole = Omit<Hole, "id" | "kind"> & { readonly fit: OwnEdge };

/** Where the edge of a hole was found, local to the plate, mm. */
export interface OwnEdge {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  readonly uCentreMm: number;
  readonly uRadiusMm: number;
  /** Of either harmonic of the oval. */
  readonly uOvalMm: number;
  /** Share of the turn that lies on the fit. */
  readonly support: number;
  readonly isSunk: boolean;
}

/** From the model's edge to that of the metal, with what may be wrong of it. */
function ownEdge({ hole, fit }: FittedHole, { view, edges, sharpness, pxMm }: PlateFace): OwnEdge {
  const [x, y, r, c, s] = fit.shape;
  const [ux, uy, uRadius, uCos, uSin] = fit.uShapeMm as readonly [number, number, number, number, number];
  const byColour = hole.rays.filter((ray) => ray.byColour).length > hole.rays.length / 2;
  // White blooms over black. Ink that spreads makes markers seem to bloom the other way.
  const bloomMm = byColour ? 0 : Math.max(0, view.edge.shiftPx) * pxMm;
  const against = (1 - fit.support) * pxMm;
  const blown =
    hole.rays.filter((ray) => ray.faceLevel[0] > blownLight * edges.white).length / hole.rays.length;
  const faceLight = medianOf(hole.rays.map((ray) => ray.faceLevel[0]));
  const uneven = Math.abs(Math.log(Math.max(darkestFace, faceLight))) * uUnevenPx * pxMm;
  return {
    xMm: hole.xMm + x,
    yMm: hole.yMm + y,
    // The mean radius of an ellipse lies inside the mean of its semi-axes, to second order in the oval.
    radiusMm: r + (0.75 * (c * c + s * s)) / r + bloomMm,
    uCentreMm: Math.hypot(Math.hypot(ux, uy) / Math.SQRT2, uCentrePx * pxMm, againstCentre * against, uneven),
    uRadiusMm: Math.hypot(
      uRadius,
      uRadiusPx * pxMm,
      bevelShare * uBevelMm,
      view.edge.uShiftPx * pxMm,
      againstRadius * against,
      blown * uBlownPx * pxMm,
      sharpness.amount * uSharpenedPx * pxMm,
      uneven,
    ),
    uOvalMm: Math.hypot(Math.hypot(uCos, uSin) / Math.SQRT2, uOvalPx * pxMm, againstOval * against),
    support: fit.support,
    isSunk: hole.sink?.rim !== undefined,
  };
}

/**
 * Size, place and wear of a hole as quantities, and its bush.
 *
 * @param owner of its inputs. @param heightInput how well the height of the face is known.
 */
export function measureHole(
  fitted: FittedHole,
  plate: PlateFace,
  owner: string,
  heightInput: Parameters<typeof circleTerms>[3],
): MeasuredHole {
  const { view, face, pxMm } = plate;
  const own = ownEdge(fitted, plate);
  const { radiusMm: radius } = own;
  const { sink } = fitted.hole;
  const seen: FacePlane = { ...face, xMm: face.xMm + own.xMm, yMm: face.yMm + own.yMm };
  // A point 1 mm deeper is seen so far beside itself.
  const lean = new ThickOutline(seen, 1).lowerShiftMm;
  const below = sink === undefined ? 0 : sink.depthMm - faceAboveMm;
  const [x, y] = [own.xMm - below * lean[0], own.yMm - below * lean[1]];
  const ovalMm = [fitted.fit.shape[3], fitted.fit.shape[4]] as const;
  const centre: FacePlane = { ...face, xMm: face.xMm + x, yMm: face.yMm + y };
  const terms = circleTerms(view, centre, radius, heightInput);
  const name = `${owner}-${x.toFixed(1)}-${y.toFixed(1)}`;
  const component = (value: number, i: 0 | 1): Quantity<"mm"> =>
    quantity(value, "mm", [
      ...terms.map((t): Term => [t.id, t.ovalMm[i]]),
      [`fit:hole-oval-${i}-${name}`, own.uOvalMm],
    ]);
  const [c, s] = [component(ovalMm[0], 0), component(ovalMm[1], 1)];
  const oval = magnitudeOfVector(c, s);
  const direction = angleOfVector(c, s);
  const bushRadiusMm = sink
    ? fitted.hole.bushRadiusMm
    : (findBush(plate.sampler, plate.signal, x, y, radius, pxMm)?.radiusMm ?? fitted.hole.bushRadiusMm);
  const edgePx = Array.from({ length: 48 }, (_, i) => {
    const t = (2 * Math.PI * i) / 48;
    return pixelFromFace(seen, radius + ovalMm[0] * Math.cos(2 * t) + ovalMm[1] * Math.sin(2 * t), t);
  });
  return {
    fit: own,
    centrePx: pixelFromFace(centre, 0, 0),
    centreMm: [centre.xMm, centre.yMm],
    uCentreMm: Math.hypot(
      own.uCentreMm,
      (sink?.uDepthMm ?? 0) * Math.hypot(...lean),
      wallShare * (plate.uEdgesApartMm ?? 0) * Math.hypot(...lean),
    ),
    diameterMm: quantity(2 * radius, "mm", [
      ...stretchTerms(terms, 2 * radius),
      [`edge:hole-${name}`, 2 * Math.hypot(own.uRadiusMm, sink ? uSinkEdgeMm : 0)],
    ]),
    ovalityMm: propagate(4 * oval.value, "mm", [[oval, 4]]),
    ...(direction === undefined
      ? {}
      : { ovalityAngleRad: propagate(halfTurn(direction.value / 2), "rad", [[direction, 0.5]]) }),
    ...(bushRadiusMm !== undefined && {
      bushDiameterMm: quantity(2 * bushRadiusMm, "mm", [
        ...stretchTerms(circleTerms(view, centre, bushRadiusMm, heightInput), 2 * bushRadiusMm),
        [`edge:bush-${name}`, 2 * uSeamPx * pxMm],
      ]),
    }),
    edgePx,
  };
}

const halfTurn = (rad: number): number => (rad < 0 ? rad + Math.PI : rad);

export function holeOf(hole: MeasuredHole & Pick<Hole, "kind">, id: string): Hole {
  const { kind, centrePx, centreMm, uCentreMm, diameterMm, ovalityMm, ovalityAngleRad, edgePx } = hole;
  const angle = ovalityAngleRad === undefined ? {} : { ovalityAngleRad };
  const bush = hole.bushDiameterMm === undefined ? {} : { bushed: true, bushDiameterMm: hole.bushDiameterMm };
  return { id, kind, centrePx, centreMm, uCentreMm, diameterMm, ovalityMm, ...angle, ...bush, edgePx };
}

import { medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import {
  angleOfVector,
  magnitudeOfVector,
  propagate,
  quantity,
  type InputId,
  type Quantity,
  type Term,
} from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import type { FaceHeight } from "../face-height.js";
import { identityAffine, pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { FaceSampler } from "../face-sampler.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Hole, Part, Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { checkPlate } from "./check-plate.js";
import { EdgeSampler } from "./edge-sampler.js";
import { findBush } from "./find-bush.js";
import { findHoles, type HoleGuess } from "./find-holes.js";
import { fitHole } from "./fit-hole.js";
import { fitHoleEdge, type HoleEdgeFit, type HoleShape } from "./fit-hole-edge.js";
import { learnEdgeLook, type EdgeLook } from "./learn-edge-look.js";
import type { Sharpness } from "./learn-sharpness.js";
import { nameHoles } from "./name-holes.js";
import { refineRectangle, smallestRectangle, type Rectangle } from "./plate-outline.js";
import { learnPlateSignal, type PlateSignal } from "./plate-signal.js";
import { readHoleRays, type HoleRay } from "./read-hole-rays.js";
import { simplified, traceOutline } from "./trace-outline.js";

/** A plate as it was found: contour and hull on the plane of its outline, mat frame, mm. */
export interface PlateGuess {
  readonly contourMm: readonly Point[];
  readonly hullMm: readonly Point[];
  readonly zMm: number;
  /** Linear light of the bare paper. */
  readonly neutral: readonly [number, number, number];
}

/** A wheel that lies on a plate, mat frame: what is seen through it is not told from holes of the plate. */
export interface CoveredBy {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

/** What is seen of a plate, its outline and its two faces being at certain heights. */
export interface PlateSeen {
  readonly photo: Photo;
  readonly view: View;
  readonly guess: PlateGuess;
  readonly face: FacePlane;
  readonly sampler: FaceSampler;
  readonly edges: EdgeSampler;
  readonly sharpness: Sharpness;
  readonly signal: PlateSignal;
  readonly pxMm: number;
  readonly leastMm: number;
  readonly sides: Rectangle;
  readonly outline: readonly Point[];
  readonly holes: FittedHoles;
}

/** Smallest hole of a clock plate that is looked for, mm and px. */
const leastHoleMm = 0.7;
const leastHolePx = 5;
/** A hole is not so much wider than the patch that it was found as. */
const mostGrowth = 3;
/** Rays that lie on the fit, for a hole to be round. */
const roundSupport = 0.6;
/** Light on bevel and wall moves the edges of a hole by so much, px: found on rendered photographs. */
const uCentrePx = 0.2;
const uRadiusPx = 0.2;
const uOvalPx = 0.1;
const uSidePx = 0.8;
/** Of the place of a bush's seam. */
const uSeamPx = 0.5;
/** Of the bevel's width, mm, and what share of it the radius feels. */
const uBevelMm = 0.02;
const bevelShare = 0.6;
/** Rays that speak against the shape (a glint, a lit wall) lie on one side: px, were they all of them. */
const againstCentre = 0.8;
const againstRadius = 1;
const againstOval = 1.2;

/** Reads outline and holes of a plate; undefined where its metal has no colour to go by. */
export function seePlate(
  photo: Photo,
  view: View,
  guess: PlateGuess,
  height: FaceHeight,
  sharpness: Sharpness,
): PlateSeen | undefined {
  const rectangle = smallestRectangle(guess.hullMm);
  const face: FacePlane = {
    geometry: view.geometry,
    zMm: guess.zMm,
    xMm: rectangle.xMm,
    yMm: rectangle.yMm,
    affine: identityAffine,
  };
  const pxMm = 1 / pxPerMmOnFace(face);
  const sampler = new FaceSampler(photo, face, linearFromSrgb);
  const local = ([x, y]: Point): Point => [x - face.xMm, y - face.yMm];
  const contour = guess.contourMm.map(local);
  const signal = learnPlateSignal(samplesOf(sampler, contour), guess.neutral);
  if (signal === undefined) return undefined;
  const sides = refineRectangle(sampler, signal, { ...rectangle, xMm: 0, yMm: 0 }, 1.5, 0.5 * pxMm);
  const outline = simplified(traceOutline(sampler, signal, contour, pxMm), 0.5 * pxMm);
  const leastMm = Math.max(leastHoleMm, leastHolePx * pxMm);
  const plate = { view, face, sampler, edges: new EdgeSampler(photo, face, signal), sharpness, signal, pxMm };
  const centred = findHoles(sampler, signal, contour, Math.max(0.12, 1.2 * pxMm))
    .filter((h) => 2 * h.reachMm >= 0.8 * leastMm)
    .flatMap((h) => centreHole(h, plate, height) ?? [])
    // By half height a hole is never narrower than it is; specks are, and say nothing of bevels.
    .filter((h) => 2 * h.shape[2] >= leastMm);
  return { ...plate, photo, guess, leastMm, sides, outline, holes: fitHoles(centred) };
}

/** Everything that one photograph gives for one plate, as it was seen at this height. */
export function measurePlate(
  plate: PlateSeen,
  height: FaceHeight,
  id: string,
  label: string | undefined,
  covered: readonly CoveredBy[] = [],
): Part {
  const { photo, view, guess, face, sides, outline, pxMm, leastMm } = plate;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const heightInput =
    view.source === "mat" ? { id: `height:${label ?? owner}` as InputId, uMm: height.uOutlineMm } : undefined;
  const local = ([x, y]: Point): Point => [x - face.xMm, y - face.yMm];
  const free = plate.holes.centred.filter((h) => !isCovered(h.guess, face, covered));
  // Fewer holes say something else of the bevel that they share.
  const fitted = free.length === plate.holes.centred.length ? plate.holes : fitHoles(free);
  const holes = fitted.fits
    .map((h) => measureHole(h, plate, owner, heightInput))
    .filter((h) => 2 * h.fit.radiusMm >= leastMm);
  const kinds = nameHoles(
    holes.map((h) => ({
      diameterMm: h.diameterMm.value,
      uDiameterMm: 2 * h.fit.uRadiusMm,
      ovalityMm: h.ovalityMm.value,
      uOvalityMm: 4 * h.fit.uOvalMm,
      isRound: h.fit.support > roundSupport,
      fromEdgeMm: fromEdge(h.fit, sides),
    })),
    sides.widthMm,
  );
  // From the top of the sheet downwards, then from the left.
  const order = holes
    .map((h, i) => ({ ...h, kind: kinds[i]! }))
    .sort((a, b) => b.centreMm[1] - a.centreMm[1] || a.centreMm[0] - b.centreMm[0]);
  const isCutOff = guess.contourMm.some((p) => isAtBorder(photo, pixelOf(face, local(p))));
  const length = (value: number): Quantity<"mm"> =>
    quantity(value, "mm", [
      ...stretchTerms(circleTerms(view, face, value / 2, heightInput), value),
      [`edge:outline-${owner}`, uSidePx * pxMm],
    ]);
  const base: Part = {
    id,
    kind: "plate",
    ...(label === undefined ? {} : { label }),
    centrePx: pixelOf(face, [sides.xMm, sides.yMm]),
    centreMm: [face.xMm + sides.xMm, face.yMm + sides.yMm],
    ...(view.source === "mat" ? { faceHeightMm: height.faceMm(label ?? owner) } : {}),
    plate: {
      outlineMm: outline.map(([x, y]): Point => [face.xMm + x, face.yMm + y]),
      lengthMm: length(sides.lengthMm),
      widthMm: length(sides.widthMm),
      isCutOff,
      uScale: Math.hypot(...circleTerms(view, face, sides.lengthMm / 2, heightInput).map((t) => t.stretch)),
    },
    holes: order.map((hole, i) => holeOf(hole, `H${i + 1}`)),
    outlinePx: {
      // Whoever draws parts draws this line round them.
      tipCircle: outline.map((p) => pixelOf(face, p)),
      rootCircle: [],
      pitchCircle: [],
      edge: outline.map((p) => pixelOf(face, p)),
    },
    findings: [],
    problems: [],
  };
  return { ...base, findings: checkPlate(base) };
}

/** The teeth's ring lies within the tips. */
const beyondRing = 1.12;

const isCovered = ({ xMm, yMm }: HoleGuess, face: FacePlane, covered: readonly CoveredBy[]): boolean =>
  covered.some((c) => Math.hypot(face.xMm + xMm - c.xMm, face.yMm + yMm - c.yMm) < beyondRing * c.radiusMm);

const pixelOf = (face: FacePlane, [x, y]: Point): [number, number] =>
  pixelFromFace(face, Math.hypot(x, y), Math.atan2(y, x));

const isAtBorder = (photo: Photo, [u, v]: Point): boolean =>
  u < 6 || v < 6 || u > photo.widthPx - 7 || v > photo.heightPx - 7;

/** The middle of the plate, without what lies within a few mm of its outline. */
function samplesOf(sampler: FaceSampler, contour: readonly Point[]): number[] {
  const samples: number[] = [];
  // Scaled copies of the outline: holes and shadows are outvoted by the median.
  for (const share of [0.25, 0.45, 0.6, 0.75, 0.86])
    for (let k = 0; k < 80; k++) {
      const p = contour[Math.floor((k * contour.length) / 80)]!;
      if (sampler.at(share * p[0], share * p[1])) samples.push(sampler.red, sampler.green, sampler.blue);
    }
  return samples;
}

function fromEdge(fit: OwnEdge, sides: Rectangle): number {
  const [cos, sin] = [Math.cos(sides.angleRad), Math.sin(sides.angleRad)];
  const [x, y] = [fit.xMm - sides.xMm, fit.yMm - sides.yMm];
  return Math.min(
    sides.lengthMm / 2 - Math.abs(x * cos + y * sin),
    sides.widthMm / 2 - Math.abs(y * cos - x * sin),
  );
}

type PlateFace = Pick<PlateSeen, "view" | "face" | "sampler" | "edges" | "sharpness" | "signal" | "pxMm">;

function holeOf(hole: MeasuredHole & Pick<Hole, "kind">, id: string): Hole {
  const { kind, centrePx, centreMm, uCentreMm, diameterMm, ovalityMm, ovalityAngleRad, edgePx } = hole;
  const angle = ovalityAngleRad === undefined ? {} : { ovalityAngleRad };
  const bush = hole.bushDiameterMm === undefined ? {} : { bushed: true, bushDiameterMm: hole.bushDiameterMm };
  return { id, kind, centrePx, centreMm, uCentreMm, diameterMm, ovalityMm, ...angle, ...bush, edgePx };
}

type MeasuredHole = Omit<Hole, "id" | "kind"> & { readonly fit: OwnEdge };

/** Where the edge of a hole was found, local to the plate, mm. */
interface OwnEdge {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  readonly uCentreMm: number;
  readonly uRadiusMm: number;
  /** Of either harmonic of the oval. */
  readonly uOvalMm: number;
  /** Share of the turn that lies on the fit. */
  readonly support: number;
}

/** A hole with rays from a point near its middle, and its shape about that by half height. */
interface CentredHole {
  readonly guess: HoleGuess;
  readonly xMm: number;
  readonly yMm: number;
  readonly rays: readonly HoleRay[];
  readonly shape: HoleShape;
  readonly support: number;
}

interface FittedHole {
  readonly hole: CentredHole;
  readonly fit: HoleEdgeFit;
}

/** Holes, and those of them whose edge was found below the bevel that they share. */
interface FittedHoles {
  readonly centred: readonly CentredHole[];
  readonly fits: readonly FittedHole[];
}

const lowerEdge = (
  face: FacePlane,
  { edgesApartMm }: FaceHeight,
  x: number,
  y: number,
): ((t: number, r: number) => number) => {
  const thick = new ThickOutline({ ...face, xMm: face.xMm + x, yMm: face.yMm + y }, edgesApartMm);
  return (t, r) => thick.holeExcessMm(t, r);
};

function centreHole(guess: HoleGuess, plate: PlateFace, height: FaceHeight): CentredHole | undefined {
  const { face, sampler, signal, pxMm } = plate;
  let [x, y, reach] = [guess.xMm, guess.yMm, guess.reachMm];
  for (let round = 0; ; round++) {
    // Specks and long slots fit a circle of any size.
    if (!(reach > 0 && reach < mostGrowth * guess.reachMm + 3 * pxMm)) return undefined;
    const lower = lowerEdge(face, height, x, y);
    const rays = readHoleRays(
      sampler,
      plate.edges,
      plate.sharpness,
      signal,
      x,
      y,
      1.5 * reach + 9 * pxMm,
      pxMm,
      (t, r) => -lower(t, r),
    );
    const edges = rays.map((ray) => ({ angleRad: ray.angleRad, radiusMm: ray.start * ray.stepMm }));
    const fit = fitHole(edges, lower, 0.04 * pxMm);
    if (fit === undefined) return undefined;
    if (round === 1) {
      const shape: HoleShape = [fit.xMm, fit.yMm, fit.radiusMm, ...fit.ovalMm];
      return { guess, xMm: x, yMm: y, rays, shape, support: fit.support };
    }
    x += fit.xMm;
    y += fit.yMm;
    reach = fit.radiusMm;
  }
}

/** Support of a hole that may say how edges look, by half height and by the edge itself. */
const leastSupport = { rough: 0.5, fine: 0.7 };

/** Learnt twice: shapes by half height are off by a third of a pixel here and there, which blurs the mean edge. */
function lookOfEdges(holes: readonly CentredHole[]): EdgeLook {
  const first = learnEdgeLook(holes.filter((h) => h.support > leastSupport.rough));
  return learnEdgeLook(
    holes.flatMap((hole) => {
      const fit = fitHoleEdge(hole, first);
      return fit && fit.support > leastSupport.fine ? [{ rays: hole.rays, shape: fit.shape }] : [];
    }),
  );
}

function fitHoles(centred: readonly CentredHole[]): FittedHoles {
  const look = lookOfEdges(centred);
  const fits = centred.flatMap((hole): FittedHole[] => {
    const fit = fitHoleEdge(hole, look);
    return fit === undefined ? [] : [{ hole, fit }];
  });
  return { centred, fits: withoutCommonOval(fits) };
}

/** So many holes are not worn one way. */
const fewestForOval = 8;
/** What is left of an oval that all holes have in common, once it is taken off. */
const leftOfCommon = 0.3;

/**
 * The light makes the same mistake at all holes of a plate: two waves of a bevel's brightness that were learnt wrong make
 * all of them oval one way. Those of screws and pillars do not wear, those of pivots wear each its own way: what the
 * middle hole shows is none.
 */
function withoutCommonOval(fits: readonly FittedHole[]): FittedHole[] {
  const sure = fits.filter(({ fit }) => fit.support > leastSupport.fine);
  if (sure.length < fewestForOval) return [...fits];
  const [cos, sin] = ([3, 4] as const).map((k) => medianOf(sure.map(({ fit }) => fit.shape[k]))) as [
    number,
    number,
  ];
  return fits.map(({ hole, fit }) => {
    const [x, y, r, c, s] = fit.shape;
    const [ux, uy, ur, uc, us] = fit.uShapeMm as readonly [number, number, number, number, number];
    const uShapeMm = [ux, uy, ur, Math.hypot(uc, leftOfCommon * cos), Math.hypot(us, leftOfCommon * sin)];
    return { hole, fit: { ...fit, shape: [x, y, r, c - cos, s - sin], uShapeMm } };
  });
}

/** From the model's edge to that of the metal, with what may be wrong of it. */
function ownEdge({ hole, fit }: FittedHole, { view, sharpness, pxMm }: PlateFace): OwnEdge {
  const [x, y, r, c, s] = fit.shape;
  const [ux, uy, uRadius, uCos, uSin] = fit.uShapeMm as readonly [number, number, number, number, number];
  const byColour = hole.rays.filter((ray) => ray.byColour).length > hole.rays.length / 2;
  // Half height of a blurred disc lies inside its edge by sigma^2 / 2R (first order); white blooms over black.
  const sigmaMm = Math.hypot(sharpness.blurPx, byColour ? 0.8 : 0) * pxMm;
  // Ink that spreads makes markers seem to bloom the other way.
  const bloomMm = byColour ? 0 : Math.max(0, view.edge.shiftPx) * pxMm;
  const against = (1 - fit.support) * pxMm;
  return {
    xMm: hole.xMm + x,
    yMm: hole.yMm + y,
    // The mean radius of an ellipse lies inside the mean of its semi-axes, to second order in the oval.
    radiusMm: r + (0.75 * (c * c + s * s)) / r + sigmaMm ** 2 / (2 * r) + bloomMm,
    uCentreMm: Math.hypot(Math.hypot(ux, uy) / Math.SQRT2, uCentrePx * pxMm, againstCentre * against),
    uRadiusMm: Math.hypot(
      uRadius,
      uRadiusPx * pxMm,
      bevelShare * uBevelMm,
      view.edge.uShiftPx * pxMm,
      againstRadius * against,
    ),
    uOvalMm: Math.hypot(Math.hypot(uCos, uSin) / Math.SQRT2, uOvalPx * pxMm, againstOval * against),
    support: fit.support,
  };
}

function measureHole(
  fitted: FittedHole,
  plate: PlateFace,
  owner: string,
  heightInput: Parameters<typeof circleTerms>[3],
): MeasuredHole {
  const { view, face, pxMm } = plate;
  const own = ownEdge(fitted, plate);
  const { xMm: x, yMm: y, radiusMm: radius } = own;
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
  const bush = findBush(plate.sampler, plate.signal, x, y, radius, pxMm);
  const edgePx = Array.from({ length: 48 }, (_, i) => {
    const t = (2 * Math.PI * i) / 48;
    return pixelFromFace(centre, radius + ovalMm[0] * Math.cos(2 * t) + ovalMm[1] * Math.sin(2 * t), t);
  });
  return {
    fit: own,
    centrePx: pixelFromFace(centre, 0, 0),
    centreMm: [centre.xMm, centre.yMm],
    uCentreMm: own.uCentreMm,
    diameterMm: quantity(2 * radius, "mm", [
      ...stretchTerms(terms, 2 * radius),
      [`edge:hole-${name}`, 2 * own.uRadiusMm],
    ]),
    ovalityMm: propagate(4 * oval.value, "mm", [[oval, 4]]),
    ...(direction === undefined
      ? {}
      : { ovalityAngleRad: propagate(halfTurn(direction.value / 2), "rad", [[direction, 0.5]]) }),
    ...(bush && {
      bushDiameterMm: quantity(2 * bush.radiusMm, "mm", [
        ...stretchTerms(circleTerms(view, centre, bush.radiusMm, heightInput), 2 * bush.radiusMm),
        [`edge:bush-${name}`, 2 * uSeamPx * pxMm],
      ]),
    }),
    edgePx,
  };
}

const halfTurn = (rad: number): number => (rad < 0 ? rad + Math.PI : rad);

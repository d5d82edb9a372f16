import { fitCircleRobust, medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceWeights, type Contrast } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { ThickOutline } from "../thick-outline.js";
import { unroll, type Unrolled } from "../unroll.js";
import type { Point } from "../part.js";
import { lookInside, type InsideOfBore } from "./arbor-in-bore.js";
import { fitBoreCircle, type HoleEdge } from "./fit-bore-circle.js";
import { fitLayeredBore } from "./fit-layered-bore.js";
import type { WallShare } from "./weigh-centres.js";

export interface Bore {
  /** Centre relative to that of the face, mm. */
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Of a coordinate, the share of the wall being known. */
  readonly uCentreMm: number;
  /** How the centre moves with the share of the wall, mm for all of it. */
  readonly perWallMm: readonly [number, number];
  readonly uRadiusMm: number;
  /** What is seen in it is one even surface, as the sheet is, and no arbor's end. */
  readonly surelyOpen: boolean;
}

/** Blur of this photograph, standard deviations: of the lens, and of the contrast as it is sampled. */
export interface BoreBlur {
  readonly lensPx: number;
  readonly signalPx: number;
}

/** Light and shade round a hole move its edges by so much, px: found on rendered photographs. */
const uCentrePx = { bright: 0.16, shaded: 0.4 };
/** ... and by so much of the blur: one bright side moves a soft edge further than a sharp one. */
const uCentrePerBlur = 0.25;
const uRadiusPx = 0.35;
/** The sheet within a hole lies in shade: told by colour, the metal round it looks larger. */
const shadedPx = 0.3;
/** Told by lightness, a shadow passes for metal. */
const uByLightPx = 0.8;
/** A round hole is round to a pixel or so; a shadow or an arbor's end in it is not. */
const mostScatterPx = 0.8;
const leastRadiusPx = { bright: 3, shaded: 7 };
/** Of the radius to which the teeth reach: no bore is larger. */
const mostOfRing = 0.35;

/**
 * A hole in the middle through which the surroundings of the wheel are seen, in light or in the hole's own shade. An
 * arbor in it hides it, and its end stands elsewhere (it is higher): then there is no bore to be measured.
 *
 * @param ring all of the face within the teeth.
 */
export function findBore(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  ring: Unrolled,
  thick: ThickOutline,
  wall: WallShare,
  blur: BoreBlur,
): Bore | undefined {
  const seen = edgeSeen(photo, contrast, face, ring, thick);
  const inside = seen && lookInto(photo, contrast, seen.about, seen.radiusMm, thick, blur);
  if (seen === undefined || inside === undefined || inside.ringed) return undefined;
  if (inside.bright) return boreInLight(photo, contrast, seen, inside.even, wall, blur);
  return inside.shaded ? boreInShade(photo, contrast, seen, thick, blur) : undefined;
}

/** Where the contrast puts the edge of a hole: that of its floor, where the wall passes for metal. */
interface SeenEdge {
  /** About the centre at (x, y) of the face. */
  readonly edges: readonly HoleEdge[];
  readonly xMm: number;
  readonly yMm: number;
  /** The circle through them, the face about its centre, and that centre on the face. */
  readonly radiusMm: number;
  readonly scatterMm: number;
  readonly about: FacePlane;
  readonly centreMm: Point;
}

function edgeSeen(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  ring: Unrolled,
  thick: ThickOutline,
): SeenEdge | undefined {
  const pxPerMm = pxPerMmOnFace(face);
  const first = circleThrough(crossings(ring, mostOfRing * ring.radii * ring.stepMm), 0.75 * ring.angles);
  if (first === undefined || !(Math.hypot(first.x, first.y) < 0.8 * first.radius)) return undefined;
  const centred = shifted(face, first.x, first.y);
  const fine = unroll(photo, contrast, centred, 0, first.radius * 1.35 + 4 / pxPerMm, 0.4 / pxPerMm, 360);
  const points = crossings(fine, Infinity);
  const circle = circleThrough(points, 0.7 * fine.angles);
  return (
    circle && {
      edges: points.map(([angleRad, radiusMm]) => {
        return { angleRad, radiusMm, excessMm: thick.holeExcessMm(angleRad, radiusMm) };
      }),
      xMm: first.x,
      yMm: first.y,
      radiusMm: circle.radius,
      scatterMm: circle.scale,
      about: shifted(centred, circle.x, circle.y),
      centreMm: [first.x + circle.x, first.y + circle.y],
    }
  );
}

const lookInto = (
  photo: Photo,
  { around }: Contrast,
  about: FacePlane,
  radiusMm: number,
  { lowerShiftMm }: ThickOutline,
  { lensPx }: BoreBlur,
): InsideOfBore | undefined =>
  lookInside(photo, about, radiusMm, around, lowerShiftMm, lensPx / pxPerMmOnFace(about));

/** Shadows on the sheet within do not move the edge that colour tells. */
function boreInLight(
  photo: Photo,
  contrast: Contrast,
  seen: SeenEdge,
  isEven: boolean,
  wall: WallShare,
  { lensPx }: BoreBlur,
): Bore | undefined {
  const pxPerMm = pxPerMmOnFace(seen.about);
  const byLight = contrast.growth === 0;
  if (seen.scatterMm * pxPerMm > mostScatterPx || seen.radiusMm * pxPerMm < leastRadiusPx.bright)
    return undefined;
  if (byLight && !isWithinFace(photo, seen.about, seen.radiusMm)) return undefined;
  const hole = fitBoreCircle(seen.edges, seen.scatterMm, wall);
  if (hole === undefined) return undefined;
  const floorMm = byLight ? uByLightPx / pxPerMm : 0;
  const uLightMm = Math.max(uCentrePx.bright, uCentrePerBlur * lensPx) / pxPerMm;
  return {
    xMm: seen.xMm + hole.x,
    yMm: seen.yMm + hole.y,
    radiusMm: hole.radius + (byLight ? 0 : shadedPx / pxPerMm),
    uCentreMm: Math.hypot(floorMm, uLightMm, hole.uCentre),
    perWallMm: hole.perWall,
    uRadiusMm: Math.hypot(floorMm, uRadiusPx / pxPerMm, hole.uRadius),
    surelyOpen: isEven,
  };
}

function boreInShade(
  photo: Photo,
  contrast: Contrast,
  seen: SeenEdge,
  thick: ThickOutline,
  blur: BoreBlur,
): Bore | undefined {
  // Steel in the shade of a hole in steel: nobody can tell.
  if (contrast.growth === 0) return undefined;
  const { lensPx, signalPx } = blur;
  const pxPerMm = pxPerMmOnFace(seen.about);
  const edge = fitLayeredBore(photo, contrast, seen.about, seen.radiusMm, thick, lensPx, signalPx);
  if (edge === undefined || edge.scatterMm * pxPerMm > mostScatterPx) return undefined;
  if (edge.radiusMm * pxPerMm < leastRadiusPx.shaded) return undefined;
  const about = shifted(seen.about, edge.xMm, edge.yMm);
  const inside = lookInto(photo, contrast, about, edge.radiusMm, thick, blur);
  if (inside === undefined || inside.ringed || !(inside.shaded || inside.bright)) return undefined;
  return {
    xMm: seen.centreMm[0] + edge.xMm,
    yMm: seen.centreMm[1] + edge.yMm,
    radiusMm: edge.radiusMm,
    uCentreMm: Math.hypot(Math.max(uCentrePx.shaded, uCentrePerBlur * lensPx) / pxPerMm, edge.uCentreMm),
    perWallMm: [0, 0],
    uRadiusMm: Math.hypot(uRadiusPx / pxPerMm, edge.uRadiusMm),
    surelyOpen: false,
  };
}

/** Told by lightness, the edge may be that of a shadow on the sheet within the hole: then more of it is seen beyond. */
const collar = { fromPx: 2.5, toPx: 5, faceFromPx: 7, faceToPx: 11, rays: 72 };
/** A ray whose collar differs from the face by more than this share does not show the face there. */
const mostUnlike = 0.2;
const mostRaysUnlike = 0.12;

function isWithinFace(photo: Photo, face: FacePlane, radiusMm: number): boolean {
  const mm = 1 / pxPerMmOnFace(face);
  const meanOver = (fromPx: number, toPx: number): Float64Array => {
    const ring = unroll(
      photo,
      luminanceWeights,
      face,
      radiusMm + fromPx * mm,
      radiusMm + toPx * mm,
      0.5 * mm,
      collar.rays,
    );
    return Float64Array.from({ length: collar.rays }, (_, i) => {
      let sum = 0;
      for (let j = 0; j < ring.radii; j++) sum += ring.data[i * ring.radii + j]!;
      return sum / ring.radii;
    });
  };
  const level = medianOf(meanOver(collar.faceFromPx, collar.faceToPx));
  const near = meanOver(collar.fromPx, collar.toPx);
  let unlike = 0;
  for (const v of near) if (!(Math.abs(v / level - 1) < mostUnlike)) unlike++;
  return unlike <= mostRaysUnlike * collar.rays;
}

const shifted = (face: FacePlane, x: number, y: number): FacePlane => {
  const [a, b, c, d] = face.affine;
  return { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y };
};

type PolarPoint = readonly [angleRad: number, radiusMm: number];

function circleThrough(
  edges: readonly PolarPoint[],
  least: number,
): { readonly x: number; readonly y: number; readonly radius: number; readonly scale: number } | undefined {
  if (edges.length < least) return undefined;
  const fit = fitCircleRobust(
    Float64Array.from(edges.flatMap(([t, r]) => [r * Math.cos(t), r * Math.sin(t)])),
  );
  return fit.ok ? fit.value : undefined;
}

/** First places outwards, within `mostMm`, where holes end and metal begins: none where there is metal right from the centre. */
function crossings(ring: Unrolled, mostMm: number): PolarPoint[] {
  const found: PolarPoint[] = [];
  for (let i = 0; i < ring.angles; i++) {
    const r = crossingOutwards(ring, i);
    if (r !== undefined && r <= mostMm) found.push([(2 * Math.PI * i) / ring.angles, r]);
  }
  return found;
}

function crossingOutwards(ring: Unrolled, i: number): number | undefined {
  const row = i * ring.radii;
  if (!(ring.data[row]! < 0.3)) return undefined;
  for (let j = 1; j < ring.radii - 1; j++) {
    const s = ring.data[row + j]!;
    if (s >= 0.5 && ring.data[row + j + 1]! >= 0.5) {
      const before = ring.data[row + j - 1]!;
      return ring.fromRadiusMm + (j - (s - 0.5) / Math.max(1e-6, s - before)) * ring.stepMm;
    }
  }
  return undefined;
}

import { cameraCentreMm, matFromPixel, pixelFromMat, pxPerMmAt } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import type { Classify } from "./find/find-round-parts.js";
import {
  eitherUpClose,
  MetalSampler,
  metalUpClose,
  type MetalUpClose,
  type PhotoBox,
} from "./find/metal-up-close.js";
import { findPatches } from "./find/patches.js";
import { planeFromSmall } from "./find/plane-from-small.js";
import type { Unknown } from "./find/seen-patch.js";
import type { Explained } from "./find/explained.js";
import type { OtherPart } from "./other-part.js";
import type { Point } from "./part.js";
import { countLeaves, type Leaves } from "./pinion/count-leaves.js";
import { lightOnPlane } from "./pinion/read-on-plane.js";
import {
  lookAtSide,
  measureLyingArbor,
  readLyingArbor,
  type LyingArbor,
  type SeenLyingArbor,
} from "./pinion/lying-arbor.js";
import { measurePinionEnd } from "./pinion/measure-pinion-end.js";
import { isOfBrass } from "./brass-rod.js";
import { areaOf, smallestRectangle } from "./plate/plate-outline.js";

/** What the network saw from close in one place. */
export interface Colourless {
  readonly parts: readonly OtherPart[];
  readonly unknown: readonly Unknown[];
  /** Not looked at, or metal ran together with what surrounds it: no piece of its own, and no shadow either. */
  readonly isUnclear: boolean;
}

/** Round a place, so much is looked at as well: masks fall short of bright edges, mm. */
const marginMm = 2.5;
/** Of the enlarged picture: of less than this the network takes the paper round a small pinion for metal. */
const leastSidePx = 540;
/** Smaller pieces of metal are pins, screws' ends and dirt. */
const leastAreaMm2 = 4;
const leastUnknownMm = 3;
/** Metal this near to a part that is known is its arbor, its wall or its shadow. */
const nearMm = 1;
const widestPinionMm = 20;
/** With its walls and its arbor, seen from the side. */
const longestOnEndMm = 24;
const endAspect = 2.4;
const longAspect = 2.6;
const shortestArborMm = 8;
/** Of a piece's corners, so many must lie on the plain paper. */
const leastOnField = 0.6;

/** What it takes to look at a place of the photograph from close. */
export interface CloseLook {
  readonly photo: Photo;
  readonly view: View;
  readonly zMm: number;
  readonly classify: Classify;
  /** False for pixels of the photograph that show print, tags or what lies beside the sheet. */
  readonly isField: (u: number, v: number) => boolean;
}

/** Leaves of pinions are a millimetre wide: the network tells them apart from here on, px/mm. */
const roughPxPerMm = 21;
/**
 * A whole arbor, brass on it and all, is known for metal from further off: from close it fills the picture as paper does.
 * The further shows trundles as one thing, the nearer the thin arbor.
 */
const arborPxPerMm = [7, 5] as const;
/** Of the longer side of what is dark there, with its shadow: a shorter arbor may be a piece of one. */
const wholeShare = 0.8;
/** From further off some of a shadow passes for metal: an arbor makes up most of what is dark there. */
const leastFarShare = 0.5;
/** Pictures of one pinion: what the network makes of a shadow changes with their size, leaves do not. */
const leafPxPerMm = [27, 23, 30] as const;
const sureCount = 0.95;

/** Steel and whatever else has no colour, at a place that is dark or bright against the paper. */
export async function findColourless(
  look: CloseLook,
  box: PhotoBox,
  explained: readonly Explained[],
): Promise<Colourless> {
  const parts: OtherPart[] = [];
  const unknown: Unknown[] = [];
  const close = await upClose(look, box, roughPxPerMm);
  if (close === undefined) return { parts, unknown, isUnclear: true };
  const pieces = metalIn(close, look, box).filter(({ areaMm2 }) => areaMm2 >= leastAreaMm2);
  const isFree = ({ hull }: Piece): boolean => !explained.some((e) => reaches(hull, e));
  const near = arborsAmong(look, pieces.filter(isFree), [close]);
  const longMm = longSideMm(look, box);
  const isWhole = near.some(({ reachMm }) => 2 * reachMm > wholeShare * longMm);
  const afar = longMm < shortestArborMm || isWhole ? undefined : await seenFromAfar(look, box);
  const far =
    afar === undefined ? [] : arborsAmong(look, metalIn(afar, look, box).filter(isFree), [afar, close]);
  const arbors = wholeOnes(
    near,
    far.filter(({ reachMm }) => 2 * reachMm > leastFarShare * longMm),
  );
  for (const arbor of arbors) {
    const seen = lookAtSide(look.photo, look.view, arbor.lying, look.zMm);
    if (seen.side.isPlain) unknown.push(arbor.piece);
    else parts.push(asPart(look, arbor, seen));
  }
  for (const metal of pieces) {
    if (arbors.some((a) => isOf(a, metal))) continue;
    if (!isFree(metal)) {
      // What only leans on a part is a part of its own: its leaves run into those teeth, so that it is not counted.
      if (explained.every((e) => liesBeside(metal, e))) unknown.push(metal);
      continue;
    }
    const part = await standingPinion(look, metal);
    if (part !== undefined) parts.push(part);
    else if (metal.lengthMm >= leastUnknownMm) unknown.push(metal);
  }
  return {
    parts,
    unknown,
    isUnclear: pieces.length === 0 && arbors.length === 0 && metalShare(close) > mostlyMetal,
  };
}

/** Of the close picture: paper with a part or a shadow on it, taken for metal all over. */
const mostlyMetal = 0.35;

const metalShare = ({ metal }: MetalUpClose): number =>
  metal.reduce((sum, m) => sum + (m >= 128 ? 1 : 0), 0) / Math.max(1, metal.length);

function upClose(
  { photo, view, zMm, classify }: CloseLook,
  box: PhotoBox,
  wantedPxPerMm: number,
  withBrass = false,
): Promise<MetalUpClose | undefined> {
  const middle = matFromPixel(view.geometry, box.left + box.width / 2, box.top + box.height / 2, zMm);
  const pxPerMm = pxPerMmAt(view.geometry, middle[0], middle[1], zMm);
  const sideMm = Math.max(box.width, box.height) / pxPerMm;
  const margin = Math.max(marginMm, 0.5 * (leastSidePx / wantedPxPerMm - sideMm)) * pxPerMm;
  const wider = {
    left: box.left - margin,
    top: box.top - margin,
    width: box.width + 2 * margin,
    height: box.height + 2 * margin,
  };
  return metalUpClose(photo, view.geometry, wider, pxPerMm, wantedPxPerMm, classify, withBrass);
}

interface Piece extends Unknown {
  readonly hull: readonly Point[];
  readonly areaMm2: number;
  readonly angleRad: number;
}

/** Pieces of metal in the close picture whose middle lies in the box and on the field, their outlines on the plane. */
function metalIn(close: MetalUpClose, { view, zMm, isField }: CloseLook, box: PhotoBox): Piece[] {
  const { widthPx, heightPx, metal } = close;
  const picture = { factor: 1, width: widthPx, height: heightPx, rgb: metal };
  const mask = metal.map((m) => (m >= 128 ? 255 : 0));
  const here = { ...view, geometry: close.geometry };
  return findPatches(picture, { mask }, 4).flatMap(({ contour, hull }): Piece[] => {
    const points = pairs(planeFromSmall(picture, here, hull, zMm));
    const { xMm, yMm, angleRad, lengthMm, widthMm } = smallestRectangle(points);
    const centrePx = pixelFromMat(view.geometry, xMm, yMm, zMm);
    const [u, v] = [centrePx[0] - box.left, centrePx[1] - box.top];
    if (!(u > 0 && v > 0 && u < box.width && v < box.height)) return [];
    const onField = points.filter(([x, y]) => isField(...pixelFromMat(view.geometry, x, y, zMm)));
    if (onField.length < leastOnField * points.length) return [];
    const areaMm2 = areaOf(pairs(planeFromSmall(picture, here, contour, zMm)));
    return [{ hull: points, areaMm2, centrePx, centreMm: [xMm, yMm], lengthMm, widthMm, angleRad }];
  });
}

const placeOf = (
  { view, zMm }: CloseLook,
  { lengthMm, widthMm, centreMm, centrePx }: Piece,
): Omit<OtherPart, "measure"> => ({
  centrePx,
  radiusPx: (widthMm / 2) * pxPerMmAt(view.geometry, centreMm[0], centreMm[1], zMm),
  xMm: centreMm[0],
  yMm: centreMm[1],
  reachMm: lengthMm / 2,
});

/** @returns undefined where nothing is counted, or what is counted is no pinion. */
async function standingPinion(look: CloseLook, piece: Piece): Promise<OtherPart | undefined> {
  const { photo, view } = look;
  if (piece.lengthMm > longestOnEndMm || piece.lengthMm >= endAspect * piece.widthMm) return undefined;
  const leaves = await leavesOf(look, piece);
  if (leaves === undefined || leaves.tipMm > widestPinionMm / 2) return undefined;
  return {
    ...placeOf(look, piece),
    measure: (height, id, label) => measurePinionEnd(photo, view, leaves, height, id, label),
  };
}

/** @param seen the pictures that say where metal is: what one of them takes for metal is metal. */
function arborsAmong(look: CloseLook, pieces: readonly Piece[], seen: readonly MetalUpClose[]): LyingPart[] {
  const { photo, view, zMm } = look;
  const metalAt = metalOn(seen, zMm);
  return pieces.flatMap((piece): LyingPart[] => {
    const { lengthMm, widthMm } = piece;
    if (lengthMm < shortestArborMm || lengthMm < longAspect * widthMm) return [];
    if (isOfBrass(photo, view, zMm, piece)) return [];
    const lying = readLyingArbor(metalAt, piece);
    if (lying === undefined) return [];
    return [{ ...placeOf(look, piece), hull: piece.hull, piece, lying }];
  });
}

async function seenFromAfar(look: CloseLook, box: PhotoBox): Promise<MetalUpClose | undefined> {
  const nearer = await upClose(look, box, arborPxPerMm[0], true);
  const further = nearer && (await upClose(look, box, arborPxPerMm[1]));
  return nearer && further ? eitherUpClose(nearer, further) : nearer;
}

/** Of one arbor what shows most of it; where both do, what was seen from close. */
function wholeOnes(near: readonly LyingPart[], far: readonly LyingPart[]): LyingPart[] {
  const isSame = (a: LyingPart, b: LyingPart): boolean =>
    isInsideHull(a.hull, [b.xMm, b.yMm]) || isInsideHull(b.hull, [a.xMm, a.yMm]);
  const better = far.filter((f) => near.every((n) => !isSame(n, f) || n.reachMm < wholeShare * f.reachMm));
  return [...near.filter((n) => better.every((f) => !isSame(n, f))), ...better];
}

interface LyingPart extends Omit<OtherPart, "measure"> {
  readonly hull: readonly Point[];
  readonly piece: Piece;
  readonly lying: LyingArbor;
}

const asPart = (
  { photo, view, zMm }: CloseLook,
  { centrePx, radiusPx, xMm, yMm, reachMm }: LyingPart,
  seen: SeenLyingArbor,
): OtherPart => ({
  ...{ centrePx, radiusPx, xMm, yMm, reachMm },
  measure: (_, id, label) => measureLyingArbor(photo, view, seen, zMm, id, label),
});

/** A piece of an arbor, as another picture shows it. */
const isOf = ({ hull }: LyingPart, { centreMm }: Piece): boolean => isInsideHull(hull, centreMm);

/** Also on its edge; the hull is convex. */
function isInsideHull(hull: readonly Point[], [x, y]: Point): boolean {
  const sides = hull.map(([ax, ay], i) => {
    const [bx, by] = hull[(i + 1) % hull.length]!;
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax);
  });
  return sides.every((side) => side >= 0) || sides.every((side) => side <= 0);
}

function longSideMm({ view, zMm }: CloseLook, box: PhotoBox): number {
  const [x, y] = matFromPixel(view.geometry, box.left + box.width / 2, box.top + box.height / 2, zMm);
  return Math.max(box.width, box.height) / pxPerMmAt(view.geometry, x, y, zMm);
}

/** Looks at one piece in pictures of different size until they settle how many leaves it has. */
async function leavesOf(
  look: CloseLook,
  { lengthMm, centrePx, centreMm }: Piece,
): Promise<Leaves | undefined> {
  const { geometry } = look.view;
  const half = (lengthMm / 2) * pxPerMmAt(geometry, centreMm[0], centreMm[1], look.zMm);
  const tight = { left: centrePx[0] - half, top: centrePx[1] - half, width: 2 * half, height: 2 * half };
  const [xMm, yMm, zMm] = cameraCentreMm(geometry.cameraFromMat);
  const middle = matFromPixel(geometry, centrePx[0], centrePx[1], 0);
  const pictures: ((xMm: number, yMm: number) => number)[] = [];
  let leaves: Leaves | undefined;
  for (const wanted of leafPxPerMm) {
    const picture = await upClose(look, tight, wanted);
    if (picture === undefined) continue;
    pictures.push(metalOn([picture], 0));
    // One picture is never enough.
    if (pictures.length === 1) continue;
    leaves = countLeaves(
      pictures,
      middle,
      lengthMm / 2,
      { xMm, yMm, zMm },
      lightOnPlane(look.photo, geometry, 0),
    );
    if (leaves === undefined || leaves.probability >= sureCount) break;
  }
  return leaves;
}

function metalOn(seen: readonly MetalUpClose[], zMm: number): (xMm: number, yMm: number) => number {
  const samplers = seen.map((close) => new MetalSampler(close, zMm));
  return (x, y) =>
    samplers.reduce((most, sampler) => {
      const metal = sampler.at(x, y);
      return metal > most || Number.isNaN(most) ? metal : most;
    }, NaN);
}

const pairs = (flat: Float64Array): Point[] =>
  Array.from({ length: flat.length >> 1 }, (_, i) => [flat[2 * i]!, flat[2 * i + 1]!]);

/** Its middle lies outside the part, and it sticks out by more than an arbor's end or a wall does. */
const liesBeside = ({ hull, centreMm }: Piece, { xMm, yMm, radiusMm }: Explained): boolean => {
  const beyond = ([x, y]: Point): number => Math.hypot(x - xMm, y - yMm) - radiusMm;
  return beyond(centreMm) > nearMm && Math.max(...hull.map(beyond)) > leastUnknownMm;
};

const reaches = (hull: readonly Point[], { xMm, yMm, radiusMm }: Explained): boolean =>
  hull.some(([x, y]) => Math.hypot(x - xMm, y - yMm) < radiusMm + nearMm);

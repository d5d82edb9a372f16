import { cameraCentreMm, type ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { rawColourOf } from "../brassiness.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { Classify } from "../find/find-round-parts.js";
import { MetalSampler, metalUpClose, type MetalUpClose, type PhotoBox } from "../find/metal-up-close.js";
import { codeFromLinear } from "../linear-light.js";
import type { Point } from "../part.js";
import { countLeaves, type Leaves } from "./count-leaves.js";
import { findTrundleEnds } from "./find-trundle-ends.js";
import { isRodAlone, leastAcrossMm, leastUnreadMm, mostSolid } from "./is-rod-alone.js";
import { lightOnPlane, readOnPlane } from "./read-on-plane.js";
import type { LanternEnd } from "./measure-trundle-ends.js";
import {
  highestMm,
  largestOf,
  piecesOnAxis,
  seenOnFace,
  solidityOf,
  usualEndMm,
  windowMm,
  type Axis,
  type MetalAt,
  type Piece,
} from "./piece-on-axis.js";
import type { Eye } from "./swept-leaves.js";

/** What stands on a wheel's arbor above its face; neither where something as thick as a pinion is seen but not counted. */
export interface OnArbor {
  readonly leaves?: Leaves;
  /** Of a lantern. */
  readonly trundles?: LanternEnd;
}

/** More colour than the paper: brass has 0.1 and more, steel none. Below, steel is not told from the wheel by colour. */
const leastColour = 0.07;
/** Share of brass's own colour that steel may mirror, and that shaded brass keeps: between them it may be either. */
const [mostOfSteel, leastOfBrass] = [0.35, 0.7] as const;
/** No pinion of a house clock is so large (common practice, no source): a cam, a barrel. */
const mostAcrossMm = 18;
/** Colourless things as small, mm², are the ends of arbors. */
const leastBareMm2 = 6;
/** The pinion's middle lies on the axis to so much, mm: eccentric wheels, leans below 5°, which are not told. */
const mostAsideMm = 1.5;
/** Pictures of one pinion, px/mm: what the network makes of a shadow changes with their size, leaves do not. */
const leafPxPerMm = [27, 23, 30] as const;
/** Where the pinion stands is seen from further off; round it so much is looked at as well, and of no less, px of the enlarged picture. */
const roughPxPerMm = 20;
const [marginMm, leastSidePx] = [2.5, 540] as const;
/** Below the one a count is not stated, from the other on no further picture is asked for. */
const [leastProbability, sureCount] = [0.5, 0.95] as const;
/** Below, leaves run together however much the picture is enlarged. */
const leastPxPerMm = 6;
/** Where the axis is seen at the end of the pinion, mm. */
const uMiddleMm = 0.25;
/** Of the usual height over the face, mm. */
const uUsualEndMm = 4;
/** Tops of leaves end in a point or round: scatter of the tip radius of drawn pinions of known size, mm. */
const uPointedMm = 0.1;

/**
 * Looks along the axis of a wheel for a pinion of steel above it, and counts its leaves with brass behind them in place of
 * paper: what the network calls metal, and has no colour.
 *
 * @param face the wheel's upper face, its middle on the axis. On a wheel that leans all is told in the frame of its own plane.
 * @param colours linear red, green and blue of the wheel and of the sheet beside it.
 * @returns undefined where nothing thicker than an arbor is seen, or the wheel has no colour.
 */
export async function findPinionOnArbor(
  photo: Photo,
  face: FacePlane,
  colours: {
    readonly metal: readonly [number, number, number];
    readonly around: readonly [number, number, number];
  },
  classify: Classify,
): Promise<OnArbor | undefined> {
  const { geometry, zMm } = face;
  if (pxPerMmOnFace(face) < leastPxPerMm) return undefined;
  const shareAt = colourShareOn(photo, geometry, zMm, colours);
  if (shareAt === undefined) return undefined;
  const [x, y, z] = cameraCentreMm(geometry.cameraFromMat);
  const axis: Axis = { at: [face.xMm, face.yMm], eye: { xMm: x, yMm: y, zMm: z - zMm } };
  const lantern = lanternOn(shareAt, axis, zMm);
  // The tips of leaves may pass for spots, but seldom all of them.
  if (lantern !== undefined && lantern.places.every(({ isSeen }) => isSeen)) return { trundles: lantern };
  const cut = await cutPinionOn(photo, face, axis, shareAt, classify);
  return cut?.leaves === undefined && lantern !== undefined ? { trundles: lantern } : cut;
}

/** Leaves above the wheel. */
async function cutPinionOn(
  photo: Photo,
  face: FacePlane,
  axis: Axis,
  shareAt: MetalAt,
  classify: Classify,
): Promise<OnArbor | undefined> {
  const { geometry, zMm } = face;
  const pxPerMm = pxPerMmOnFace(face);
  const brassAt: MetalAt = (xMm, yMm) =>
    Math.min(1, Math.max(0, (shareAt(xMm, yMm) - mostOfSteel) / (leastOfBrass - mostOfSteel)));
  const bareAt: MetalAt = (xMm, yMm) => 1 - brassAt(xMm, yMm);
  const bare = piecesOnAxis(bareAt, axis);
  if (!bare.some(({ areaMm2 }) => areaMm2 >= leastBareMm2) || isRodAlone(bareAt, bare)) return undefined;
  const lookAt = async (middle: Point, halfMm: number, wanted: number): Promise<MetalAt | undefined> => {
    const box = boxRound(middle, halfMm, face, pxPerMm);
    const close = await metalUpClose(photo, geometry, box, pxPerMm, wanted, classify);
    return close && steelOn(close, zMm, brassAt);
  };
  const first = await lookAt(seenOnFace(axis, usualEndMm), windowMm, roughPxPerMm);
  if (first === undefined) return undefined;
  const piece = largestOf(piecesOnAxis(first, axis));
  if (piece === undefined || piece.acrossMm < leastAcrossMm || piece.acrossMm > mostAcrossMm)
    return undefined;
  const unread: OnArbor | undefined = piece.acrossMm < leastUnreadMm ? undefined : {};
  if (solidityOf(first, piece) > mostSolid) return unread;
  const lightAt = lightOnPlane(photo, geometry, zMm);
  const whole: MetalAt[] = [];
  let leaves: Leaves | undefined;
  for (const wanted of leafPxPerMm) {
    const halfMm = Math.max(piece.whole.reachMm + marginMm, leastSidePx / wanted / 2);
    const picture = await lookAt(piece.whole.middle, halfMm, wanted);
    if (picture === undefined) continue;
    whole.push(picture);
    // One picture is never enough.
    if (whole.length === 1) continue;
    leaves = countOf(whole, piece, axis.eye, lightAt);
    if (leaves === undefined || leaves.probability >= sureCount) break;
  }
  const told = leaves !== undefined && leaves.probability >= leastProbability ? leaves : undefined;
  if (told !== undefined && besideAxisMm(told, axis) < mostAsideMm)
    return { leaves: onOwnHeight(told, axis, zMm) };
  return unread;
}

/** The arbor below the pinion is no part of its figure: where it shows, it is counted without as well. */
function countOf(
  pictures: readonly MetalAt[],
  { whole, above }: Piece,
  eye: Eye,
  lightAt: MetalAt,
): Leaves | undefined {
  const first = countLeaves(pictures, whole.middle, whole.reachMm, eye, lightAt);
  if (above === undefined || (first !== undefined && first.probability >= sureCount)) return first;
  const { isArbor, middle, reachMm } = above;
  const cut = pictures.map(
    (at): MetalAt =>
      (x, y) =>
        isArbor(x, y) ? NaN : at(x, y),
  );
  const second = countLeaves(cut, middle, reachMm, eye, lightAt);
  if (first === undefined || second === undefined) return second ?? first;
  if (first.count === second.count) return first.probability > second.probability ? first : second;
  const [better, other] = first.probability > second.probability ? [first, second] : [second, first];
  const probability = Math.min(mostOfTwo, better.probability);
  return {
    ...better,
    probability,
    alternatives: [{ count: other.count, probability: 0.9 * (1 - probability) }],
  };
}

/** Of a count that another contradicts. */
const mostOfTwo = 0.6;

/** Share of the wheel's own colour at a point of the face's plane; a ratio of channels: shade leaves it alone. */
function colourShareOn(
  photo: Photo,
  geometry: ViewGeometry,
  zMm: number,
  { metal, around }: Parameters<typeof findPinionOnArbor>[2],
): MetalAt | undefined {
  const colourOf = ([red, green, blue]: readonly [number, number, number]): number =>
    rawColourOf(codeFromLinear(red), codeFromLinear(green), codeFromLinear(blue));
  const neutral = colourOf(around);
  const span = colourOf(metal) - neutral;
  if (span < leastColour) return undefined;
  return readOnPlane(
    photo,
    geometry,
    zMm,
    ({ rgb }, p) => (rawColourOf(rgb[p]!, rgb[p + 1]!, rgb[p + 2]!) - neutral) / span,
  );
}

function steelOn(close: MetalUpClose, zMm: number, brassAt: MetalAt): MetalAt {
  const metal = new MetalSampler(close, zMm);
  // Not the product: where both edges fall together it would draw them half as far in.
  return (xMm, yMm) => Math.min(metal.at(xMm, yMm), 1 - brassAt(xMm, yMm));
}

function boxRound([x, y]: Point, halfMm: number, face: FacePlane, pxPerMm: number): PhotoBox {
  const [u, v] = pixelFromFace({ ...face, xMm: x, yMm: y }, 0, 0);
  const half = halfMm * pxPerMm;
  return { left: u - half, top: v - half, width: 2 * half, height: 2 * half };
}

/**
 * How far beside the axis, as it is seen, a pinion stands, mm on the face; as `countLeaves` has it: on the face, where its
 * lower end is seen.
 */
function besideAxisMm({ xMm, yMm }: Leaves, axis: Axis): number {
  const { eye } = axis;
  const [x, y] = axis.at;
  const fromFoot = Math.max(1e-6, Math.hypot(x - eye.xMm, y - eye.yMm));
  const [ax, ay] = [(x - eye.xMm) / fromFoot, (y - eye.yMm) / fromFoot];
  const [dx, dy] = [xMm - x, yMm - y];
  const [alongMm, acrossMm] = [dx * ax + dy * ay, dy * ax - dx * ay];
  const farMm = Math.hypot(...seenOnFace(axis, highestMm).map((v, i) => v - axis.at[i]!));
  return Math.hypot(acrossMm, Math.max(0, -alongMm, alongMm - farMm));
}

/** Height over the face of what is seen so far along the axis; from straight above that tells nothing, and the usual height is left. */
function heightOver(
  axis: Axis,
  seenOverMm: number,
  uMm: number,
): { readonly mm: number; readonly uMm: number } {
  const { eye } = axis;
  const fromFoot = Math.hypot(axis.at[0] - eye.xMm, axis.at[1] - eye.yMm);
  const [byAxis, usual] = [((eye.zMm * uMm) / Math.max(1e-3, fromFoot)) ** -2, uUsualEndMm ** -2];
  const mm = (byAxis * seenOverMm + usual * usualEndMm) / (byAxis + usual);
  return { mm: Math.max(1, mm), uMm: (byAxis + usual) ** -0.5 };
}

/** A lantern whose upper cap shows the ends of its trundles. */
function lanternOn(shareAt: MetalAt, axis: Axis, zMm: number): LanternEnd | undefined {
  const { eye } = axis;
  const axisAt = (overMm: number) => ({
    middle: seenOnFace(axis, overMm),
    larger: eye.zMm / (eye.zMm - overMm),
  });
  const ends = findTrundleEnds(shareAt, seenOnFace(axis, usualEndMm), windowMm, axisAt);
  if (ends === undefined) return undefined;
  const over = heightOver(axis, ends.overMm, uMiddleMm);
  return {
    ...ends,
    circleMm: (ends.circleMm * axisAt(ends.overMm).larger) / axisAt(over.mm).larger,
    xMm: axis.at[0],
    yMm: axis.at[1],
    heightMm: zMm + over.mm,
    uHeightMm: over.uMm,
  };
}

/**
 * Planes are copies of each other about the camera: the same end face at the height at which the axis, seen from the side,
 * passes its middle.
 */
function onOwnHeight(leaves: Leaves, axis: Axis, zMm: number): Leaves {
  const { eye } = axis;
  const [x, y] = axis.at;
  // Of the middle of the end face on the plane of the face.
  const larger = eye.zMm / (eye.zMm - leaves.heightMm);
  const seen = [
    eye.xMm + larger * (leaves.xMm - eye.xMm),
    eye.yMm + larger * (leaves.yMm - eye.yMm),
  ] as const;
  const fromFoot = Math.hypot(x - eye.xMm, y - eye.yMm);
  const by =
    fromFoot < 1e-6
      ? 1
      : ((seen[0] - eye.xMm) * (x - eye.xMm) + (seen[1] - eye.yMm) * (y - eye.yMm)) / fromFoot ** 2;
  // What it stands beside the axis it may stand along it as well.
  const uMm = Math.hypot(uMiddleMm, besideAxisMm(leaves, axis));
  const over = heightOver(axis, eye.zMm * (1 - 1 / by), uMm);
  const scale = (eye.zMm - over.mm) / (eye.zMm - leaves.heightMm);
  return {
    ...leaves,
    xMm: eye.xMm + scale * (leaves.xMm - eye.xMm),
    yMm: eye.yMm + scale * (leaves.yMm - eye.yMm),
    tipMm: scale * leaves.tipMm,
    uTipMm: Math.hypot(scale * leaves.uTipMm, uPointedMm),
    heightMm: zMm + over.mm,
    uHeightMm: over.uMm,
  };
}

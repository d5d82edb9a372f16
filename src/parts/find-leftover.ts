import { pixelFromMat, pxPerMmAt } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { compareWithBackground } from "./find/background.js";
import { findColourless, type CloseLook } from "./find-colourless.js";
import type { Classify } from "./find/find-round-parts.js";
import {
  foregroundByColour,
  foregroundByLightness,
  withBlownOut,
  type Foreground,
} from "./find/foreground.js";
import type { PhotoBox } from "./find/metal-up-close.js";
import { isDeep, isSharp } from "./deep-or-sharp.js";
import { discIn, explains, isNear, unexplained, withoutKnown, type Explained } from "./find/explained.js";
import { isInside, isMostlyIn } from "./find/inside-contour.js";
import { findPatches, type Patch } from "./find/patches.js";
import { piecesBeside } from "./find/pieces-beside.js";
import { boxOf, describePatch, toPlane, type Unknown } from "./find/seen-patch.js";
import { shrinkPhoto, smallFromPhoto, type SmallPicture } from "./find/small-picture.js";
import { plainField, whereToLook } from "./find/where-to-look.js";
import type { OtherPart } from "./other-part.js";
import type { Point } from "./part.js";
import type { TeethOver } from "./plate/find-teeth-over.js";
import { findPalePlates } from "./plate/find-pale-plates.js";
import { isLikePlate, plateFromPatch, type PlateFound } from "./plate/plate-from-patch.js";

export interface Leftover {
  readonly plates: readonly OtherPart[];
  /** Pinions on their end, arbors on their side: told from close. */
  readonly pinions: readonly OtherPart[];
  /** Patches of metal that nothing explains: middle and size. */
  readonly unknown: readonly Unknown[];
  /** Parts whose pictures hang together. */
  readonly touching: readonly Touching[];
}

export type Touching = readonly [TouchingPart, TouchingPart];
/** By its place in `explained` or in `plates`, or something that was not understood. */
export type TouchingPart =
  { readonly explained: number } | { readonly plate: number } | { readonly unknown: Unknown };

const mostSmallPixels = 450_000;
const leastRadiusPx = 4;
/** Smaller than this, on the mat, is a screw, a pin or dirt. */
const leastUnknownMm = 4;
/** What hangs on to a part is narrower than this only where it is an arbor's end or a rim's shine. */
const leastBesideMm = 3;
/** Dark things on the plain paper: pinions of six leaves are no larger. */
const leastDarkMm = 3;
/** Of the contour, so much may lie outside the parts that explain it: arbors and shadows stick out. */
const mostUnexplained = 0.25;

/**
 * What lies on the mat besides the parts already known: plates; pinions; and what is seen and not understood, so that
 * nothing is dropped without a word. Needs a mat: without one everything in the picture is unknown.
 *
 * @param classify the network; without it nothing without colour is told from a shadow.
 */
export async function findLeftover(
  photo: Photo,
  view: View,
  zMm: number,
  explained: readonly Explained[],
  classify?: Classify,
): Promise<Leftover> {
  const nothing: Leftover = { plates: [], pinions: [], unknown: [], touching: [] };
  if (view.source !== "mat") return nothing;
  const picture = shrinkPhoto(photo, mostSmallPixels);
  const where = whereToLook(picture, view);
  const against = compareWithBackground(picture, where, true);
  if (against === undefined) return nothing;
  // Shadows are no parts.
  const foreground = withBlownOut(foregroundByColour(against, where, true), against, where, picture.rgb);
  const plates: OtherPart[] = [];
  const pinions: OtherPart[] = [];
  const unknown: Unknown[] = [];
  const touching: Touching[] = [];
  const field = plainField(picture, view) ?? where;
  const isField = (u: number, v: number): boolean => {
    const [i, j] = [smallFromPhoto(picture, u), smallFromPhoto(picture, v)].map(Math.round) as [
      number,
      number,
    ];
    return i >= 0 && i < picture.width && field[j * picture.width + i] === 1;
  };
  const told = lookCloser(classify && { photo, view, zMm, classify, isField }, explained);
  const byLightness = foregroundByLightness(against, field);
  const whole = findPatches(picture, eitherOf(foreground, byLightness), leastRadiusPx);
  /** The brass caps of a lantern are two patches of one thing: what hangs together was looked at once. */
  const lookedAt = new Map<Patch, readonly OtherPart[]>();
  const known: Int32Array[] = [];
  const addPlate = (patch: Patch, pale?: PlateFound): TouchingPart | undefined => {
    const found = pale ?? plateFromPatch(photo, view, picture, patch, foreground, zMm);
    if (found === undefined) return undefined;
    const plate = { plate: plates.length };
    plates.push(found.plate);
    for (const teeth of found.over) {
      if (explained.some((e) => isNear(e, [[teeth.xMm, teeth.yMm]]))) continue;
      const lying = seenTeeth(view, teeth, zMm);
      unknown.push(lying);
      touching.push([plate, { unknown: lying }]);
    }
    return plate;
  };
  const metals = findPatches(picture, foreground, leastRadiusPx);
  const ofColour = metals.filter((patch) => isLikePlate(picture, view, patch, zMm)).map(({ hull }) => hull);
  const bare = withoutKnown(field, picture, view, zMm, explained, ofColour);
  const pale = await findPalePlates(photo, view, picture, against, bare, zMm, classify);
  for (const { patch, found } of pale) {
    addPlate(patch, found);
    known.push(patch.hull);
  }
  for (const patch of metals) {
    const contour = toPlane(picture, view, patch.contour, zMm);
    // Where patina is nearly grey, spots of it have colour.
    if (pale.some((plate) => isMostlyIn(patch.contour, plate.patch.hull))) continue;
    const owners = explained.map((_, i) => i).filter((i) => explains(explained[i]!, contour));
    owners.forEach((a, k) =>
      owners.slice(k + 1).forEach((b) => touching.push([{ explained: a }, { explained: b }])),
    );
    const discs = owners.map((i) => discIn(picture, view, zMm, explained[i]!));
    const least = Math.max(
      2,
      Math.round((leastBesideMm / 2) * smallPxPerMm(picture, view, contour[0]!, zMm)),
    );
    const pieces = owners.length === 0 ? [] : piecesBeside(picture, foreground, patch, discs, least);
    const hanging = pieces.flatMap((piece): [Patch, Unknown][] => {
      const seen = describePatch(picture, view, piece, zMm);
      return seen.lengthMm < leastUnknownMm || !isField(...seen.centrePx) ? [] : [[piece, seen]];
    });
    for (const [piece, seen] of hanging) {
      known.push(piece.hull);
      const plate = addPlate(piece);
      if (plate === undefined) unknown.push(seen);
      const border = toPlane(picture, view, piece.contour, zMm);
      for (const owner of owners)
        if (isNear(explained[owner]!, border))
          touching.push([{ explained: owner }, plate ?? { unknown: seen }]);
    }
    if (hanging.length > 0) continue;
    if (unexplained(contour, explained) < mostUnexplained) continue;
    if (owners.length === 0 && addPlate(patch) !== undefined) {
      known.push(patch.hull);
      continue;
    }
    const seen = describePatch(picture, view, patch, zMm);
    const thing = owners.length === 0 ? thingWith(picture, view, whole, patch, zMm) : patch;
    // Brass on an arbor is too small to be looked at by itself, and must not be cut out of the arbor.
    if (seen.lengthMm < leastUnknownMm && thing !== patch) continue;
    known.push(patch.hull);
    // What lies across the printed border is the edge of the sheet, a hand, a tool.
    if (seen.lengthMm < leastUnknownMm || !isField(...seen.centrePx)) continue;
    if (!lookedAt.has(thing)) {
      const parts = seen.lengthMm < largestCloseMm ? (await told(boxOf(picture, thing))).parts : [];
      lookedAt.set(thing, parts);
      addOnce(pinions, parts);
      if (parts.length > 0) known.push(thing.hull);
    }
    const parts = lookedAt.get(thing)!;
    if (!parts.some((part) => isWithin(part, seen.centreMm))) unknown.push(seen);
  }
  const lookAtDark = async (dark: Pick<Foreground, "mask">): Promise<void> => {
    for (const patch of findPatches(picture, dark, leastRadiusPx)) {
      known.push(patch.hull);
      if (classify === undefined || !isDeep(picture, against, dark, patch)) {
        // Nobody to ask, or soft shadows as well: what ends sharply all round is a thing, light as it may be.
        const seen = describePatch(picture, view, patch, zMm);
        if (
          seen.widthMm >= leastUnknownMm &&
          isField(...seen.centrePx) &&
          isSharp(photo, view, picture, patch, zMm)
        )
          unknown.push(seen);
        continue;
      }
      const close = await told(boxOf(picture, patch));
      addOnce(pinions, close.parts);
      unknown.push(...close.unknown);
      const seen = describePatch(picture, view, patch, zMm);
      if (close.isUnclear && seen.lengthMm >= leastDarkMm) unknown.push(seen);
    }
  };
  await lookAtDark({ mask: withoutKnown(byLightness.mask, picture, view, zMm, explained, known) });
  // Beside very dark things one cut between paper and parts leaves out what is of light grey metal.
  const rest = withoutKnown(field, picture, view, zMm, explained, known);
  await lookAtDark(foregroundByLightness(against, rest));
  return { plates, pinions, unknown, touching };
}

const eitherOf = (a: Foreground, b: Foreground): Pick<Foreground, "mask"> => ({
  mask: a.mask.map((v, p) => v | b.mask[p]!),
});

/** All that hangs together with a patch, dark or coloured, where that is a thing to be looked at from close; else itself. */
function thingWith(
  picture: SmallPicture,
  view: View,
  whole: readonly Patch[],
  patch: Patch,
  zMm: number,
): Patch {
  const [x, y] = [patch.contour[0]!, patch.contour[1]!];
  const thing = whole.find(({ contour }) => isInside(contour, x, y));
  return thing !== undefined && describePatch(picture, view, thing, zMm).lengthMm < largestCloseMm
    ? thing
    : patch;
}

const isWithin = ({ xMm, yMm, reachMm }: OtherPart, [x, y]: Point): boolean =>
  Math.hypot(xMm - x, yMm - y) < reachMm;

/** A thing and its shadow are two patches; looked at from close, both show the thing. */
function addOnce(parts: OtherPart[], more: readonly OtherPart[]): void {
  for (const part of more)
    if (
      !parts.some((p) => Math.hypot(p.xMm - part.xMm, p.yMm - part.yMm) < Math.min(p.reachMm, part.reachMm))
    )
      parts.push(part);
}

/** Teeth reach beyond the ring on which they were found. */
const tipsBeyondMm = 1;

const seenTeeth = (view: View, { xMm, yMm, radiusMm }: TeethOver, zMm: number): Unknown => {
  const acrossMm = 2 * (radiusMm + tipsBeyondMm);
  return {
    centrePx: pixelFromMat(view.geometry, xMm, yMm, zMm),
    centreMm: [xMm, yMm],
    lengthMm: acrossMm,
    widthMm: acrossMm,
    hasTeeth: true,
  };
};

/** The network takes its time: it is asked so often at the most, about the largest things first. */
const mostCloseLooks = 45;
/** Larger things without colour are tools and rags, mm. */
const largestCloseMm = 90;

type LookCloser = (box: PhotoBox) => ReturnType<typeof findColourless>;

function lookCloser(look: CloseLook | undefined, explained: readonly Explained[]): LookCloser {
  if (look === undefined) return () => Promise.resolve({ parts: [], unknown: [], isUnclear: false });
  let left = mostCloseLooks;
  const classify: Classify = async (picture) => (left-- > 0 ? look.classify(picture) : undefined);
  return (box) => findColourless({ ...look, classify }, box, explained);
}

const smallPxPerMm = (picture: SmallPicture, view: View, [xMm, yMm]: Point, zMm: number): number =>
  pxPerMmAt(view.geometry, xMm, yMm, zMm) / picture.factor;

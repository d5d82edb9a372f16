import { pixelFromMat, pxPerMmAt } from "../geometry/index.js";
import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { compareWithBackground, type AgainstBackground } from "./find/background.js";
import { findColourless, type CloseLook } from "./find-colourless.js";
import type { Classify } from "./find/find-round-parts.js";
import {
  foregroundByColour,
  foregroundByLightness,
  withBlownOut,
  type Foreground,
} from "./find/foreground.js";
import type { PhotoBox } from "./find/metal-up-close.js";
import { findPatches, type Patch } from "./find/patches.js";
import { piecesBeside } from "./find/pieces-beside.js";
import { describePatch, toPlane, type Unknown } from "./find/seen-patch.js";
import { shrinkPhoto, smallFromPhoto, type SmallPicture } from "./find/small-picture.js";
import { fillPolygon, plainField, whereToLook } from "./find/where-to-look.js";
import type { OtherPart } from "./other-part.js";
import type { Point } from "./part.js";
import type { TeethOver } from "./plate/find-teeth-over.js";
import { crispShare } from "./plate/crisp-outline.js";
import { findPalePlates } from "./plate/find-pale-plates.js";
import { isLikePlate, plateFromPatch, type PlateFound } from "./plate/plate-from-patch.js";
import { areaOf } from "./plate/plate-outline.js";

/** A round part that was found already, on the plane of its outline. */
export interface Explained {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
}

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
/** Pieces lose up to a small pixel at their edges. */
const besideMm = 1.5;
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
        const contour = toPlane(picture, view, patch.contour, zMm);
        const isCompact = areaOf(contour) > leastCompact * areaOf(toPlane(picture, view, patch.hull, zMm));
        if (
          seen.widthMm >= leastUnknownMm &&
          isCompact &&
          isField(...seen.centrePx) &&
          crispShare(photo, view, contour, zMm) >
            (isLikePlate(picture, view, patch, zMm) ? crispPlate : crispThing)
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

function isMostlyIn(contour: Int32Array, hull: Int32Array): boolean {
  let inside = 0;
  for (let i = 0; i < contour.length; i += 2) if (isInside(hull, contour[i]!, contour[i + 1]!)) inside++;
  return inside > contour.length / 4;
}

/** Even-odd rule; points of the outline itself lie inside. */
function isInside(contour: Int32Array, x: number, y: number): boolean {
  let inside = false;
  const n = contour.length / 2;
  for (let i = 0, j = n - 1; i < n; j = i++) {
    const [xi, yi, xj, yj] = [contour[2 * i]!, contour[2 * i + 1]!, contour[2 * j]!, contour[2 * j + 1]!];
    if (xi === x && yi === y) return true;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
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

function boxOf(picture: SmallPicture, { hull }: Patch): PhotoBox {
  let [left, right, top, bottom] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < hull.length; i += 2) {
    left = Math.min(left, hull[i]!);
    right = Math.max(right, hull[i]!);
    top = Math.min(top, hull[i + 1]!);
    bottom = Math.max(bottom, hull[i + 1]!);
  }
  const { factor } = picture;
  return {
    left: left * factor,
    top: top * factor,
    width: (right - left + 1) * factor,
    height: (bottom - top + 1) * factor,
  };
}

/** Shadows are sharp on one side at the most; printed crosses are thin. */
const crispThing = 0.75;
/** What is as large and full as a plate may be one in its own soft shade. */
const crispPlate = 0.4;
const leastCompact = 0.6;

/** Natural logarithms against the paper: steel lies below -1 or mirrors a light, soft shadows lie above. */
const deepLightness = -0.75;
const brightLightness = 0.2;
const leastDeepShare = 0.1;

function isDeep(
  picture: SmallPicture,
  { lightness }: AgainstBackground,
  { mask }: Pick<Foreground, "mask">,
  patch: Patch,
): boolean {
  const { factor } = picture;
  const { left, top, width, height } = boxOf(picture, patch);
  let [deep, all] = [0, 0];
  for (let j = top / factor; j < (top + height) / factor; j++)
    for (let i = left / factor; i < (left + width) / factor; i++) {
      const p = j * picture.width + i;
      if (mask[p] === 0) continue;
      all++;
      if (lightness[p]! < deepLightness || lightness[p]! > brightLightness) deep++;
    }
  return deep > leastDeepShare * all;
}

/** The pixels without what round parts explain, with a little round them, and the hulls of patches dealt with. */
function withoutKnown(
  pixels: Uint8Array,
  picture: SmallPicture,
  view: View,
  zMm: number,
  explained: readonly Explained[],
  hulls: readonly Int32Array[],
): Uint8Array {
  const mask = pixels.slice();
  for (const part of explained) fillPolygon(mask, picture, discIn(picture, view, zMm, part), 0);
  for (const hull of hulls) {
    const n = hull.length / 2;
    let [x, y] = [0, 0];
    for (let i = 0; i < n; i++) {
      x += hull[2 * i]! / n;
      y += hull[2 * i + 1]! / n;
    }
    const grown = Array.from({ length: n }, (_, i): [number, number] => {
      const [dx, dy] = [hull[2 * i]! - x, hull[2 * i + 1]! - y];
      const more = 1 + 6 / Math.max(1, Math.hypot(dx, dy));
      return [x + more * dx, y + more * dy];
    });
    fillPolygon(mask, picture, grown, 0);
  }
  return mask;
}

/** A known part with a little round it, small pixels. */
const discIn = (
  picture: SmallPicture,
  view: View,
  zMm: number,
  { xMm, yMm, radiusMm }: Explained,
): [number, number][] =>
  Array.from({ length: 36 }, (_, k) => {
    const [r, t] = [beyondRim(radiusMm), (2 * Math.PI * k) / 36];
    const [u, v] = pixelFromMat(view.geometry, xMm + r * Math.cos(t), yMm + r * Math.sin(t), zMm);
    return [smallFromPhoto(picture, u), smallFromPhoto(picture, v)];
  });

const beyondRim = (radiusMm: number): number => 1.06 * radiusMm + 0.6;

const smallPxPerMm = (picture: SmallPicture, view: View, [xMm, yMm]: Point, zMm: number): number =>
  pxPerMmAt(view.geometry, xMm, yMm, zMm) / picture.factor;

const isNear = ({ xMm, yMm, radiusMm }: Explained, border: readonly Point[]): boolean =>
  border.some(([x, y]) => Math.hypot(x - xMm, y - yMm) < beyondRim(radiusMm) + besideMm);

/** A part owns a patch whose contour runs along its rim over a good part of the turn. */
function explains(part: Explained, contour: readonly Point[]): boolean {
  const hit = new Uint8Array(24);
  for (let k = 0; k < contour.length; k++) {
    const dx = contour[k]![0] - part.xMm;
    const dy = contour[k]![1] - part.yMm;
    const r = Math.sqrt(dx * dx + dy * dy) / part.radiusMm;
    if (r > 0.85 && r < 1.06) hit[Math.floor(((Math.atan2(dy, dx) / (2 * Math.PI) + 1) % 1) * 24)] = 1;
  }
  return hit.reduce((s, h) => s + h, 0) >= 8;
}

function unexplained(contour: readonly Point[], explained: readonly Explained[]): number {
  const outside = contour.filter((point) => isOutside(point, explained));
  return outside.length / Math.max(1, contour.length);
}

function isOutside(point: Point, explained: readonly Explained[]): boolean {
  for (const { xMm, yMm, radiusMm } of explained)
    if (!(Math.hypot(point[0] - xMm, point[1] - yMm) > 1.08 * radiusMm + 0.5)) return false;
  return true;
}

import { fitEllipse } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { ClassMap } from "../../segment/index.js";
import type { View } from "../../view/index.js";
import { learnContrast, type Contrast } from "../contrast.js";
import { identityAffine, moveToFace, PlaneToPixel, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { compareWithBackground } from "./background.js";
import { guessForegrounds, type Foreground } from "./foreground.js";
import { foregroundFromClasses } from "./foreground-from-classes.js";
import { guessCircles, resampleClosed, type CircleGuess } from "./guess-circles.js";
import { planeFromSmall } from "./plane-from-small.js";
import { findPatches } from "./patches.js";
import { shrinkPhoto, smallFromPhoto, type SmallPicture } from "./small-picture.js";
import { whereToLook } from "./where-to-look.js";

/** Something round in the picture that may be a wheel: where, how large, and how to tell it from its surroundings. */
export interface RoundPart {
  readonly face: FacePlane;
  readonly radiusMm: number;
  readonly contrast: Contrast;
  readonly reason: Foreground["reason"];
  /** A shadow may have been taken for metal. */
  readonly shadowy: boolean;
  /** How many round things the same patch of metal was split into; more than one means touching or overlapping. */
  readonly sharing: number;
}

/**
 * The same part told by lightness, where pictures keep the detail that they drop from colour: for teeth too fine to
 * be counted by colour. A shadow may pass for metal, unless the network saw none.
 */
export function partByLight(part: RoundPart): RoundPart | undefined {
  const { byLight } = part.contrast;
  if (byLight === undefined) return undefined;
  const contrast = { ...byLight, byColour: part.contrast };
  return byLight.noShadow ? { ...part, contrast } : { ...part, contrast, reason: "lightness", shadowy: true };
}

const mostSmallPixels = 1_300_000;
/** In small pixels. */
const leastRadius = 9;
/** On the mat nothing smaller is a wheel. */
const leastRadiusMm = 2.5;

/** A picture to the class of its every pixel; undefined when there is no network to ask. */
export type Classify = (
  picture: Pick<Photo, "widthPx" | "heightPx" | "rgb">,
) => Promise<ClassMap | undefined>;

/**
 * Looks for round metal parts, one way of telling metal after the other; the caller stops when content. The network
 * is asked last: it takes longer than all the others.
 *
 * @param outlineHeightMm height above the mat at which outlines lie, as far as is known before parts are named.
 */
export async function* findRoundParts(
  photo: Photo,
  view: View,
  outlineHeightMm: number,
  classify?: Classify,
): AsyncGenerator<RoundPart[]> {
  const picture = shrinkPhoto(photo, mostSmallPixels);
  const where = whereToLook(picture, view);
  const against = compareWithBackground(picture, where, view.mat !== undefined);
  if (against === undefined) return;
  for (const foreground of guessForegrounds(against, where, view.mat !== undefined))
    yield roundPartsIn(picture, view, foreground, outlineHeightMm);
  const { width, height, rgb } = picture;
  const classes = await classify?.({ widthPx: width, heightPx: height, rgb });
  if (classes === undefined) return;
  yield roundPartsIn(picture, view, foregroundFromClasses(picture, classes, where), outlineHeightMm);
}

function roundPartsIn(
  picture: SmallPicture,
  view: View,
  foreground: Foreground,
  outlineHeightMm: number,
): RoundPart[] {
  const parts: RoundPart[] = [];
  for (const patch of findPatches(picture, foreground, leastRadius)) {
    const hull = planeFromSmall(picture, view, patch.hull, outlineHeightMm);
    const border = planeFromSmall(picture, view, patch.contour, outlineHeightMm);
    const least = Math.max(
      view.source === "mat" ? leastRadiusMm : 0,
      leastRadius * picture.factor * mmPerPx(view, hull, outlineHeightMm),
    );
    const circles = guessCircles(hull, border, least);
    for (const circle of circles) {
      const face = faceOf(view, outlineHeightMm, circle, circles.length === 1 ? hull : undefined);
      const contrast = contrastOf(picture, foreground, face, circle.radius);
      if (contrast !== undefined)
        parts.push({
          face,
          radiusMm: circle.radius,
          contrast,
          reason: foreground.reason,
          shadowy: foreground.shadowy,
          sharing: circles.length,
        });
    }
  }
  return parts;
}

const mmPerPx = (view: View, at: Float64Array, zMm: number): number =>
  1 / pxPerMmOnFace({ geometry: view.geometry, zMm, xMm: at[0]!, yMm: at[1]!, affine: identityAffine });

/** Without a mat the camera may be slanting: a clear ellipse is taken for a circle seen from the side. */
function faceOf(view: View, zMm: number, circle: CircleGuess, hull: Float64Array | undefined): FacePlane {
  const plain: FacePlane = {
    geometry: view.geometry,
    zMm,
    xMm: circle.x,
    yMm: circle.y,
    affine: identityAffine,
  };
  if (view.source === "mat" || hull === undefined) return plain;
  const fit = fitEllipse(resampleClosed(hull, 120));
  if (!fit.ok) return plain;
  const { semiMajor: p, semiMinor: q, angleRad, x, y } = fit.value;
  if (!(q / p < 0.985 && q / p > 0.6)) return plain;
  const r = Math.sqrt(p * q);
  const [cos, sin] = [Math.cos(angleRad), Math.sin(angleRad)];
  const [s, t] = [p / r, q / r];
  return {
    ...plain,
    xMm: x,
    yMm: y,
    affine: [
      s * cos * cos + t * sin * sin,
      (s - t) * cos * sin,
      (s - t) * cos * sin,
      s * sin * sin + t * cos * cos,
    ],
  };
}

/** Of what lies beside a part, this much may be as dark as metal (dust, noise) before it is called a shadow. */
const mostTakenForMetal = 0.02;
/** From this share of the radius on no tip reaches, nor the blur of one. */
const clearOfTeeth = 1.05;

function shareTakenForMetal({ red, green, blue }: Contrast, around: readonly number[]): number {
  let taken = 0;
  for (let k = 0; k < around.length; k += 3)
    if (red[around[k]!]! + green[around[k + 1]!]! + blue[around[k + 2]!]! > 0.5) taken++;
  return around.length === 0 ? 1 : (3 * taken) / around.length;
}

/** Of the radius, and how many round it. */
const sharesTaken = [0.68, 0.74, 0.8, 0.85, 0.9, 1.02, 1.035, 1.05, 1.08, 1.13];
const turnsTaken = 120;

/** -1 outside the picture. */
function smallPixelAt(picture: SmallPicture, u: number, v: number): number {
  const i = Math.round(smallFromPhoto(picture, u));
  const j = Math.round(smallFromPhoto(picture, v));
  return i >= 0 && j >= 0 && i < picture.width && j < picture.height ? j * picture.width + i : -1;
}

const addColour = (rgb: Uint8Array, p: number, to: number[]): void =>
  void to.push(rgb[3 * p]!, rgb[3 * p + 1]!, rgb[3 * p + 2]!);

/** Samples the small picture over and around the part, and learns what tells them apart. */
function contrastOf(
  picture: SmallPicture,
  foreground: Foreground,
  face: FacePlane,
  radiusMm: number,
): Contrast | undefined {
  const metal: number[] = [];
  const around: number[] = [];
  const beyond: number[] = [];
  const map = new PlaneToPixel(face.geometry, face.zMm);
  for (let k = 0; k < turnsTaken; k++) {
    const turn = (2 * Math.PI * k) / turnsTaken;
    for (let s = 0; s < sharesTaken.length; s++) {
      const share = sharesTaken[s]!;
      moveToFace(map, face, share * radiusMm, turn);
      const p = smallPixelAt(picture, map.u, map.v);
      if (p < 0) continue;
      const isMetal = foreground.mask[p] === 255;
      if (share > 1 ? isMetal : share > 0.97) continue;
      addColour(picture.rgb, p, isMetal ? metal : around);
      if (share >= clearOfTeeth) addColour(picture.rgb, p, beyond);
    }
  }
  const contrast = learnContrast(metal, around);
  if (contrast === undefined) return undefined;
  const { byLight, growth } = contrast;
  const isClear = (c: Contrast): boolean => shareTakenForMetal(c, beyond) < mostTakenForMetal;
  // A mask by colour leaves shadows out, as the network's does; but what it leaves out may be metal without colour.
  if (foreground.reason === "colour" && growth !== 0) return { ...contrast, noShadow: isClear(contrast) };
  if (foreground.reason !== "network") return contrast;
  return {
    ...contrast,
    noShadow: isClear(contrast),
    ...(byLight && { byLight: { ...byLight, noShadow: isClear(byLight) } }),
  };
}

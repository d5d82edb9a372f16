import { fitCircleRobust } from "../../fit/index.js";
import { pxPerMmAt } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { heightOfFace, type FaceHeight } from "../face-height.js";
import type { Foreground } from "../find/foreground.js";
import type { Patch } from "../find/patches.js";
import { describePatch, toPlane } from "../find/seen-patch.js";
import type { SmallPicture } from "../find/small-picture.js";
import { linearFromSrgb } from "../linear-light.js";
import type { OtherPart } from "../other-part.js";
import { crispShare } from "./crisp-outline.js";
import { findTeethOver, type TeethOver } from "./find-teeth-over.js";
import { learnSharpness } from "./learn-sharpness.js";
import { measurePlate, roundHolesOf, seePlate, type PlateSeen } from "./measure-plate.js";
import { widestMm } from "./name-holes.js";
import { areaOf } from "./plate-outline.js";

/** A plate, and wheels that lie on it. */
export interface PlateFound {
  readonly plate: OtherPart;
  readonly over: readonly TeethOver[];
}

const plateAreaMm2 = 500;
const plateShortMm = 16;
/** Round ones. */
const fewestHoles = 3;
/** So many, by half height, and their edges need not be fitted to believe it. */
const holesEnough = 6;
/** Metal over hull: plates have few and shallow cut-outs. */
const leastFill = 0.72;
/** So round that it is a disc, not a plate: spread of the hull about its circle over the radius. */
const discRoundness = 0.02;
/** What is found by lightness, or by faint colour on evened pictures, may be a wheel: tips, and teeth that glare has cut off. */
const wheelRoundness = 0.12;
/** Plates of clocks are no narrower (common practice, no source), mm; labels and washers are. */
const palestShortMm = 25;
const fewestPaleHoles = 4;
/** Of what the network or a cut between light and dark leaves of a plate, the outline would be wrong. */
const leastPaleFill = 0.9;

/** Whether a patch is as large as a plate, and as full. */
export function isLikePlate(picture: SmallPicture, view: View, patch: Patch, zMm: number): boolean {
  const hullArea = areaOf(toPlane(picture, view, patch.hull, zMm));
  const { widthMm } = describePatch(picture, view, patch, zMm);
  return (
    hullArea >= plateAreaMm2 &&
    widthMm >= plateShortMm &&
    areaOf(toPlane(picture, view, patch.contour, zMm)) >= leastFill * hullArea
  );
}

/**
 * A patch of metal as a plate; undefined where it is something else.
 *
 * @param leastCrisp of a patch that may have no colour, and be a shadow: least share of its outline that is sharp.
 */
export function plateFromPatch(
  photo: Photo,
  view: View,
  picture: SmallPicture,
  patch: Patch,
  foreground: Foreground,
  zMm: number,
  leastCrisp?: number,
): PlateFound | undefined {
  if (!isLikePlate(picture, view, patch, zMm)) return undefined;
  const hull = toPlane(picture, view, patch.hull, zMm);
  const contour = toPlane(picture, view, patch.contour, zMm);
  const { lengthMm, widthMm, centrePx, centreMm } = describePatch(picture, view, patch, zMm);
  const isPale = leastCrisp !== undefined;
  if (isPale && (widthMm < palestShortMm || areaOf(contour) < leastPaleFill * areaOf(hull))) return undefined;
  const circle = fitCircleRobust(Float64Array.from(hull.flat()));
  const isDisc =
    circle.ok &&
    hull.every(([x, y]) => {
      const off = Math.hypot(x - circle.value.x, y - circle.value.y) - circle.value.radius;
      return Math.abs(off) < (isPale ? wheelRoundness : discRoundness) * circle.value.radius;
    });
  if (isDisc) return undefined;
  if (isPale && crispShare(photo, view, contour, zMm) < leastCrisp) return undefined;
  const neutral = paperNear(picture, patch, foreground);
  if (neutral === undefined) return undefined;
  const sharpness = learnSharpness(photo, view);
  const seeAt = (height: FaceHeight): PlateSeen | undefined => {
    const guess = {
      contourMm: toPlane(picture, view, patch.contour, height.outlineMm),
      hullMm: toPlane(picture, view, patch.hull, height.outlineMm),
      zMm: height.outlineMm,
      neutral,
      mayBeGrey: isPale,
    };
    return seePlate(photo, view, guess, height, sharpness);
  };
  // A rag or a box lid is flat and coloured too; a plate has round holes.
  const usual = heightOfFace({}, undefined);
  const seen = seeAt(usual);
  if (seen === undefined) return undefined;
  if (roundHolesOf(seen, widestMm) < holesEnough) {
    const holes = measurePlate(seen, usual, "trial", undefined).holes ?? [];
    const round = holes.filter((h) => h.kind !== "opening").length + seen.noHoles.length;
    if (round < (isPale ? fewestPaleHoles : fewestHoles)) return undefined;
  }
  const over = findTeethOver(photo, view.geometry, hull, zMm);
  const plate: OtherPart = {
    centrePx,
    radiusPx: (Math.min(lengthMm, widthMm) / 2) * pxPerMmAt(view.geometry, centreMm[0], centreMm[1], zMm),
    xMm: centreMm[0],
    yMm: centreMm[1],
    reachMm: lengthMm / 2,
    measure: (height, id, label) => {
      const isUsual = height.outlineMm === usual.outlineMm && height.edgesApartMm === usual.edgesApartMm;
      const there = isUsual ? seen : seeAt(height);
      return there && measurePlate(there, height, id, label, over);
    },
  };
  return { plate, over };
}

/** Linear light of the bare paper round a patch: the median of what is no part, a few pixels off its contour. */
function paperNear(
  picture: SmallPicture,
  patch: Patch,
  foreground: Foreground,
): [number, number, number] | undefined {
  const channels: [number[], number[], number[]] = [[], [], []];
  const n = patch.contour.length / 2;
  let [u, v] = [0, 0];
  for (let i = 0; i < n; i++) {
    u += patch.contour[2 * i]! / n;
    v += patch.contour[2 * i + 1]! / n;
  }
  for (let i = 0; i < n; i += 3) {
    const [du, dv] = [patch.contour[2 * i]! - u, patch.contour[2 * i + 1]! - v];
    const far = 1 + 9 / Math.max(1, Math.hypot(du, dv));
    const [x, y] = [Math.round(u + far * du), Math.round(v + far * dv)];
    if (!(x >= 0 && y >= 0 && x < picture.width && y < picture.height)) continue;
    const p = y * picture.width + x;
    if (foreground.mask[p] !== 0) continue;
    channels.forEach((c, k) => c.push(linearFromSrgb[picture.rgb[3 * p + k]!]!));
  }
  if (channels[0].length < 12) return undefined;
  const of = (c: number[]): number => c.sort((a, b) => a - b)[Math.floor(0.6 * c.length)]! + 1e-3;
  return [of(channels[0]), of(channels[1]), of(channels[2])];
}

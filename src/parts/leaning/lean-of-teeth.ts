import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { identityAffine, pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { heightOfFace, type FaceHeight } from "../face-height.js";
import type { Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import type { CountedWheel } from "../wheel/counted-wheel.js";
import type { Rim } from "../wheel/find-rim.js";
import { fitToothCircle } from "../wheel/fit-tooth-circle.js";
import { signalBlurPx } from "../wheel/signal-blur.js";
import { readToothPlaces } from "../wheel/tooth-places.js";
import {
  fitLeaningTeeth,
  leansOfOutline,
  uLeanAngleRad,
  type LeaningCircle,
  type LeanFit,
  type SeenTooth,
  type Support,
} from "./fit-lean.js";
import { geometryOnLean, leanAngleRad } from "./lean.js";

/**
 * A wheel on the short end of its arbor leans by some degrees. Less than this is left to the height's uncertainty, and
 * to sets of photographs.
 */
const leastLeanRad = (2.5 * Math.PI) / 180;
/** A lean is told where it is so many of its standard uncertainties... */
const leastSignificance = 5;
/**
 * ... and the teeth stand so much worse if it leaned the other way, or lay flat, by tips and by spacing each for itself:
 * shadows and glare make tips look oval, but crowd no teeth. Sums of squares in standard uncertainties.
 */
const leastWorse = { opposite: 9, flat: 8 };
/** Teeth stray from an even division by no more than this share of the pitch, or they are not these teeth. */
const mostScatter = 0.12;

/** What a wheel of this height rests on: taken for its thickness, a given height leaves it on its rim. */
export function supportOf(height: FaceHeight): Support {
  const lying = heightOfFace({}, undefined);
  return height.liesOnMat
    ? { outlineMm: height.outlineMm }
    : { outlineMm: lying.outlineMm, middleMm: height.outlineMm };
}

export function faceOnLean(view: View, { lean }: LeaningCircle, outlineMm: number): FacePlane {
  return {
    geometry: geometryOnLean(view.geometry, lean),
    zMm: outlineMm,
    xMm: lean.xMm,
    yMm: lean.yMm,
    affine: identityAffine,
  };
}

const sectors = 36;

/** Outermost points of the outline, one of each sector, in the picture: tips, whatever their number. */
function tipsOfOutline({ face, outlineMm }: Pick<Rim, "face" | "outlineMm">): Point[] {
  const per = outlineMm.length / sectors;
  const tips: Point[] = [];
  for (let s = 0; s < sectors; s++) {
    const sector = outlineMm.subarray(s * per, (s + 1) * per);
    const radii = sector.filter((r) => !Number.isNaN(r)).sort();
    if (radii.length < per / 3) continue;
    // Not the very largest: that is where noise is.
    const r = radii[radii.length - 1 - Math.floor(radii.length * 0.06)]!;
    tips.push(pixelFromFace(face, r, (2 * Math.PI * (s * per + sector.indexOf(r))) / outlineMm.length));
  }
  return tips;
}

/** Points of an outline; whole teeth, and their share of the count: few, or those of one side, bend as they like. */
const leastTips = 24;
const leastTeeth = { count: 20, share: 0.8 };

/** Both ways in which the wheel may lean, by its outline alone. */
export function leansOfRim(
  view: View,
  rim: Pick<Rim, "face" | "outlineMm">,
  support: Support,
): LeaningCircle[] {
  const tips = tipsOfOutline(rim);
  if (tips.length < leastTips) return [];
  return leansOfOutline(view.geometry, tips, support, pxPerMmOnFace(rim.face));
}

/**
 * The lean by which the places of all teeth are explained.
 *
 * @param starts what it may be. @returns undefined where it is not told.
 */
export function leanOfTeeth(
  photo: Photo,
  view: View,
  { rim, contrast, count }: CountedWheel,
  support: Support,
  edgesApartMm: number,
  starts: readonly LeaningCircle[],
): LeanFit | undefined {
  const { face } = rim;
  const pxPerMm = pxPerMmOnFace(face);
  const thick = new ThickOutline(face, edgesApartMm);
  const places = readToothPlaces(photo, contrast, rim, count, signalBlurPx(view, photo, contrast));
  const circle = fitToothCircle(places, thick, 1 / pxPerMm);
  if (circle === undefined) return undefined;
  const { pitchRad } = places;
  const teeth: SeenTooth[] = [];
  const steepest = thick.steepestMm(rim.tipMm);
  for (let k = 0; k < places.count; k++) {
    const r = places.tipMarkMm[k]!;
    const t = places.angleRad[k]! + places.offset[k]! * pitchRad;
    if (circle.states[k] !== "whole" || Number.isNaN(r) || Number.isNaN(t)) continue;
    const px = pixelFromFace(face, r, t);
    const out = pixelFromFace(face, r + 0.5, t);
    const along = pixelFromFace(face, r, t + 0.5 / r);
    teeth.push({
      place: k,
      px,
      outwardPx: [2 * (out[0] - px[0]), 2 * (out[1] - px[1])],
      alongPx: [2 * (along[0] - px[0]), 2 * (along[1] - px[1])],
      wallOutMm: thick.rimExcessMm(t, r),
      wallAlongMm: thick.middleShiftMm(t),
      wallFacing: (thick.rimExcessMm(t, r) + thick.holeExcessMm(t, r)) / steepest,
    });
  }
  if (teeth.length < Math.max(leastTeeth.count, leastTeeth.share * places.count)) return undefined;
  const phaseRad = places.angleRad[0]!;
  const fit = fitLeaningTeeth(
    view.geometry,
    teeth,
    pitchRad,
    support,
    pxPerMm,
    starts.map((start) => ({ circle: start, phaseRad })),
  );
  if (fit === undefined) return undefined;
  const { best, worseBy } = fit;
  const angle = leanAngleRad(best.lean);
  const isTold =
    angle > leastLeanRad &&
    angle > leastSignificance * uLeanAngleRad(best) &&
    worseBy.opposite > leastWorse.opposite &&
    Math.min(worseBy.flatOut, worseBy.flatAlong) > leastWorse.flat &&
    best.scatterPx < mostScatter * pitchRad * best.radiusMm * pxPerMm;
  return isTold ? best : undefined;
}

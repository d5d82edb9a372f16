import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { responseInShade, type Contrast } from "../contrast.js";
import { pxPerMmOnFace } from "../face-plane.js";
import type { ThickOutline } from "../thick-outline.js";
import type { ToothCount } from "./count-teeth.js";
import type { Rim } from "./find-rim.js";
import { depthBySectors } from "./depth-by-sectors.js";
import { fitFlankBlur } from "./fit-flank-blur.js";
import { isRaked, type ToothCircle } from "./fit-tooth-circle.js";
import { lightInSpaces } from "./light-in-spaces.js";
import { fitMeanTooth } from "./fit-mean-tooth.js";
import { fitRakedDepth } from "./fit-raked-depth.js";
import { meanShareOf, meanToothOf } from "./mean-tooth.js";
import { lensBlurPx, signalBlurPx } from "./signal-blur.js";
import type { DepthBlur, LensMixing, ToothDepth } from "./tooth-depth.js";
import { readToothPlaces, type ToothPlaces } from "./tooth-places.js";
import { flankOfWall, usualWall } from "./weigh-centres.js";

/** Blur is as known as this; that of stored colour less well: cameras sharpen lightness alone. */
const uBlurShare = { light: 0.12, colour: 0.2 };
/** A place where colour and lightness see the same amount of metal has no shadow in it. */
const sameBody = 0.06;
const fewestClean = 8;
/**
 * What the fit of the mean tooth does not know of itself, px: found on photographs of two renderers, one of which shows
 * square, involute and worn teeth as often as pointed ones.
 */
const uTipPx = 0.3;
/**
 * At the tip both bevels meet in a ridge, darker than the face as a rule, and the outermost part of it is lost: found on
 * photographs of two renderers, in one 0.3 px, in the other nothing.
 */
const ridgePx = 0.1;
/**
 * The fit lets the form of a tooth vary by more than real ones do. Where teeth are wide enough to be seen, from so many
 * px a pitch, the tip is better known than it says, by this share.
 */
const seenFrom = { fewPx: 7, enoughPx: 9, share: 0.6 };
const uRootPx = 0.35;
/** The form assumed of raked teeth has gullets; the points between saw teeth are filled by blur and walls. */
const uRakedRootPx = 0.8;
/**
 * Blurred beyond this, px, a pointed tip keeps part of its length to itself, whatever form is assumed of it: by as
 * much, times the square of the excess, in px; and by half the depth of the tooth where the blur nears six tenths of
 * that. Found on rendered photographs blurred by 1 to 3 px.
 */
const softFromPx = 0.9;
const uTipPerSquare = 0.35;
const blurOfDepth = { from: 0.3, to: 0.6 };
/** Without colour the dark spaces between teeth of a dark metal end where they look the darkest. */
const uRootByLightPx = 1.8;
/** ... and that hides up to a third of a pitch of their depth: half of it is taken off. Found on photographs of two renderers. */
const shadedSpace = { share: 0.15, u: 0.25 };
/** Of the depth of a space between raked teeth, no more is closed by walls. */
const mostClosed = 0.3;
/** Nor is the tip told from the shadow beside it. */
const uTipByLightPx = 1.2;
/** Walls that look out by so much, px, change the form of teeth from one side of the rim to the other. */
const seenWallPx = 1.2;
/** Sectors tell most of what walls add: this share of what is not known of it is left. */
const untoldBySectors = 0.5;

/**
 * Tip and root radius of the mean tooth. By lightness where enough places are free of shadow, since pictures store it
 * sharper; by colour otherwise.
 */
export function measureToothDepth(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  count: ToothCount,
  seen: ToothPlaces,
  circle: ToothCircle,
  thick: ThickOutline,
): ToothDepth | undefined {
  // Teeth that were too fine to be counted by colour are not too fine for their mean.
  const told = contrast.byColour ?? contrast;
  const blurPx = (by: Contrast): number => signalBlurPx(view, photo, by);
  const places = told === contrast ? seen : readToothPlaces(photo, told, rim, count, blurPx(told));
  const whole = [...circle.states.keys()].filter((k) => circle.states[k] === "whole");
  const lensPx = lensBlurPx(view);
  const pxMm = 1 / pxPerMmOnFace(rim.face);
  const spill = 0.8 * view.edge.shiftPx * pxMm;
  // What hides part of the rim also throws shadows on the rest of it.
  const hidden = 0.25 * (places.tipMm - places.rootMm) * Math.max(0, 0.97 - whole.length / places.count);
  // As far as it is not known how much of a wall passes for metal, nor is the mean of what it adds round the rim.
  const uWall = usualWall.u * meanOf(places.angleRad, (t) => thick.rimExcessMm(t, places.tipMm));
  const byLight = told.growth === 0 && view.source === "mat";
  const uRootByColourPx = isRaked(circle) ? uRakedRootPx : uRootPx;
  const uRoot = (byLight ? uRootByLightPx : uRootByColourPx) * pxMm;
  const uTip = (byLight ? uTipByLightPx : uTipPx) * pxMm;
  const depthMm = places.tipMm - places.rootMm;
  const softMm = (sigmaMm: number): number => {
    const { from, to } = blurOfDepth;
    const merged = Math.min(1, Math.max(0, sigmaMm / depthMm - from) / (to - from));
    const pointed = uTipPerSquare * Math.max(0, lensPx - softFromPx) ** 2 * pxMm;
    return Math.hypot(pointed, 0.5 * merged * depthMm);
  };
  const pitchMm = places.pitchRad * places.tipMm;
  const { fewPx, enoughPx, share } = seenFrom;
  const unseen = Math.min(1, Math.max(0, (enoughPx - pitchMm / pxMm) / (enoughPx - fewPx)));
  // Between raked teeth a space may end in a point, which walls close from the bottom up; or in a wide gullet.
  const [shiftX, shiftY] = thick.lowerShiftMm;
  const coveredMm = usualWall.share * flankOfWall * (2 / Math.PI) * Math.hypot(shiftX, shiftY);
  const closed = isRaked(circle) ? Math.min(mostClosed, coveredMm / pitchMm) * depthMm : 0;
  const outwards = (
    depth: ToothDepth | undefined,
    { sigmaMm, lens }: DepthBlur,
    wall = uWall,
  ): ToothDepth | undefined => {
    if (depth === undefined) return undefined;
    const looked = lens !== undefined && !isRaked(circle);
    const known = looked && view.source === "mat" ? share + (1 - share) * unseen : 1;
    return {
      ...depth,
      tipMm: depth.tipMm + spill + (isRaked(circle) ? 0 : ridgePx * pxMm),
      rootMm: depth.rootMm + spill - 0.5 * closed - (byLight ? shadedSpace.share * pitchMm : 0),
      uTipMm: Math.hypot(known * depth.uTipMm, uTip, softMm(sigmaMm), hidden, wall),
      uRootMm: Math.hypot(depth.uRootMm, uRoot, hidden, wall, closed, byLight ? shadedSpace.u * pitchMm : 0),
    };
  };

  const fitMean = (
    read: ToothPlaces,
    chosen: readonly number[],
    blur: DepthBlur,
    flankSpreadMm = thick.flankSpreadMm(),
  ): ToothDepth | undefined => {
    const guess = { tipMm: read.tipMm, rootMm: read.rootMm };
    if (isRaked(circle)) {
      const mean = meanShareOf(read, circle, chosen);
      return mean && fitRakedDepth(mean, guess, blur);
    }
    const mean = meanToothOf(read, circle, chosen, blur.sigmaMm);
    return mean && fitMeanTooth(mean, guess, blur, flankSpreadMm);
  };
  const blur = blurOf(view, places, blurPx(told), pxMm, told.growth !== 0);
  const bent =
    told.growth === 0 ? blur : { ...blur, lens: lensMixing(photo, told, places, whole, lensPx * pxMm, blur) };
  if (!isRaked(circle) && thick.mostRimExcessMm(places.tipMm) > seenWallPx * pxMm) {
    const depth = depthBySectors(places, circle, thick, whole, pxMm, (teeth, flankSpreadMm) =>
      fitMean(places, teeth, bent, flankSpreadMm),
    );
    if (depth !== undefined) return outwards(depth, bent, untoldBySectors * uWall);
  }
  const byColour = (): ToothDepth | undefined => outwards(fitMean(places, whole, bent), bent);

  if (told.byLight !== undefined) {
    const light =
      contrast.byColour !== undefined
        ? seen
        : readToothPlaces(photo, told.byLight, rim, count, blurPx(told.byLight));
    const clean = whole.filter((k) => light.seen[k] && Math.abs(light.body[k]! - places.body[k]!) < sameBody);
    if (clean.length >= Math.max(fewestClean, 0.1 * places.count)) {
      const sharp = blurOf(view, light, blurPx(told.byLight), pxMm);
      const depth = outwards(fitMean(light, clean, sharp), sharp);
      if (depth !== undefined) return rootOfBoth(depth, byColour());
    }
  }
  return byColour();
}

/**
 * The bottom of a space lies in shade, which lightness takes for metal and colour for less: as far as they differ, it
 * is not known.
 */
function rootOfBoth(byLight: ToothDepth, byColour: ToothDepth | undefined): ToothDepth {
  if (byColour === undefined) return byLight;
  return {
    ...byLight,
    rootMm: (byLight.rootMm + byColour.rootMm) / 2,
    uRootMm: Math.hypot(byLight.uRootMm, (byLight.rootMm - byColour.rootMm) / 2),
  };
}

/** What a colour contrast makes of light that the lens mixed, between teeth and beyond them. */
function lensMixing(
  photo: Photo,
  told: Contrast,
  places: ToothPlaces,
  whole: readonly number[],
  lensMm: number,
  { sigmaMm }: DepthBlur,
): LensMixing {
  const light = lightInSpaces(photo, told, places, whole);
  return {
    sigmaMm: Math.min(lensMm, sigmaMm),
    atRoot: responseInShade(told, light.root),
    atTip: responseInShade(told, light.tip),
  };
}

/** From the markers when there are any, else from the flanks of the teeth themselves. */
function blurOf(
  view: View,
  places: ToothPlaces,
  expectedPx: number,
  pxMm: number,
  byColour = false,
): DepthBlur {
  const sigmaMm = expectedPx * pxMm;
  if (view.source === "mat")
    return { sigmaMm, uMm: (byColour ? uBlurShare.colour : uBlurShare.light) * sigmaMm };
  const flank = fitFlankBlur(places.section, places.sectionStepMm, sigmaMm);
  return flank === undefined
    ? { sigmaMm, uMm: 0.4 * sigmaMm }
    : { sigmaMm: flank.sigmaMm, uMm: flank.uSigmaMm };
}

const meanOf = (values: Float64Array, of: (value: number) => number): number =>
  values.reduce((sum, v) => sum + of(v), 0) / values.length;

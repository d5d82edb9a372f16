import type { Photo } from "../../photo/index.js";
import { failed, type Problem } from "../../problem/index.js";
import { propagate, quantity, type InputId } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import type { Contrast } from "../contrast.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { FaceHeight } from "../face-height.js";
import { uRaisedByLeanMm } from "../leaning/raised-by-lean.js";
import type { Part, Point } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { boreOf, relativeEccentricity } from "./against-bore.js";
import { standsAway } from "./arbor-in-bore.js";
import { checkWheel } from "./check-wheel.js";
import { mostWithClosedSpaces } from "./closed-spaces.js";
import type { CountedWheel } from "./counted-wheel.js";
import { fitToothCircle, isRaked, type ToothCircle } from "./fit-tooth-circle.js";
import type { ToothDepth } from "./tooth-depth.js";
import type { Bore } from "./find-bore.js";
import { formOf } from "./form-of-tips.js";
import { measureToothDepth } from "./measure-tooth-depth.js";
import { moduleFromDiameters, nearestPreferredModule } from "./module-from-diameters.js";
import { outlinesOf, rimOf } from "./outlines-of-wheel.js";
import { readWeb } from "./read-web.js";
import { isUnround, weighOutline } from "./shadows.js";
import { lensBlurPx, signalBlurPx } from "./signal-blur.js";
import { teethOf } from "./teeth-by-place.js";
import { readToothPlaces } from "./tooth-places.js";
import { usualWall } from "./weigh-centres.js";
import type { WheelInputs } from "./wheel-inputs.js";

const outlineUnclear = (whatIsNotSure: string): Problem =>
  failed(
    "outline-unclear",
    `the outline of this part is not round: a shadow may have been taken for metal, so ${whatIsNotSure} are not sure`,
    "use soft light from several sides, or a lamp straight above, and take the photograph again",
  ).problem;

/** Systematic error of an outline against brass that no fit shows: bevel, colour of the edge, tone curve. Pixels. */
const uOutlinePx = 0.08;
/** The same where metal is told by lightness alone, and a shadow passes for it. */
const uOutlineByLightPx = 1.6;

/**
 * Everything that one photograph gives for one wheel.
 *
 * @param id names the part in this photograph; @param name is shared by photographs of the same part (its label).
 */
export function measureWheel(
  photo: Photo,
  view: View,
  wheel: CountedWheel,
  height: FaceHeight,
  id: string,
  label: string | undefined,
): Part {
  const { rim, contrast } = wheel;
  const pxPerMm = pxPerMmOnFace(rim.face);
  const pxMm = 1 / pxPerMm;
  const thick = new ThickOutline(rim.face, height.edgesApartMm);
  const places = readToothPlaces(photo, contrast, rim, wheel.count, signalBlurPx(view, photo, contrast));
  const circle = fitToothCircle(places, thick, pxMm);
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const problems: Problem[] = [];
  const unroundMm = circle === undefined ? 0 : 2 * Math.hypot(...circle.ovalMm);
  const onMat = view.source === "mat";
  const unclear = onMat && isUnround(unroundMm, rim.tipMm, pxMm);
  const weighed = onMat ? weighOutline(wheel, circle, unclear) : wheel.count;
  const most = mostWithClosedSpaces(wheel, thick);
  const count = { ...weighed, probability: Math.min(weighed.probability, most) };
  if (unclear)
    problems.push(outlineUnclear(count.probability < wheel.count.probability ? "count and sizes" : "sizes"));

  const depth = circle && measureToothDepth(photo, view, contrast, rim, count, places, circle, thick);
  const web = readWeb(
    photo,
    contrast,
    rim.face,
    depth?.rootMm ?? rim.rootMm,
    thick,
    circle?.wall ?? usualWall,
    { lensPx: lensBlurPx(view), signalPx: signalBlurPx(view, photo, contrast) },
  );
  const bore = circle && onMat && isArbor(web.bore, circle, rim.face) ? undefined : web.bore;
  const scaled = view.source !== "none";
  const centreLocal = circle?.centreMm ?? [0, 0];
  const tipMm = depth?.tipMm ?? rim.tipMm;
  const uRaisedMm = circle && height.mayLean ? uRaisedByLeanMm(circle, rim.face, tipMm, pxMm) : 0;
  const heightInput = onMat
    ? { id: `height:${label ?? owner}` as InputId, uMm: Math.hypot(height.uOutlineMm, uRaisedMm) }
    : undefined;
  const terms = circleTerms(view, rim.face, tipMm, heightInput);
  const uEdgeMm = (by: Contrast): number =>
    Math.hypot(
      (by.growth === 0 && onMat ? uOutlineByLightPx : uOutlinePx) * pxMm,
      0.5 * view.edge.uShiftPx * pxMm,
      unclear ? unroundMm : 0,
    );
  const shared: WheelInputs = {
    owner,
    terms,
    byLight: contrast.growth === 0,
    uEdgeMm: uEdgeMm(contrast),
    uMeanEdgeMm: uEdgeMm(contrast.byColour ?? contrast),
  };

  const base: Part = {
    id,
    kind: kindOf(count.count, circle),
    ...(label === undefined ? {} : { label }),
    centrePx: pixelFromFace(rim.face, Math.hypot(...centreLocal), Math.atan2(centreLocal[1], centreLocal[0])),
    teeth: teethOf(places, count, circle, depth, scaled),
    findings: [],
    problems,
    outlinePx: outlinesOf(rim.face, centreLocal, tipMm, depth?.rootMm ?? rim.rootMm, bore, scaled),
    ...(web.crossings === undefined ? {} : { crossings: { count: web.crossings } }),
    ...relativeEccentricity(circle, bore, tipMm),
  };
  if (!scaled || circle === undefined || depth === undefined) return { ...base, findings: checkWheel(base) };
  const lengths = lengthsOf(depth, shared, count.count, owner, base.kind);
  const whole: Part = {
    ...base,
    centreMm: planePoint(rim.face, centreLocal),
    ...(view.source === "mat" ? { faceHeightMm: height.faceMm(label ?? owner) } : {}),
    ...lengths,
    ...formOf(circle, depth, shared),
    ...boreOf(
      circle,
      bore,
      places,
      shared,
      bore === undefined ? [] : circleTerms(view, rim.face, bore.radiusMm, heightInput),
    ),
    rim: rimOf(rim),
  };
  return { ...whole, findings: checkWheel(whole) };
}

/** A hole that is not surely one, where the end of an arbor would be seen: rather no bore than a false eccentricity. */
function isArbor(bore: Bore | undefined, circle: ToothCircle, face: FacePlane): boolean {
  if (bore === undefined || bore.surelyOpen) return false;
  const [x, y] = circle.centreMm;
  return standsAway(face, [bore.xMm - x, bore.yMm - y], Math.hypot(circle.uCentreMm, bore.uCentreMm));
}

/** Escape wheels of clocks have 30 to 42 teeth as a rule, ratchet wheels fewer (common practice, no source). */
const fewestEscapeTeeth = 18;

function kindOf(count: number, circle: ToothCircle | undefined): Part["kind"] {
  if (circle === undefined || !isRaked(circle)) return "wheel";
  return count >= fewestEscapeTeeth ? "escape-wheel" : "ratchet";
}

const planePoint = (face: FacePlane, [x, y]: readonly [number, number]): Point => {
  const [a, b, c, d] = face.affine;
  return [face.xMm + a * x + b * y, face.yMm + c * x + d * y];
};

function lengthsOf(
  depth: ToothDepth,
  shared: WheelInputs,
  count: number,
  owner: string,
  kind: Part["kind"],
): Partial<Part> {
  const { terms, uMeanEdgeMm } = shared;
  const tip = quantity(2 * depth.tipMm, "mm", [
    ...stretchTerms(terms, 2 * depth.tipMm),
    [`resolution:tip-${owner}`, 2 * depth.uTipMm],
    [`edge:outline-${owner}`, 2 * uMeanEdgeMm],
  ]);
  const root = quantity(2 * depth.rootMm, "mm", [
    ...stretchTerms(terms, 2 * depth.rootMm),
    [`resolution:root-${owner}`, 2 * depth.uRootMm],
    [`edge:outline-${owner}`, 2 * uMeanEdgeMm],
  ]);
  const toothDepth = propagate(depth.tipMm - depth.rootMm, "mm", [
    [tip, 0.5],
    [root, -0.5],
  ]);
  // Raked teeth have no pitch circle.
  const module = kind === "wheel" ? moduleFromDiameters(count, tip, root, owner) : undefined;
  if (module === undefined) return { tipDiameterMm: tip, rootDiameterMm: root, toothDepthMm: toothDepth };
  const m = module.moduleMm;
  return {
    tipDiameterMm: tip,
    rootDiameterMm: root,
    toothDepthMm: toothDepth,
    pitchDiameterMm: propagate(m.value * count, "mm", [[m, count]]),
    moduleMm: m,
    diametralPitch: propagate(25.4 / m.value, "1", [[m, -25.4 / m.value ** 2]]),
    addendumAssumption: module.assumption,
    nearestPreferredModuleMm: nearestPreferredModule(m.value),
  };
}

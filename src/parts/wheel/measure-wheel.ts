import { fitReferenceCircles } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { failed, type Problem } from "../../problem/index.js";
import {
  angleOfVector,
  magnitudeOfVector,
  propagate,
  quantity,
  standardUncertainty,
  type InputId,
  type Quantity,
  type Term,
} from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms, type CircleTerm } from "../camera-terms.js";
import type { Contrast } from "../contrast.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import type { FaceHeight } from "../face-height.js";
import type { Part, PartOutlinePx, Point, TeethCount, ToothPlace } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import { checkWheel } from "./check-wheel.js";
import { countTeeth, evenScatter, type ToothCount } from "./count-teeth.js";
import { readFaceLikeness } from "./face-likeness.js";
import { findRim, type Rim } from "./find-rim.js";
import { measureToothDepth } from "./measure-tooth-depth.js";
import { fitToothCircle, isRaked, type ToothCircle } from "./fit-tooth-circle.js";
import type { ToothDepth } from "./fit-tooth-depth.js";
import { doubtShadows, isUnround, weighOutline } from "./shadows.js";
import { moduleFromDiameters, nearestPreferredModule } from "./module-from-diameters.js";
import { readRimSignal, type Band } from "./rim-signal.js";
import { readToothPlaces, type ToothPlaces } from "./tooth-places.js";
import { signalBlurPx } from "./signal-blur.js";
import { readWeb, type Bore } from "./read-web.js";

/** A wheel whose teeth were counted, before anything is measured in mm. */
export interface CountedWheel {
  readonly rim: Rim;
  readonly contrast: Contrast;
  readonly count: ToothCount;
  /** What the count would be worth if it were known that no shadow passes for metal; only where that lowered it. */
  readonly unshadowed?: number;
  /** What this way of telling metal alone makes of the count, where another made it surer. */
  readonly alone?: number;
  /** Counted by likeness to the face, round a rim told by colour. */
  readonly byFace?: true;
}

export function countWheel(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  radiusMm: number,
): CountedWheel | undefined {
  const rim = findRim(photo, contrast, face, radiusMm);
  if (rim === undefined || rim.seen < 0.25) return undefined;
  const count = countTeeth(readRimSignal(photo, contrast, rim));
  if (count === undefined) return undefined;
  const sure = doubtShallow(rim, countAgain(photo, contrast, rim, count));
  const doubted = doubtShadows(contrast, rim, sure);
  return { rim, contrast, count: doubted, ...(doubted !== sure && { unshadowed: sure.probability }) };
}

/** With fewer teeth the strongest line may as well come from crossings or light. */
const fewestByLine = 24;
/** Most that a count by likeness to the face is worth: where colour's strongest line says the same, and where not. */
const mostByFace = { backed: 0.985, alone: 0.8 };

/**
 * Teeth too fine for colour counted by their likeness to the face (`face-likeness.ts`): alone it may slip a tooth
 * where paper or shade is as light as the metal, so it needs another to say the same.
 *
 * @param contrast by colour, in which no shadow has a part.
 */
export function countByFace(
  photo: Photo,
  contrast: Contrast,
  face: FacePlane,
  radiusMm: number,
): CountedWheel | undefined {
  const rim = findRim(photo, contrast, face, radiusMm);
  if (rim === undefined || rim.seen < 0.25) return undefined;
  const own = readRimSignal(photo, contrast, rim);
  const count = countTeeth(readFaceLikeness(photo, rim, own));
  if (count === undefined) return undefined;
  const isBacked = count.count >= fewestByLine && countTeeth(own)?.spectralCount === count.count;
  const probability = Math.min(count.probability, isBacked ? mostByFace.backed : mostByFace.alone);
  return { rim, contrast, count: doubtShallow(rim, { ...count, probability }), byFace: true };
}

/** Teeth so few are large enough in any picture for their depth to be seen. */
const fewTeeth = 20;
/** Of the pitch. A tooth of cycloidal or involute form is 0.7 deep, a ratchet tooth 0.4 at least. */
const leastDepth = 0.25;
const mostShallow = 0.2;

/** The slot of a screw, the hole of a washer and the reeds of a coin make a rim wave a little: those are no teeth. */
function doubtShallow(rim: Rim, count: ToothCount): ToothCount {
  const pitchMm = (2 * Math.PI * rim.tipMm) / count.count;
  if (count.count > fewTeeth || rim.tipMm - rim.rootMm > leastDepth * pitchMm) return count;
  return { ...count, probability: Math.min(count.probability, mostShallow) };
}

const halves: readonly Band[] = [
  { from: 0.08, to: 0.42 },
  { from: 0.58, to: 0.9 },
];

/**
 * Where teeth stray, roots and tips are counted apart: on a thick wheel seen from the side the outline changes from
 * the upper to the lower edge on its way round, and may gain or lose a tooth. Both must give the same count.
 */
function countAgain(photo: Photo, contrast: Contrast, rim: Rim, count: ToothCount): ToothCount {
  if (count.scatter < evenScatter || (rim.tipMm - rim.rootMm) * pxPerMmOnFace(rim.face) < 5) return count;
  const others = halves
    .map((band) => countTeeth(readRimSignal(photo, contrast, rim, band)))
    .filter((other) => other !== undefined && other.probability > 0.3 && other.count !== count.count)
    .map((other) => other!.count);
  if (others.length === 0) return count;
  const probability = Math.min(count.probability, 0.55);
  const rest = (1 - probability) / (others.length + 1);
  return {
    ...count,
    probability,
    alternatives: [
      ...[...new Set(others)].map((n) => ({ count: n, probability: rest })),
      ...count.alternatives
        .filter((a) => !others.includes(a.count))
        .map((a) => ({ ...a, probability: a.probability * rest })),
    ],
  };
}

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
  const count = onMat ? weighOutline(wheel, circle, unclear) : wheel.count;
  if (unclear)
    problems.push(outlineUnclear(count.probability < wheel.count.probability ? "count and sizes" : "sizes"));

  const depth = circle && measureToothDepth(photo, view, contrast, rim, count, places, circle);
  const web = readWeb(photo, contrast, rim.face, depth?.rootMm ?? rim.rootMm, thick);
  const scaled = view.source !== "none";
  const centreLocal = circle?.centreMm ?? [0, 0];
  const tipMm = depth?.tipMm ?? rim.tipMm;
  const heightInput =
    view.source === "mat" ? { id: `height:${label ?? owner}` as InputId, uMm: height.uOutlineMm } : undefined;
  const terms = circleTerms(view, rim.face, tipMm, heightInput);
  const uEdgeMm = (by: Contrast): number =>
    Math.hypot(
      (by.growth === 0 && onMat ? uOutlineByLightPx : uOutlinePx) * pxMm,
      0.5 * view.edge.uShiftPx * pxMm,
      unclear ? unroundMm : 0,
    );
  const shared: Shared = {
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
    outlinePx: outlinesOf(rim.face, centreLocal, tipMm, depth?.rootMm ?? rim.rootMm, web.bore, scaled),
    ...(web.crossings === undefined ? {} : { crossings: { count: web.crossings } }),
    ...relativeEccentricity(circle, web.bore, tipMm),
  };
  if (!scaled || circle === undefined || depth === undefined) return { ...base, findings: checkWheel(base) };
  const lengths = lengthsOf(depth, shared, count.count, owner, base.kind);
  const whole: Part = {
    ...base,
    centreMm: planePoint(rim.face, centreLocal),
    ...(view.source === "mat" ? { faceHeightMm: height.faceMm(label ?? owner) } : {}),
    ...lengths,
    ...formOf(circle, depth, shared),
    ...boreOf(circle, web.bore, places, shared),
    rim: rimOf(rim),
  };
  return { ...whole, findings: checkWheel(whole) };
}

/** Escape wheels of clocks have 30 to 42 teeth as a rule, ratchet wheels fewer (common practice, no source). */
const fewestEscapeTeeth = 18;

function kindOf(count: number, circle: ToothCircle | undefined): Part["kind"] {
  if (circle === undefined || !isRaked(circle)) return "wheel";
  return count >= fewestEscapeTeeth ? "escape-wheel" : "ratchet";
}

interface Shared {
  readonly owner: string;
  readonly terms: readonly CircleTerm[];
  readonly uEdgeMm: number;
  /** Of the mean tooth, which goes by colour even where single teeth are too fine for that. */
  readonly uMeanEdgeMm: number;
  /** Metal was told by lightness alone. */
  readonly byLight: boolean;
}

const planePoint = (face: FacePlane, [x, y]: readonly [number, number]): Point => {
  const [a, b, c, d] = face.affine;
  return [face.xMm + a * x + b * y, face.yMm + c * x + d * y];
};

function lengthsOf(
  depth: ToothDepth,
  shared: Shared,
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

/** Form of the tip circle: slow harmonics, with the noise that single teeth put into them. */
function formOf(circle: ToothCircle, depth: ToothDepth, shared: Shared): Partial<Part> {
  const { owner, terms, uEdgeMm, byLight } = shared;
  const uHarmonic = Math.hypot(circle.uOvalMm, byLight || uEdgeMm > 3 * circle.uOvalMm ? 0.6 * uEdgeMm : 0);
  const component = (value: number, i: 0 | 1, name: string): Quantity<"mm"> =>
    quantity(value, "mm", [
      ...terms.map((t): Term => [t.id, name === "oval" ? t.ovalMm[i] : 0]),
      [`fit:${name}-${i}-${owner}`, uHarmonic],
    ]);
  const oval = magnitudeOfVector(
    component(circle.ovalMm[0], 0, "oval"),
    component(circle.ovalMm[1], 1, "oval"),
  );
  const lobes = magnitudeOfVector(
    component(circle.threeLobeMm[0], 0, "lobe"),
    component(circle.threeLobeMm[1], 1, "lobe"),
  );
  const angle = angleOfVector(component(circle.ovalMm[0], 0, "oval"), component(circle.ovalMm[1], 1, "oval"));
  const round = roundnessOf(circle, depth.tipMm, uHarmonic, oval, owner);
  return {
    ovalityMm: propagate(4 * oval.value, "mm", [[oval, 4]]),
    ...(angle === undefined ? {} : { ovalityAngleRad: propagate(angle.value / 2, "rad", [[angle, 0.5]]) }),
    threeLobeMm: propagate(2 * lobes.value, "mm", [[lobes, 2]]),
    roundnessMm: round.leastSquares,
    ...(round.minimumZone === undefined ? {} : { roundnessMinimumZoneMm: round.minimumZone }),
  };
}

/**
 * Roundness of the slow form (orders 2 to 5): the spread over single teeth would be mostly the noise of the picture.
 * What noise alone would show is taken off in square.
 */
function roundnessOf(
  circle: ToothCircle,
  tipMm: number,
  uHarmonic: number,
  oval: Quantity<"mm">,
  owner: string,
): { leastSquares: Quantity<"mm">; minimumZone: Quantity<"mm"> | undefined } {
  const orders = [
    { order: 2, cosine: circle.ovalMm[0], sine: circle.ovalMm[1] },
    { order: 3, cosine: circle.threeLobeMm[0], sine: circle.threeLobeMm[1] },
    ...circle.slowFormMm,
  ];
  const steps = 180;
  const xy = new Float64Array(2 * steps);
  let high = -Infinity;
  let low = Infinity;
  for (let i = 0; i < steps; i++) {
    const t = (2 * Math.PI * i) / steps;
    const d = orders.reduce(
      (s, h) => s + h.cosine * Math.cos(h.order * t) + h.sine * Math.sin(h.order * t),
      0,
    );
    high = Math.max(high, d);
    low = Math.min(low, d);
    xy[2 * i] = (tipMm + d) * Math.cos(t);
    xy[2 * i + 1] = (tipMm + d) * Math.sin(t);
  }
  const range = high - low;
  // Independent harmonics of amplitude sqrt(2) u each spread over about 2.2 sqrt(orders) times that.
  const noise = 2.2 * Math.SQRT2 * uHarmonic * Math.sqrt(orders.length);
  const known = Math.sqrt(Math.max(0, range ** 2 - noise ** 2));
  const own = Math.max(0.5 * noise, range > noise ? 0 : 0.6 * noise);
  const terms: Term[] = [[`fit:roundness-${owner}`, own]];
  const leastSquares = propagate(known, "mm", [[{ ...oval, value: oval.value }, 2]], terms);
  const zones = fitReferenceCircles(xy);
  if (!zones.ok) return { leastSquares, minimumZone: undefined };
  const zone = zones.value.minimumZone.deviation;
  const minimum = Math.sqrt(Math.max(0, zone ** 2 - noise ** 2));
  return { leastSquares, minimumZone: propagate(minimum, "mm", [[oval, 2]], terms) };
}

/** The tooth circle against the bore: eccentricity both ways, and run-out about the bore's axis. */
function boreOf(
  circle: ToothCircle,
  bore: Bore | undefined,
  places: ToothPlaces,
  shared: Shared,
): Partial<Part> {
  if (bore === undefined) return {};
  const { owner, terms, uEdgeMm } = shared;
  const component = (i: 0 | 1): Quantity<"mm"> =>
    quantity(circle.centreMm[i] - (i === 0 ? bore.xMm : bore.yMm), "mm", [
      // Camera and height shift tooth circle and bore alike; what they stretch between the centres is negligible.
      [`fit:tooth-circle-${i}-${owner}`, circle.uCentreMm],
      [`edge:bore-${i}-${owner}`, bore.uCentreMm],
    ]);
  const x = component(0);
  const y = component(1);
  const amount = magnitudeOfVector(x, y);
  const angle = angleOfVector(x, y);
  const uGap = Math.hypot(circle.uRadialMm, circle.uTangentialMm);
  const boreDiameterMm = quantity(2 * bore.radiusMm, "mm", [
    ...stretchTerms(terms, 2 * bore.radiusMm),
    [`fit:bore-${owner}`, 2 * bore.uRadiusMm],
    [`edge:outline-${owner}`, -2 * uEdgeMm],
  ]);
  return {
    boreDiameterMm,
    eccentricityMm: amount,
    ...(angle === undefined ? {} : { eccentricityAngleRad: angle }),
    eccentricityEstimates: {
      datum: "bore",
      radialMm: [circle.radialMm[0] - bore.xMm, circle.radialMm[1] - bore.yMm],
      tangentialMm: [circle.tangentialMm[0] - bore.xMm, circle.tangentialMm[1] - bore.yMm],
      uMm: Math.hypot(uGap, bore.uCentreMm),
      agree: circle.centresAgree,
    },
    radialRunoutMm: runoutOf(circle, bore, places, amount, owner),
  };
}

/** Full reading about the bore's axis (ISO 1101): the slow form of the tips with the eccentricity put back. */
function runoutOf(
  circle: ToothCircle,
  bore: Bore,
  places: ToothPlaces,
  eccentricity: Quantity<"mm">,
  owner: string,
): Quantity<"mm"> {
  const orders = [
    { order: 1, cosine: circle.centreMm[0] - bore.xMm, sine: circle.centreMm[1] - bore.yMm },
    { order: 2, cosine: circle.ovalMm[0], sine: circle.ovalMm[1] },
    { order: 3, cosine: circle.threeLobeMm[0], sine: circle.threeLobeMm[1] },
  ];
  let high = -Infinity;
  let low = Infinity;
  for (const t of places.angleRad) {
    const d = orders.reduce(
      (s, h) => s + h.cosine * Math.cos(h.order * t) + h.sine * Math.sin(h.order * t),
      0,
    );
    high = Math.max(high, d);
    low = Math.min(low, d);
  }
  const uForm = circle.tipScatterMm * Math.sqrt(2 / circle.usedTeeth);
  const noise = 2 * Math.hypot(standardUncertainty(eccentricity), 1.5 * uForm);
  const value = Math.sqrt(Math.max(0, (high - low) ** 2 - noise ** 2));
  return propagate(value, "mm", [[eccentricity, 2]], [[`fit:runout-${owner}`, 2 * uForm]]);
}

function relativeEccentricity(
  circle: ToothCircle | undefined,
  bore: Bore | undefined,
  tipMm: number,
): Pick<Part, "relativeEccentricity"> {
  if (circle === undefined || bore === undefined) return {};
  const u = Math.hypot(circle.uCentreMm, bore.uCentreMm);
  const part = (value: number, name: string): Quantity<"mm"> => quantity(value, "mm", [[`fit:${name}`, u]]);
  const amount = magnitudeOfVector(
    part(circle.centreMm[0] - bore.xMm, "across"),
    part(circle.centreMm[1] - bore.yMm, "along"),
  );
  return {
    relativeEccentricity: quantity(amount.value / (2 * tipMm), "1", [
      ["fit:tooth-circle", standardUncertainty(amount) / (2 * tipMm)],
    ]),
  };
}

function teethOf(
  places: ToothPlaces,
  count: ToothCount,
  circle: ToothCircle | undefined,
  depth: ToothDepth | undefined,
  scaled: boolean,
): TeethCount {
  const tipMm = depth?.tipMm ?? places.tipMm;
  const order = [...places.angleRad.keys()].sort(
    (p, q) => positive(places.angleRad[p]!) - positive(places.angleRad[q]!),
  );
  const list = order.map((k, i): ToothPlace => {
    const angleRad = positive(places.angleRad[k]!);
    const index = circle?.indexDeviationMm[k];
    const tip = circle?.tipDeviationMm[k];
    return {
      number: i + 1,
      angleRad,
      state: circle?.states[k] ?? (places.seen[k] ? "whole" : "unseen"),
      tipPx: pixelFromFace(places.face, tipMm, angleRad),
      ...(scaled && index !== undefined && !Number.isNaN(index) ? { indexDeviationMm: index } : {}),
      ...(scaled && tip !== undefined && !Number.isNaN(tip) ? { tipDeviationMm: tip } : {}),
    };
  });
  return {
    count: count.count,
    probability: count.probability,
    alternatives: count.alternatives,
    places: list,
    missing: list.filter((p) => p.state === "missing").map(({ angleRad }) => ({ angleRad })),
    bent: (circle?.bent ?? []).map(({ place, offsetMm }) => ({
      angleRad: positive(places.angleRad[place]!),
      offsetMm,
    })),
  };
}

const positive = (rad: number): number => ((rad % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);

function outlinesOf(
  face: FacePlane,
  centre: readonly [number, number],
  tipMm: number,
  rootMm: number,
  bore: Bore | undefined,
  scaled: boolean,
): PartOutlinePx {
  const [a, b, c, d] = face.affine;
  const about = (x: number, y: number, radius: number): Point[] => {
    const moved: FacePlane = { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y };
    return Array.from({ length: 96 }, (_, i) => pixelFromFace(moved, radius, (2 * Math.PI * i) / 96));
  };
  const below: FacePlane = { ...face, yMm: face.yMm - 1.25 * tipMm };
  const barMm = [1, 2, 5, 10, 20, 50].filter((l) => l <= tipMm).at(-1) ?? 1;
  return {
    tipCircle: about(...centre, tipMm),
    rootCircle: about(...centre, rootMm),
    pitchCircle: about(...centre, 0.5 * (tipMm + rootMm)),
    ...(bore === undefined ? {} : { bore: about(bore.xMm, bore.yMm, bore.radiusMm) }),
    ...(scaled
      ? {
          scaleBar: {
            from: pixelFromFace(below, barMm / 2, Math.PI),
            to: pixelFromFace(below, barMm / 2, 0),
            lengthMm: barMm,
          },
        }
      : {}),
  };
}

function rimOf(rim: Rim): NonNullable<Part["rim"]> {
  const n = rim.outlineMm.length;
  const radiusMm = new Float64Array(n);
  const seen = new Uint8Array(n);
  let last = rim.tipMm;
  for (let i = 0; i < n; i++) {
    const r = rim.outlineMm[i]!;
    if (!Number.isNaN(r)) {
      last = r;
      seen[i] = 1;
    }
    radiusMm[i] = last;
  }
  return { startAngleRad: 0, stepRad: (2 * Math.PI) / n, radiusMm, seen };
}

import { stretchTerms, type CircleTerm } from "../camera-terms.js";
import {
  angleOfVector,
  magnitudeOfVector,
  propagate,
  quantity,
  standardUncertainty,
  type Quantity,
  type Term,
} from "../../quantity/index.js";
import type { Part } from "../part.js";
import type { ToothCircle } from "./fit-tooth-circle.js";
import type { Bore } from "./find-bore.js";
import type { ToothPlaces } from "./tooth-places.js";
import type { WheelInputs } from "./wheel-inputs.js";

/**
 * The tooth circle against the bore: eccentricity both ways, and run-out about the bore's axis.
 *
 * @param ofBore what each input of `shared.terms` does to a circle as small as the bore.
 */
export function boreOf(
  circle: ToothCircle,
  bore: Bore | undefined,
  places: ToothPlaces,
  shared: WheelInputs,
  ofBore: readonly CircleTerm[],
): Partial<Part> {
  if (bore === undefined) return {};
  const { owner, terms, uEdgeMm } = shared;
  const uOf = uBetween(circle, bore);
  const component = (i: 0 | 1): Quantity<"mm"> =>
    quantity(circle.centreMm[i] - (i === 0 ? bore.xMm : bore.yMm), "mm", [
      // Camera and height shift tooth circle and bore nearly alike: a lean draws a large circle off the middle of a small one.
      ...terms.map((tip, k): Term => {
        const small = ofBore[k]!;
        return [tip.id, i === 0 ? tip.dxMm - small.dxMm : tip.dyMm - small.dyMm];
      }),
      [`fit:tooth-circle-${i}-${owner}`, uOf(i)],
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

/**
 * Of a coordinate of tooth circle minus bore, but for the bore's own edge. The wall draws both towards the camera, and
 * so much of what is not known of it cancels.
 */
function uBetween({ wall, uCentreMm }: ToothCircle, { perWallMm }: Bore): (i: 0 | 1) => number {
  return (i) => {
    const drawn = perWallMm[i];
    const variance = uCentreMm ** 2 - 2 * drawn * wall.withCentreMm[i] + (drawn * wall.u) ** 2;
    return Math.sqrt(Math.max(variance, 0.25 * uCentreMm ** 2));
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

/** Eccentricity over tip diameter: the same with a scale and without. */
export function relativeEccentricity(
  circle: ToothCircle | undefined,
  bore: Bore | undefined,
  tipMm: number,
): Pick<Part, "relativeEccentricity"> {
  if (circle === undefined || bore === undefined) return {};
  const uOf = uBetween(circle, bore);
  const part = (value: number, i: 0 | 1): Quantity<"mm"> =>
    quantity(value, "mm", [[`fit:${i}`, Math.hypot(uOf(i), bore.uCentreMm)]]);
  const amount = magnitudeOfVector(
    part(circle.centreMm[0] - bore.xMm, 0),
    part(circle.centreMm[1] - bore.yMm, 1),
  );
  return {
    relativeEccentricity: quantity(amount.value / (2 * tipMm), "1", [
      ["fit:tooth-circle", standardUncertainty(amount) / (2 * tipMm)],
    ]),
  };
}

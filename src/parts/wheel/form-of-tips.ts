import { fitReferenceCircles } from "../../fit/index.js";
import {
  angleOfVector,
  magnitudeOfVector,
  propagate,
  quantity,
  type Quantity,
  type Term,
} from "../../quantity/index.js";
import type { Part } from "../part.js";
import type { ToothCircle } from "./fit-tooth-circle.js";
import type { ToothDepth } from "./tooth-depth.js";
import type { WheelInputs } from "./wheel-inputs.js";

/** Form of the tip circle: slow harmonics, with the noise that single teeth put into them. */
export function formOf(circle: ToothCircle, depth: ToothDepth, shared: WheelInputs): Partial<Part> {
  const { owner, terms, uEdgeMm, byLight } = shared;
  const uHarmonic = Math.hypot(circle.uOvalMm, byLight || uEdgeMm > 3 * circle.uOvalMm ? 0.6 * uEdgeMm : 0);
  const component = (value: number, i: 0 | 1, name: string): Quantity<"mm"> =>
    quantity(value, "mm", [
      ...terms.map((t): Term => [t.id, name === "oval" ? t.ovalMm[i] : 0]),
      [`fit:${name}-${i}-${owner}`, uHarmonic],
      [`edge:wall-${name}-${owner}`, name === "oval" ? circle.ovalByWallMm[i] : 0],
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

import type { InputId } from "../../quantity/index.js";
import type { TermedNumbers } from "../fit-by-terms.js";
import { measureMovement, type Movement, type Readings } from "./measure-movement.js";
import type { PlayReading } from "./read-play.js";

export interface PlayMovements {
  readonly radial: Movement<"mm">;
  readonly twist: Movement<"rad">;
  readonly rock: Movement<"rad">;
  /** The arbor leaned over together with the face: then the face's slope is no rock. */
  readonly leanedTogether: boolean;
}

/**
 * Height over the face at which an arbor is seen, on the whole, before the photographs have their say: pinion, square
 * or pivot. Common practice, no source.
 */
const seenAtMm = 5;
const uSeenAtMm = 4;
/** From another side other parts of it are seen, and that height is another by so much. */
const uSeenAtOnceMm = 0.4;
/** A wheel may stand askew on its arbor by so much, as a slope, without being loose: that turns with both. */
const uAskew = 0.006;
const leastSlope = 1e-4;
/** A wheel rocks about some point so far over or under its face, mm (a bore, a collet), and moves sideways with that. */
const uFarPivotMm = 3;
/**
 * The same while it is asked whether the arbor leaned over with it: a freer pivot would explain that as well, and a tight
 * wheel would be called loose.
 */
const uNearPivotMm = 0.7;

/**
 * Splits what happened between the photographs into radial play, twist and rock of the wheel against its arbor.
 *
 * @param mayRock false for a wheel that lies on the sheet.
 */
export function playMovements(readings: readonly PlayReading[], mayRock = true): PlayMovements | undefined {
  const rock = measureMovement(alongBest(rockReadings(readings)));
  const twist = measureMovement(twistReadings(readings, rock?.seen === "moved"));
  if (twist === undefined || rock === undefined) return undefined;
  // A slope, seen or not, moves the centre that the tips give; where there may be one, the spacing alone counts.
  const sloped = mayRock || rock.seen === "moved";
  const upright = measureMovement(radialReadings(readings, sloped, 0, 0));
  if (upright === undefined) return undefined;
  if (rock.seen !== "moved") return { radial: upright, twist, rock, leanedTogether: false };
  // Either way about a point of its own, which moves the face sideways.
  const alone = measureMovement(radialReadings(readings, sloped, 0, uNearPivotMm)) ?? upright;
  const leaning = measureMovement(radialReadings(readings, sloped, 1, uNearPivotMm));
  if (leaning !== undefined && leaning.chiSquared < alone.chiSquared - clearlyBetter)
    return { radial: leaning, twist, rock, leanedTogether: true };
  const rocked = measureMovement(radialReadings(readings, sloped, 0, uFarPivotMm)) ?? alone;
  return { radial: rocked, twist, rock, leanedTogether: false };
}

/** Of chi-squared: 1 in 400. */
const clearlyBetter = 9;

/**
 * The arbor from the tooth circle's centre, in the wheel's own frame:
 *
 *     seen = offset + height x lean (+ play)
 *
 * Offset and height are the same in all photographs, however wheel and arbor were moved about together; what is left
 * is play. @param follows 1 if the arbor leans over with the face, 0 if it stays upright.
 * @param uPivotMm how far over or under the face the point may lie about which it rocks; 0: it does not.
 */
function radialReadings(
  readings: readonly PlayReading[],
  sloped: boolean,
  follows: 0 | 1,
  uPivotMm: number,
): Readings<"mm"> {
  const n = readings.length;
  const m = 2 * n + 1;
  const values = new Float64Array(m);
  const design = new Float64Array(3 * m);
  const terms = new Map<InputId, Float64Array>();
  const put = (id: InputId, k: number, x: number, y: number): void => {
    const [a, b] = intoWheel(readings[k]!.turnRad, x, y);
    const term = terms.get(id) ?? new Float64Array(m);
    terms.set(id, term);
    term[2 * k]! += a;
    term[2 * k + 1]! += b;
  };
  const meanSlope = mean(readings.map((r) => r.slope));
  const meanLean = mean(readings.map((r) => r.lean));
  readings.forEach((r, k) => {
    const slope = [r.slope[0] - meanSlope[0], r.slope[1] - meanSlope[1]] as const;
    const [x, y] = intoWheel(r.turnRad, ...(sloped ? r.arborFromSpacingMm : r.arborMm));
    values.set([x, y], 2 * k);
    // The arbor's upper end goes the way the face slopes down.
    const [lx, ly] = intoWheel(r.turnRad, r.lean[0] - follows * slope[0], r.lean[1] - follows * slope[1]);
    design.set([1, 0, lx, 0, 1, ly], 6 * k);
    put(`fit:arbor-x-${k}`, k, r.uArborMm, 0);
    put(`fit:arbor-y-${k}`, k, 0, r.uArborMm);
    const uCentre = sloped ? r.uSpacingMm : r.uCentreMm;
    put(`fit:tooth-circle-x-${k}`, k, uCentre, 0);
    put(`fit:tooth-circle-y-${k}`, k, 0, uCentre);
    const wall = sloped ? r.spacingWallMm : r.centreWallMm;
    put("edge:wall", k, -wall[0], -wall[1]);
    if (uPivotMm > 0) put("height:rock-pivot", k, uPivotMm * slope[0], uPivotMm * slope[1]);
    for (const { id, dx, dy } of r.leanTerms) put(id, k, seenAtMm * dx, seenAtMm * dy);
    put(
      `height:arbor-${k}`,
      k,
      uSeenAtOnceMm * (r.lean[0] - meanLean[0]),
      uSeenAtOnceMm * (r.lean[1] - meanLean[1]),
    );
  });
  values[m - 1] = seenAtMm;
  design.set([0, 0, 1], 3 * (m - 1));
  terms.set(
    "height:arbor",
    Float64Array.from({ length: m }, (_, i) => (i === m - 1 ? uSeenAtMm : 0)),
  );
  const observed: TermedNumbers = { values, terms };
  return { unit: "mm", perPhoto: 2, photos: n, observed, design, unknowns: 3, name: "radial" };
}

/**
 * @param rocked a face that slopes is seen turned against an upright arbor by up to slope x lean, as the camera looks
 *   from one side.
 */
function twistReadings(readings: readonly PlayReading[], rocked: boolean): Readings<"rad"> {
  const n = readings.length;
  const meanSlope = mean(readings.map((r) => r.slope));
  const terms = new Map<InputId, Float64Array>();
  readings.forEach((r, k) => {
    const term = new Float64Array(n);
    const slope = Math.hypot(r.slope[0] - meanSlope[0], r.slope[1] - meanSlope[1]);
    term[k] = Math.hypot(r.uTwistRad, rocked ? slope * Math.hypot(...r.lean) : 0);
    terms.set(`fit:twist-${k}`, term);
  });
  return {
    unit: "rad",
    perPhoto: 1,
    photos: n,
    observed: { values: Float64Array.from(readings, (r) => r.twistRad), terms },
    design: new Float64Array(n).fill(1),
    unknowns: 1,
    name: "twist",
  };
}

function rockReadings(readings: readonly PlayReading[]): Readings<"rad"> {
  const n = readings.length;
  const terms = new Map<InputId, Float64Array>();
  const put = (id: InputId, k: number, x: number, y: number): void => {
    const term = terms.get(id) ?? new Float64Array(2 * n);
    terms.set(id, term);
    term[2 * k]! += x;
    term[2 * k + 1]! += y;
  };
  const design = new Float64Array(4 * n);
  readings.forEach((r, k) => {
    design.set([1, 0, 0, 1], 4 * k);
    for (const { id, dx, dy } of r.slopeTerms) put(id, k, dx, dy);
    const [c, s] = [Math.cos(r.turnRad), Math.sin(r.turnRad)];
    put("edge:askew-x", k, uAskew * c, uAskew * s);
    put("edge:askew-y", k, -uAskew * s, uAskew * c);
    // A little of each is its own, whatever photographs share.
    put(`fit:slope-x-${k}`, k, leastSlope, 0);
    put(`fit:slope-y-${k}`, k, 0, leastSlope);
  });
  const values = Float64Array.from(readings.flatMap((r) => [...r.slope]));
  return {
    unit: "rad",
    perPhoto: 2,
    photos: n,
    observed: { values, terms },
    design,
    unknowns: 2,
    name: "rock",
  };
}

/** One direction counts alone where the other is known so much worse. */
const worthAlone = 0.5;

/**
 * A camera from one side shows a rock towards it far better than one across. Then the first counts alone, for a wheel
 * that is loose rocks either way.
 */
function alongBest(readings: Readings<"rad">): Readings<"rad"> {
  const { photos, observed } = readings;
  const sums = { xx: 0, xy: 0, yy: 0 };
  for (const term of observed.terms.values()) {
    const [mx, my] = mean(
      Array.from({ length: photos }, (_, k) => [term[2 * k]!, term[2 * k + 1]!] as const),
    );
    for (let k = 0; k < photos; k++) {
      const [x, y] = [term[2 * k]! - mx, term[2 * k + 1]! - my];
      sums.xx += x * x;
      sums.xy += x * y;
      sums.yy += y * y;
    }
  }
  const half = Math.hypot((sums.xx - sums.yy) / 2, sums.xy);
  const middle = (sums.xx + sums.yy) / 2;
  if (Math.sqrt(Math.max(0, middle - half)) > worthAlone * Math.sqrt(middle + half)) return readings;
  const angle = 0.5 * Math.atan2(2 * sums.xy, sums.xx - sums.yy) + Math.PI / 2;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const along = (v: Float64Array): Float64Array =>
    Float64Array.from({ length: photos }, (_, k) => c * v[2 * k]! + s * v[2 * k + 1]!);
  return {
    ...readings,
    perPhoto: 1,
    observed: {
      values: along(observed.values),
      terms: new Map([...observed.terms].map(([id, term]) => [id, along(term)])),
    },
    design: new Float64Array(photos).fill(1),
    unknowns: 1,
  };
}

const intoWheel = (turnRad: number, x: number, y: number): [number, number] => {
  const [c, s] = [Math.cos(turnRad), Math.sin(turnRad)];
  return [c * x + s * y, c * y - s * x];
};

const mean = (points: readonly (readonly [number, number])[]): [number, number] => [
  points.reduce((s, p) => s + p[0], 0) / points.length,
  points.reduce((s, p) => s + p[1], 0) / points.length,
];

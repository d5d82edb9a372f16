import { failed, ok, type Outcome } from "../problem/index.js";
import { checkPoints } from "./check-points.js";
import { fitCircle, type CircleFit } from "./fit-circle.js";
import type { Circle } from "./guess-circle.js";
import { leastOverPlane, type Cut, type Pieces } from "./least-over-plane.js";
import { smallestEnclosingCircle } from "./smallest-enclosing-circle.js";

/** A reference circle and the roundness deviation about its centre: largest minus smallest distance. */
export interface ReferenceCircle extends Circle {
  readonly deviation: number;
}

/** Two concentric circles that hold the profile between them; `deviation` is the difference of their radii. */
export interface MinimumZone {
  readonly x: number;
  readonly y: number;
  readonly innerRadius: number;
  readonly outerRadius: number;
  readonly deviation: number;
}

export interface ReferenceCircles {
  /** LSCI, with covariance and rms as from fitCircle. */
  readonly leastSquares: ReferenceCircle & CircleFit;
  /** MZCI: its deviation is the least that any centre gives. */
  readonly minimumZone: MinimumZone;
  /** MCCI: the smallest circle round the profile. */
  readonly minimumCircumscribed: ReferenceCircle;
  /** MICI: the largest circle inside the profile. */
  readonly maximumInscribed: ReferenceCircle;
}

/**
 * The four reference circles of a closed profile. The circumscribed circle is exact; zone and inscribed circle
 * are exact local optima (reached from several starts; a profile whose deviation is small against its radius has
 * only one).
 *
 * @param xyMm n points x0, y0, x1, y1 ... all round the circle, any order, any one unit.
 * @returns circles; or problem "too-few-points" (n < 4, or half of the circle or more without points),
 *   "points-on-a-line".
 * @throws RangeError if the length is odd or a coordinate is not finite.
 * Source: ISO 12181-1, definitions (from memory).
 */
export function fitReferenceCircles(xyMm: Float64Array): Outcome<ReferenceCircles> {
  checkPoints(xyMm);
  const fitted = fitCircle(xyMm);
  if (!fitted.ok) return fitted;
  const leastSquares = fitted.value;
  if (widestGapRad(xyMm, leastSquares) >= Math.PI) {
    return failed(
      "too-few-points",
      "roundness: half of the circle or more has no points",
      "take points all round the circle",
    );
  }
  const profile = new Profile(xyMm, leastSquares.radius);
  const circumscribed = smallestEnclosingCircle(xyMm);
  const inscribed = [leastSquares, circumscribed]
    .map((start) => profile.descend(start, "inward"))
    .reduce((best, c) => (c.value < best.value ? c : best));
  const zone = [leastSquares, circumscribed, inscribed]
    .map((start) => profile.descend(start, "zone"))
    .reduce((best, c) => (c.value < best.value ? c : best));

  const deviationFrom = (x: number, y: number): number => {
    const [smallest, largest] = profile.extremes(x, y);
    return largest - smallest;
  };
  const [innerRadius, outerRadius] = profile.extremes(zone.x, zone.y);
  return ok({
    leastSquares: { ...leastSquares, deviation: deviationFrom(leastSquares.x, leastSquares.y) },
    minimumZone: { x: zone.x, y: zone.y, innerRadius, outerRadius, deviation: outerRadius - innerRadius },
    minimumCircumscribed: { ...circumscribed, deviation: deviationFrom(circumscribed.x, circumscribed.y) },
    maximumInscribed: {
      x: inscribed.x,
      y: inscribed.y,
      radius: profile.extremes(inscribed.x, inscribed.y)[0],
      deviation: deviationFrom(inscribed.x, inscribed.y),
    },
  });
}

interface Centre {
  readonly x: number;
  readonly y: number;
}

/** To first order, after moving the centre: minus the smallest distance; largest minus smallest distance. */
type Objective = "inward" | "zone";

/** Distances and directions of the points from a centre, and the minimax problems over them. */
class Profile implements Pieces {
  readonly #xy: Float64Array;
  readonly #n: number;
  readonly #radius: number;
  readonly #distance: Float64Array;
  readonly #ux: Float64Array;
  readonly #uy: Float64Array;
  #objective: Objective = "inward";

  constructor(xy: Float64Array, radius: number) {
    this.#xy = xy;
    this.#n = xy.length / 2;
    this.#radius = radius;
    this.#distance = new Float64Array(this.#n);
    this.#ux = new Float64Array(this.#n);
    this.#uy = new Float64Array(this.#n);
  }

  /** Smallest and largest distance of the points from a centre. */
  extremes(x: number, y: number): [number, number] {
    let smallest = Infinity;
    let largest = 0;
    for (let i = 0; i < this.#n; i++) {
      const dx = this.#xy[2 * i]! - x;
      const dy = this.#xy[2 * i + 1]! - y;
      const d = Math.sqrt(dx * dx + dy * dy);
      if (d < smallest) smallest = d;
      if (d > largest) largest = d;
    }
    return [smallest, largest];
  }

  deepestCut(x: number, y: number): Cut {
    const j = this.#nearest(x, y);
    if (this.#objective === "inward")
      return { gx: this.#ux[j]!, gy: this.#uy[j]!, value: -this.#distance[j]! };
    const i = this.#farthest(x, y);
    return {
      gx: this.#ux[j]! - this.#ux[i]!,
      gy: this.#uy[j]! - this.#uy[i]!,
      value: this.#distance[i]! - this.#distance[j]!,
    };
  }

  /** Moves the centre while the objective falls, by exact steps of the linearised problem: quadratic at the end. */
  descend(start: Centre, objective: Objective): Centre & { readonly value: number } {
    this.#objective = objective;
    const tolerance = 1e-14 * this.#radius;
    let { x, y } = start;
    let reach = 0.1 * this.#radius;
    let value = this.#lookFrom(x, y);
    for (let i = 0; i < 100; i++) {
      const step = leastOverPlane(this, reach, tolerance);
      if (!(step.value < value - tolerance)) break;
      const reached = this.#lookFrom(x + step.x, y + step.y);
      if (reached < value) {
        if (value - reached > 0.75 * (value - step.value)) reach *= 2;
        x += step.x;
        y += step.y;
        value = reached;
      } else {
        reach = 0.25 * Math.min(reach, Math.hypot(step.x, step.y));
        this.#lookFrom(x, y);
      }
    }
    return { x, y, value };
  }

  /** Takes (x, y) as the centre; returns the objective there. */
  #lookFrom(x: number, y: number): number {
    for (let i = 0; i < this.#n; i++) {
      const dx = this.#xy[2 * i]! - x;
      const dy = this.#xy[2 * i + 1]! - y;
      const d = Math.sqrt(dx * dx + dy * dy);
      this.#distance[i] = d;
      this.#ux[i] = d > 0 ? dx / d : 0;
      this.#uy[i] = d > 0 ? dy / d : 0;
    }
    return this.deepestCut(0, 0).value;
  }

  #nearest(x: number, y: number): number {
    let j = 0;
    let smallest = Infinity;
    for (let k = 0; k < this.#n; k++) {
      const d = this.#distance[k]! - this.#ux[k]! * x - this.#uy[k]! * y;
      if (d < smallest) {
        smallest = d;
        j = k;
      }
    }
    return j;
  }

  #farthest(x: number, y: number): number {
    let i = 0;
    let largest = -Infinity;
    for (let k = 0; k < this.#n; k++) {
      const d = this.#distance[k]! - this.#ux[k]! * x - this.#uy[k]! * y;
      if (d > largest) {
        largest = d;
        i = k;
      }
    }
    return i;
  }
}

/** Widest angle between neighbouring points, seen from the centre. */
function widestGapRad(xy: Float64Array, { x, y }: Centre): number {
  const angles = new Float64Array(xy.length / 2);
  for (let i = 0; i < angles.length; i++) angles[i] = Math.atan2(xy[2 * i + 1]! - y, xy[2 * i]! - x);
  angles.sort();
  let widest = angles[0]! + 2 * Math.PI - angles[angles.length - 1]!;
  for (let i = 1; i < angles.length; i++) widest = Math.max(widest, angles[i]! - angles[i - 1]!);
  return widest;
}

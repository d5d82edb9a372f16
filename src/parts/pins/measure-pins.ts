import { fitCircle, fitCircleRobust, medianOf } from "../../fit/index.js";
import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { quantity } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { learnBrassiness, rawColour, type Brassiness, type Coloured } from "../brassiness.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import { pixelFromFace, pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { FaceSampler } from "../face-sampler.js";
import { findSpots, readFaceCells, type Spot } from "./find-spots.js";
import type { PinPlace, PinsOfWheel, Point } from "../part.js";
import { divideCircle } from "./divide-circle.js";
import { fitStandingPins, type PinEnd, type StandingPins } from "./fit-standing-pins.js";
import { pinHeight } from "./pin-height.js";
import { readSpotEdge } from "./read-spot-edge.js";

export interface Pins extends PinsOfWheel {
  /** Middle of the circle of the feet, local coordinates of the face, mm. */
  readonly centreMm: readonly [number, number];
  /** Middle of the circle on which the middles of what is seen of them lie. */
  readonly ringMiddleMm: readonly [number, number];
  /** That they stand up is seen; else holes on a circle would look the same. */
  readonly isSure: boolean;
}

export interface WheelForPins {
  readonly face: FacePlane;
  readonly rootMm: number;
  /** What the bare surroundings look like, code values. */
  readonly neutral: Coloured;
  /** Axis of the wheel in local coordinates of the face: its bore, else its tooth circle. */
  readonly axis: { readonly xMm: number; readonly yMm: number; readonly uMm: number };
  readonly owner: string;
  /** Ends that lie in the face (trundles of a lantern pinion) instead of standing on it. */
  readonly areFlush?: boolean;
  readonly height: Parameters<typeof circleTerms>[3];
}

/** Pins of clock wheels, and what may pass for one (common practice, no source). */
const pinSizeMm: readonly [number, number] = [0.45, 3.4];
/** A pin seen from the side is a little longer than wide; a sliver of an opening is much so. */
const mostAspect = 3.2;
const mostAspectBent = 6;
/** Share of what lies round it that is face. */
const leastEnclosed = 0.7;
/** Rings on which pins may stand: first those with arms in them, then whole ones, for pins close to an opening. */
const faceShares = [0.55, 0.85] as const;
/** The trundles of a lantern take up most of their circle, and its shroud has no arms. */
const faceShareOfShroud = [0.15] as const;
const leastPxAcross = 4.5;
/** Half height of a pin against brass: light in the wall and bevels of the end, px. */
const uEdgePx = 0.35;
/** A bump lower than this is no pin; a hole looks like one of negative height. */
const leastHeightMm = 0.6;
/** A height less sure than this is not stated. */
const mostUHeightMm = 1.2;
/** Of 40 rays; those towards an opening of the crossings show no edge of face. */
const fewestRays = 18;
const offLeastMm = 0.25;

/** Looks for lifting pins on a measured wheel; undefined where there are none, or none that can be told from holes. */
export function measurePins(photo: Photo, view: View, wheel: WheelForPins): Pins | undefined {
  const { face, rootMm } = wheel;
  const pxPerMm = pxPerMmOnFace(face);
  const sampler = new FaceSampler(photo, face);
  const brassiness = learnFrom(sampler, wheel);
  if (brassiness === undefined) return undefined;
  const stepMm = Math.max(0.22, 1.3 / pxPerMm);
  const least = Math.max(pinSizeMm[0], leastPxAcross / pxPerMm);
  const band = { fromMm: 0.3 * rootMm, toMm: 0.985 * rootMm, stepMm };
  const sizes = [least, pinSizeMm[1]] as const;
  const cells = readFaceCells(sampler, brassiness, band);
  const eye = cameraCentreMm(face.geometry.cameraFromMat);
  const middles = middlesOfRing(wheel, view.source === "mat" && !wheel.areFlush ? eye : undefined);
  let ring: Spot[] = [];
  let spots: readonly Spot[] = [];
  for (const share of wheel.areFlush ? faceShareOfShroud : faceShares) {
    const found = findSpots(cells, sizes, share);
    const company = ringOf(found, middles);
    if (company.length > ring.length) [ring, spots] = [company, found];
  }
  if (ring.length < 2) return undefined;

  const size = medianOf(ring.map((s) => 2 * Math.sqrt(s.areaMm2 / Math.PI)));
  const outlines = ring.map((s) =>
    readSpotEdge(sampler, brassiness, s.xMm, s.yMm, 1.2 * size + 5 / pxPerMm, 0.5 / pxPerMm),
  );
  const good = ring.map((_, i) => i).filter((i) => outlines[i]!.length >= 2 * fewestRays);
  if (good.length < 2) return undefined;
  // Chroma is stored in blocks of two pixels: outline points closer than that share their error.
  const correlated = 4;
  const fit = fitStandingPins(
    good.map((i) => outlines[i]!),
    view.source === "mat" && !wheel.areFlush ? [eye[0] - face.xMm, eye[1] - face.yMm] : undefined,
    correlated,
  );
  if (fit === undefined) return undefined;
  const pins = describe(fit, wheel, view, (x, y) => {
    const t = Math.atan2(y, x);
    return sampler.at(x, y) && brassiness.isClear(t) && brassiness.at(sampler, t) > 0.7;
  });
  if (pins === undefined || pins.places.filter((p) => p.state === "off").length > mostOff * pins.count)
    return undefined;
  return withStrays(
    pins,
    spots.filter((s) => !ring.includes(s)),
    ring,
  );
}

/** Where more stand off their places than this, they are no pins, or too few of them were seen. */
const mostOff = 0.25;
/** A pin bent by more than this no longer belongs to its place; by less, from a spot alone or beside glare, none is called bent; mm. */
const mostBentMm = 4;
const leastBentMm = 0.8;

/** An empty place with a spot like the other pins beside it is that of a bent pin. */
function withStrays(pins: Pins, strays: readonly Spot[], ring: readonly Spot[]): Pins {
  if (ring.length < fewestToSpare) return pins;
  const [ringX, ringY] = pins.ringMiddleMm;
  const radius = medianOf(ring.map((s) => Math.hypot(s.xMm - ringX, s.yMm - ringY)));
  const area = medianOf(ring.map((s) => s.areaMm2));
  const pitchMm = (2 * Math.PI * radius) / pins.count;
  const places = pins.places.map((place): PinPlace => {
    if (place.state !== "missing") return place;
    const [x, y] = [ringX + radius * Math.cos(place.angleRad), ringY + radius * Math.sin(place.angleRad)];
    const beside = strays
      .filter(
        (s) =>
          s.enclosed > leastEnclosed &&
          s.aspect < mostAspectBent &&
          s.areaMm2 > 0.3 * area &&
          s.areaMm2 < 3 * area,
      )
      .map((s) => Math.hypot(s.xMm - x, s.yMm - y));
    // The middle of what is seen of a pin moves half as far as its end.
    const offMm = 2 * Math.min(...beside, Infinity);
    return offMm > leastBentMm && offMm < Math.min(pitchMm, mostBentMm)
      ? { ...place, state: "off", offMm }
      : place;
  });
  return { ...pins, places };
}

/** Glare takes the colour away on one side; on a small disc with large ends the face is learnt as a whole. */
const sectorsOf = (wheel: WheelForPins): number => (wheel.areFlush ? 1 : 18);

function learnFrom(sampler: FaceSampler, wheel: WheelForPins): Brassiness | undefined {
  const sectors = sectorsOf(wheel);
  const samples = Array.from({ length: sectors }, (): number[] => []);
  const turns = 144;
  for (let k = 0; k < turns; k++) {
    const t = (2 * Math.PI * k) / turns;
    for (const share of [0.76, 0.84, 0.89, 0.92, 0.95])
      if (sampler.at(share * wheel.rootMm * Math.cos(t), share * wheel.rootMm * Math.sin(t)))
        samples[Math.floor((k * sectors) / turns)]!.push(rawColour(sampler));
  }
  return learnBrassiness(samples, rawColour(wheel.neutral));
}

/** Lifting pins are no longer (common practice, no source), mm. */
const longestPinMm = 7;
const centresApartMm = 0.3;

/**
 * Where the middle of a ring of pins may be seen: on the axis, or beside it, away from the foot point of the camera, where
 * half the length of pins is seen from the side.
 */
function middlesOfRing({ axis, face }: WheelForPins, eyeMm: readonly number[] | undefined): Point[] {
  if (eyeMm === undefined) return [[axis.xMm, axis.yMm]];
  const [x, y] = [face.xMm + axis.xMm - eyeMm[0]!, face.yMm + axis.yMm - eyeMm[1]!];
  const away = Math.hypot(x, y);
  const mostMm = (0.5 * longestPinMm * away) / (eyeMm[2]! - face.zMm);
  return Array.from({ length: 1 + Math.floor(mostMm / centresApartMm) }, (_, k): Point => {
    const share = away > 0 ? (k * centresApartMm) / away : 0;
    return [axis.xMm + share * x, axis.yMm + share * y];
  });
}

/** Spots of like size at a like distance from one of these middles: the largest such company, and of two the rounder. */
function ringOf(spots: readonly Spot[], middles: readonly Point[]): Spot[] {
  const inside = spots.filter((s) => s.enclosed > leastEnclosed && s.aspect < mostAspect);
  let best: { readonly company: Spot[]; readonly spreadMm: number } = { company: [], spreadMm: 0 };
  for (const [x, y] of middles)
    for (const lead of inside) {
      const beside = (s: Spot): number => Math.hypot(s.xMm - x, s.yMm - y) - r;
      const r = Math.hypot(lead.xMm - x, lead.yMm - y);
      const company = inside.filter((s) => {
        const ratio = s.areaMm2 / lead.areaMm2;
        return Math.abs(beside(s)) < Math.max(0.4, 0.04 * r) && ratio > 0.45 && ratio < 2.2;
      });
      const spreadMm = Math.max(...company.map((s) => Math.abs(beside(s))));
      const { length } = best.company;
      if (company.length > length || (company.length === length && spreadMm < best.spreadMm - 0.1))
        best = { company, spreadMm };
    }
  return best.company;
}

function describe(
  fit: StandingPins,
  wheel: WheelForPins,
  view: View,
  isFaceAt: (xMm: number, yMm: number) => boolean,
): Pins | undefined {
  const { face, owner, axis } = wheel;
  const pxPerMm = pxPerMmOnFace(face);
  const eye = cameraCentreMm(face.geometry.cameraFromMat);
  const eyeMm = view.source === "mat" && !wheel.areFlush ? eye[2] - face.zMm : undefined;
  const uEdgeMm = uEdgePx / pxPerMm;
  const seen = circleOfEnds(fit, axis);
  if (seen === undefined) return undefined;
  const height = pinHeight({
    eyeMm,
    shiftMm: [seen.x - axis.xMm, seen.y - axis.yMm],
    uShiftMm: Math.hypot(seen.uCentre, axis.uMm),
    awayMm: [axis.xMm - (eye[0] - face.xMm), axis.yMm - (eye[1] - face.yMm)],
    drawnOut: fit.lean,
    uDrawnOut: Math.hypot(fit.uLean, (2 * uEdgeMm) / medianOf(fit.ends.map((e) => awayFrom(e, eye, face)))),
  });
  if (height.seenMm < leastHeightMm - height.uSeenMm && height.uSeenMm < mostUHeightMm) return undefined;

  // The circle of the feet: the ends drawn back towards the foot point.
  const back = 1 / (1 + height.lean);
  const onFoot = (value: number, foot: number): number => foot + back * (value - foot);
  const x = onFoot(seen.x, eye[0] - face.xMm);
  const y = onFoot(seen.y, eye[1] - face.yMm);
  const radius = seen.radius * back;
  const division = divideCircle(
    fit.ends.map((e) => Math.atan2(e.yMm - seen.y, e.xMm - seen.x)),
    (angleRad) =>
      isFaceAt(seen.x + seen.radius * Math.cos(angleRad), seen.y + seen.radius * Math.sin(angleRad)),
  );
  // Glare that hides some pins wears away the edges of others.
  const isGlary = division.places.some((p) => p.index === undefined && !p.isSeen);
  const leastOffMm = isGlary ? leastBentMm : offLeastMm;
  const places = division.places.map(({ angleRad, index, offRad, isSeen }): PinPlace => {
    const endAt = (xMm: number, yMm: number): Point =>
      pixelFromFace(face, Math.hypot(xMm, yMm), Math.atan2(yMm, xMm));
    if (index === undefined) {
      const endPx = endAt(
        seen.x + seen.radius * Math.cos(angleRad),
        seen.y + seen.radius * Math.sin(angleRad),
      );
      return { angleRad, state: isSeen ? "missing" : "unseen", endPx };
    }
    const end = fit.ends[index]!;
    const radial = Math.hypot(end.xMm - seen.x, end.yMm - seen.y) - seen.radius;
    const along = offRad * radius;
    const off = Math.hypot(radial, along);
    const isOff = off > Math.max(leastOffMm, 5 * Math.hypot(end.uMm, 0.4 * uEdgeMm));
    return {
      angleRad,
      state: isOff ? "off" : "whole",
      spacingDeviationMm: along,
      ...(isOff ? { offMm: off } : {}),
      endPx: endAt(end.xMm, end.yMm),
    };
  });
  const terms = circleTerms(view, face, radius, wheel.height);
  const diameter = 2 * radius;
  const pinDiameter = 2 * fit.radiusMm;
  return {
    count: places.length,
    places,
    circleDiameterMm: quantity(diameter, "mm", [
      ...stretchTerms(terms, diameter),
      [`fit:pin-circle-${owner}`, 2 * seen.uRadius],
      [`height:pins-${owner}`, diameter * height.uLean],
      // Ends that lie in the face have a bevel of their own, and the face has one round them.
      [`edge:pins-${owner}`, (wheel.areFlush ? 3 : 1.5) * uEdgeMm],
    ]),
    pinDiameterMm: quantity(pinDiameter, "mm", [
      ...stretchTerms(terms, pinDiameter),
      [`fit:pin-${owner}`, 2 * fit.uRadiusMm],
      [`edge:pin-outline-${owner}`, 3 * uEdgeMm],
    ]),
    ...(height.uSeenMm < mostUHeightMm
      ? { heightMm: quantity(height.seenMm, "mm", [[`height:pins-${owner}`, height.uSeenMm]]) }
      : {}),
    centreMm: [x, y],
    ringMiddleMm: [(x + seen.x) / 2, (y + seen.y) / 2],
    isSure: height.seenMm - height.uSeenMm > leastHeightMm,
  };
}

const awayFrom = (e: PinEnd, eye: readonly number[], face: FacePlane): number =>
  Math.max(1, Math.hypot(face.xMm + e.xMm - eye[0]!, face.yMm + e.yMm - eye[1]!));

interface EndCircle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  readonly uCentre: number;
  readonly uRadius: number;
}

/** Two ends this nearly opposite stand on a diameter. */
const oppositeRad = 0.2;

/** Through three ends or more, or on two that stand opposite each other; else about the axis. */
function circleOfEnds(fit: StandingPins, axis: WheelForPins["axis"]): EndCircle | undefined {
  const { ends } = fit;
  // Straight from above the lean of a wall may be left open, and with it the end; but it lies within its spot.
  const u = Math.min(medianOf(ends.map((e) => e.uMm)), fit.radiusMm / Math.sqrt(3));
  if (ends.length < 3) {
    const [a, b] = [ends[0]!, ends[1]!];
    const angle = (e: PinEnd): number => Math.atan2(e.yMm - axis.yMm, e.xMm - axis.xMm);
    const apart = Math.abs(angle(a) - angle(b));
    if (Math.abs(apart - Math.PI) < oppositeRad)
      return {
        x: (a.xMm + b.xMm) / 2,
        y: (a.yMm + b.yMm) / 2,
        radius: Math.hypot(a.xMm - b.xMm, a.yMm - b.yMm) / 2,
        // Across the diameter nothing is known but that they are nearly opposite.
        uCentre: Math.max(u, 0.05),
        uRadius: u / Math.SQRT2,
      };
    const radius = (e: PinEnd): number => Math.hypot(e.xMm - axis.xMm, e.yMm - axis.yMm);
    return {
      x: axis.xMm,
      y: axis.yMm,
      radius: (radius(a) + radius(b)) / 2,
      uCentre: axis.uMm + 0.05,
      uRadius: Math.hypot(u, axis.uMm),
    };
  }
  const xy = Float64Array.from(ends.flatMap((e) => [e.xMm, e.yMm]));
  const circle = fitCircleRobust(withoutBent(xy, u), { uPointMm: u });
  if (!circle.ok) return undefined;
  const { x, y, radius, covariance, scale } = circle.value;
  // Pins are set to a few hundredths; that scatter moves the circle too.
  const more = Math.max(1, scale / u);
  return {
    x,
    y,
    radius,
    uCentre: more * Math.sqrt((covariance[0]! + covariance[4]!) / 2),
    uRadius: more * Math.sqrt(covariance[8]!),
  };
}

/** Pins are set to a few hundredths, and seen a little less well; beyond this, in u, one of them is bent. */
const mostSpread = 2;
const fewestToSpare = 5;

/**
 * Of few pins a robust fit may call two bent where it is one: as long as leaving out one lets all others stand on a
 * circle, it is that one.
 */
function withoutBent(xy: Float64Array, u: number): Float64Array {
  const count = xy.length / 2;
  if (count < fewestToSpare || spreadOf(xy) <= mostSpread * u) return xy;
  const rests = Array.from({ length: count }, (_, k) => xy.filter((__, i) => i >> 1 !== k));
  const best = rests.reduce((a, b) => (spreadOf(b) < spreadOf(a) ? b : a));
  return spreadOf(best) <= mostSpread * u ? best : xy;
}

/** Spread of points about their circle, mm. */
function spreadOf(xy: Float64Array): number {
  const fit = fitCircle(xy);
  return fit.ok ? fit.value.rms : Infinity;
}

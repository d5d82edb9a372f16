import type { PlateHole } from "./match-plates.js";
import type { Measured } from "./movement.js";

/** Distance of two arbors, as the plates hold them. */
export interface ArborDistance extends Measured {
  readonly u: number;
  /** What wear of both pivot holes lets it change by, along the line of centres, mm: half of each oval's share. */
  readonly wearMm: number;
}

/**
 * Distance of two holes of one plate.
 *
 * @param uScale relative standard uncertainty of distances on this plate.
 */
export function arborDistance(a: PlateHole, b: PlateHole, uScale: number): ArborDistance {
  const [dx, dy] = [b.xMm - a.xMm, b.yMm - a.yMm];
  const value = Math.hypot(dx, dy);
  const along = Math.atan2(dy, dx);
  const wear = (h: PlateHole): number =>
    h.ovalityMm === undefined || h.ovalityAngleRad === undefined
      ? 0
      : 0.5 * h.ovalityMm * Math.abs(Math.cos(h.ovalityAngleRad - along));
  return { value, u: Math.hypot(a.uMm, b.uMm, uScale * value), wearMm: wear(a) + wear(b) };
}

/** Two arbors held by two plates: what both plates say of their distance, and of the pitch plane between them. */
export function meanDistance(front: ArborDistance, back: ArborDistance): ArborDistance {
  return {
    value: (front.value + back.value) / 2,
    // Half of a difference beyond what the photographs explain is a lean of the arbors: it stays open.
    u: Math.hypot(front.u, back.u, front.value - back.value) / 2,
    wearMm: (front.wearMm + back.wearMm) / 2,
  };
}

export interface DepthVerdict {
  readonly verdict: "right" | "too deep" | "too shallow" | "cannot tell";
  readonly wantedMm: Measured;
  /** Distance of the plates minus wanted distance; positive: shallow. */
  readonly differenceMm: Measured & { readonly u: number };
  readonly differenceModules: number;
  /** With both holes worn as they are, under load. */
  readonly wornDifferenceMm: number;
  readonly words: string;
}

export interface DepthLimits {
  /** Share of the module by which a depth may be off. No standard gives one for clocks: a setting; default 0.1. */
  readonly allowedModules?: number;
}

/** Nearer or further by more, teeth would stand on roots or not meet: somebody took the wrong holes, modules. */
const farthestModules = 2;

/**
 * Depth of a wheel in a pinion from plates, counts and module: centre distance against m (N + n) / 2, the sum of the
 * pitch radii (BS 978-2; general gearing).
 *
 * @throws RangeError for counts or a module that are not positive.
 */
export function depthFromPlates(
  distance: ArborDistance,
  wheelTeeth: number,
  pinionLeaves: number,
  moduleMm: Measured,
  { allowedModules = 0.1 }: DepthLimits = {},
): DepthVerdict {
  if (!(wheelTeeth > 0 && pinionLeaves > 0 && moduleMm.value > 0))
    throw new RangeError("expected counts and a module above 0");
  const half = (wheelTeeth + pinionLeaves) / 2;
  const uModule = moduleMm.u ?? 0.01 * moduleMm.value;
  const wanted = { value: moduleMm.value * half, u: uModule * half };
  const difference = distance.value - wanted.value;
  const u = Math.hypot(distance.u, wanted.u);
  const allowed = allowedModules * moduleMm.value;
  const [low, high] = [difference - 2 * u, difference + 2 * u];
  const modules = difference / moduleMm.value;
  const mayMesh = Math.abs(modules) < farthestModules;
  const verdict = !mayMesh
    ? "cannot tell"
    : low > allowed
      ? "too shallow"
      : high < -allowed
        ? "too deep"
        : low >= -2 * allowed && high <= 2 * allowed
          ? "right"
          : "cannot tell";
  const worn = difference + distance.wearMm;
  const size = `${Math.abs(difference).toFixed(2)} mm (± ${(2 * u).toFixed(2)} mm), ${Math.abs(modules).toFixed(2)} modules`;
  const wear =
    distance.wearMm > 0.02
      ? `; worn holes let the arbors part by ${distance.wearMm.toFixed(2)} mm more under load`
      : "";
  const words: Record<DepthVerdict["verdict"], string> = {
    right: `the depth is right: ${size} off the sum of the pitch radii${wear}`,
    "too shallow": `too shallow: the plates hold the arbors ${size} further apart than the sum of the pitch radii${wear}`,
    "too deep": `too deep: the plates hold the arbors ${size} nearer than the sum of the pitch radii${wear}`,
    "cannot tell": !mayMesh
      ? `cannot tell: ${distance.value.toFixed(2)} mm apart, ${wanted.value.toFixed(2)} mm wanted: these two cannot mesh; look up the numbers of the holes in the annotated copy, and check counts and module`
      : `cannot tell: ${size}; give the face heights of plate and wheel, and photograph them from closer${wear}`,
  };
  return {
    verdict,
    wantedMm: wanted,
    differenceMm: { value: difference, u },
    differenceModules: modules,
    wornDifferenceMm: worn,
    words: words[verdict],
  };
}

/** As the measurement document writes a plate down. */
export interface SurveyedPlate {
  readonly plate?: { readonly scale_u?: number };
  readonly holes?: readonly {
    readonly id?: string;
    readonly kind?: string;
    readonly centre_mm: readonly [number, number];
    readonly centre_u_mm?: number;
    readonly diameter_mm?: Measured;
    readonly ovality_mm?: Measured;
    readonly ovality_angle_deg?: Measured;
  }[];
}

/** Holes of a plate record; without a stated uncertainty of the centre, 0.05 mm. */
export function holesOfPlate(part: SurveyedPlate): readonly PlateHole[] {
  return (part.holes ?? []).map((h, i) => ({
    id: h.id ?? `H${i + 1}`,
    xMm: h.centre_mm[0],
    yMm: h.centre_mm[1],
    uMm: h.centre_u_mm ?? 0.05,
    diameterMm: h.diameter_mm?.value ?? 0,
    ...(h.kind === undefined ? {} : { kind: h.kind }),
    ...(h.ovality_mm === undefined ? {} : { ovalityMm: h.ovality_mm.value }),
    ...(h.ovality_angle_deg === undefined
      ? {}
      : { ovalityAngleRad: (h.ovality_angle_deg.value * Math.PI) / 180 }),
  }));
}

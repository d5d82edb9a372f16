import { addendumOf, moduleIfMm } from "../depthing.js";
import { gearsOf, meshesOf } from "../gearing.js";
import type { Gear, Movement } from "../movement.js";

/** Pitch radii to draw with, mm where anything is known, else in proportion only. */
export interface DrawnSizes {
  readonly pitchRadius: (gear: Gear) => number;
  readonly moduleOf: (gear: Gear) => number;
  /** The count, or a usual one for a gear whose count is lost. */
  readonly countOf: (gear: Gear) => number;
  /** Everything is in mm: at least one size is known, and the others follow it. */
  readonly inMm: boolean;
  /** Some modules are taken from other pairs, or all are taken as one. */
  readonly assumed: boolean;
}

/** What a lost gear is drawn as; it is marked all the same. */
const usualCount = { wheel: 60, pinion: 8 };

/**
 * Modules pair by pair: from either mate's size or the centre distance; a pair of which nothing is known gets the
 * middle one of the others.
 */
export function drawnSizes(movement: Movement): DrawnSizes {
  const countOf = ({ teeth, kind }: Gear) => (teeth === "missing" ? usualCount[kind] : teeth);
  const known = new Map<string, number>();
  const gears = gearsOf(movement);
  for (const gear of gears) {
    const module = gear.teeth === "missing" ? undefined : moduleIfMm(gear, gear.teeth);
    if (module) known.set(gear.position, module.value);
  }
  const meshes = meshesOf(movement);
  for (const { driver, driven, centreDistanceMm } of meshes) {
    const fromDistance =
      centreDistanceMm && driver.teeth !== "missing" && driven.teeth !== "missing"
        ? (2 * centreDistanceMm.value) / (driver.teeth + driven.teeth)
        : undefined;
    const module = known.get(driver.position) ?? known.get(driven.position) ?? fromDistance;
    if (module === undefined) continue;
    for (const { position } of [driver, driven]) if (!known.has(position)) known.set(position, module);
  }
  const values = [...known.values()].sort((a, b) => a - b);
  const middle = values[Math.floor(values.length / 2)];
  const inMesh = new Set(meshes.flatMap(({ driver, driven }) => [driver.position, driven.position]));
  const moduleOf = (gear: Gear) => known.get(gear.position) ?? middle ?? 1;
  return {
    countOf,
    moduleOf,
    pitchRadius: (gear) => (moduleOf(gear) * countOf(gear)) / 2,
    inMm: middle !== undefined,
    assumed: gears.some(({ position }) => inMesh.has(position) && !known.has(position)),
  };
}

/** An escape wheel has no mate to tell its size: its tip diameter, else nine tenths of the train's smallest wheel. */
export function escapeRadius(movement: Movement, gear: Gear, sizes: DrawnSizes): number {
  if (gear.tipDiameterMm && sizes.inMm) return gear.tipDiameterMm.value / 2;
  const others = movement.trains
    .filter(({ arbors }) => arbors.some(({ escape }) => escape?.gear.position === gear.position))
    .flatMap(({ arbors }) => arbors.flatMap(({ wheel }) => (wheel ? [sizes.pitchRadius(wheel)] : [])));
  return others.length === 0 ? sizes.pitchRadius(gear) : 0.9 * Math.min(...others);
}

export const tipRadius = (gear: Gear, { pitchRadius, moduleOf, countOf }: DrawnSizes): number =>
  pitchRadius(gear) + addendumOf(gear, countOf(gear)).value * moduleOf(gear);

export const sizesText = ({ inMm, assumed }: DrawnSizes): string =>
  !inMm
    ? "No size is known: all gears are drawn with one module, by their counts."
    : assumed
      ? "In proportion; pairs without a known size are drawn with the middle module of the others."
      : "In proportion, by the known modules.";

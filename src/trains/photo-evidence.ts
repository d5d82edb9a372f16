import { gearsOf } from "./gearing.js";
import type { Arbor, Gear, Measured, Movement, SeenCount } from "./movement.js";
import { mapGears } from "./with-counts.js";

/** What photographs say about one wheel or pinion. */
export interface PhotoEvidence {
  /** A part tag ("T3"), an arbor ("time.third") or a gear ("time.third.wheel"). */
  readonly position: string;
  readonly kind: "wheel" | "pinion";
  /** Probabilities add up to 1 or less; the rest belongs to counts that are not named. */
  readonly alternatives: readonly SeenCount[];
  readonly moduleMm?: Measured;
  readonly tipDiameterMm?: Measured;
  /** Lifting pins on this wheel. */
  readonly pins?: number;
  /** Of a count wheel: blows from notch to notch. */
  readonly blows?: readonly number[];
  /** To the arbor that drives this one. */
  readonly centreDistanceMm?: Measured;
}

export interface EvidencePlaced {
  readonly movement: Movement;
  /** Evidence whose position is no part of this movement. */
  readonly unplaced: readonly PhotoEvidence[];
}

/**
 * Puts evidence onto the gears it belongs to: counts seen, sizes, centre distances. A count that the file gives is
 * kept beside what was seen; one that it leaves open (`?`) takes the most probable one seen.
 */
export function placeEvidence(movement: Movement, evidence: readonly PhotoEvidence[]): EvidencePlaced {
  const unplaced: PhotoEvidence[] = [];
  const byGear = new Map<string, PhotoEvidence>();
  const distances = new Map<string, Measured>();
  const fittings = new Map<string, Pick<PhotoEvidence, "pins" | "blows">>();
  const known = new Set(gearsOf(movement).map(({ position }) => position));
  for (const item of evidence) {
    const arbor = arborAt(movement, item.position);
    if (arbor && (item.pins !== undefined || item.blows !== undefined))
      fittings.set(`${arbor.train}.${arbor.arbor.name}`, item);
    // A count wheel may have no teeth of its own.
    if (arbor && item.alternatives.length === 0) continue;
    const gear = known.has(item.position)
      ? item.position
      : arbor
        ? gearOn(arbor.arbor, item.kind)?.position
        : motionGearFor(movement, item);
    if (gear === undefined) {
      unplaced.push(item);
      continue;
    }
    byGear.set(gear, item);
    const owner = arbor ?? ownerOf(movement, gear);
    if (item.centreDistanceMm && owner)
      distances.set(`${owner.train}.${owner.arbor.name}`, item.centreDistanceMm);
  }
  const placed = mapGears(movement, (gear) => {
    const item = byGear.get(gear.position);
    if (item === undefined) return gear;
    const seen = [...item.alternatives].sort((a, b) => b.probability - a.probability);
    const open = gear.teeth === "missing" || gear.teethFromPhotographs === true;
    const teeth = open ? (seen[0]?.count ?? gear.teeth) : gear.teeth;
    return {
      ...gear,
      teeth,
      ...(open && seen[0] && { teethFromPhotographs: true as const }),
      ...(seen.length > 0 && { seen }),
      ...(item.moduleMm && {
        moduleMm: item.moduleMm,
        ...(seen[0] && { moduleCount: seen[0].count }),
      }),
      ...(item.tipDiameterMm && { tipDiameterMm: item.tipDiameterMm }),
    };
  });
  return {
    movement: {
      ...placed,
      trains: placed.trains.map((train) => ({
        ...train,
        arbors: train.arbors.map((arbor) => {
          const distance = distances.get(`${train.name}.${arbor.name}`);
          const fitted = withFittings(arbor, fittings.get(`${train.name}.${arbor.name}`));
          return distance === undefined ? fitted : { ...fitted, centreDistanceMm: distance };
        }),
      })),
    },
    unplaced,
  };
}

/** What a person wrote stands; what was left open is filled from the photograph. */
function withFittings(arbor: Arbor, seen: Pick<PhotoEvidence, "pins" | "blows"> | undefined): Arbor {
  if (seen === undefined) return arbor;
  const { pins, countWheel } = arbor;
  return {
    ...arbor,
    ...(seen.pins !== undefined && {
      pins:
        pins === undefined
          ? { count: seen.pins, line: arbor.line }
          : pins.count === seen.pins
            ? pins
            : { ...pins, seen: seen.pins },
    }),
    ...(seen.blows !== undefined &&
      countWheel !== undefined &&
      countWheel.blows === undefined && { countWheel: { ...countWheel, blows: seen.blows } }),
  };
}

function arborAt(movement: Movement, position: string): { train: string; arbor: Arbor } | undefined {
  for (const train of movement.trains)
    for (const arbor of train.arbors)
      if (arbor.tag?.toUpperCase() === position.toUpperCase() || `${train.name}.${arbor.name}` === position)
        return { train: train.name, arbor };
  return undefined;
}

/** A pinion key may hold a wheel (a count wheel that a gear of its own drives): photographs see a wheel. */
function gearOn(arbor: Arbor, kind: "wheel" | "pinion"): Gear | undefined {
  if (kind === "pinion") return arbor.pinion;
  const large = arbor.pinion && typeof arbor.pinion.teeth === "number" && arbor.pinion.teeth > mostLeaves;
  return arbor.wheel ?? arbor.escape?.gear ?? (large ? arbor.pinion : undefined);
}

const mostLeaves = 24;

/**
 * The motion work has tags M1, M2 ... but no order that everybody keeps to. A gear whose written count is what the
 * photographs say is that gear, if only one is; else M1 is the cannon pinion, M2 the minute wheel and its pinion, M3 the
 * hour wheel.
 */
function motionGearFor(
  { motionWork }: Movement,
  { position, kind, alternatives }: PhotoEvidence,
): string | undefined {
  const place = /^M([1-9])$/i.exec(position)?.[1];
  if (motionWork === undefined || place === undefined) return undefined;
  const { cannonPinion, minuteWheel, minutePinion, hourWheel } = motionWork;
  const gears = [cannonPinion, minuteWheel, minutePinion, hourWheel].filter((gear) => gear !== undefined);
  const [best] = [...alternatives].sort((a, b) => b.probability - a.probability);
  const alike = gears.filter((gear) => gear.teeth === best?.count);
  if (alike.length === 1) return alike[0]!.position;
  const usual = kind === "pinion" ? { 1: cannonPinion, 2: minutePinion } : { 2: minuteWheel, 3: hourWheel };
  return (usual as Readonly<Record<string, Gear | undefined>>)[place]?.position;
}

function ownerOf(movement: Movement, gear: string): { train: string; arbor: Arbor } | undefined {
  for (const train of movement.trains)
    for (const arbor of train.arbors)
      if ([arbor.wheel, arbor.pinion, arbor.driver, arbor.escape?.gear].some((own) => own?.position === gear))
        return { train: train.name, arbor };
  return undefined;
}

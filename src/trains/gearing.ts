import type { Arbor, Gear, Movement, Train } from "./movement.js";
import type { Product } from "./product.js";
import { over, productOf, times, toothProduct, unity, valueOf, wholeProduct } from "./product.js";
import { Ratio } from "./ratio.js";

/** One wheel and the pinion it turns, or the other way about. */
export interface Mesh {
  readonly driver: Gear;
  readonly driven: Gear;
  /** The arbor that is driven. */
  readonly arbor: string;
  readonly train: string;
  readonly centreDistanceMm?: Arbor["centreDistanceMm"];
}

/** Turns of every arbor of a train for one turn of its first. */
export function turnsOfArbors(train: Train): ReadonlyMap<string, Product> {
  const byName = new Map(train.arbors.map((arbor) => [arbor.name, arbor]));
  const turns = new Map<string, Product>();
  const turnsOf = (arbor: Arbor): Product => {
    const known = turns.get(arbor.name);
    if (known !== undefined) return known;
    // Reading has refused loops and arbors without a gear, so this ends at the first arbor.
    const result =
      arbor.drivenBy === undefined
        ? unity
        : times(
            turnsOf(byName.get(arbor.drivenBy)!),
            over(toothProduct(arbor.driver!), toothProduct(arbor.driven!)),
          );
    turns.set(arbor.name, result);
    return result;
  };
  for (const arbor of train.arbors) turnsOf(arbor);
  return turns;
}

/** Every pair of gears that work together, the motion work's too. */
export function meshesOf(movement: Movement): readonly Mesh[] {
  const meshes = movement.trains.flatMap((train) =>
    train.arbors.flatMap((arbor): Mesh[] =>
      arbor.driver === undefined || arbor.driven === undefined
        ? []
        : [
            {
              driver: arbor.driver,
              driven: arbor.driven,
              arbor: arbor.name,
              train: train.name,
              ...(arbor.centreDistanceMm && { centreDistanceMm: arbor.centreDistanceMm }),
            },
          ],
    ),
  );
  const work = movement.motionWork;
  if (work === undefined) return meshes;
  const mesh = (driver: Gear, driven: Gear, arbor: string): Mesh => ({
    driver,
    driven,
    arbor,
    train: "motion work",
  });
  return work.minuteWheel && work.minutePinion
    ? [
        ...meshes,
        mesh(work.cannonPinion, work.minuteWheel, "minute wheel"),
        mesh(work.minutePinion, work.hourWheel, "hour wheel"),
      ]
    : [...meshes, mesh(work.cannonPinion, work.hourWheel, "hour wheel")];
}

/** Every gear of the movement, each once. */
export function gearsOf(movement: Movement): readonly Gear[] {
  const gears = new Map<string, Gear>();
  const add = (gear: Gear | undefined) => gear && gears.set(gear.position, gear);
  for (const { arbors } of movement.trains)
    for (const { wheel, pinion, driver, escape } of arbors)
      [pinion, wheel, driver, escape?.gear].forEach(add);
  const work = movement.motionWork;
  if (work) [work.cannonPinion, work.minuteWheel, work.minutePinion, work.hourWheel].forEach(add);
  return [...gears.values()];
}

/** Turns of the motion work's first gear for one turn of the hour wheel. */
export function motionWorkProduct({
  cannonPinion,
  minuteWheel,
  minutePinion,
  hourWheel,
}: NonNullable<Movement["motionWork"]>): Product {
  const last = over(toothProduct(hourWheel), toothProduct(minutePinion ?? cannonPinion));
  return minuteWheel && minutePinion
    ? times(over(toothProduct(minuteWheel), toothProduct(cannonPinion)), last)
    : last;
}

export interface TimeGearing {
  readonly train: Train;
  readonly turns: ReadonlyMap<string, Product>;
  readonly escapeArbor?: Arbor;
  /** Beats for one turn of the first arbor. */
  readonly beats?: Product;
  /** Turns of the first arbor in an hour, and where that comes from; absent when nothing says. */
  readonly firstTurnsPerHour?: Product;
  readonly reference?: RateReference;
}

/** What the rate of the whole train hangs on. */
export type RateReference =
  | { readonly kind: "minute hand" | "hour hand" | "seconds hand"; readonly arbor: string }
  | { readonly kind: "motion work"; readonly arbor: string }
  | { readonly kind: "beats per hour" }
  | { readonly kind: "name"; readonly arbor: string };

/**
 * Speeds of the time train. The hands come first: an arbor with the minute hand turns once an hour, one with
 * the hour hand once in 12; then motion work on a named arbor, then beats that were stated, then the seconds
 * hand, and last an arbor called centre, which is a guess and is reported as one.
 */
export function timeGearing(movement: Movement, train: Train): TimeGearing {
  const turns = turnsOfArbors(train);
  const escapeArbor = train.arbors.find(({ escape }) => escape !== undefined);
  const beats =
    escapeArbor?.escape &&
    times(
      turns.get(escapeArbor.name)!,
      times(toothProduct(escapeArbor.escape.gear), wholeProduct(escapeArbor.escape.beatsPerTooth)),
    );
  const rate = rateOf(movement, train, turns, beats);
  return { train, turns, ...(escapeArbor && { escapeArbor }), ...(beats && { beats }), ...rate };
}

function rateOf(
  movement: Movement,
  train: Train,
  turns: ReadonlyMap<string, Product>,
  beats: Product | undefined,
): Pick<TimeGearing, "firstTurnsPerHour" | "reference"> {
  const withHand = (hand: Arbor["hand"]) => train.arbors.find((arbor) => arbor.hand === hand)?.name;
  const from = (arbor: string, turnsPerHour: Product) => over(turnsPerHour, turns.get(arbor)!);
  const minute = withHand("minute");
  if (minute !== undefined)
    return { firstTurnsPerHour: from(minute, unity), reference: { kind: "minute hand", arbor: minute } };
  const hour = withHand("hour");
  if (hour !== undefined)
    return {
      firstTurnsPerHour: from(hour, productOf(Ratio.of(1, 12))),
      reference: { kind: "hour hand", arbor: hour },
    };
  const work = movement.motionWork;
  if (work?.on?.train === train.name) {
    // The hour wheel goes round once in 12 (or 24) hours, whatever arbor drives it.
    const perHour = over(motionWorkProduct(work), wholeProduct(work.dialHours));
    return {
      firstTurnsPerHour: from(work.on.arbor, perHour),
      reference: { kind: "motion work", arbor: work.on.arbor },
    };
  }
  const stated = movement.statedBeatsPerHour?.value;
  if (stated !== undefined && beats !== undefined)
    return {
      firstTurnsPerHour: over(productOf(ratioOfDecimal(stated)), beats),
      reference: { kind: "beats per hour" },
    };
  const seconds = withHand("seconds");
  if (seconds !== undefined)
    return {
      firstTurnsPerHour: from(seconds, wholeProduct(60)),
      reference: { kind: "seconds hand", arbor: seconds },
    };
  const centre = train.arbors.find(({ name }) => /\bcent(re|er)\b/.test(name))?.name;
  if (centre !== undefined)
    return { firstTurnsPerHour: from(centre, unity), reference: { kind: "name", arbor: centre } };
  return {};
}

/** A decimal that a person wrote (7200, 9000.5) as the exact ratio it stands for. */
export function ratioOfDecimal(value: number): Ratio {
  const [whole, decimals = ""] = value.toFixed(6).split(".");
  const trimmed = decimals.replace(/0+$/, "");
  return Ratio.of(BigInt(whole! + trimmed), 10n ** BigInt(trimmed.length));
}

export const valueOfTurns = (turns: ReadonlyMap<string, Product>, arbor: string): Ratio | undefined =>
  valueOf(turns.get(arbor));

import { blowsInOrder, isInOrder, notchAnglesRad } from "./count-wheel.js";
import { ratioOfDecimal, turnsOfArbors } from "./gearing.js";
import { measuredFrom, scaled } from "./measured.js";
import type { Arbor, Measured, Train } from "./movement.js";
import type { Product } from "./product.js";
import { over, times, valueOf, wholeProduct } from "./product.js";
import { rackOf } from "./rack.js";
import { Ratio, ratioJson } from "./ratio.js";
import type { StrikeResult, TrainFinding } from "./result.js";

export interface StrikeReading {
  readonly strike: StrikeResult;
  readonly findings: readonly TrainFinding[];
  /** Turns of every arbor from blow to blow. */
  readonly turnsPerBlow: ReadonlyMap<string, Product>;
  readonly blowsPerFirstTurn?: Product;
}

/** Turns of the arbors of a striking or chiming train from one blow (one phrase) to the next. */
export interface StrikeGearing {
  readonly unit: "blow" | "phrase";
  readonly source?: { readonly arbor: Arbor; readonly blowsPerTurn: number };
  readonly turns: ReadonlyMap<string, Product>;
  readonly turnsPerBlow: ReadonlyMap<string, Product>;
  readonly blowsPerFirstTurn?: Product;
  readonly blowsPer12h: number;
}

export function strikeGearing(train: Train): StrikeGearing {
  const turns = turnsOfArbors(train);
  const source = blowSource(train);
  const unit = source?.unit ?? (train.duty === "chime" ? "phrase" : "blow");
  const per12h = train.strikes?.blowsPer12h ?? (source?.perHour ?? (train.duty === "chime" ? 10 : 6.5)) * 12;
  const blowsPerFirstTurn = source && times(turns.get(source.arbor.name)!, wholeProduct(source.blowsPerTurn));
  return {
    unit,
    ...(source && { source }),
    turns,
    turnsPerBlow: blowsPerFirstTurn
      ? new Map([...turns].map(([name, product]) => [name, over(product, blowsPerFirstTurn)]))
      : new Map(),
    ...(blowsPerFirstTurn && { blowsPerFirstTurn }),
    blowsPer12h: per12h,
  };
}

/** The barrel of a chiming train, else the pin wheel, else the gathering pallet. */
function blowSource(train: Train) {
  const barrel = train.arbors.find(({ chimeBarrel }) => chimeBarrel !== undefined);
  if (barrel?.chimeBarrel)
    return {
      arbor: barrel,
      unit: "phrase" as const,
      blowsPerTurn: barrel.chimeBarrel.phrases,
      perHour: barrel.chimeBarrel.phrasesPerHour,
    };
  const pins = train.arbors.find((arbor) => arbor.pins !== undefined);
  if (pins?.pins)
    return { arbor: pins, unit: "blow" as const, blowsPerTurn: pins.pins.count, perHour: undefined };
  const gathering = train.arbors.find(({ gathers }) => gathers !== undefined);
  if (gathering?.gathers)
    return {
      arbor: gathering,
      unit: "blow" as const,
      blowsPerTurn: gathering.gathers.count,
      perHour: undefined,
    };
  return undefined;
}

export function strikeTrainOf(train: Train, turnsInWinding: Measured | undefined): StrikeReading {
  const gearing = strikeGearing(train);
  const { unit, source, turnsPerBlow, blowsPerFirstTurn, blowsPer12h } = gearing;
  const findings: TrainFinding[] = [];
  if (source === undefined)
    findings.push({
      code: "no-blows",
      severity: "watch",
      text: `nothing in the ${train.name} train makes blows`,
      advice:
        "give the lifting pins of the pin wheel (pins: 8), what the gathering pallet takes in a turn (gathers: 1), or the chime barrel",
      line: train.line,
      position: train.name,
    });
  for (const arbor of train.arbors) findings.push(...wholeTurnFindings(train, arbor, gearing));
  for (const { name, pins } of train.arbors)
    if (pins?.seen !== undefined)
      findings.push({
        code: "pins-differ",
        severity: "watch",
        text: `the file gives ${name} ${pins.count} lifting pins, a photograph shows ${pins.seen}`,
        advice: "count the pins: each of them is a blow in every turn",
        line: pins.line,
        position: `${train.name}.${name}`,
      });
  const counted = train.arbors.find(({ countWheel }) => countWheel !== undefined);
  const countWheel = counted && countWheelOf(train, counted, gearing, findings);
  const rack = train.rack && rackOf(train.rack, train.name);
  if (rack) findings.push(...rack.findings);
  if (train.rack !== undefined && counted !== undefined)
    findings.push({
      code: "rack-and-count-wheel",
      severity: "watch",
      text: `the ${train.name} train has a count wheel and a rack; one of them counts the blows, not both`,
      line: train.rack.line,
      position: train.name,
    });
  const perTurn = valueOf(blowsPerFirstTurn);
  const flyArbor = train.arbors.find(({ fly }) => fly === true);
  const flyTurns = flyArbor && valueOf(turnsPerBlow.get(flyArbor.name));
  const interval = train.blowIntervalS;
  const barrel = source?.arbor.chimeBarrel;
  const most = blowsInOrder(struckWords(train));
  return {
    strike: {
      unit,
      ...(source && { onArbor: source.arbor.name, blowsPerTurnOfThatArbor: source.blowsPerTurn }),
      ...(perTurn && { blowsPerFirstTurn: ratioJson(perTurn) }),
      blowsPerHalfDay: blowsPer12h,
      blowsPerDay: 2 * blowsPer12h,
      ...(perTurn && turnsInWinding && { blowsPerWinding: scaled(turnsInWinding, perTurn.toNumber()) }),
      ...(countWheel && { countWheel }),
      ...(barrel &&
        source && {
          chimeBarrel: {
            arbor: source.arbor.name,
            turnsPerHour: ratioJson(Ratio.of(barrel.phrasesPerHour, barrel.phrases)),
          },
        }),
      ...(rack && { rack: rack.rack }),
      ...(flyArbor && {
        fly: {
          arbor: flyArbor.name,
          ...(flyTurns && { turnsPerBlow: ratioJson(flyTurns) }),
          ...(flyTurns &&
            interval && {
              turnsPerMinute: measuredFrom([interval], ([s]) => (60 * flyTurns.toNumber()) / s!),
            }),
        },
      }),
      ...(interval && most && { longestRunS: scaled(interval, Math.max(...most)) }),
    },
    findings,
    turnsPerBlow,
    ...(blowsPerFirstTurn && { blowsPerFirstTurn }),
  };
}

/** Locking, warning and gathering: each blow must bring them home. */
function wholeTurnFindings(
  train: Train,
  arbor: Arbor,
  { unit, turnsPerBlow }: StrikeGearing,
): readonly TrainFinding[] {
  const turns = valueOf(turnsPerBlow.get(arbor.name));
  if (turns === undefined) return [];
  const findings: TrainFinding[] = [];
  const home = (count: number) => turns.times(Ratio.of(count)).isWhole();
  const position = `${train.name}.${arbor.name}`;
  const say = (code: string, line: number, part: string, advice: string, many: boolean) =>
    findings.push({
      code,
      severity: "fault",
      text: `${arbor.name} makes ${shown(turns)} of a turn for each ${unit}, so ${part} ${many ? "are" : "is"} not home after every ${unit}`,
      advice,
      line,
      position,
    });
  if (arbor.locks && !home(arbor.locks.count))
    say(
      "locking-not-home",
      arbor.locks.line,
      `its ${places(arbor.locks.count, "locking place")}`,
      "count the pins of the pin wheel, the locking places, and the wheel and pinion between them",
      arbor.locks.count > 1,
    );
  if (arbor.warning && !home(arbor.warning.count))
    say(
      "warning-not-home",
      arbor.warning.line,
      `its ${places(arbor.warning.count, "warning pin")}`,
      "count the wheels and pinions between pin wheel and warning wheel again",
      arbor.warning.count > 1,
    );
  if (arbor.gathers && !turns.times(Ratio.of(arbor.gathers.count)).equals(Ratio.one))
    findings.push({
      code: "gathering-wrong",
      severity: "fault",
      text: `${arbor.name} gathers ${shown(turns.times(Ratio.of(arbor.gathers.count)))} rack teeth for each ${unit} instead of 1`,
      advice: "the gathering pallet must take one rack tooth for every lifting pin",
      line: arbor.gathers.line,
      position,
    });
  return findings;
}

function countWheelOf(
  train: Train,
  arbor: Arbor,
  gearing: StrikeGearing,
  findings: TrainFinding[],
): NonNullable<StrikeResult["countWheel"]> {
  const { unit, turnsPerBlow, blowsPer12h } = gearing;
  const wheel = arbor.countWheel!;
  const wanted = blowsIn(wheel.hoursPerTurn, blowsPer12h);
  const turns = valueOf(turnsPerBlow.get(arbor.name));
  const blowsPerTurn = turns && Ratio.one.over(turns);
  const position = `${train.name}.${arbor.name}`;
  const hours = hoursText(wheel.hoursPerTurn);
  if (blowsPerTurn !== undefined && !blowsPerTurn.equals(wanted)) {
    const difference = blowsPerTurn.minus(wanted).toNumber();
    findings.push({
      code: "count-wheel-wrong",
      severity: "fault",
      text: `the count wheel goes round once in ${shown(blowsPerTurn)} ${unit}s; ${shown(wanted)} are struck in ${hours}, so it ${
        difference < 0 ? "runs ahead" : "falls behind"
      } by ${Math.abs(difference)} ${Math.abs(difference) <= 1 ? unit : `${unit}s`} a turn`,
      advice: "count the gears that drive the count wheel, and the lifting pins, again",
      line: wheel.line,
      position,
    });
  }
  const standard = blowsInOrder(struckWords(train));
  const given = wheel.blows;
  if (given !== undefined) {
    const sum = given.reduce((total, n) => total + n, 0);
    if (!Ratio.of(sum).equals(wanted))
      findings.push({
        code: "notches-wrong",
        severity: "fault",
        text: `the notches of the count wheel are set for ${sum} ${unit}s a turn; ${shown(wanted)} are struck in ${hours}`,
        line: wheel.line,
        position,
      });
    else if (standard !== undefined && !isInOrder(given, standard))
      findings.push({
        code: "notches-out-of-order",
        severity: "fault",
        text: "the notches of the count wheel add up, but do not follow the order of the hours",
        line: wheel.line,
        position,
      });
  }
  const share = wheel.hoursPerTurn / 12;
  const order =
    given ?? (standard && share <= 1 ? standard.slice(0, Math.round(standard.length * share)) : undefined);
  return {
    arbor: arbor.name,
    ...(blowsPerTurn && { blowsPerTurn: ratioJson(blowsPerTurn) }),
    blowsWanted: ratioJson(wanted),
    ...(order && { notchAnglesDeg: notchAnglesRad(order).map((angle) => (angle * 180) / Math.PI) }),
  };
}

const struckWords = ({ strikes, duty }: Train): string =>
  strikes?.words ?? (duty === "chime" ? "quarters" : "hours");

/** Blows struck in this many hours, exactly. */
export const blowsIn = (hours: number, blowsPer12h: number): Ratio =>
  ratioOfDecimal(blowsPer12h).times(ratioOfDecimal(hours)).over(Ratio.of(12));

const shown = (ratio: Ratio): string =>
  ratio.isWhole() ? ratio.toString() : `${Number(ratio.toNumber().toFixed(4))} (${ratio.toString()})`;

const places = (count: number, word: string): string => (count === 1 ? word : `${count} ${word}s`);

export const hoursText = (hours: number): string =>
  hours === 1 ? "1 hour" : `${Number(hours.toFixed(2))} hours`;

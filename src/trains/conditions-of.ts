import type { Condition } from "./condition.js";
import { mustBeNear, mustBeWhole, mustEqual } from "./condition.js";
import type { TimeGearing } from "./gearing.js";
import { meshesOf, motionWorkProduct, ratioOfDecimal, timeGearing } from "./gearing.js";
import { gravityAt, gravityInput } from "./gravity.js";
import { measuredFrom } from "./measured.js";
import type { Movement, Train } from "./movement.js";
import { beatsOfPendulum, pendulumAsMeasured } from "./pendulum.js";
import type { Product } from "./product.js";
import { over, productOf, times, valueOf, wholeProduct } from "./product.js";
import { Ratio } from "./ratio.js";
import { sizeConditions } from "./size-conditions.js";
import { blowsIn, hoursText, strikeGearing } from "./strike-train.js";
import { windingOf } from "./winding.js";

/** Beats that were stated or timed: a clock on time is regulated to well under half a minute a day. */
const statedBeatsU = 2e-4;

/** "Runs eight days" is a round figure. */
const goingTimeU = 0.02;

/**
 * All that a sound movement must meet, as conditions on the counts that are missing in it. Conditions without a
 * missing count are kept: they judge the rest.
 */
export function conditionsOf(movement: Movement): readonly Condition[] {
  const timeTrain = movement.trains.find(({ duty }) => duty === "time");
  const gearing = timeTrain && timeGearing(movement, timeTrain);
  return [
    ...(gearing ? timeConditions(movement, gearing) : []),
    ...motionWorkConditions(movement, gearing),
    ...movement.trains
      .filter(({ duty }) => duty !== "time")
      .flatMap((train) => strikeConditions(train, gearing)),
    ...meshesOf(movement).flatMap(sizeConditions),
  ];
}

/** Beats an hour as a product of the counts; undefined when nothing but the beats themselves sets the rate. */
export function beatsProduct(gearing: TimeGearing | undefined): Product | undefined {
  if (gearing?.beats === undefined || gearing.firstTurnsPerHour === undefined) return undefined;
  return gearing.reference?.kind === "beats per hour"
    ? undefined
    : times(gearing.beats, gearing.firstTurnsPerHour);
}

/** What the beats should be, as far as the file says. */
export function wantedBeats(
  movement: Movement,
): { value: number; relativeU: number; words: string } | undefined {
  const stated = movement.statedBeatsPerHour?.value;
  if (stated !== undefined)
    return { value: stated, relativeU: statedBeatsU, words: `${stated} beats an hour` };
  const pendulum = movement.regulator?.kind === "pendulum" ? movement.regulator : undefined;
  if (pendulum?.lengthMm === undefined) return undefined;
  const length = pendulumAsMeasured(pendulum.lengthMm);
  const beats = measuredFrom(
    [length, gravityInput(gravityAt(movement.place)), pendulum.semiArcRad ?? { value: 0 }],
    ([lengthMm, g, arc]) => beatsOfPendulum(lengthMm!, g!, arc),
  );
  return {
    value: beats.value,
    relativeU: Math.max(beats.u! / beats.value, 1e-6),
    words: `beats of a pendulum of ${Number(length.value.toFixed(1))} mm`,
  };
}

function timeConditions(movement: Movement, gearing: TimeGearing): readonly Condition[] {
  const { train, turns, firstTurnsPerHour, reference } = gearing;
  if (firstTurnsPerHour === undefined) return [];
  const conditions: Condition[] = [];
  const wanted = { minute: Ratio.one, seconds: Ratio.of(60), hour: Ratio.of(1, 12) };
  for (const { name, hand } of train.arbors) {
    if (hand === undefined || reference?.kind === `${hand} hand`) continue;
    conditions.push(
      mustEqual(
        `${hand} hand`,
        `${name} carries the ${hand} hand and turns ${wanted[hand].toString()} times an hour`,
        times(turns.get(name)!, firstTurnsPerHour),
        wanted[hand],
      ),
    );
  }
  const beats = beatsProduct(gearing);
  const target = wantedBeats(movement);
  if (beats && target)
    conditions.push(mustBeNear("beats", target.words, beats, target.value, target.relativeU));
  const winding = train.power && windingOf(train.power, train.name).winding;
  if (winding && train.saidToRunH)
    conditions.push(
      mustBeNear(
        `going time: ${train.name}`,
        `the ${train.name} train runs ${hoursText(train.saidToRunH.valueH)}`,
        over(productOf(ratioOfDecimal(winding.turns.value)), firstTurnsPerHour),
        train.saidToRunH.valueH,
        goingTimeU,
      ),
    );
  return conditions;
}

function motionWorkConditions(movement: Movement, gearing: TimeGearing | undefined): readonly Condition[] {
  const work = movement.motionWork;
  if (work === undefined || gearing?.reference?.kind === "motion work") return [];
  const on = work.on;
  const turns = on && on.train === gearing?.train.name ? gearing.turns.get(on.arbor) : undefined;
  const rate = turns && gearing?.firstTurnsPerHour && times(turns, gearing.firstTurnsPerHour);
  if (on !== undefined && rate === undefined) return [];
  const hours = rate ? over(motionWorkProduct(work), rate) : motionWorkProduct(work);
  return [
    mustEqual(
      "motion work",
      `the hour hand goes round in ${work.dialHours} hours`,
      hours,
      Ratio.of(work.dialHours),
    ),
  ];
}

function strikeConditions(train: Train, timeGearing: TimeGearing | undefined): readonly Condition[] {
  const { unit, turnsPerBlow, blowsPerFirstTurn, blowsPer12h } = strikeGearing(train);
  const conditions: Condition[] = [];
  for (const { name, locks, warning, gathers, countWheel } of train.arbors) {
    const turns = turnsPerBlow.get(name);
    if (turns === undefined) continue;
    if (locks)
      conditions.push(
        mustBeWhole(
          `locking: ${train.name}.${name}`,
          `each ${unit} brings ${name} to a locking place`,
          times(turns, wholeProduct(locks.count)),
        ),
      );
    if (warning)
      conditions.push(
        mustBeWhole(
          `warning: ${train.name}.${name}`,
          `each ${unit} brings ${name} home for the warning`,
          times(turns, wholeProduct(warning.count)),
        ),
      );
    if (gathers)
      conditions.push(
        mustEqual(
          `gathering: ${train.name}.${name}`,
          `each ${unit} gathers one rack tooth`,
          times(turns, wholeProduct(gathers.count)),
          Ratio.one,
        ),
      );
    if (countWheel) {
      const blows = blowsIn(countWheel.hoursPerTurn, blowsPer12h);
      conditions.push(
        mustEqual(
          `count wheel: ${train.name}.${name}`,
          `the count wheel goes round once in ${blows.toString()} ${unit}s`,
          times(turns, productOf(blows)),
          Ratio.one,
        ),
      );
    }
  }
  const winding = train.power && windingOf(train.power, train.name).winding;
  const wantedH = train.saidToRunH?.valueH ?? goingHours(timeGearing);
  if (winding && blowsPerFirstTurn && wantedH !== undefined)
    conditions.push(
      mustBeNear(
        `going time: ${train.name}`,
        `the ${train.name} train runs ${hoursText(wantedH)}${train.saidToRunH ? "" : ", as the time train does"}`,
        times(
          blowsPerFirstTurn,
          productOf(ratioOfDecimal(winding.turns.value).over(blowsIn(1, blowsPer12h))),
        ),
        wantedH,
        goingTimeU,
      ),
    );
  return conditions;
}

/** Hours that the time train runs, if its counts are known. */
function goingHours(gearing: TimeGearing | undefined): number | undefined {
  const winding = gearing?.train.power && windingOf(gearing.train.power, gearing.train.name).winding;
  const rate = valueOf(gearing?.firstTurnsPerHour);
  return winding && rate && winding.turns.value / rate.toNumber();
}

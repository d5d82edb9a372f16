import type { TimeGearing } from "./gearing.js";
import { ratioOfDecimal } from "./gearing.js";
import type { GravityUsed } from "./gravity.js";
import { gravityInput } from "./gravity.js";
import { measuredFrom, scaled } from "./measured.js";
import {
  beatsOfPendulum,
  circularErrorSecondsPerDay,
  pendulumAsMeasured,
  pendulumLengthMm,
} from "./pendulum.js";
import type { Measured, Movement } from "./movement.js";
import type { Product } from "./product.js";
import { over, times, valueOf } from "./product.js";
import { Ratio, ratioJson } from "./ratio.js";
import type { PendulumResult, TimeResult, TrainFinding } from "./result.js";

export interface TimeReading {
  readonly time: TimeResult;
  readonly findings: readonly TrainFinding[];
}

export function timeTrainOf(movement: Movement, gearing: TimeGearing, gravity: GravityUsed): TimeReading {
  const { train, turns, firstTurnsPerHour, reference, escapeArbor } = gearing;
  const findings: TrainFinding[] = [];
  const position = train.name;
  const perHour = (arbor: string): Product | undefined =>
    firstTurnsPerHour && times(firstTurnsPerHour, turns.get(arbor)!);
  const beats = valueOf(gearing.beats && firstTurnsPerHour && times(gearing.beats, firstTurnsPerHour));
  if (escapeArbor === undefined)
    findings.push({
      code: "no-escape-wheel",
      severity: "watch",
      text: `the ${train.name} train has no escape wheel, so its beats cannot be told`,
      advice: "give the escape wheel on the last arbor (escape wheel: 30), or escape wheel: ? if it is lost",
      line: train.line,
      position,
    });
  if (reference === undefined)
    findings.push({
      code: "rate-unknown",
      severity: "watch",
      text: `nothing says how fast the ${train.name} train turns`,
      advice:
        hourlyByPendulum(movement, gearing, gravity) ??
        "mark the arbor that carries the minute hand (hand: minute), or give beats per hour",
      line: train.line,
      position,
    });
  if (reference?.kind === "name")
    findings.push({
      code: "rate-assumed",
      severity: "note",
      text: `${reference.arbor} is taken to turn once an hour because of its name`,
      advice: "if the minute hand sits there, say so (hand: minute)",
      line: train.line,
      position,
    });

  const speeds = train.arbors.map(({ name, hand, line }) => ({
    name,
    hand,
    line,
    rate: valueOf(perHour(name)),
  }));
  const wantedRate = { minute: Ratio.one, seconds: Ratio.of(60), hour: Ratio.of(1, 12) };
  for (const { name, hand, line, rate } of speeds) {
    if (hand === undefined || rate === undefined || rate.equals(wantedRate[hand])) continue;
    findings.push({
      code: `${hand}-hand-wrong`,
      severity: "fault",
      text: `${name} carries the ${hand} hand, but turns ${shownRatio(rate)} times an hour instead of ${wantedRate[hand].toString()}`,
      advice: "count the wheels and pinions between the hands again",
      line,
      position: `${train.name}.${name}`,
    });
  }
  const at = (rate: Ratio) => speeds.find((speed) => speed.rate?.equals(rate))?.name;
  const hourlyArbor = at(Ratio.one);
  const minutelyArbor = at(Ratio.of(60));
  if (
    hourlyArbor === undefined &&
    firstTurnsPerHour !== undefined &&
    speeds.every(({ rate }) => rate !== undefined)
  )
    findings.push({
      code: "no-hourly-arbor",
      severity: "note",
      text: "no arbor of this train turns once an hour",
      line: train.line,
      position,
    });

  const stated = movement.statedBeatsPerHour;
  if (stated !== undefined && beats !== undefined && !beats.equals(ratioOfDecimal(stated.value))) {
    const secondsPerDay = 86400 * (stated.value / beats.toNumber() - 1);
    findings.push({
      code: "beats-disagree",
      severity: Math.abs(secondsPerDay) > 60 ? "fault" : "watch",
      text: `the train gives ${shownRatio(beats)} beats an hour, not ${stated.value} as stated (${secondsPerDayText(secondsPerDay)})`,
      advice: "a wheel or pinion is miscounted or not the original, or the stated beats are wrong",
      line: stated.line,
      position,
    });
  }
  const escapeRate = escapeArbor && valueOf(perHour(escapeArbor.name));
  const pendulum =
    beats === undefined || movement.regulator?.kind === "balance"
      ? undefined
      : pendulumOf(movement, beats.toNumber(), gravityInput(gravity), findings);
  const first = valueOf(firstTurnsPerHour);
  return {
    time: {
      ...(reference && { reference }),
      ...(first && { hoursPerFirstTurn: ratioJson(Ratio.one.over(first)) }),
      ...(beats && {
        beatsPerHour: ratioJson(beats),
        beatsPerMinute: ratioJson(beats.over(Ratio.of(60))),
        secondsPerBeat: Ratio.of(3600).over(beats).toNumber(),
      }),
      ...(escapeRate && { escapeTurnS: Ratio.of(3600).over(escapeRate).toNumber() }),
      ...(hourlyArbor !== undefined && { hourlyArbor }),
      ...(minutelyArbor !== undefined && { minutelyArbor }),
      ...(pendulum && { pendulum }),
      ...(beats &&
        movement.regulator?.kind === "balance" && {
          balance: { vibrationsPerSecond: beats.toNumber() / 3600, hertz: beats.toNumber() / 7200 },
        }),
    },
    findings,
  };
}

/** Which arbor would turn once an hour with the pendulum that is there, in words; undefined if none would. */
function hourlyByPendulum(
  movement: Movement,
  { train, turns, beats }: TimeGearing,
  gravity: GravityUsed,
): string | undefined {
  const regulator = movement.regulator?.kind === "pendulum" ? movement.regulator : undefined;
  const beatsPerFirstTurn = valueOf(beats)?.toNumber();
  if (regulator?.lengthMm === undefined || beatsPerFirstTurn === undefined) return undefined;
  const own = measuredFrom(
    [pendulumAsMeasured(regulator.lengthMm), gravityInput(gravity), regulator.semiArcRad ?? { value: 0 }],
    ([length, g, arc]) => beatsOfPendulum(length!, g!, arc),
  );
  for (const { name } of train.arbors) {
    const perFirstTurn = valueOf(turns.get(name))?.toNumber();
    if (perFirstTurn === undefined) continue;
    const turnsPerHour = scaled(own, perFirstTurn / beatsPerFirstTurn);
    if (Math.abs(turnsPerHour.value - 1) > 2 * turnsPerHour.u!) continue;
    const minutesPerTurn = 60 / turnsPerHour.value;
    return `with this pendulum ${name} turns once in about ${minutesPerTurn.toFixed(1)} minutes: if the minute hand sits there, say so (hand: minute)`;
  }
  return undefined;
}

function pendulumOf(
  movement: Movement,
  beats: number,
  gravity: Measured,
  findings: TrainFinding[],
): PendulumResult {
  const regulator = movement.regulator?.kind === "pendulum" ? movement.regulator : undefined;
  const arc = regulator?.semiArcRad;
  const lengthFor = (swing: Measured) =>
    measuredFrom([gravity, swing], ([g, semiArc]) => pendulumLengthMm(beats, g!, semiArc));
  const given = regulator?.lengthMm && givenPendulum(regulator.lengthMm, beats, gravity, arc ?? { value: 0 });
  if (given) {
    const wanted = lengthFor(arc ?? { value: 0 });
    const { lengthMm } = given;
    if (Math.abs(lengthMm.value - wanted.value) > 2 * Math.hypot(lengthMm.u!, wanted.u ?? 0))
      findings.push({
        code: "pendulum-disagrees",
        severity: "watch",
        text: `the train asks for a pendulum of ${wanted.value.toFixed(1)} mm, the one given is ${lengthMm.value.toFixed(1)} mm`,
        advice:
          "the pendulum, its suspension or a wheel may not be the original; a compound pendulum is longer than its theoretical length",
        line: regulator.line,
      });
  }
  return {
    lengthMm: lengthFor({ value: 0 }),
    ...(arc !== undefined && {
      semiArcDeg: scaled(arc, 180 / Math.PI),
      lengthAtArcMm: lengthFor(arc),
      circularErrorSecondsPerDay: measuredFrom([arc], ([semiArc]) => circularErrorSecondsPerDay(semiArc!)),
    }),
    ...(given && { given }),
  };
}

function givenPendulum(
  measured: Measured,
  beats: number,
  gravity: Measured,
  arc: Measured,
): NonNullable<PendulumResult["given"]> {
  const lengthMm = pendulumAsMeasured(measured);
  const from = (f: (ownBeats: number) => number): Measured =>
    measuredFrom([lengthMm, gravity, arc], ([length, g, semiArc]) =>
      f(beatsOfPendulum(length!, g!, semiArc)),
    );
  return {
    lengthMm,
    ...(measured.u === undefined && { uncertaintyAssumed: true }),
    beatsPerHour: from((ownBeats) => ownBeats),
    gainsSecondsPerDay: from((ownBeats) => 86400 * (ownBeats / beats - 1)),
  };
}

export const shownRatio = (ratio: Ratio): string =>
  ratio.isWhole() ? ratio.toString() : `${ratio.toNumber().toFixed(3)} (${ratio.toString()})`;

export const secondsPerDayText = (seconds: number): string => {
  const size = Math.abs(seconds);
  const words =
    size >= 5400
      ? `${(size / 3600).toFixed(1)} hours`
      : size >= 90
        ? `${(size / 60).toFixed(1)} minutes`
        : `${size.toFixed(1)} seconds`;
  return `the clock would ${seconds > 0 ? "gain" : "lose"} ${words} a day`;
};

/** Hours of one winding: turns over turns in an hour. */
export const hoursOf = (turns: number, firstTurnsPerHour: Product | undefined): number | undefined => {
  const hours = valueOf(
    firstTurnsPerHour && over({ known: Ratio.one, unknown: new Map() }, firstTurnsPerHour),
  );
  return hours === undefined ? undefined : turns * hours.toNumber();
};

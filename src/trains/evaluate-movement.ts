import { meshResult } from "./depthing.js";
import type { TimeGearing } from "./gearing.js";
import { gearsOf, meshesOf, ratioOfDecimal, timeGearing, turnsOfArbors } from "./gearing.js";
import type { GravityUsed } from "./gravity.js";
import { gravityAt } from "./gravity.js";
import { scaled } from "./measured.js";
import { motionWorkOf } from "./motion-work.js";
import type { Arbor, Gear, Measured, Movement, Train } from "./movement.js";
import type { Product } from "./product.js";
import { times, unity, valueOf } from "./product.js";
import { Ratio, ratioJson } from "./ratio.js";
import type { ArborPart, ArborResult, MovementResult, TrainFinding, TrainResult } from "./result.js";
import { strikeTrainOf } from "./strike-train.js";
import { hoursOf, timeTrainOf } from "./time-train.js";
import { windingOf } from "./winding.js";

/**
 * Everything the counts say: speeds, beats, pendulum, going time, blows, motion work, and what does not agree.
 * Counts that are missing leave out only what hangs on them.
 */
export function evaluateMovement(movement: Movement): MovementResult {
  const gravity = gravityAt(movement.place);
  const findings: TrainFinding[] = [];
  const timeTrain = movement.trains.find(({ duty }) => duty === "time");
  const gearing = timeTrain && timeGearing(movement, timeTrain);
  const trains = movement.trains.map((train) =>
    train.duty === "time" ? timeResult(movement, train, gravity, findings) : strikeResult(train, findings),
  );
  const { motionWork, findings: motionFindings } = motionWorkOf(movement, motionWorkDrive(movement, gearing));
  findings.push(...motionFindings);
  const meshes = meshesOf(movement).map(meshResult);
  findings.push(...meshes.flatMap((mesh) => mesh.findings));
  findings.push(...runsApart(movement, trains));
  return {
    ...(movement.title !== undefined && { title: movement.title }),
    gravity,
    trains,
    ...(motionWork && { motionWork }),
    meshes: meshes.map(({ result }) => result),
    findings: bySeverity(findings),
    missing: gearsOf(movement)
      .filter(({ teeth }) => teeth === "missing")
      .map(({ position, words, line }) => ({ position, words, line })),
  };
}

function timeResult(
  movement: Movement,
  train: Train,
  gravity: GravityUsed,
  findings: TrainFinding[],
): TrainResult {
  const gearing = timeGearing(movement, train);
  const { time, findings: timeFindings } = timeTrainOf(movement, gearing, gravity);
  findings.push(...timeFindings);
  const { winding, findings: windingFindings } = windingFor(train);
  findings.push(...windingFindings);
  const hoursPerTurn = hoursOf(1, gearing.firstTurnsPerHour);
  const perHour = valueOf(gearing.firstTurnsPerHour);
  const claim = train.saidToRunH;
  if (winding && hoursPerTurn !== undefined && claim !== undefined)
    findings.push(...claimFindings(train, scaled(winding.turns, hoursPerTurn), claim));
  return {
    name: train.name,
    duty: train.duty,
    arbors: arborResults(train, gearing.turns, gearing.firstTurnsPerHour),
    ...(winding && {
      winding: {
        ...winding,
        ...(perHour && { turnsPerDay: ratioJson(perHour.times(Ratio.of(24))) }),
        ...(hoursPerTurn !== undefined && {
          hours: scaled(winding.turns, hoursPerTurn),
          days: scaled(winding.turns, hoursPerTurn / 24),
        }),
      },
    }),
    time,
  };
}

function strikeResult(train: Train, findings: TrainFinding[]): TrainResult {
  const { winding, findings: windingFindings } = windingFor(train);
  const {
    strike,
    findings: strikeFindings,
    turnsPerBlow,
    blowsPerFirstTurn,
  } = strikeTrainOf(train, winding?.turns);
  findings.push(...windingFindings, ...strikeFindings);
  const perDay = strike.blowsPerDay;
  const perTurn = valueOf(blowsPerFirstTurn);
  const daysPerTurn = perDay === undefined || perTurn === undefined ? undefined : perTurn.toNumber() / perDay;
  const claim = train.saidToRunH;
  if (winding && daysPerTurn !== undefined && claim !== undefined)
    findings.push(...claimFindings(train, scaled(winding.turns, daysPerTurn * 24), claim));
  return {
    name: train.name,
    duty: train.duty,
    arbors: arborResults(train, turnsOfArbors(train), undefined, turnsPerBlow),
    ...(winding && {
      winding: {
        ...winding,
        ...(perTurn &&
          perDay !== undefined && { turnsPerDay: ratioJson(ratioOfDecimal(perDay).over(perTurn)) }),
        ...(daysPerTurn !== undefined && {
          hours: scaled(winding.turns, daysPerTurn * 24),
          days: scaled(winding.turns, daysPerTurn),
        }),
      },
    }),
    strike,
  };
}

const windingFor = (train: Train): ReturnType<typeof windingOf> =>
  train.power === undefined ? { findings: [] } : windingOf(train.power, train.name);

function claimFindings(
  train: Train,
  hours: Measured,
  { valueH, line }: { valueH: number; line: number },
): readonly TrainFinding[] {
  // A book or a dial speaks in round figures: a fiftieth off is still what it says.
  if (Math.abs(hours.value / valueH - 1) < Math.max(0.02, (2 * (hours.u ?? 0)) / valueH)) return [];
  return [
    {
      code: "going-time-disagrees",
      severity: hours.value < valueH ? "watch" : "note",
      text: `the ${train.name} train is said to run ${daysText(valueH)}, its counts give ${daysText(hours.value)}`,
      advice: "check the turns of one winding and the wheels next to the great wheel",
      line,
      position: train.name,
    },
  ];
}

/** The turning rate of the arbor that carries the motion work. */
function motionWorkDrive(movement: Movement, gearing: TimeGearing | undefined): Product | undefined {
  const on = movement.motionWork?.on;
  if (gearing === undefined || gearing.firstTurnsPerHour === undefined)
    return on === undefined ? unity : undefined;
  // Without a named arbor it sits on the one of the minute hand, which turns once an hour by definition.
  if (on === undefined) return unity;
  const turns = on.train === gearing.train.name ? gearing.turns.get(on.arbor) : undefined;
  return turns && times(turns, gearing.firstTurnsPerHour);
}

function arborResults(
  train: Train,
  turns: ReadonlyMap<string, Product>,
  firstTurnsPerHour: Product | undefined,
  turnsPerBlow?: ReadonlyMap<string, Product>,
): readonly ArborResult[] {
  return train.arbors.map((arbor): ArborResult => {
    const own = turns.get(arbor.name)!;
    const relative = valueOf(own);
    const perHour = valueOf(firstTurnsPerHour && times(own, firstTurnsPerHour));
    const perBlow = valueOf(turnsPerBlow?.get(arbor.name));
    return {
      name: arbor.name,
      ...(arbor.tag !== undefined && { tag: arbor.tag }),
      ...(arbor.drivenBy !== undefined && { drivenBy: arbor.drivenBy }),
      ...(arbor.hand && { hand: arbor.hand }),
      parts: partsOf(arbor),
      ...(relative && { turnsPerFirstTurn: ratioJson(relative) }),
      ...(perHour && {
        turnsPerHour: ratioJson(perHour),
        secondsPerTurn: Ratio.of(3600).over(perHour).toNumber(),
      }),
      ...(perBlow && { turnsPerBlow: ratioJson(perBlow) }),
    };
  });
}

function partsOf(arbor: Arbor): readonly ArborPart[] {
  const gear = (part: ArborPart["part"], given: Gear | undefined): ArborPart[] =>
    given === undefined
      ? []
      : [given.teeth === "missing" ? { part, missing: true } : { part, count: given.teeth }];
  const ownDriver = arbor.driver?.position.endsWith(".driver") === true ? arbor.driver : undefined;
  return [
    ...gear("driver", ownDriver).map((part) => ({
      ...part,
      ...(arbor.drivenBy !== undefined && { on: arbor.drivenBy }),
    })),
    ...gear("pinion", arbor.pinion),
    ...gear("wheel", arbor.wheel),
    ...gear("escape wheel", arbor.escape?.gear),
    ...(["pins", "locks", "warning", "gathers"] as const).flatMap((part): ArborPart[] =>
      arbor[part] === undefined ? [] : [{ part, count: arbor[part].count }],
    ),
    ...(arbor.countWheel ? [{ part: "count wheel" as const }] : []),
    ...(arbor.chimeBarrel ? [{ part: "chime barrel" as const, count: arbor.chimeBarrel.phrases }] : []),
    ...(arbor.fly === true ? [{ part: "fly" as const }] : []),
  ];
}

/** Does the strike last as long as the clock goes? */
function runsApart(movement: Movement, trains: readonly TrainResult[]): readonly TrainFinding[] {
  const going = trains.find(({ duty }) => duty === "time")?.winding?.days;
  if (going === undefined) return [];
  return trains.flatMap(({ name, duty, winding }): TrainFinding[] => {
    const days = winding?.days;
    // Within a fiftieth they are wound together; a clock is wound before it stops.
    if (duty === "time" || days === undefined) return [];
    const open = 2 * Math.hypot(days.u ?? 0, going.u ?? 0);
    if (Math.abs(days.value - going.value) < Math.max(0.02 * going.value, open)) return [];
    const line = movement.trains.find((train) => train.name === name)!.line;
    const shorter = days.value < going.value;
    return [
      {
        code: shorter ? "strike-shorter" : "strike-longer",
        severity: shorter ? "watch" : "note",
        text: `the ${name} train runs ${daysText(days.value * 24)}, the time train ${daysText(going.value * 24)}`,
        ...(shorter && { advice: "it will fall silent before the clock stops: check its turns and pins" }),
        line,
        position: name,
      },
    ];
  });
}

export const daysText = (hours: number): string =>
  hours < 72 ? `${Number(hours.toFixed(1))} hours` : `${Number((hours / 24).toFixed(2))} days`;

const rank = { fault: 0, watch: 1, note: 2 };

const bySeverity = (findings: readonly TrainFinding[]): readonly TrainFinding[] =>
  [...findings].sort((a, b) => rank[a.severity] - rank[b.severity]);

import type { MovementResult, PhotoRecord } from "../record/index.js";
import type { LostCounts, PartSheet, TrainPapers, TrainPicture, WeighedCounts } from "../report/index.js";
import type * as room from "../trains/index.js";
import type { DoubtResult, MissingResult, Movement, MovementResult as Result } from "../trains/index.js";

/** What the movement file and the photographs say together. */
export interface SurveyTrains {
  readonly result: MovementResult;
  readonly papers: TrainPapers;
}

type Trains = typeof room;

/** Evaluates a movement with what the photographs counted and measured, and prepares what a report shows of it. */
export async function evaluateTrains(
  written: Movement,
  photos: readonly PhotoRecord[],
  options: { readonly inches?: boolean } = {},
): Promise<SurveyTrains> {
  const trains = await import("../trains/index.js");
  const evidence = trains.evidenceFromSurvey(photos.flatMap(({ parts }) => parts));
  const placed = trains.placeEvidence(written, evidence).movement;
  const doubt = trains.hasPhotographs(placed) ? trains.weighCounts(written, evidence) : undefined;
  const movement = doubt ? trains.withWeighedCounts(placed, doubt) : placed;
  const missing = trains.solveMissing(movement);
  const evaluated = trains.evaluateMovement(movement);
  const result = {
    ...evaluated,
    findings: [...doubtFindings(doubt), ...lostFindings(missing), ...evaluated.findings],
  };
  return {
    result,
    papers: {
      pictures: pictures(trains, movement, evaluated, doubt),
      ...(doubt && { weighed: weighed(doubt) }),
      lost: missing.map(lostCounts),
      sheets: sheets(trains, movement, missing, options.inches ?? false),
    },
  };
}

type Finding = MovementResult["findings"][number];

/** When photographs and trains disagree: which part is at odds. */
const doubtFindings = (doubt: DoubtResult | undefined): Finding[] =>
  doubt?.verdict === undefined
    ? []
    : [
        {
          code: "photographs-disagree",
          severity: "fault",
          text: doubt.verdict,
          ...(doubt.suspects[0] && { position: doubt.suspects[0].position }),
        },
      ];

const lostFindings = (missing: readonly MissingResult[]): Finding[] =>
  missing.map(({ missing: gears, answers, problem }): Finding => {
    const words = gears.map((gear) => gear.words).join(" and ");
    const [first, second] = answers;
    const counts = (answer: MissingResult["answers"][number]) =>
      answer.counts.map(({ count }) => count).join(" and ");
    const isClear = second === undefined || (first?.weight ?? 0) >= 0.95;
    const most = first && (isClear ? counts(first) : `${counts(first)} most likely, ${counts(second)} next`);
    return {
      code: "count-lost",
      severity: "watch",
      text: `${words}: the count is not known; ${most === undefined ? (problem?.text ?? "nothing says what it was") : `the train asks for ${most}`}`,
      position: gears[0]!.position,
    };
  });

/** Train by train, so that each picture fits a page. */
function pictures(
  trains: Trains,
  movement: Movement,
  result: Result,
  doubt: DoubtResult | undefined,
): TrainPicture[] {
  const { motionWork, ...rest } = movement;
  const draw = (alone: Movement) => ({
    elevation: trains.drawTrainElevation(alone, result, doubt, { bare: true }),
    plan: trains.drawTrainPlan(alone, result, doubt, { bare: true }),
  });
  return [
    ...movement.trains.map((train) => ({ train: train.name, ...draw({ ...rest, trains: [train] }) })),
    ...(motionWork ? [draw({ ...rest, trains: [], motionWork })] : []),
  ];
}

const weighed = ({ counts, unplaced }: DoubtResult): WeighedCounts => ({
  rows: counts.map(({ words, count, probability, photographsSay, written, decidedBy }) => ({
    words,
    count,
    probability,
    photographsSay,
    decidedBy,
    ...(written !== undefined && { written }),
  })),
  unplaced,
});

const lostCounts = ({ missing, usedConditions, answers, found, problem }: MissingResult): LostCounts => ({
  words: missing.map(({ words }) => words),
  from: usedConditions,
  answers: answers.map((answer) => ({
    counts: answer.counts.map(({ count }) => count),
    exact: answer.exact,
    weight: answer.weight,
    ...(answer.beatsPerHour && { beatsPerHour: answer.beatsPerHour.value }),
    ...(answer.pendulumChangeMm && { pendulumChangeMm: answer.pendulumChangeMm }),
    ...(answer.gainsSecondsPerDay && { gainsSecondsPerDay: answer.gainsSecondsPerDay }),
    blankDiametersMm: answer.blanks.map(({ tipDiameterMm }) => tipDiameterMm),
    remarks: answer.remarks,
  })),
  found,
  ...(problem && { problem }),
});

/** With the likeliest count of everything that is lost. */
function sheets(
  trains: Trains,
  movement: Movement,
  missing: readonly MissingResult[],
  inches: boolean,
): PartSheet[] {
  return missing.flatMap(({ answers }): PartSheet[] => {
    const [best, second] = answers;
    if (best === undefined) return [];
    const whole = trains.changeCounts(movement, best.counts);
    return best.counts.flatMap(({ position }, i): PartSheet[] => {
      try {
        const sheet = trains.cuttingSheet(whole, position);
        const svg = trains.drawOutlineSvg(sheet);
        const place = trains.outlinePlace(sheet);
        const other =
          second && best.weight < 0.999 ? [otherAnswer(best.weight, second.counts[i]!.count)] : [];
        return [
          {
            words: sheet.words,
            ...(svg !== undefined && place && { outline: { svg, ...place } }),
            rows: trains.sheetRows(sheet, { inches }),
            warnings: [...other, ...sheet.warnings],
            checkFirst: trains.checkFirst,
          },
        ];
      } catch (cause) {
        // No size is known, say: then there is no sheet, and the answers above stand alone.
        if (cause instanceof RangeError) return [];
        throw cause;
      }
    });
  });
}

const otherAnswer = (weight: number, count: number): string =>
  `this count is the likeliest answer (${(100 * weight).toFixed(1)} %), not a counted one; the next is ${count}: make sure before cutting`;

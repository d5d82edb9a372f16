import { coverageVerdict, errorStatistics } from "./error-statistics.js";
import type { ErrorStatistics } from "./error-statistics.js";
import type { PhotoOutcome, WheelOutcome } from "./measure-known-photo.js";
import { markdownTable } from "./markdown-table.js";
import { sizes } from "./wheel-outcome.js";
import type { CountVerdict, SizeName } from "./wheel-outcome.js";

/** Bar for counts: right in 100 % on the mat from this many px per tooth, where the whole rim is in view. */
const barPxPerTooth = 8;
const wholeRim = 0.95;

interface CountRow {
  readonly photos: number;
  readonly wheels: number;
  readonly of: Readonly<Record<CountVerdict, number>>;
  readonly falseParts: number;
  /** Wheels that the bar asks for, and how many of them were counted right and surely. */
  readonly barred: number;
  readonly metBar: number;
}

export function countRow(outcomes: readonly PhotoOutcome[]): CountRow {
  const wheels = outcomes.flatMap((outcome) => outcome.wheels);
  const barred = outcomes.flatMap(({ photo, wheels: all }) =>
    all.filter(
      ({ wheel }) =>
        photo.onMat && !wheel.isCountWheel && wheel.pxPerTooth >= barPxPerTooth && wheel.rimSeen >= wholeRim,
    ),
  );
  return {
    photos: outcomes.length,
    wheels: wheels.length,
    of: {
      right: having(wheels, "right"),
      "not sure, but right": having(wheels, "not sure, but right"),
      "not sure": having(wheels, "not sure"),
      "confidently wrong": having(wheels, "confidently wrong"),
      missed: having(wheels, "missed"),
    },
    falseParts: outcomes.reduce((sum, { falseParts }) => sum + falseParts.length, 0),
    barred: barred.length,
    metBar: having(barred, "right"),
  };
}

const having = (wheels: readonly WheelOutcome[], verdict: CountVerdict): number =>
  wheels.filter((wheel) => wheel.verdict === verdict).length;

/** Design: never wrong at probability 0.95 or more on any photograph; on the mat, right in 100 %. */
export function countBar({ of, barred, metBar }: CountRow): string {
  if (of["confidently wrong"] > 0) return "not met";
  if (barred === 0) return "met: no claim wrong";
  return metBar === barred ? "met" : `not met: ${metBar} of ${barred}`;
}

const countHead = [
  "kind",
  "photographs",
  "wheels",
  "right",
  "not sure",
  "confidently wrong",
  "missed",
  "false parts",
  "bar",
];

function countCells(kind: string, row: CountRow): string[] {
  const { of } = row;
  const unsure = of["not sure"] + of["not sure, but right"];
  const unsureRight = of["not sure, but right"];
  return [
    kind,
    `${row.photos}`,
    `${row.wheels}`,
    `${of.right}`,
    unsureRight > 0 ? `${unsure} (${unsureRight} right)` : `${unsure}`,
    `${of["confidently wrong"]}`,
    `${of.missed}`,
    `${row.falseParts}`,
    countBar(row),
  ];
}

/** A row for each kind in the order of the outcomes, and one for all. */
export function countTable(outcomes: readonly PhotoOutcome[]): string {
  const kinds = [...new Set(outcomes.map(({ photo }) => photo.kind))];
  const rows = kinds.map((kind) =>
    countCells(kind, countRow(outcomes.filter(({ photo }) => photo.kind === kind))),
  );
  return markdownTable(countHead, [...rows, countCells("**all**", countRow(outcomes))]);
}

const sizeHead = [
  "size",
  "n",
  "bias",
  "rms error",
  "largest error",
  "95 % interval holds",
  "interval bar",
  "size bar",
];

const sizeBars: Partial<Record<SizeName, string>> = {
  tip: "0.03 mm + 0.1 %",
  module: "0.5 %",
  eccentricity: "0.03 mm",
};

export function sizeTable(outcomes: readonly PhotoOutcome[]): string {
  const errors = outcomes.flatMap(({ wheels }) => wheels.flatMap((wheel) => wheel.errors));
  const rows = (Object.keys(sizes) as SizeName[]).map((size) =>
    sizeCells(size, errorStatistics(errors.filter((e) => e.size === size))),
  );
  return markdownTable(sizeHead, rows);
}

function sizeCells(size: SizeName, statistics: ErrorStatistics | undefined): string[] {
  const name = `${size}, ${sizes[size]}`;
  if (!statistics) return [name, "0", ...Array<string>(sizeHead.length - 2).fill("")];
  const { count, bias, rms, largest, stated, covered } = statistics;
  return [
    name,
    `${count}`,
    bias.toFixed(3),
    rms.toFixed(3),
    largest.toFixed(3),
    stated === 0 ? "" : `${covered} of ${stated} (${((100 * covered) / stated).toFixed(0)} %)`,
    coverageVerdict(statistics),
    sizeBar(size, statistics),
  ];
}

export function sizeBar(size: SizeName, { barred, withinBar }: ErrorStatistics): string {
  const bar = sizeBars[size];
  if (bar === undefined) return "";
  if (barred === 0) return `${bar}: no case`;
  return `${bar}: ${withinBar === barred ? "met" : "not met"}, ${withinBar} of ${barred}`;
}

/** Bar: the smallest tooth that is still counted has a pitch of 4 px. */
export function smallestToothLine(outcomes: readonly PhotoOutcome[]): string {
  const right = outcomes
    .flatMap(({ wheels }) => wheels)
    .filter(({ wheel, verdict }) => !wheel.isCountWheel && verdict === "right")
    .map(({ wheel }) => wheel.pxPerTooth);
  if (right.length === 0) return "No tooth was counted right and surely.";
  const smallest = Math.min(...right);
  const small = outcomes
    .flatMap(({ wheels }) => wheels)
    .filter(({ wheel }) => wheel.pxPerTooth >= 4 && wheel.pxPerTooth < barPxPerTooth);
  return (
    `Smallest tooth pitch that was counted right and surely: ${smallest.toFixed(1)} px (bar: 4 px). ` +
    `Between 4 and 8 px: ${having(small, "right")} of ${small.length} wheels right and sure.`
  );
}

/** Both tables with what their columns mean. */
export function accuracyText(outcomes: readonly PhotoOutcome[], setWords: string): string {
  return `${setWords}

${countTable(outcomes)}

Right and confidently wrong: at a stated probability of 0.95 or more; not sure: below it. The bar asks for no count
confidently wrong on any photograph, and on the mat, from 8 px a tooth and with the whole rim in view, for every
count right and sure. Wheels of which less than half of the rim is in view need not be found.

${smallestToothLine(outcomes)}

${sizeTable(outcomes)}

Error: measured minus true; of the module in %. The interval is the value ± 2 u; its bar is 90 % to 99 %. Bars of sizes
ask for the mat; tip: also 10 px/mm or finer and a face height given; eccentricity: within 50 mm of the foot point.
Bore and eccentricity where the bore is in view; ovality: largest minus smallest diameter; lean: where one is stated; centre: x and
y apart.
`;
}

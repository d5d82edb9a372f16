import { coverageVerdict, errorStatistics } from "./error-statistics.js";
import { countRow, smallestToothLine } from "./accuracy-tables.js";
import { markdownTable } from "./markdown-table.js";
import type { PhotoOutcome, WheelOutcome } from "./measure-known-photo.js";
import { sizes, sureProbability } from "./wheel-outcome.js";
import type { SizeName } from "./wheel-outcome.js";

/** A photograph under stress, and the seed that decides which half it belongs to. */
export interface StressOutcome extends PhotoOutcome {
  readonly seed: number;
}

/** Odd seeds may be looked at while the program is mended; even ones only say how it then does. */
export const isLookedAt = (seed: number): boolean => seed % 2 === 1;

/** Tables of both halves: counts by kind, what a stated probability is worth, and how often intervals hold. */
export function stressText(outcomes: readonly StressOutcome[], setWords: string): string {
  const lookedAt = outcomes.filter(({ seed }) => isLookedAt(seed));
  const unseen = outcomes.filter(({ seed }) => !isLookedAt(seed));
  return `${setWords} Odd seeds were looked at while the program was mended
(${lookedAt.length} photographs), even seeds were not (${unseen.length}).

${stressCountTable(lookedAt, unseen)}

Wheels: right / cannot tell / wrong, of those of which half the rim or more is in view. Right and wrong: at a stated
probability of ${sureProbability} or more. Cannot tell: below it, or not found. False: parts where there is nothing toothed.

${smallestToothLine(unseen)}

What a stated probability was worth, even seeds:

${reliabilityTable(unseen.flatMap(({ wheels }) => wheels))}

How often the stated 95 % intervals (value ± 2 u) hold the truth:

${coverageTable(lookedAt, unseen)}
`;
}

function stressCountTable(lookedAt: readonly PhotoOutcome[], unseen: readonly PhotoOutcome[]): string {
  const kinds = [...new Set([...lookedAt, ...unseen].map(({ photo }) => photo.kind))];
  const cells = (name: string, isOf: (outcome: PhotoOutcome) => boolean): string[] => [
    name,
    ...[lookedAt, unseen].flatMap((half) => verdictCells(half.filter(isOf))),
  ];
  return markdownTable(
    [
      "trouble",
      "odd: right",
      "cannot tell",
      "wrong",
      "false",
      "even: right",
      "cannot tell",
      "wrong",
      "false",
    ],
    [...kinds.map((kind) => cells(kind, ({ photo }) => photo.kind === kind)), cells("**all**", () => true)],
  );
}

function verdictCells(outcomes: readonly PhotoOutcome[]): string[] {
  const { of, falseParts } = countRow(outcomes);
  const cannotTell = of["not sure"] + of["not sure, but right"] + of.missed;
  return [of.right, cannotTell, of["confidently wrong"], falseParts].map((n) => `${n}`);
}

const bins = [0, 0.5, 0.8, 0.95, 0.99, 0.999, 1] as const;

/** Stated probabilities in bins, and the share of right counts among them with its 95 % interval. */
export function reliabilityTable(wheels: readonly WheelOutcome[]): string {
  const counted = wheels.flatMap(({ countSaid, probability, wheel }) =>
    countSaid === undefined || probability === undefined
      ? []
      : [{ isRight: countSaid === wheel.toothCount, probability }],
  );
  const rows = bins.slice(0, -1).flatMap((from, i): string[][] => {
    const isLast = i === bins.length - 2;
    const to = bins[i + 1]!;
    const inBin = counted.filter(({ probability: p }) => p >= from && (p < to || (isLast && p <= to)));
    if (inBin.length === 0) return [];
    const right = inBin.filter(({ isRight }) => isRight).length;
    const mean = inBin.reduce((sum, { probability }) => sum + probability, 0) / inBin.length;
    const [low, high] = wilsonInterval(right, inBin.length);
    const share = right / inBin.length;
    return [
      [
        `${from} to ${to}`,
        `${inBin.length}`,
        mean.toFixed(3),
        share.toFixed(3),
        `${low.toFixed(2)} to ${high.toFixed(2)}`,
        "#".repeat(Math.round(20 * share)),
      ],
    ];
  });
  return markdownTable(
    ["stated", "n", "mean stated", "right", "95 % interval of that", "right, drawn"],
    rows,
  );
}

/** 95 % interval of a share: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209 (formula from memory). */
export function wilsonInterval(hits: number, n: number): readonly [number, number] {
  const z = 1.96;
  const share = hits / n;
  const middle = (share + (z * z) / (2 * n)) / (1 + (z * z) / n);
  const half = (z / (1 + (z * z) / n)) * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n));
  return [Math.max(0, middle - half), Math.min(1, middle + half)];
}

function coverageTable(lookedAt: readonly PhotoOutcome[], unseen: readonly PhotoOutcome[]): string {
  const rows = (Object.keys(sizes) as SizeName[])
    .filter((size) => size !== "centre")
    .map((size) => [
      `${size}, ${sizes[size]}`,
      ...[lookedAt, unseen].flatMap((half) => coverageCells(half, size)),
    ]);
  return markdownTable(
    ["size", "odd: n", "rms error", "holds", "bar", "even: n", "rms error", "holds", "bar"],
    rows,
  );
}

function coverageCells(outcomes: readonly PhotoOutcome[], size: SizeName): string[] {
  const errors = outcomes
    .flatMap(({ wheels }) => wheels.flatMap((wheel) => wheel.errors))
    .filter((error) => error.size === size);
  const statistics = errorStatistics(errors);
  if (!statistics) return ["0", "", "", ""];
  const { count, rms, stated, covered } = statistics;
  return [
    `${count}`,
    rms.toFixed(3),
    stated === 0 ? "" : `${((100 * covered) / stated).toFixed(0)} %`,
    coverageVerdict(statistics),
  ];
}

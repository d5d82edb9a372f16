import { numberText } from "../rounded.js";
import { shownText } from "../shown-text.js";
import type { LostCounts, WeighedCounts } from "../train-papers.js";
import type { Block, Words } from "./content.js";
import { lengthWords, rateWords } from "./train-words.js";

const said = (text: string): Words => [{ said: shownText(text, { max: 400 }) }];
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const probabilityText = (p: number): string =>
  p > 0.999 ? "above 0.999" : p < 0.001 ? "below 0.001" : numberText(p, 3);

/** Counts of the photographs weighed against what the train must do. */
export function weighedBlocks(weighed: WeighedCounts | undefined): Block[] {
  if (!weighed || weighed.rows.length === 0) return [];
  return [
    { kind: "heading", title: "Photographs and trains together" },
    {
      kind: "paragraph",
      quiet: true,
      words:
        "Each count of the photographs, weighed with all the others against what a sound train must do: beats, hands, " +
        "locking, blows, going time, sizes of mates. One clock in fifty is taken to hold a part that is not its own.",
    },
    {
      kind: "table",
      caption: "Counts used for the trains",
      columns: [
        { head: "Gear", width: 0.29 },
        { head: "Count", align: "right", width: 0.08 },
        { head: "Probability", align: "right", width: 0.13 },
        { head: "Photographs alone", width: 0.2 },
        { head: "Decided by", width: 0.3 },
      ],
      rows: weighed.rows.map((row): Words[] => [
        said(capital(row.words)),
        row.written === undefined ? `${row.count}` : `${row.count}; file: ${row.written}`,
        probabilityText(row.probability),
        row.photographsSay
          .filter(({ probability }) => probability >= 0.0005)
          .slice(0, 3)
          .map(({ count, probability }) => `${count} (${probabilityText(probability)})`)
          .join(", "),
        row.decidedBy.length === 0 ? "photographs" : said(row.decidedBy.slice(0, 2).join("; ")),
      ]),
    },
    ...(weighed.unplaced.length > 0
      ? [
          {
            kind: "paragraph" as const,
            quiet: true,
            words: [
              "Photographed, but in no train of the movement file: ",
              ...said(weighed.unplaced.join(", ")),
              ".",
            ],
          },
        ]
      : []),
  ];
}

const mostAnswers = 6;

/** What a lost wheel or pinion may have been. */
export function lostBlocks(lost: LostCounts, inches: boolean): Block[] {
  const { words, from, answers, found, problem } = lost;
  const title = `Lost: ${words.map((one) => shownText(one, { max: 80 })).join(" and ")}`;
  const many = words.length > 1;
  return [
    { kind: "heading", title },
    ...(from.length > 0
      ? [{ kind: "paragraph" as const, words: ["Solved from: ", ...said(from.join("; ")), "."] }]
      : []),
    ...(problem
      ? [
          {
            kind: "paragraph" as const,
            words: [...said(capital(problem.text)), ". What to do: ", ...said(problem.advice), "."],
          },
        ]
      : []),
    ...(answers.length > 0
      ? [
          {
            kind: "table" as const,
            caption:
              found > mostAnswers
                ? `${title}: the best ${mostAnswers} of ${found} answers`
                : `${title}: answers`,
            columns: [
              { head: many ? "Counts" : "Count", width: 0.14 },
              { head: "Weight", align: "right" as const, width: 0.13 },
              { head: "Beats an hour", align: "right" as const, width: 0.13 },
              { head: "Pendulum change", align: "right" as const, width: 0.17 },
              { head: "Rate now", width: 0.19 },
              { head: "Blank diameter", align: "right" as const, width: 0.24 },
            ],
            rows: answers
              .slice(0, mostAnswers)
              .map((answer): Words[] => [
                answer.counts.join(" and "),
                answer.weight < 0.001 ? "below 0.1 %" : `${numberText(100 * answer.weight, 1)} %`,
                answer.beatsPerHour === undefined ? "" : `${Number(answer.beatsPerHour.toFixed(1))}`,
                answer.pendulumChangeMm ? lengthWords(answer.pendulumChangeMm, inches) : "",
                answer.gainsSecondsPerDay ? rateWords(answer.gainsSecondsPerDay) : "",
                answer.blankDiametersMm.map((mm) => lengthWords(mm, inches)).join(", "),
              ]),
          },
        ]
      : []),
  ];
}

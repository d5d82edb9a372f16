import type { StatementRecord, SurveyDocument } from "../../record/index.js";
import type { Section } from "./content.js";

interface Caution {
  readonly title: string;
  /** Words in the planned work or the description that call for it. */
  readonly when: RegExp;
  readonly text: string;
  readonly source: string;
}

/** Sources as published; where none is named it is common practice. */
const cautions: readonly Caution[] = [
  {
    title: "Mainspring",
    when: /spring|barrel|plate|dismantl|assembl|bush|repair|replac|wheel|pinion|pivot|strip/i,
    text:
      "Let the mainspring down fully with a let-down key before the plates are parted, even if the clock seems run " +
      "down. Restrain open springs with clamps. A slip cuts fingers: wear eye protection.",
    source: "Clocks Magazine, workshop tips, June 2005; common practice",
  },
  {
    title: "Weights, cable and gut",
    when: /weight|cable|\bgut\b|\bline\b|rope|chain/i,
    text:
      "Take the weights off before the clock is moved, and support them before a line is cut. A worn line drops " +
      "several kilograms.",
    source: "common practice, no source",
  },
  {
    title: "Ammoniated cleaner",
    when: /ammonia|clean|wash|ultrasonic|degreas/i,
    text:
      "Ventilate, wear gloves and goggles. Never mix it with bleach: that sets chloramine gas free. Workplace limits " +
      "for ammonia are of the order of 25 ppm over a shift and 35 ppm for a short time.",
    source: "US EPA, household waste; limits as of ACGIH and NIOSH, from memory",
  },
  {
    title: "Petroleum solvents",
    when: /solvent|petrol|spirit|naphtha|paraffin|kerosene|clean|degreas/i,
    text: "No flames, no heated bath without a vent. Keep used rags in a closed metal bin.",
    source: "common practice, no source",
  },
  {
    title: "Mercury pendulum",
    when: /mercur|quicksilver/i,
    text:
      "Keep it upright, over a tray. Never vacuum, sweep or pour spilt mercury down a drain. For more than a " +
      "thermometer holds: leave the room, ventilate to the outside, call the health department.",
    source: "US EPA, mercury releases",
  },
  {
    title: "Luminous dial or hands",
    when: /radium|lumin/i,
    text:
      "An intact radium dial is usually of low risk. Do not open, scrape or clean it: the dust is the hazard. Ask the " +
      "radiation authority before any work.",
    source: "US EPA, radioactive antiques",
  },
  {
    title: "Lead and old paint",
    when: /\blead\b|paint|gild|solder/i,
    text: "Wear gloves, wash hands, do not sand dry.",
    source: "common practice, no source",
  },
];

function listedWork(statement: StatementRecord, survey: SurveyDocument, hasWork: boolean): string {
  const { identification } = statement;
  return [
    ...statement.planned_work,
    identification.type_of_object,
    identification.materials_and_techniques,
    identification.description,
    ...statement.condition.map((c) => c.text),
    ...(hasWork ? ["repair"] : []),
    ...(survey.trains ? ["plates"] : []),
  ]
    .filter((t) => t !== undefined)
    .join("\n");
}

/**
 * Cautions for the work that the report lists or that its findings call for; none where there is no work.
 *
 * @param hasWork something was found that needs doing.
 */
export function cautionsSection(survey: SurveyDocument, hasWork: boolean): Section | undefined {
  const { statement } = survey;
  const work = listedWork(statement, survey, hasWork);
  const called = cautions.filter(({ when }) => when.test(work));
  if (called.length === 0) return undefined;
  return {
    id: "cautions",
    title: "Cautions for the work",
    blocks: [
      ...(statement.planned_work.length > 0
        ? [
            { kind: "paragraph" as const, words: "Work planned, as stated:" },
            { kind: "list" as const, items: statement.planned_work.map((said) => [{ said }]) },
          ]
        : []),
      {
        kind: "facts",
        rows: called.map(({ title, text, source }) => ({
          term: title,
          words: `${text} (Source: ${source}.)`,
        })),
      },
      {
        kind: "paragraph",
        words: [
          {
            bold: "Follow your local codes, and leave to a licensed professional whatever you are not sure of.",
          },
        ],
      },
    ],
  };
}

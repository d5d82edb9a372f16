import type { SurveyDocument } from "../../record/index.js";
import { countText, partKindWords, runsText, sureProbability, teethIn } from "../part-words.js";
import { quantityText } from "../rounded.js";
import { shownText } from "../shown-text.js";
import type { Block, FindingItem, Section, TableBlock, Words } from "./content.js";
import { groupName, type PartGroup } from "./group-parts.js";
import { isBelowUncertainty } from "./quantities.js";
import { allFindings, findingsOf } from "./urgency.js";

const plural = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

/** On one page: what was examined, what was found, what needs doing, the most urgent first. */
export function summarySection(survey: SurveyDocument, groups: readonly PartGroup[]): Section {
  const { photos, sets } = survey.measurement;
  const findings = allFindings(survey, groups);
  const urgent = findings.filter((f) => f.severity !== "note");
  const notes = findings.length - urgent.length;
  const unmeasured = photos.filter((p) => p.parts.length === 0).length;
  const unsure = groups.filter(({ best: { part } }) => part.kind !== "plate" && !isSure(part)).length;
  const examined = [
    `${plural(groups.length, "part")} in ${plural(photos.length, "photograph")}`,
    ...(sets.length > 0 ? [plural(sets.length, "set of photographs", "sets of photographs")] : []),
  ].join(", ");
  const blocks: Block[] = [
    {
      kind: "facts",
      rows: [
        { term: "Examined", words: `${examined}.${scaleWords(survey)}` },
        {
          term: "Found",
          words:
            `${plural(count(findings, "fault"), "fault")}, ${plural(count(findings, "watch"), "point")} to watch, ` +
            `${plural(notes, "note")}.` +
            (unsure > 0 ? ` For ${plural(unsure, "part")} the count is not sure.` : "") +
            (unmeasured > 0 ? ` ${plural(unmeasured, "photograph")} gave no part.` : ""),
        },
      ],
    },
    { kind: "heading", title: "What needs doing, in order of urgency" },
    urgent.length > 0
      ? { kind: "findings", items: urgent.slice(0, 12) }
      : { kind: "paragraph", words: "Nothing was found that needs doing." },
    ...(urgent.length > 12
      ? [
          {
            kind: "paragraph" as const,
            words: [
              `${urgent.length - 12} more stand in the `,
              { to: "condition", text: "condition list" },
              ".",
            ],
          },
        ]
      : []),
    ...(groups.length > 0 ? [partsTable(groups)] : []),
  ];
  return { id: "summary", title: "Summary", blocks };
}

const count = (items: readonly FindingItem[], severity: FindingItem["severity"]): number =>
  items.filter((f) => f.severity === severity).length;

const isSure = (part: PartGroup["best"]["part"]): boolean =>
  (part.teeth?.probability ?? 0) >= sureProbability;

function scaleWords({ measurement: { photos } }: SurveyDocument): string {
  const on = (source: "mat" | "given" | "none"): number =>
    photos.filter((p) => p.scale.source === source).length;
  const words = [
    ...(on("mat") > 0 ? [`${on("mat")} with the printed scale sheet`] : []),
    ...(on("given") > 0 ? [`${on("given")} with a scale that was given`] : []),
    ...(on("none") > 0 ? [`${on("none")} without a scale`] : []),
  ];
  return words.length > 0 ? ` Photographs: ${words.join(", ")}.` : "";
}

function stateWords(group: PartGroup): Words {
  const { part } = group.best;
  const missing = teethIn(part, "missing");
  const bent = teethIn(part, "bent");
  const words = [
    ...(missing.length > 0 ? [`missing ${runsText(missing)}`] : []),
    ...(bent.length > 0 ? [`bent ${runsText(bent)}`] : []),
  ];
  const worst = findingsOf(group)[0]?.severity;
  const mark = worst === "fault" ? "fault" : worst === "watch" ? "watch" : "";
  if (words.length > 0) return mark === "" ? words.join("; ") : [{ bold: mark }, `: ${words.join("; ")}`];
  return mark === "" ? "" : [{ bold: mark }];
}

/** One line for each part. */
const partsTable = (groups: readonly PartGroup[]): TableBlock => ({
  kind: "table",
  caption: "Parts examined (expanded uncertainty, k = 2)",
  columns: [
    { head: "Part", width: 0.16 },
    { head: "Kind and count", width: 0.23 },
    { head: "Tip diameter, mm", align: "right", width: 0.17 },
    { head: "Module, mm", align: "right", width: 0.17 },
    { head: "Eccentricity, mm", align: "right", width: 0.13 },
    { head: "State", width: 0.14 },
  ],
  rows: groups.map((group) => {
    const { part } = group.best;
    const e = part.eccentricity_mm;
    return [
      [{ to: group.id, text: groupName(group) }],
      `${partKindWords(part)}${countText(part) === "" ? "" : `, ${countText(part)}`}`,
      part.tip_diameter_mm ? quantityText(part.tip_diameter_mm, "") : "",
      part.module_mm ? quantityText(part.module_mm, "") : "",
      e ? (isBelowUncertainty(e) ? `below ${(2 * e.u).toPrecision(2)}` : quantityText(e, "")) : "",
      stateWords(group),
    ];
  }),
});

/** All findings once more, with their evidence, for the repair list. */
export function conditionSection(survey: SurveyDocument, groups: readonly PartGroup[]): Section {
  const findings = allFindings(survey, groups);
  const problems = survey.measurement.photos.flatMap((photo, i) =>
    photo.problems.map((problem): Words => [
      { to: `photo-${i + 1}`, text: `Photograph ${i + 1}` },
      ": ",
      { said: shownText(problem.text, { max: 400 }) },
      ". What to do: ",
      { said: shownText(problem.advice, { max: 400 }) },
      ".",
    ]),
  );
  return {
    id: "condition",
    title: "Condition and repair list",
    blocks: [
      findings.length > 0
        ? { kind: "findings", items: findings }
        : { kind: "paragraph", words: "Nothing was found." },
      ...(problems.length > 0
        ? [
            { kind: "heading" as const, title: "What the photographs could not show" },
            { kind: "list" as const, items: problems },
          ]
        : []),
    ],
  };
}

import type { SurveyDocument } from "../../record/index.js";
import type { Box } from "../overlay/place-boxes.js";
import { shownText } from "../shown-text.js";
import { cautionsSection } from "./cautions.js";
import type { Block, Fact, FigureBlock, ReportContent, Section } from "./content.js";
import { groupParts, type Sighting } from "./group-parts.js";
import { identificationSection, personText } from "./identification.js";
import { limitsSection } from "./limits.js";
import { methodSection } from "./method.js";
import { partBlock } from "./part-section.js";
import { photoFigure, photographsSection } from "./photographs.js";
import { provenanceSection, type PrivateData } from "./provenance.js";
import { setsSection, type LaidOverSet } from "./sets-section.js";
import { conditionSection, summarySection } from "./summary.js";
import type { TrainPapers } from "../train-papers.js";
import { replacementsSection } from "./replacements.js";
import { trainsSection } from "./trains-section.js";
import { allFindings } from "./urgency.js";

export interface ComposeOptions {
  /** Inches beside millimetres; default false. */
  readonly inches?: boolean;
  /** What the train calculator has to say beyond its result. */
  readonly papers?: TrainPapers;
  /** Place and serial numbers, photograph by photograph, where they were asked for. */
  readonly privateData?: readonly PrivateData[];
  /** Region of the photograph that a part's picture shows; absent: that part has no picture. */
  readonly cropOf: (sighting: Sighting) => Box | undefined;
  /** Of a set, by its place among the sets: its two extreme photographs over each other. */
  readonly laidOverOf?: (setIndex: number) => LaidOverSet | undefined;
}

/** The whole report as sections of blocks: what HTML and PDF are made of. */
export function composeReport(survey: SurveyDocument, options: ComposeOptions): ReportContent {
  const { statement } = survey;
  const groups = groupParts(survey);
  const inches = options.inches ?? false;
  const parts: Section[] =
    groups.length === 0
      ? []
      : [
          {
            id: "parts",
            title: "Parts",
            blocks: groups.map((group): Block => partBlock(group, { inches, cropOf: options.cropOf })),
          },
        ];
  const hasWork = allFindings(survey, groups).some((f) => f.severity !== "note");
  const sections = [
    summarySection(survey, groups),
    identificationSection(statement),
    ...parts,
    // Plates (plate-section.ts) take their line here.
    setsSection(survey, options.laidOverOf),
    trainsSection(survey.trains, options.papers, inches),
    replacementsSection(options.papers),
    conditionSection(survey, groups),
    cautionsSection(survey, hasWork),
    photographsSection(survey),
    methodSection(survey),
    limitsSection(survey),
    provenanceSection(survey, options.privateData),
  ].filter((section) => section !== undefined);
  const title = shownText(statement.title ?? "Clock parts", { max: 160 });
  const cover = coverFigure(survey);
  return {
    title,
    subtitle: "Documented survey of clock parts, measured from photographs",
    facts: titleFacts(survey),
    ...(cover ? { cover } : {}),
    ...(statement.notice === undefined ? {} : { notice: shownText(statement.notice, { max: 200 }) }),
    sections,
    foot: [
      title,
      ...(statement.reference === undefined ? [] : [shownText(statement.reference, { max: 60 })]),
    ].join(" · "),
  };
}

function titleFacts({ statement, made_at, software }: SurveyDocument): Fact[] {
  const said = (term: string, value: string | undefined): Fact[] =>
    value === undefined ? [] : [{ term, words: [{ said: value }] }];
  return [
    ...said("Reference", statement.reference),
    ...said("Purpose", statement.purpose),
    ...said("Owner", personText(statement.owner)),
    ...said("Examiner", personText(statement.examiner)),
    ...said("Examined on", statement.examined_on),
    ...said("Place", statement.place),
    { term: "Report made", words: `${made_at.slice(0, 10)}, ${software.name} ${software.version}` },
  ];
}

/** The photograph that shows most parts, without their marks. */
function coverFigure({ measurement: { photos } }: SurveyDocument): FigureBlock | undefined {
  const shown = photos.map((photo, i) => ({ photo, i })).filter(({ photo }) => photo.width_px !== undefined);
  if (shown.length === 0) return undefined;
  const { photo, i } = shown.reduce((a, b) => (b.photo.parts.length > a.photo.parts.length ? b : a));
  return photoFigure({ ...photo, parts: [] }, i, { alt: "Overview photograph of the parts examined." });
}

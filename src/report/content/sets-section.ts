import type { PhotoRecord, QuantityRecord, SetRecord, SurveyDocument } from "../../record/index.js";
import { arborRunoutPlot, axialRunoutPlot } from "../plots/arbor-runout-plot.js";
import { centrePathPlot } from "../plots/centre-path-plot.js";
import { quantityText } from "../rounded.js";
import { shownText } from "../shown-text.js";
import type { Block, Fact, FigureBlock, Section } from "./content.js";
import { fileName } from "./photographs.js";
import { findingItem } from "./urgency.js";

const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;

/** Sets of photographs of one part, evaluated together; none where there are none. */
export function setsSection({ measurement: { sets, photos } }: SurveyDocument): Section | undefined {
  if (sets.length === 0) return undefined;
  return {
    id: "sets",
    title: "Sets of photographs",
    blocks: sets.flatMap((set, i): Block[] => {
      const name = `${setWords[set.kind]} ${set.label === undefined ? i + 1 : shownText(set.label, { max: 40 })}`;
      return [
        { kind: "heading", title: name },
        { kind: "facts", rows: setFacts(set) },
        ...(set.findings && set.findings.length > 0
          ? [{ kind: "findings" as const, items: set.findings.map(findingItem) }]
          : []),
        ...figures(set, photos, name),
        ...(set.problems ?? []).map((p): Block => ({
          kind: "paragraph",
          quiet: true,
          words: [{ said: shownText(p.text, { max: 400 }) }, ". What to do: ", { said: p.advice }, "."],
        })),
      ];
    }),
  };
}

function setFacts(set: SetRecord): Fact[] {
  const limits = set.detection_limits;
  const q = (term: string, value: QuantityRecord | undefined, unit: string, limit?: number): Fact[] => {
    if (value === undefined) return [];
    const seen =
      limit === undefined ? "" : `; seen from ${limit.toFixed(2)}${unit === "°" ? "" : " "}${unit} on`;
    return [{ term, words: `${quantityText(value, unit)} (k = 2)${seen}` }];
  };
  return [
    { term: "Photographs", words: [{ said: set.photos.map(fileName).join(", ") }] },
    ...(set.verdict === undefined ? [] : [{ term: "Verdict", words: [{ bold: set.verdict }] }]),
    ...q("Eccentricity about the arbor", set.eccentricity_mm, "mm"),
    ...q("Its direction in the first photograph", set.eccentricity_angle_deg, "°"),
    ...q("Run-out of a pure offset", set.radial_runout_mm, "mm"),
    ...q("Axial run-out (rise and fall of the rim)", set.axial_runout_mm, "mm"),
    ...q("Radial play", set.radial_play_mm, "mm", limits?.radial_play_mm),
    ...q("Twist", set.twist_deg, "°", limits?.twist_deg),
    ...q("Rock", set.rock_deg, "°", limits?.rock_deg),
    ...q("Height of the face", set.face_height_mm, "mm"),
    ...q("Tip diameter at that height", set.tip_diameter_mm, "mm"),
  ];
}

/** Path and run-out side by side, as far as there is something to draw. */
function figures(set: SetRecord, photos: readonly PhotoRecord[], name: string): Block[] {
  const tipMm = tipDiameterOf(set, photos);
  if (tipMm === undefined) return [];
  const made: FigureBlock[] = [];
  const path = centrePathPlot(set, tipMm / 2);
  if (path)
    made.push({
      kind: "figure",
      alt: `${name}: where the ${set.kind === "turn" ? "tooth circle's centre" : "arbor in the wheel"} stood in each photograph, magnified ${path.magnification} times.`,
      caption: [
        { bold: set.kind === "turn" ? "Path of the centre. " : "Arbor in the wheel. " },
        set.kind === "turn"
          ? "Centre of the tooth circle about the arbor's axis (cross), by photograph; dashed: fitted circle; open dot: left out."
          : "Where the arbor stood in the wheel, by photograph; two dots further apart than the dashed circle is wide have moved.",
      ],
      box: { x: 0, y: 0, width: path.width, height: path.height },
      drawing: path.drawing,
    });
  const runout = arborRunoutPlot(set, tipMm / 2);
  if (runout)
    made.push({
      kind: "figure",
      alt: `${name}: run-out of the tooth circle about the arbor in polar form, magnified ${runout.magnification} times.`,
      caption: [
        { bold: "Run-out about the arbor. " },
        "What a probe at the rim would read over a turn, from the eccentricity alone.",
      ],
      box: { x: 0, y: 0, width: runout.width, height: runout.height },
      drawing: runout.drawing,
    });
  const axial = axialRunoutPlot(set, tipMm / 2);
  if (axial)
    made.push({
      kind: "figure",
      alt: `${name}: rise and fall of the rim about the arbor in polar form, magnified ${axial.magnification} times.`,
      caption: [
        { bold: "Rise and fall of the rim. " },
        "What a probe standing on the face at the tips would read over a turn: outwards is up.",
      ],
      box: { x: 0, y: 0, width: axial.width, height: axial.height },
      drawing: axial.drawing,
    });
  return pairs(made);
}

/** Side by side, two in a row. */
function pairs([left, right, ...more]: readonly FigureBlock[]): Block[] {
  if (left === undefined) return [];
  if (right === undefined) return [{ ...left, width: 0.5 }];
  return [{ kind: "pair", left: [left], right: [right] }, ...pairs(more)];
}

function tipDiameterOf(set: SetRecord, photos: readonly PhotoRecord[]): number | undefined {
  for (const { file, part_id } of set.positions ?? []) {
    const part = photos.find((p) => p.file === file)?.parts.find((p) => p.id === part_id);
    if (part?.tip_diameter_mm) return part.tip_diameter_mm.value;
  }
  return undefined;
}

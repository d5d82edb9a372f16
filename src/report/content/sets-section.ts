import type { QuantityRecord, SetRecord, SurveyDocument } from "../../record/index.js";
import type { LaidOver } from "../laid-over/lay-over.js";
import { quantityText } from "../rounded.js";
import { shownText } from "../shown-text.js";
import type { Block, Fact, FigureBlock, Section } from "./content.js";
import { laidOverFigure } from "./laid-over-figure.js";
import { fileName } from "./photographs.js";
import { setFigures } from "./set-figures.js";
import { findingItem } from "./urgency.js";

const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;

/** Two photographs over each other, or which of the two could not be had again. */
export type LaidOverSet = LaidOver | { readonly missing: readonly string[] };

export const laidOverKey = (setIndex: number): string => `set-${setIndex + 1}-laid-over`;

/**
 * Sets of photographs of one part, evaluated together; none where there are none.
 *
 * @param laidOverOf the two extreme photographs of a set over each other, by its place among the sets.
 */
export function setsSection(
  { measurement: { sets, photos } }: SurveyDocument,
  laidOverOf: (setIndex: number) => LaidOverSet | undefined = () => undefined,
): Section | undefined {
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
        ...pairs(setFigures(set, photos, name)),
        ...laidOverBlocks(laidOverOf(i), name, laidOverKey(i)),
        ...(set.problems ?? []).map((p): Block => ({
          kind: "paragraph",
          quiet: true,
          words: [{ said: shownText(p.text, { max: 400 }) }, ". What to do: ", { said: p.advice }, "."],
        })),
      ];
    }),
  };
}

function laidOverBlocks(laid: LaidOverSet | undefined, name: string, picture: string): Block[] {
  if (laid === undefined) return [];
  if (!("missing" in laid)) return [laidOverFigure(laid, name, picture)];
  return [
    {
      kind: "paragraph",
      quiet: true,
      words: [
        "The two photographs that are furthest apart are not shown over each other: ",
        { said: laid.missing.map(fileName).join(", ") },
        " could not be opened again, or is not the file that was measured.",
      ],
    },
  ];
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

/** Side by side, two in a row. */
function pairs([left, right, ...more]: readonly FigureBlock[]): Block[] {
  if (left === undefined) return [];
  if (right === undefined) return [{ ...left, width: 0.5 }];
  return [{ kind: "pair", left: [left], right: [right] }, ...pairs(more)];
}

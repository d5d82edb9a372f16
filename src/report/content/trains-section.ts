import type { MovementResult, TrainResult } from "../../record/index.js";
import { drawingOfSvg } from "../plots/drawing-of-svg.js";
import { trainDrawing } from "../plots/train-drawing.js";
import { shownText } from "../shown-text.js";
import type { TrainPapers, TrainPicture } from "../train-papers.js";
import type { Block, Fact, FigureBlock, Section, TableBlock } from "./content.js";
import { lostBlocks, weighedBlocks } from "./train-counts.js";
import {
  measuredText,
  otherParts,
  pinionsOf,
  ratioText,
  strikeFacts,
  timeFacts,
  turnText,
  wheelsOf,
  windingFacts,
} from "./train-words.js";
import { findingItem } from "./urgency.js";

const dutyWords = { time: "Time train", strike: "Strike train", chime: "Chime train" } as const;

/** What the counts say of the trains; none where no trains were given. */
export function trainsSection(
  trains: MovementResult | undefined,
  papers: TrainPapers | undefined,
  inches: boolean,
): Section | undefined {
  if (!trains) return undefined;
  const { missing, findings, gravity } = trains;
  const g = { value: gravity.valueMps2, ...(gravity.uMps2 === undefined ? {} : { u: gravity.uMps2 }) };
  return {
    id: "trains",
    title: "Trains",
    newPage: true,
    blocks: [
      {
        kind: "paragraph",
        quiet: true,
        words:
          "Computed exactly from the counts. Pendulum lengths are from suspension to centre of oscillation, for " +
          `gravity ${measuredText(g, "m/s²")} ${gravityWords[gravity.from]}; ± is the expanded uncertainty (k = 2).`,
      },
      ...trains.trains.flatMap((train) => trainBlocks(train, trains, papers, inches)),
      ...motionBlocks(trains, papers),
      ...weighedBlocks(papers?.weighed),
      ...(papers ? papers.lost.flatMap((lost) => lostBlocks(lost, inches)) : []),
      ...(missing.length > 0 && !papers
        ? [
            {
              kind: "paragraph" as const,
              words: ["Counts not known: ", { said: missing.map((m) => m.words).join(", ") }, "."],
            },
          ]
        : []),
      ...(findings.length > 0
        ? [
            { kind: "heading" as const, title: "What the trains show" },
            { kind: "findings" as const, items: findings.map(findingItem) },
          ]
        : []),
    ],
  };
}

const gravityWords = {
  standard: "(the place is not stated)",
  place: "(normal gravity of the place, GRS 80)",
  given: "(as given)",
} as const;

function trainBlocks(
  train: TrainResult,
  movement: MovementResult,
  papers: TrainPapers | undefined,
  inches: boolean,
): Block[] {
  const facts = [...timeFacts(train, inches), ...strikeFacts(train, inches), ...windingFacts(train)];
  const several = movement.trains.filter((t) => t.duty === train.duty).length > 1;
  const title = `${dutyWords[train.duty]}${several ? ` ${shownText(train.name, { max: 40 })}` : ""}`;
  const picture = papers?.pictures.find((one) => one.train === train.name);
  return [
    { kind: "heading", title },
    ...(picture ? pictureFigures(picture, title, train) : plainFigure(train, title)),
    ...(facts.length > 0 ? [{ kind: "facts" as const, rows: facts }] : []),
    arborTable(train, title),
  ];
}

/** What dashes and grey say, where they are used. */
const marksWords = (svg: string): string =>
  (svg.includes('fill="url(#hatch)"') ? " Grey with a heavy line, and (!): a finding is about it." : "") +
  (svg.includes('stroke-dasharray="5 3"') ? " Dashed, and (?): the count is not sure." : "");

/** Letters of a picture come out a little smaller than those of the text. */
const fullWidth = 800;

/** Two of them, one over the other, find room on a page. */
const mostOfLine = 0.52;

/** A motion work is a small thing. */
const motionShare = 0.65;

function pictureFigures(picture: TrainPicture, title: string, train?: TrainResult): FigureBlock[] {
  const arbors = train
    ? `: arbors from ${train.arbors.map((a) => shownText(a.name, { max: 40 })).join(" to ")}`
    : "";
  const figure = (svg: string, view: string, words: string): FigureBlock[] => {
    const made = drawingOfSvg(svg);
    if (!made) return [];
    return [
      {
        kind: "figure",
        alt: `${title}, ${view}${arbors}.`,
        caption: [{ bold: `${title}, ${view}. ` }, words + marksWords(svg)],
        box: { x: 0, y: 0, width: made.width, height: made.height },
        drawing: made.drawing,
        width:
          (train ? 1 : motionShare) *
          Math.min(1, made.width / fullWidth, (mostOfLine * made.width) / made.height),
      },
    ];
  };
  return [
    ...figure(
      picture.elevation,
      "elevation",
      "Wheels and pinions from the front, in proportion, with their counts. Where the arbors stand between the plates is not known.",
    ),
    ...figure(
      picture.plan,
      "plan",
      "Arbors between the plates, unrolled into one plane; the order of the wheels along them is not known.",
    ),
  ];
}

function plainFigure(train: TrainResult, title: string): FigureBlock[] {
  const drawing = trainDrawing(train);
  if (!drawing) return [];
  return [
    {
      kind: "figure",
      alt: `${title}: arbors from ${train.arbors.map((a) => shownText(a.name, { max: 40 })).join(" to ")}.`,
      caption:
        "From the great wheel on: wheel and pinion counts of each arbor, drawn as if all had one module; dashed: not known.",
      box: { x: 0, y: 0, width: drawing.width, height: drawing.height },
      drawing: drawing.drawing,
    },
  ];
}

function motionBlocks({ motionWork }: MovementResult, papers: TrainPapers | undefined): Block[] {
  if (!motionWork) return [];
  const rows: Fact[] = [
    ...(motionWork.ratio ? [{ term: "Ratio", words: `${ratioText(motionWork.ratio)} to 1` }] : []),
    ...(motionWork.hourHandHours
      ? [{ term: "Hour hand goes round in", words: `${ratioText(motionWork.hourHandHours)} h` }]
      : []),
  ];
  const picture = papers?.pictures.find(({ train }) => train === undefined);
  return [
    { kind: "heading", title: "Motion work" },
    ...(picture ? pictureFigures(picture, "Motion work").slice(0, 1) : []),
    ...(rows.length > 0 ? [{ kind: "facts" as const, rows }] : []),
  ];
}

const arborTable = (train: TrainResult, title: string): TableBlock => ({
  kind: "table",
  caption: `${title}: arbors`,
  columns: [
    { head: "Arbor", width: 0.2 },
    { head: "Tag", width: 0.08 },
    { head: "Pinion", align: "right", width: 0.12 },
    { head: "Wheel", align: "right", width: 0.12 },
    { head: "Also carries", width: 0.24 },
    { head: train.duty === "time" ? "One turn takes" : "Turns a blow", align: "right", width: 0.24 },
  ],
  rows: train.arbors.map((arbor) => [
    [{ said: shownText(arbor.name, { max: 40 }) }],
    arbor.tag === undefined ? "" : [{ said: shownText(arbor.tag, { max: 12 }) }],
    pinionsOf(arbor),
    wheelsOf(arbor),
    otherParts(arbor),
    train.duty === "time"
      ? arbor.secondsPerTurn === undefined
        ? ""
        : turnText(arbor.secondsPerTurn)
      : arbor.turnsPerBlow
        ? ratioText(arbor.turnsPerBlow)
        : "",
  ]),
});

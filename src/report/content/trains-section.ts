import { roundToUncertainty } from "../../quantity/index.js";
import type { ArborResult, MovementResult, TrainResult } from "../../record/index.js";
import { trainDrawing } from "../plots/train-drawing.js";
import { numberText } from "../rounded.js";
import { shownText } from "../shown-text.js";
import type { Block, Fact, Section, TableBlock } from "./content.js";
import { findingItem } from "./urgency.js";

interface RatioLike {
  readonly exact: string;
  readonly value: number;
}
interface MeasuredLike {
  readonly value: number;
  readonly u?: number;
}

/** "3600", "0.0833 (1/12)": the exact ratio beside a rounded one. */
function ratioText(ratio: RatioLike): string {
  if (Number.isInteger(ratio.value)) return `${ratio.value}`;
  const digits = String(Number(ratio.value.toPrecision(6)));
  return ratio.exact.length <= 15 ? `${digits} (${ratio.exact})` : digits;
}

function measuredText({ value, u }: MeasuredLike, unit: string): string {
  if (u === undefined || u === 0) return `${Number(value.toPrecision(4))} ${unit}`;
  const rounded = roundToUncertainty(value, 2 * u);
  return `${rounded.value} ± ${rounded.u} ${unit}`;
}

function rateWords({ value, u = 0 }: MeasuredLike): string {
  const gain = measuredText({ value: Math.abs(value), u }, "s");
  return Math.abs(value) <= 2 * u
    ? `goes with this train, as far as its length tells (to ${measuredText({ value: 2 * u }, "s")} a day)`
    : `the clock would ${value > 0 ? "gain" : "lose"} ${gain} a day with it`;
}

const dutyWords = { time: "Time train", strike: "Strike train", chime: "Chime train" } as const;

/** What the counts say of the trains; none where no trains were given. */
export function trainsSection(trains: MovementResult | undefined): Section | undefined {
  if (!trains) return undefined;
  const { motionWork, missing, findings, gravity } = trains;
  const motion: Fact[] = motionWork
    ? [
        ...(motionWork.ratio ? [{ term: "Motion work", words: `${ratioText(motionWork.ratio)} to 1` }] : []),
        ...(motionWork.hourHandHours
          ? [{ term: "Hour hand goes round in", words: `${ratioText(motionWork.hourHandHours)} h` }]
          : []),
      ]
    : [];
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
          `gravity ${numberText(gravity.valueMps2, 5)} m/s².`,
      },
      ...trains.trains.flatMap((train) => trainBlocks(train, trains)),
      ...(motion.length > 0 ? [{ kind: "facts" as const, rows: motion }] : []),
      ...(missing.length > 0
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

function trainBlocks(train: TrainResult, movement: MovementResult): Block[] {
  const facts = [...timeFacts(train), ...strikeFacts(train), ...windingFacts(train)];
  const drawing = trainDrawing(train);
  const title = `${dutyWords[train.duty]}${movement.trains.filter((t) => t.duty === train.duty).length > 1 ? ` ${shownText(train.name, { max: 40 })}` : ""}`;
  return [
    { kind: "heading", title },
    ...(drawing
      ? [
          {
            kind: "figure" as const,
            alt: `${title}: arbors from ${train.arbors.map((a) => shownText(a.name, { max: 40 })).join(" to ")}.`,
            caption:
              "From the great wheel on: wheel and pinion counts of each arbor, drawn as if all had one module; dashed: not known.",
            box: { x: 0, y: 0, width: drawing.width, height: drawing.height },
            drawing: drawing.drawing,
          },
        ]
      : []),
    ...(facts.length > 0 ? [{ kind: "facts" as const, rows: facts }] : []),
    arborTable(train, title),
  ];
}

function timeFacts({ time }: TrainResult): Fact[] {
  if (!time) return [];
  const rows: Fact[] = [];
  if (time.beatsPerHour) rows.push({ term: "Beats an hour", words: ratioText(time.beatsPerHour) });
  if (time.secondsPerBeat !== undefined)
    rows.push({ term: "One beat", words: `${Number(time.secondsPerBeat.toPrecision(5))} s` });
  const { pendulum } = time;
  if (pendulum) {
    rows.push({ term: "Pendulum", words: `${measuredText(pendulum.lengthMm, "mm")} (hardly any swing)` });
    if (pendulum.lengthAtArcMm !== undefined)
      rows.push({ term: "Pendulum at its arc", words: measuredText(pendulum.lengthAtArcMm, "mm") });
    if (pendulum.given)
      rows.push({
        term: "Pendulum as given",
        words:
          `${measuredText(pendulum.given.lengthMm, "mm")}: ` + rateWords(pendulum.given.gainsSecondsPerDay),
      });
  }
  if (time.balance)
    rows.push({
      term: "Balance",
      words: `${Number(time.balance.vibrationsPerSecond.toPrecision(5))} beats a second`,
    });
  if (time.escapeTurnS !== undefined)
    rows.push({ term: "Escape wheel, one turn", words: `${Number(time.escapeTurnS.toPrecision(6))} s` });
  return rows;
}

function strikeFacts({ strike }: TrainResult): Fact[] {
  if (!strike) return [];
  const noun = strike.unit === "blow" ? "Blows" : "Phrases";
  const rows: Fact[] = [];
  if (strike.blowsPerFirstTurn)
    rows.push({ term: `${noun}, one turn of the great wheel`, words: ratioText(strike.blowsPerFirstTurn) });
  if (strike.blowsPerWinding)
    rows.push({ term: `${noun} on one winding`, words: measuredText(strike.blowsPerWinding, "").trim() });
  if (strike.countWheel?.blowsPerTurn)
    rows.push({
      term: "Count wheel, one turn",
      words: `${ratioText(strike.countWheel.blowsPerTurn)} blows; wanted ${ratioText(strike.countWheel.blowsWanted)}`,
    });
  return rows;
}

function windingFacts({ winding }: TrainResult): Fact[] {
  if (!winding) return [];
  return [
    {
      term: "Winding",
      words: [`${measuredText(winding.turns, "turns")} of the great wheel (`, { said: winding.model }, ")"],
    },
    ...(winding.days ? [{ term: "Goes", words: measuredText(winding.days, "days") }] : []),
  ];
}

const partsOf = (arbor: ArborResult, ...names: string[]): string =>
  arbor.parts
    .filter((p) => names.includes(p.part))
    .map((p) => (p.missing ? "not known" : p.count === undefined ? p.part : `${p.count}`))
    .join(", ");

const others = (arbor: ArborResult): string =>
  arbor.parts
    .filter((p) => !["wheel", "escape wheel", "pinion", "driver"].includes(p.part))
    .map((p) => (p.count === undefined ? p.part : `${p.part} ${p.count}`))
    .join(", ");

function turnText(seconds: number): string {
  if (seconds >= 2 * 86400) return `${Number((seconds / 86400).toPrecision(5))} days`;
  if (seconds >= 7200) return `${Number((seconds / 3600).toPrecision(5))} h`;
  if (seconds >= 120) return `${Number((seconds / 60).toPrecision(5))} min`;
  return `${Number(seconds.toPrecision(5))} s`;
}

const arborTable = (train: TrainResult, title: string): TableBlock => ({
  kind: "table",
  caption: `${title}: arbors`,
  columns: [
    { head: "Arbor", width: 0.2 },
    { head: "Tag", width: 0.08 },
    { head: "Pinion", align: "right", width: 0.12 },
    { head: "Wheel", align: "right", width: 0.12 },
    { head: "Also carries", width: 0.2 },
    { head: train.duty === "time" ? "One turn takes" : "Turns a blow", align: "right", width: 0.28 },
  ],
  rows: train.arbors.map((arbor) => [
    [{ said: shownText(arbor.name, { max: 40 }) }],
    arbor.tag === undefined ? "" : [{ said: shownText(arbor.tag, { max: 12 }) }],
    partsOf(arbor, "pinion"),
    partsOf(arbor, "wheel", "escape wheel"),
    others(arbor),
    train.duty === "time"
      ? arbor.secondsPerTurn === undefined
        ? ""
        : turnText(arbor.secondsPerTurn)
      : arbor.turnsPerBlow
        ? ratioText(arbor.turnsPerBlow)
        : "",
  ]),
});

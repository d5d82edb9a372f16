import type { Command } from "commander";
import { InvalidArgumentError, Option } from "commander";
import type { CommandIo } from "./command-io.js";
import type { TrainOptions } from "./run-train.js";

/** `wheelsurvey train`: what the counts of a movement say about the clock. */
export function addTrainCommand(program: Command, io: CommandIo): void {
  program
    .command("train")
    .description("work out a movement from its counts: beats, pendulum, going time, strike, lost wheels")
    .argument("[file]", "movement file in YAML; --example shows one")
    .option("--json", "print one JSON document instead of text")
    .option("--latitude <deg>", "latitude in degrees, south negative, for the pendulum", readLatitude)
    .option("--height <m>", "height above the sea in metres, with --latitude", readHeight)
    .option("--inches", "show lengths in inches")
    .option(
      "--measured <json>",
      "counts and sizes of measure --json, or survey.json of a report, by part tag; alone, writes a movement file",
    )
    .option("--change <count>", 'try another count, as in "strike.pin wheel.pins=3"; repeatable', addChange)
    .option("--answers <n>", "how many answers to show for a lost count (default: 12)", readAnswers)
    .option("--picture <folder>", "write the trains as drawings: train-elevation.svg and train-plan.svg")
    .option(
      "--cutting-sheet <part>",
      'write what it takes to cut a part anew, as in "time.third.wheel"; needs --out',
    )
    .option("--out <folder>", "folder for the cutting sheet: HTML, and the outline as SVG and DXF")
    .option(
      "--dividing-plate <rows>",
      "with --cutting-sheet: holes of the plate's rows, as in 60,66,72",
      readRows,
    )
    .option("--handle-turns <n>", "turns of the plate's handle for one of the work (default: 1)", readTurns)
    .addOption(
      new Option("--profile <letter>", "how a driven pinion's leaves end (default: the usual)").choices([
        "A",
        "B",
        "C",
      ]),
    )
    .option("--example [name]", "print a movement file to start from")
    .action(async (file: string | undefined, options: TrainOptions) => {
      const { runTrain } = await import("./run-train.js");
      await runTrain(file, options, io);
    });
}

function readLatitude(text: string): number {
  const value = readNumber(text);
  if (value === undefined || Math.abs(value) > 90)
    throw new InvalidArgumentError("Expected degrees from -90 to 90, south negative, such as 51.5.");
  return value;
}

function readHeight(text: string): number {
  const value = readNumber(text);
  if (value === undefined || value < -500 || value > 9000)
    throw new InvalidArgumentError("Expected metres above the sea, from -500 to 9000.");
  return value;
}

function readAnswers(text: string): number {
  const count = /^\d{1,5}$/.test(text) ? Number(text) : 0;
  if (count < 1) throw new InvalidArgumentError("Expected a whole number from 1.");
  return count;
}

function readRows(text: string): readonly number[] {
  const rows = text.split(",").map((row) => (/^\s*\d{1,4}\s*$/.test(row) ? Number(row) : 0));
  if (rows.length > 60 || rows.some((holes) => holes < 2 || holes > 2000))
    throw new InvalidArgumentError("Expected up to 60 rows of 2 to 2000 holes, as in 60,66,72,96.");
  return rows;
}

function readTurns(text: string): number {
  const turns = /^\d{1,3}$/.test(text) ? Number(text) : 0;
  if (turns < 1 || turns > 200) throw new InvalidArgumentError("Expected a whole number from 1 to 200.");
  return turns;
}

const readNumber = (text: string): number | undefined =>
  /^-?\d{1,6}(\.\d{1,9})?$/.test(text) ? Number(text) : undefined;

function addChange(text: string, before: TrainOptions["change"] = []): NonNullable<TrainOptions["change"]> {
  const match = /^([^=]{1,200})=(\d{1,4})$/.exec(text);
  const count = Number(match?.[2]);
  if (match === null || count < 1)
    throw new InvalidArgumentError(
      'Expected train, arbor, part and the new count, as in "time.third.wheel=64".',
    );
  return [...before, { position: match[1]!.trim().toLowerCase(), count }];
}

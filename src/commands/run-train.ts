import { InputError, UsageError } from "../problem/index.js";
import type { CountChange, LeafProfile, Movement } from "../trains/index.js";
import {
  changeCounts,
  draftMovement,
  effectOfChange,
  evaluateMovement,
  evidenceFromSurvey,
  exampleMovements,
  hasPhotographs,
  mistakeText,
  placeEvidence,
  readMovement,
  solveMissing,
  weighCounts,
  withWeighedCounts,
} from "../trains/index.js";
import type { CommandIo } from "./command-io.js";
import { jsonText } from "./json-text.js";
import { measuredParts, textOf } from "./measured-parts.js";
import { snakeKeys } from "./snake-keys.js";
import { terminalText } from "./terminal-text.js";
import { trainText } from "./train-text.js";

export interface TrainOptions {
  readonly json?: boolean;
  /** Degrees. */
  readonly latitude?: number;
  /** Metres. */
  readonly height?: number;
  readonly inches?: boolean;
  readonly measured?: string;
  readonly answers?: number;
  readonly change?: readonly CountChange[];
  readonly example?: string | true;
  readonly picture?: string;
  readonly cuttingSheet?: string;
  readonly out?: string;
  readonly dividingPlate?: readonly number[];
  readonly handleTurns?: number;
  readonly profile?: LeafProfile;
}

export const trainSchemaName = "wheelsurvey/train/1";

/** Larger files are no movement and no list of measurements. */
const largestMovement = 1024 * 1024;

/**
 * Prints what a movement file says (or an example, or a file made from measurements).
 *
 * @throws UsageError when called wrongly, InputError naming every line that is wrong.
 */
export async function runTrain(
  file: string | undefined,
  options: TrainOptions,
  io: CommandIo,
): Promise<void> {
  if (options.example !== undefined) {
    io.stdout.write(exampleText(options.example === true ? undefined : options.example));
    return;
  }
  const parts = options.measured === undefined ? undefined : await measuredParts(options.measured);
  if (file === undefined) {
    if (parts === undefined)
      throw new UsageError('train: expected a movement file; "train --example" prints one to start from');
    io.stdout.write(draftMovement(parts));
    return;
  }
  if (options.height !== undefined && options.latitude === undefined)
    throw new UsageError("--height: expected together with --latitude");
  checkSheetOptions(options);
  const written = at(await movementFrom(file), options);
  const evidence = parts && evidenceFromSurvey(parts);
  const placed = evidence ? placeEvidence(written, evidence).movement : written;
  const doubt = evidence || hasPhotographs(placed) ? weighCounts(written, evidence) : undefined;
  const movement = doubt ? withWeighedCounts(placed, doubt) : placed;
  const change = changeEffect(movement, options.change);
  const outcome = {
    result: evaluateMovement(movement),
    missing: solveMissing(movement, options.answers === undefined ? {} : { most: options.answers }),
    ...(doubt && { doubt }),
    ...(change && { change }),
  };
  if (options.picture !== undefined) {
    const { writeTrainPictures } = await import("./train-files.js");
    await writeTrainPictures(options.picture, movement, outcome.result, doubt, io);
  }
  if (options.cuttingSheet !== undefined) {
    const { writeCuttingSheet } = await import("./train-files.js");
    // A count that is tried is the one to cut.
    const cut = options.change ? changeCounts(movement, options.change) : movement;
    const text = await writeCuttingSheet(options.out!, cut, options.cuttingSheet, options, io);
    if (!options.json) {
      io.stdout.write(text);
      return;
    }
  }
  io.stdout.write(
    options.json
      ? jsonText({ schema: trainSchemaName, ...(snakeKeys(outcome) as object) })
      : trainText(outcome, { inches: options.inches ?? false }),
  );
}

function checkSheetOptions(options: TrainOptions): void {
  if (options.cuttingSheet !== undefined) {
    if (options.out === undefined)
      throw new UsageError("--cutting-sheet: expected --out with a folder for its files");
    if (options.handleTurns !== undefined && options.dividingPlate === undefined)
      throw new UsageError("--handle-turns: expected together with --dividing-plate");
    return;
  }
  for (const [name, value] of [
    ["--out", options.out],
    ["--dividing-plate", options.dividingPlate],
    ["--handle-turns", options.handleTurns],
    ["--profile", options.profile],
  ] as const)
    if (value !== undefined) throw new UsageError(`${name}: expected together with --cutting-sheet`);
}

function exampleText(name: string | undefined): string {
  const text = exampleMovements.get(name ?? "time-and-strike");
  if (text !== undefined) return text;
  throw new UsageError(
    `--example ${terminalText(name ?? "")}: expected one of: ${[...exampleMovements.keys()].join(", ")}`,
  );
}

async function movementFrom(file: string): Promise<Movement> {
  const shown = terminalText(file);
  const reading = readMovement(await textOf(file, largestMovement));
  if (reading.ok) return reading.value;
  const lines = reading.mistakes.slice(0, 20).map((mistake) => `${shown}, ${mistakeText(mistake)}`);
  const more = reading.mistakes.length - lines.length;
  throw new InputError([...lines, ...(more > 0 ? [`and ${more} more`] : [])].join("; "));
}

function at(movement: Movement, { latitude, height }: TrainOptions): Movement {
  if (latitude === undefined) return movement;
  return {
    ...movement,
    place: {
      line: movement.place?.line ?? 1,
      latitudeRad: (latitude * Math.PI) / 180,
      ...(height !== undefined && { heightM: height }),
    },
  };
}

function changeEffect(movement: Movement, changes: readonly CountChange[] | undefined) {
  if (changes === undefined) return undefined;
  try {
    return effectOfChange(movement, changes);
  } catch (cause) {
    if (cause instanceof RangeError)
      throw new UsageError(`--change: ${terminalText(cause.message)}`, { cause });
    throw cause;
  }
}

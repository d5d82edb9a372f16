import type { Command } from "commander";
import { Option } from "commander";
import type { CommandIo } from "./command-io.js";
import { readBarMm, readFaceHeight, readPxPerMm, readScale, readWorkers } from "./measure-options.js";
import type { MeasureOptions } from "./measure-options.js";

/** `wheelsurvey measure`: photographs in, measurements out as a table or as JSON. */
export function addMeasureCommand(program: Command, io: CommandIo): void {
  program
    .command("measure")
    .description("measure the parts in photographs")
    .argument("<photo...>", "photographs, or folders of photographs (JPEG, PNG, WebP, TIFF, HEIC)")
    .option("--json", "print one JSON document instead of the table")
    .option("--out <dir>", "also write annotated copies and measurements.json into this folder")
    .option("--no-annotate", "with --out: write measurements.json only")
    .option("--mat-across <mm>", "what the check bar across the sheet measures on paper, in mm", readBarMm)
    .option("--mat-along <mm>", "what the check bar along the sheet measures on paper, in mm", readBarMm)
    .option("--mat <name>", "use the readings remembered under this name (see mat --remember)")
    .addOption(
      new Option(
        "--face-height <mm>",
        "height of the face above the mat, for all parts or as LABEL=MM for one; may be repeated",
      ).argParser(readFaceHeight),
    )
    .option(
      "--scale <x1,y1,x2,y2=mm>",
      "scale for photographs without a mat: two points in pixels and their distance",
      readScale,
    )
    .option("--px-per-mm <n>", "scale for photographs without a mat: pixels per millimetre", readPxPerMm)
    .addOption(
      new Option(
        "--set <kind>",
        "all photographs given show one wheel: turned with its arbor, nudged on it, or seen from two places",
      ).choices(["turn", "play", "height"]),
    )
    .option("--no-model", "do without the networks for metal and for teeth")
    .option(
      "--workers <n>",
      "photographs measured at the same time (default: one for each core)",
      readWorkers,
    )
    .action(async (photos: readonly string[], options: MeasureOptions) => {
      const { runMeasure } = await import("./run-measure.js");
      await runMeasure(photos, options, io);
    });
}

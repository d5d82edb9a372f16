import type { Command } from "commander";
import { InvalidArgumentError, Option } from "commander";
import type { CommandIo } from "./command-io.js";
import type { MatOptions } from "./run-mat.js";

/** `wheelsurvey mat`: writes the sheets to print, and remembers what the check bars of a printed one measure. */
export function addMatCommand(program: Command, io: CommandIo): void {
  program
    .command("mat")
    .description("write the scale mat or the part tags to print, or remember a printed mat")
    .addOption(new Option("--paper <size>", "paper size (default: a4)").choices(["a4", "letter", "a3"]))
    .option("--tags", "write the page of part tags, with how to photograph, instead of the mat")
    .option("--sets", "write the page about turn sets and play sets instead: is a wheel true and tight?")
    .option("--all", "write mat, tags and that page for every paper size")
    .option("--out <file>", "name of the PDF (default: wheelsurvey-mat-<size>.pdf in this folder)")
    .option("--force", "overwrite a file that this program did not write")
    .option("--remember <name>", "keep the readings of a printed mat under a name, for measure --mat <name>")
    .option("--mat-across <mm>", "what the check bar across the sheet measures on paper, in mm", readMm)
    .option("--mat-along <mm>", "what the check bar along the sheet measures on paper, in mm", readMm)
    .option("--list", "list the remembered mats")
    .option("--forget <name>", "forget a remembered mat")
    .action(async (options: MatOptions) => {
      const { runMat } = await import("./run-mat.js");
      await runMat(options, io);
    });
}

function readMm(text: string): number {
  if (!/^\d{1,4}(\.\d{1,6})?$/.test(text)) {
    throw new InvalidArgumentError("Expected a length in millimetres with a decimal point, such as 149.6.");
  }
  return Number(text);
}

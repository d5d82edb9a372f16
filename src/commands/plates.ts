import type { Command } from "commander";
import { InvalidArgumentError } from "commander";
import type { CommandIo } from "./command-io.js";
import type { DepthWish, PlatesOptions } from "./run-plates.js";

/** `wheelsurvey plates`: both plates of a movement over each other, centre distances, depths. */
export function addPlatesCommand(program: Command, io: CommandIo): void {
  program
    .command("plates")
    .description("lay the plates of a movement over each other: centre distances, leaning arbors, depths")
    .argument(
      "<json>",
      "what `measure --json` printed of photographs of the plates, or survey.json of a report",
    )
    .option("--first <tag>", "tag of the plate to begin with (default: the first one, such as P1)")
    .option("--second <tag>", "tag of the other plate, seen from its own outside (default: the next one)")
    .option(
      "--depth <wish>",
      'check a depth, as in "H3,H5=78/7@0.62": holes of the first plate, wheel, pinion, module in mm (or 0.62±0.003, one standard uncertainty; 1 % otherwise); repeatable',
      addDepth,
    )
    .option("--json", "print one JSON document instead of text")
    .addHelpText(
      "after",
      "\nSeveral photographs of one plate, with the same tag: a plate too large for one photograph is put together from" +
        "\nthose in which at least four holes are the same. The A3 mat takes larger plates whole.",
    )
    .action(async (file: string, options: PlatesOptions) => {
      const { runPlates } = await import("./run-plates.js");
      await runPlates(file, options, io);
    });
}

const wish =
  /^\s*(H\d{1,3}'*)\s*,\s*(H\d{1,3}'*)\s*=\s*(\d{1,3})\s*\/\s*(\d{1,3})\s*@\s*(\d{1,2}(?:\.\d{1,4})?)\s*(?:(?:±|\+-)\s*(\d?(?:\.\d{1,5})?))?\s*$/;

function addDepth(text: string, before: readonly DepthWish[] = []): readonly DepthWish[] {
  const [, from, to, wheel, pinion, module, uncertain] = wish.exec(text) ?? [];
  const [wheelTeeth, leaves, moduleMm] = [Number(wheel), Number(pinion), Number(module)];
  if (from === undefined || to === undefined || !(wheelTeeth > 0 && leaves > 0 && moduleMm > 0))
    throw new InvalidArgumentError("Expected two holes, two counts and a module, as in H3,H5=78/7@0.62.");
  const uModuleMm = Number(uncertain ?? NaN);
  return [...before, { from, to, wheelTeeth, leaves, moduleMm, ...(uModuleMm > 0 && { uModuleMm }) }];
}

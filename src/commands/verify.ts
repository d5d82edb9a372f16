import type { Command } from "commander";
import type { CommandIo } from "./command-io.js";
import { readWorkers } from "./measure-options.js";

/** `wheelsurvey verify`: does a report still match its photographs? */
export function addVerifyCommand(program: Command, io: CommandIo): void {
  program
    .command("verify")
    .description("tell whether photographs and measurements still match a report's check-sums")
    .argument("<report-folder>", "folder that `report` wrote")
    .option("--measure", "measure the photographs again and show differences beyond uncertainty")
    .option(
      "--workers <n>",
      "photographs measured at the same time (default: one for each core)",
      readWorkers,
    )
    .action(async (folder: string, options: object) => {
      const { runVerify } = await import("./report-verify.js");
      await runVerify(folder, options, io);
    });
}

import { InvalidArgumentError, type Command } from "commander";
import type { CommandIo } from "./command-io.js";
import { readWorkers } from "./measure-options.js";

/** `wheelsurvey page`: the whole job on a page in the browser. */
export function addPageCommand(program: Command, io: CommandIo): void {
  program
    .command("page")
    .description("do the whole job on a page in your browser: photographs, corrections, trains, report")
    .argument(
      "[folder]",
      "folder of one survey, made if need be (default: choose among those in this folder)",
    )
    .option("--port <n>", "serve at this port (default: any that is free)", readPort)
    .option("--no-open", "print the address only; do not open a browser")
    .option(
      "--workers <n>",
      "photographs measured at the same time (default: one for each core)",
      readWorkers,
    )
    .action(async (folder: string | undefined, options: object) => {
      const { runPage } = await import("./run-page.js");
      await runPage(folder, options, io);
    });
}

function readPort(text: string): number {
  const port = /^\d{1,5}$/.test(text) ? Number(text) : 0;
  if (port < 1024 || port > 65_535) throw new InvalidArgumentError("Expected a port from 1024 to 65535.");
  return port;
}

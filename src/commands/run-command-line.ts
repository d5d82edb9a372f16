import { readFileSync } from "node:fs";
import { Command, CommanderError } from "commander";
import { SurveyError } from "../problem/index.js";
import type { CommandIo } from "./command-io.js";
import { addMatCommand } from "./mat.js";
import { addMeasureCommand } from "./measure.js";
import { addPageCommand } from "./page.js";
import { addPlatesCommand } from "./plates.js";
import { addReportCommand } from "./report.js";
import { terminalText } from "./terminal-text.js";
import { addTrainCommand } from "./train.js";
import { addVerifyCommand } from "./verify.js";

/**
 * Runs one call of the program. Never rejects; the exit code goes to `io`: 0 done, 2 called wrongly, 3 some
 * photographs could not be measured, 1 anything unexpected.
 *
 * @param args without node and script: ["measure", "a.jpg"].
 */
export async function runCommandLine(args: readonly string[], io: CommandIo): Promise<void> {
  try {
    await buildProgram(io).parseAsync([...args], { from: "user" });
  } catch (error) {
    if (error instanceof CommanderError) {
      io.setExitCode(error.exitCode === 0 ? 0 : 2);
    } else if (error instanceof SurveyError) {
      io.stderr.write(`error: ${terminalText(error.message)}\n`);
      io.setExitCode(2);
    } else {
      const words = error instanceof Error ? (error.stack ?? error.message) : String(error);
      io.stderr.write(`unexpected error, please report it:\n${terminalText(words, "\n")}\n`);
      io.setExitCode(1);
    }
  }
}

function buildProgram(io: CommandIo): Command {
  const program = new Command("wheelsurvey")
    .description("Measures clock wheels from photographs on a printed scale mat.")
    .version(packageVersion())
    .exitOverride()
    .configureOutput({
      writeOut: (text) => io.stdout.write(text),
      writeErr: (text) => io.stderr.write(text),
      // Only here does commander repeat what was typed.
      outputError: (text, write) => write(terminalText(text, "\n")),
    })
    .showHelpAfterError("(--help lists what is understood)");
  addMatCommand(program, io);
  addMeasureCommand(program, io);
  addReportCommand(program, io);
  addTrainCommand(program, io);
  addPlatesCommand(program, io);
  addPageCommand(program, io);
  addVerifyCommand(program, io);
  return program;
}

/** The same relative place serves src/ and dist/. */
function packageVersion(): string {
  const text = readFileSync(new URL("../../package.json", import.meta.url), "utf8");
  return (JSON.parse(text) as { version: string }).version;
}

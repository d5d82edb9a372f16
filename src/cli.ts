#!/usr/bin/env node
import { runCommandLine } from "./commands/run-command-line.js";

for (const stream of [process.stdout, process.stderr]) {
  // "wheelsurvey measure ... | head": the reader has seen enough, and nobody is left to tell.
  stream.on("error", (error: NodeJS.ErrnoException) => {
    if (error.code === "EPIPE") process.exit();
    throw error;
  });
}
await runCommandLine(process.argv.slice(2), {
  stdout: process.stdout,
  stderr: process.stderr,
  setExitCode: (code) => {
    process.exitCode = code;
  },
});

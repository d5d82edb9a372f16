/** Started by the test that kills it: one run of `report`, once everything is loaded. */
import { Writable } from "node:stream";
import { runReport } from "../../src/commands/report-run.js";
import "../../src/pipeline/index.js";

const sink = (): Writable => new Writable({ write: (_, __, done) => done() });
process.stdout.write("loaded\n");
await runReport(
  process.argv[2]!,
  { workers: 1 },
  { stdout: sink(), stderr: sink(), setExitCode: () => undefined },
);
process.exit(0);

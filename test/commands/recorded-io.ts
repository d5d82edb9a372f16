import { Writable } from "node:stream";
import type { CommandIo } from "../../src/commands/command-io.js";
import { runCommandLine } from "../../src/commands/run-command-line.js";

export interface Call {
  readonly out: string;
  readonly err: string;
  readonly exitCode: number;
}

/** Runs one call of the program in this process and keeps what it said. */
export async function call(...args: string[]): Promise<Call> {
  const texts = { out: "", err: "" };
  const into = (name: "out" | "err"): Writable =>
    new Writable({
      write: (chunk: Buffer, _encoding, done) => {
        texts[name] += chunk.toString();
        done();
      },
    });
  let exitCode = 0;
  const io: CommandIo = {
    stdout: into("out"),
    stderr: into("err"),
    setExitCode: (code) => (exitCode = code),
  };
  await runCommandLine(args, io);
  return { ...texts, exitCode };
}

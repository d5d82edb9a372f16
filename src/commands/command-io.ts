/** What a command may talk to: results go to stdout, the talk to stderr. Tests hand in their own. */
export interface CommandIo {
  readonly stdout: NodeJS.WritableStream;
  readonly stderr: NodeJS.WritableStream;
  /** Sets the exit code of the process; the highest-ranking call wins by being the last. */
  setExitCode(code: 0 | 1 | 2 | 3): void;
}

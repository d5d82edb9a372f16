import { open, readFile, rm } from "node:fs/promises";
import { join } from "node:path";
import { UsageError } from "../problem/index.js";
import { isRunning } from "./report-write.js";
import { terminalText } from "./terminal-text.js";

const lockName = ".being-written";
/** Files are written within a second; a disk over a slow network takes longer. */
const patienceMs = 30_000;

/**
 * Runs `task` while no other report writes to the folder: files of two runs would be mixed, and check-sums would not
 * hold. A lock that a killed run has left is taken away.
 *
 * @throws UsageError if another run does not come to an end.
 */
export async function whileAlone<T>(folder: string, task: () => Promise<T>): Promise<T> {
  const lock = join(folder, lockName);
  const until = performance.now() + patienceMs;
  let emptyLooks = 0;
  while (!(await taken(lock))) {
    const owner = Number(await readFile(lock, "utf8").catch(() => ""));
    // An empty lock is being made this very moment, or its maker was killed at that moment.
    emptyLooks = owner > 0 ? 0 : emptyLooks + 1;
    const isLeft = owner > 0 ? !isRunning(owner) : emptyLooks > 50;
    if (isLeft) await rm(lock, { force: true });
    else if (performance.now() > until)
      throw new UsageError(
        `${terminalText(folder)}: another report is being written there; call again when it is done (if none is, delete ${lockName} in it)`,
      );
    else await new Promise((done) => setTimeout(done, 40));
  }
  try {
    return await task();
  } finally {
    await rm(lock, { force: true }).catch(() => undefined);
  }
}

/** Makes the lock; false where it stands already. */
async function taken(lock: string): Promise<boolean> {
  try {
    const file = await open(lock, "wx");
    await file.writeFile(String(process.pid));
    await file.close();
    return true;
  } catch (error) {
    if (error instanceof Error && "code" in error && error.code === "EEXIST") return false;
    // A folder that cannot be written to is told of by what is written next.
    return true;
  }
}

import { availableParallelism, totalmem } from "node:os";

/** One photograph in flight takes a few hundred megabytes. */
const bytesPerWorker = 1e9;
const maxCount = 8;

/** As many workers as there are cores, unless memory (of the machine, or of its container) holds fewer. */
export function defaultWorkerCount(): number {
  const allowed = process.constrainedMemory();
  const memory = allowed > 0 ? Math.min(allowed, totalmem()) : totalmem();
  return Math.max(1, Math.min(availableParallelism(), maxCount, Math.floor(memory / bytesPerWorker)));
}

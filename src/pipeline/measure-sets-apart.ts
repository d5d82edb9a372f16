import type { SetRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";
import { newWorker } from "./new-worker.js";

/** `measureSets` in a thread of its own, for a program that has to answer meanwhile. */
export async function measureSetsApart(photos: readonly SetPhoto[]): Promise<SetRecord[]> {
  const worker = newWorker("set-worker", photos);
  try {
    return await new Promise<SetRecord[]>((resolve, reject) => {
      worker.once("message", resolve);
      worker.once("error", reject);
      worker.once("exit", (code) => reject(new Error(`the thread ended with code ${code}`)));
    });
  } finally {
    await worker.terminate();
  }
}

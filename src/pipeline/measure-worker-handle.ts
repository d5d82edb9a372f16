import { Worker } from "node:worker_threads";
import type { PhotoRecord } from "../record/index.js";
import type { MeasurePhotoSettings } from "./measure-photo.js";

/** A thread that measures one photograph at a time. */
export interface MeasureWorker {
  /** @throws Error if the thread dies over it. */
  measure(path: string): Promise<PhotoRecord>;
  stop(): Promise<void>;
}

export function startWorker(settings: MeasurePhotoSettings): MeasureWorker {
  // The same file, built or not: from src/ a worker needs the TypeScript loader that its parent has.
  const built = !import.meta.url.endsWith(".ts");
  const worker = new Worker(new URL(built ? "./measure-worker.js" : "./measure-worker.ts", import.meta.url), {
    workerData: settings,
    ...(built ? {} : { execArgv: ["--import", "tsx"] }),
  });
  let waiting: { resolve(record: PhotoRecord): void; reject(error: Error): void } | undefined;
  let death: Error | undefined;
  const die = (error: Error): void => {
    death ??= error;
    waiting?.reject(death);
  };
  worker.on("message", (record: PhotoRecord) => waiting?.resolve(record));
  worker.on("error", die);
  worker.on("messageerror", die);
  worker.on("exit", (code) => die(new Error(`the worker ended with code ${code}`)));
  return {
    measure: (path) =>
      new Promise<PhotoRecord>((resolve, reject) => {
        if (death) return reject(death);
        waiting = { resolve, reject };
        worker.postMessage(path);
      }),
    stop: async () => {
      waiting = undefined;
      await worker.terminate();
    },
  };
}

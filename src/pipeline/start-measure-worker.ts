import type { PhotoRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";
import type { MeasuredPhoto, MeasurePhotoSettings } from "./measure-photo.js";
import { newWorker } from "./new-worker.js";
import type { JobWorker } from "./share-out.js";

/** No photograph takes so long: a thread that is still at it hangs. */
const longestPhotoMs = 60_000;

/**
 * A thread that measures one photograph at a time.
 *
 * `stop` hands back the photograph in hand at once, as an error; the thread itself ends when that is done.
 *
 * @param onSetPhoto gets what a photograph gives for its set, before its record is handed on.
 */
export function startMeasureWorker(
  settings: MeasurePhotoSettings,
  onSetPhoto?: (photo: SetPhoto) => void,
): JobWorker<string, PhotoRecord> {
  const worker = newWorker("measure-worker", settings);
  const ended = new Promise<void>((resolve) => worker.once("exit", () => resolve()));
  let isBusy = false;
  let isStopped = false;
  let waiting: { resolve(record: PhotoRecord): void; reject(error: Error): void } | undefined;
  let death: Error | undefined;
  const die = (error: Error): void => {
    death ??= error;
    waiting?.reject(death);
  };
  worker.on("message", ({ record, setPhoto }: MeasuredPhoto) => {
    isBusy = false;
    if (isStopped) return void worker.terminate();
    if (setPhoto !== undefined) onSetPhoto?.(setPhoto);
    waiting?.resolve(record);
  });
  worker.on("error", die);
  worker.on("messageerror", die);
  worker.on("exit", (code) => die(new Error(`the worker ended with code ${code}`)));
  return {
    measure: (path) =>
      new Promise<PhotoRecord>((resolve, reject) => {
        if (death) return reject(death);
        waiting = { resolve, reject };
        isBusy = true;
        worker.postMessage(path);
      }),
    stop: async () => {
      die(new Error("the worker was stopped"));
      isStopped = true;
      // Ended in the middle of a decoder's or the network's work, a thread can take the whole program with it.
      const patience = isBusy ? setTimeout(() => void worker.terminate(), longestPhotoMs) : undefined;
      if (!isBusy) void worker.terminate();
      await ended;
      clearTimeout(patience);
    },
  };
}

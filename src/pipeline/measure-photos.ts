import type { PhotoRecord } from "../record/index.js";
import { measurePhoto, unexpectedRecord } from "./measure-photo.js";
import type { MeasurePhotoSettings } from "./measure-photo.js";
import { startWorker } from "./measure-worker-handle.js";
import { defaultWorkerCount } from "./worker-count.js";

export interface MeasurePhotosOptions {
  /** Photographs measured at the same time; default: `defaultWorkerCount()`, at most one per photograph. */
  readonly workers?: number;
  /** Called once for every photograph, as it is done; `index` is its place among the paths. */
  readonly onDone?: (record: PhotoRecord, index: number) => void;
}

/**
 * Measures photographs side by side; one that fails stops no other.
 * A single one is measured on this thread, which spares the start of a worker.
 *
 * @returns one record for each path, in the order of the paths.
 */
export async function measurePhotos(
  paths: readonly string[],
  settings: MeasurePhotoSettings = {},
  options: MeasurePhotosOptions = {},
): Promise<PhotoRecord[]> {
  const records = new Array<PhotoRecord>(paths.length);
  const finish = (record: PhotoRecord, index: number): void => {
    records[index] = record;
    options.onDone?.(record, index);
  };
  const count = Math.min(options.workers ?? defaultWorkerCount(), paths.length);
  if (count <= 1) {
    for (const [index, path] of paths.entries()) finish(await measurePhoto(path, settings), index);
    return records;
  }
  let next = 0;
  const serve = async (): Promise<void> => {
    let worker = startWorker(settings);
    try {
      while (next < paths.length) {
        const index = next++;
        const path = paths[index]!;
        try {
          finish(await worker.measure(path), index);
        } catch (error) {
          // The worker died over this photograph; the others get a new one.
          finish(unexpectedRecord(path, settings, error), index);
          await worker.stop();
          if (next < paths.length) worker = startWorker(settings);
        }
      }
    } finally {
      await worker.stop();
    }
  };
  await Promise.all(Array.from({ length: count }, serve));
  return records;
}

import type { PhotoRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";
import { measureForSets, unexpectedRecord } from "./measure-photo.js";
import type { MeasurePhotoSettings } from "./measure-photo.js";
import { startMeasureWorker } from "./start-measure-worker.js";
import { shareOut } from "./share-out.js";
import { defaultWorkerCount } from "./worker-count.js";

export interface MeasurePhotosOptions {
  /** Photographs measured at the same time; default: `defaultWorkerCount()`, at most one per photograph. */
  readonly workers?: number;
  /** Called once for every photograph, as it is done; `index` is its place among the paths. */
  readonly onDone?: (record: PhotoRecord, index: number) => void;
  /** Called, before `onDone`, with what a photograph gives for the set it belongs to. */
  readonly onSetPhoto?: (photo: SetPhoto) => void;
}

/**
 * Measures photographs side by side; one that fails stops no other.
 * A single one is measured on this thread, which spares the start of a worker.
 *
 * @returns one record for each path, in the order of the paths.
 */
export function measurePhotos(
  paths: readonly string[],
  settings: MeasurePhotoSettings = {},
  options: MeasurePhotosOptions = {},
): Promise<PhotoRecord[]> {
  const { workers = defaultWorkerCount(), onDone, onSetPhoto } = options;
  const alone = Math.min(workers, paths.length) <= 1;
  const here = {
    measure: async (path: string) => {
      const { record, setPhoto } = await measureForSets(path, settings);
      if (setPhoto !== undefined) onSetPhoto?.(setPhoto);
      return record;
    },
    stop: () => Promise.resolve(),
  };
  return shareOut<string, PhotoRecord>(paths, {
    workerCount: Math.max(1, workers),
    start: () => (alone ? here : startMeasureWorker(settings, onSetPhoto)),
    resultOfDeath: (path, error) => unexpectedRecord(path, settings, error),
    ...(onDone && { onDone }),
  });
}

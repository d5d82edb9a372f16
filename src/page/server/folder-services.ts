import type { MeasurePhotoSettings } from "../../pipeline/index.js";
import type { PhotoRecord } from "../../record/index.js";
import type { SetPhoto } from "../../survey/index.js";

/** Measurements that are kept; as `report` keeps them, so that both share their work. */
export interface KeptMeasurements {
  find(sha256: string, file: string): Promise<PhotoRecord | undefined>;
  keep(record: PhotoRecord): Promise<void>;
  /** What the photograph gave for the set it belongs to, under the path it has now. */
  findSetPhoto(sha256: string, path: string): Promise<SetPhoto | undefined>;
  keepSetPhoto(photo: SetPhoto): Promise<void>;
}

/** What the command line lends the page: it knows survey folders, and the page must treat them the same way. */
export interface FolderServices {
  openMeasurements(folder: string, settings: MeasurePhotoSettings): Promise<KeptMeasurements>;
  sha256OfFile(path: string): Promise<string | undefined>;
  /** The old file or the whole new one, at every moment. @throws UsageError */
  writeWhole(path: string, data: string | Uint8Array): Promise<void>;
  makeFolder(folder: string): Promise<void>;
  removePartials(folder: string): Promise<void>;
  /** Readings of a mat that is remembered by this name. @throws UsageError if there is none. */
  matReadings(name: string): Promise<Pick<MeasurePhotoSettings, "matAcrossMm" | "matAlongMm" | "matPaper">>;
  /** Makes the report of a folder in a process of its own. */
  makeReport(folder: string, signal: AbortSignal): Promise<{ readonly ok: boolean; readonly words: string }>;
}

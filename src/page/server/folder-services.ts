import type { MeasurePhotoSettings } from "../../pipeline/index.js";
import type { PhotoRecord, SetRecord } from "../../record/index.js";

/** Measurements that are kept; as `report` keeps them, so that both share their work. */
export interface KeptMeasurements {
  find(sha256: string, file: string): Promise<PhotoRecord | undefined>;
  keep(record: PhotoRecord): Promise<void>;
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
  /** Sets of photographs, as the last report of the folder found them. */
  setsOf(folder: string): Promise<readonly SetRecord[]>;
}

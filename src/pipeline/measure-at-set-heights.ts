import type { PhotoRecord, SetRecord } from "../record/index.js";
import type { MeasurePhotoSettings } from "./measure-photo.js";
import { measurePhotos } from "./measure-photos.js";
import { setHeights, settingsAtSetHeights, withHeightProblems } from "./set-heights.js";

/** A photograph that was measured, and how. */
export interface FirstMeasurement {
  readonly path: string;
  readonly record: PhotoRecord;
  readonly settings: MeasurePhotoSettings;
}

/** Records that an earlier call made with certain settings. */
export interface KeptRecords {
  find(sha256: string, file: string): Promise<PhotoRecord | undefined>;
  keep(record: PhotoRecord): Promise<void>;
}

export interface AtSetHeightsOptions {
  readonly workers?: number;
  /** Called for every photograph that was measured again. */
  readonly onDone?: (record: PhotoRecord) => void;
  readonly keptFor?: (settings: MeasurePhotoSettings) => Promise<KeptRecords>;
}

/**
 * Measures those photographs again in which a wheel has a height that a height set found. Once only: the height itself
 * comes from the first measurement, and so do the sets.
 *
 * @returns the records of all photographs, in their order.
 */
export async function measureAtSetHeights(
  photos: readonly FirstMeasurement[],
  sets: readonly SetRecord[],
  options: AtSetHeightsOptions = {},
): Promise<PhotoRecord[]> {
  const { workers, onDone, keptFor } = options;
  const found = photos.map(({ record, settings }) => setHeights(record, sets, settings));
  const named = (record: PhotoRecord, i: number): PhotoRecord => ({
    ...withHeightProblems(record, found[i]!),
    file: photos[i]!.record.file,
  });
  const records = photos.map(({ record }, i) => named(record, i));
  const groups = new Map<string, number[]>();
  photos.forEach(({ settings }, i) => {
    if (found[i]!.faceHeights.length === 0) return;
    const key = JSON.stringify(settingsAtSetHeights(settings, found[i]!));
    groups.set(key, [...(groups.get(key) ?? []), i]);
  });
  for (const [key, members] of groups) {
    const settings = JSON.parse(key) as MeasurePhotoSettings;
    const kept = await keptFor?.(settings);
    const todo: number[] = [];
    for (const i of members) {
      const { sha256, file } = records[i]!;
      const earlier = sha256 === undefined ? undefined : await kept?.find(sha256, file);
      if (earlier) records[i] = named(earlier, i);
      else todo.push(i);
    }
    const measured = await measurePhotos(
      todo.map((i) => photos[i]!.path),
      settings,
      workers === undefined ? {} : { workers },
    );
    for (const [k, record] of measured.entries()) {
      const i = todo[k]!;
      // What was measured at first is worth more than nothing.
      if (record.parts.length === 0) continue;
      await kept?.keep({ ...record, file: records[i]!.file });
      records[i] = named(record, i);
      onDone?.(records[i]);
    }
  }
  return records;
}

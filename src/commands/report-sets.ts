import type { MeasurePhotoSettings } from "../pipeline/index.js";
import type { PhotoRecord, SetRecord } from "../record/index.js";
import type { SetPhoto } from "../survey/index.js";

/** A photograph of a survey folder: where it lies, and its record under the name that the report gives it. */
export interface SurveyPhoto {
  readonly path: string;
  readonly record: PhotoRecord;
}

/**
 * Sets among the photographs of a survey folder, by their cards and by their folders. Records kept from an earlier call
 * do not hold what sets are evaluated by: such photographs are looked at again.
 *
 * @param fresh what photographs that were measured just now gave for their sets, by path.
 */
export async function setsOfSurvey(
  photos: readonly SurveyPhoto[],
  fresh: ReadonlyMap<string, SetPhoto>,
  settings: MeasurePhotoSettings,
  workers: number | undefined,
): Promise<SetRecord[]> {
  const { belongsToSet } = await import("../survey/index.js");
  const members = photos.filter(({ record }) =>
    belongsToSet(
      record.file,
      (record.tags ?? []).map(({ label }) => label),
    ),
  );
  if (members.length === 0) return [];
  const { measurePhotos, measureSets } = await import("../pipeline/index.js");
  const found = new Map(fresh);
  await measurePhotos(
    members.map(({ path }) => path).filter((path) => !found.has(path)),
    settings,
    {
      ...(workers === undefined ? {} : { workers }),
      onSetPhoto: (photo) => void found.set(photo.file, photo),
    },
  );
  return measureSets(
    members.flatMap(({ path, record }) => {
      const photo = found.get(path);
      return photo === undefined ? [] : [{ ...photo, file: record.file }];
    }),
  );
}

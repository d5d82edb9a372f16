import type { MeasurePhotoSettings } from "../pipeline/index.js";
import type { PhotoRecord, SetRecord } from "../record/index.js";
import { belongsToSet, type SetPhoto } from "../survey/index.js";
import type { MeasurementCache } from "./report-cache.js";

/** A photograph of a survey folder: where it lies, and its record under the name that the report gives it. */
export interface SurveyPhoto {
  readonly path: string;
  readonly record: PhotoRecord;
  /** That it was measured with. */
  readonly settings: MeasurePhotoSettings;
}

/**
 * Sets among the photographs of a survey folder, by their cards and by their folders. What sets are evaluated by is kept
 * beside the records; a photograph of which nothing is kept is looked at again.
 *
 * @param fresh what photographs that were measured just now gave for their sets, by path.
 * @param openCache asked only where something belongs to a set.
 */
export async function setsOfSurvey(
  photos: readonly SurveyPhoto[],
  fresh: ReadonlyMap<string, SetPhoto>,
  workers: number | undefined,
  openCache: (settings: MeasurePhotoSettings) => Promise<MeasurementCache>,
): Promise<SetRecord[]> {
  const members = photos.filter(({ record }) =>
    belongsToSet(
      record.file,
      (record.tags ?? []).map(({ label }) => label),
    ),
  );
  if (members.length === 0) return [];
  const { measurePhotos, measureSets } = await import("../pipeline/index.js");
  const found = new Map<string, SetPhoto>();
  // Heights stated by hand are settings of single photographs, and by its settings is kept what a photograph gave.
  for (const said of new Set(members.map(({ settings }) => JSON.stringify(settings)))) {
    const settings = JSON.parse(said) as MeasurePhotoSettings;
    const cache = await openCache(settings);
    const isNew: SetPhoto[] = [];
    const own = members.filter((member) => JSON.stringify(member.settings) === said);
    for (const { path, record } of own) {
      const now = fresh.get(path);
      if (now !== undefined) isNew.push(now);
      const photo =
        now ?? (record.sha256 === undefined ? undefined : await cache.findSetPhoto(record.sha256, path));
      if (photo !== undefined) found.set(path, photo);
    }
    await measurePhotos(
      own.map(({ path }) => path).filter((path) => !found.has(path)),
      settings,
      {
        ...(workers === undefined ? {} : { workers }),
        onSetPhoto: (photo) => {
          found.set(photo.file, photo);
          isNew.push(photo);
        },
      },
    );
    for (const photo of isNew) await cache.keepSetPhoto(photo);
  }
  return measureSets(
    members.flatMap(({ path, record }) => {
      const photo = found.get(path);
      return photo === undefined ? [] : [{ ...photo, file: record.file }];
    }),
  );
}

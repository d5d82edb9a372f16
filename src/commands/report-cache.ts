import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { gunzipSync, gzipSync } from "node:zlib";
import type { MeasurePhotoSettings } from "../pipeline/index.js";
import {
  measurementDocument,
  readMeasurementDocument,
  recordSettings,
  software,
  type PhotoRecord,
} from "../record/index.js";
import { readSetPhoto, setPhotoText, type SetPhoto } from "../survey/index.js";
import { jsonText } from "./json-text.js";
import { makeFolderWithin, writeWhole } from "./report-write.js";

/** A hundred wheels of one photograph are far below, bytes. */
const longestSetPhoto = 100_000_000;

/**
 * Measurements of single photographs, kept in a folder under the photograph's check-sum, the settings and the
 * version of the program: what is unchanged in all three is not measured again.
 */
export interface MeasurementCache {
  /** The kept record of a photograph with this content, under the name it has now. */
  find(sha256: string, file: string): Promise<PhotoRecord | undefined>;
  keep(record: PhotoRecord): Promise<void>;
  /** What the photograph gave for the set it belongs to, under the path it has now. */
  findSetPhoto(sha256: string, path: string): Promise<SetPhoto | undefined>;
  keepSetPhoto(photo: SetPhoto): Promise<void>;
}

export async function openMeasurementCache(
  folder: string,
  settings: MeasurePhotoSettings,
): Promise<MeasurementCache> {
  await makeFolderWithin(folder);
  const said = JSON.stringify([recordSettings(settings), settings.matPaper ?? null, software()]);
  const key = createHash("sha256").update(said).digest("hex").slice(0, 16);
  const pathOf = (sha256: string): string => join(folder, `${sha256.slice(0, 32)}-${key}.json`);
  const setPathOf = (sha256: string): string => join(folder, `${sha256.slice(0, 32)}-${key}.set.gz`);
  return {
    find: async (sha256, file) => {
      try {
        const [record] = readMeasurementDocument(await readFile(pathOf(sha256), "utf8")).photos;
        // A file that was swapped or cut short is as good as none.
        return record?.sha256 === sha256 ? { ...record, file } : undefined;
      } catch {
        return undefined;
      }
    },
    keep: async (record) => {
      const failed = record.problems.some(({ code }) => code === "unexpected");
      if (record.sha256 === undefined || failed) return;
      await writeWhole(pathOf(record.sha256), jsonText(measurementDocument([record])));
    },
    findSetPhoto: async (sha256, path) => {
      try {
        const packed = await readFile(setPathOf(sha256));
        const text = gunzipSync(packed, { maxOutputLength: longestSetPhoto }).toString();
        const photo = readSetPhoto(text, path);
        return photo?.sha256 === sha256 ? photo : undefined;
      } catch {
        return undefined;
      }
    },
    keepSetPhoto: async (photo) => {
      if (photo.sha256 === undefined) return;
      await writeWhole(setPathOf(photo.sha256), gzipSync(setPhotoText(photo)));
    },
  };
}

/** SHA-256 of a file, lower-case hex; undefined if it cannot be read. */
export async function sha256OfFile(path: string): Promise<string | undefined> {
  const hash = createHash("sha256");
  try {
    for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
    return hash.digest("hex");
  } catch {
    return undefined;
  }
}

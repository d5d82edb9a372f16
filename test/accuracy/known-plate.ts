import { readdir, readFile } from "node:fs/promises";
import { basename, dirname, join } from "node:path";
import { z } from "zod";
import type { SceneKind, SceneTruth } from "../scenes/index.js";
import type { KnownPhoto } from "./known-photo.js";
import { photoFile, surveyBars } from "./sample-photos.js";
import { scenePhoto } from "./scene-photos.js";

/** A photograph of a plate, and what is true of it. */
export interface KnownPlate {
  readonly name: string;
  readonly path: string;
  readonly bars: KnownPhoto["bars"];
  readonly faceHeightMm: number;
  readonly holes: readonly KnownHole[];
  /** Ends of posts and screws in it, where each is seen: its end and its foot. */
  readonly posts: readonly {
    readonly endPx: readonly [number, number];
    readonly footPx: readonly [number, number];
  }[];
}

export interface KnownHole {
  readonly use?: string;
  /** Of its middle on the face. */
  readonly centrePx: readonly [number, number];
  readonly diameterMm: number;
  /** Longest minus shortest diameter, and the direction of the longest. */
  readonly ovalityMm: number;
  readonly ovalityAngleRad: number;
}

/** A rendered scene of this seed, 12 megapixels, kept in `folder`. */
export async function scenePlate(
  folder: string,
  kind: SceneKind,
  seed: number,
  key: string,
): Promise<KnownPlate> {
  const { path, bars } = await scenePhoto(folder, kind, seed, "12mp", key);
  const { truth } = JSON.parse(await readFile(path.replace(/jpg$/, "json"), "utf8")) as { truth: SceneTruth };
  const { faceHeightMm, holes } = truth.plates[0]!;
  return { name: `${kind} ${seed}`, path, bars, faceHeightMm, holes, posts: [] };
}

const pair = z.tuple([z.number(), z.number()]);

/** As far as it is used here; the whole format is described in samples/README.md. */
const plateTruth = z.object({
  photo: z.string().regex(/^[\w.-]+$/),
  /** What calipers read across and along this print, where each photograph has a print of its own. */
  readings: pair.optional(),
  parts: z.array(
    z.object({
      kind: z.string(),
      face_height_mm: z.number(),
      holes: z
        .array(
          z.object({
            use: z.string(),
            centre_px: pair,
            diameter_mm: z.number(),
            ovality_mm: z.number(),
            ovality_angle_deg: z.number().default(0),
          }),
        )
        .optional(),
      posts: z.array(z.object({ end_px: pair, foot_px: pair })).optional(),
    }),
  ),
});

/**
 * Photographs of one plate each among the truth documents of a folder like those of samples/; others are passed over.
 *
 * @throws ZodError where a document is none.
 */
export async function samplePlates(folder: string): Promise<KnownPlate[]> {
  const ofSurvey = await surveyBars(dirname(folder));
  const plates: KnownPlate[] = [];
  for (const name of (await readdir(folder)).sort()) {
    if (!name.endsWith(".json")) continue;
    const { photo, readings, parts } = plateTruth.parse(
      JSON.parse(await readFile(join(folder, name), "utf8")),
    );
    const [plate] = parts;
    if (parts.length !== 1 || plate?.kind !== "plate") continue;
    plates.push({
      name: basename(photo, ".jpg"),
      path: await photoFile(folder, photo),
      bars: readings === undefined ? ofSurvey : { matAcrossMm: readings[0], matAlongMm: readings[1] },
      faceHeightMm: plate.face_height_mm,
      holes: (plate.holes ?? []).map((h) => ({
        use: h.use,
        centrePx: h.centre_px,
        diameterMm: h.diameter_mm,
        ovalityMm: h.ovality_mm,
        ovalityAngleRad: (h.ovality_angle_deg * Math.PI) / 180,
      })),
      posts: (plate.posts ?? []).map((p) => ({ endPx: p.end_px, footPx: p.foot_px })),
    });
  }
  return plates;
}

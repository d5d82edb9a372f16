import { z } from "zod";

/**
 * What a person changed of what was measured. Kept apart from the measurements (corrections.yaml in the survey
 * folder; key `corrections` of the survey document): a measurement is never altered, and every change can be taken
 * back.
 */

const text = z.string().max(2000);
const label = z.string().max(60);
const pointPx = z.tuple([z.number(), z.number()]);
const angle = z.number().min(0).lt(360);

/** Whole, broken, missing, bent: as seen by a person. None: no tooth stands there. Added: one that was not found. */
export const toothStates = ["whole", "broken", "missing", "bent", "none", "added"] as const;

const toothCorrection = z.object({ angle_deg: angle, state: z.enum(toothStates) });

export const partKinds = [
  "wheel",
  "escape-wheel",
  "ratchet",
  "count-wheel",
  "locking-cam",
  "pinion",
  "plate",
] as const;

const partCorrection = z.object({
  /** Id of the part in the measurement; "hand-1" and so on for one that only a person saw. */
  part: z.string().min(1).max(60),
  /** Where its centre was when it was changed: a measurement that finds it elsewhere is not changed. */
  at_px: pointPx,
  left_out: z.literal(true).exactOptional(),
  kind: z.enum(partKinds).exactOptional(),
  /** "" takes the label away. */
  label: label.exactOptional(),
  tooth_count: z.number().int().min(1).max(2000).exactOptional(),
  teeth: z.array(toothCorrection).max(2000).exactOptional(),
  /** Tip circle set by hand, and to within how many pixels it could be set (at the zoom that was used). */
  circle: z
    .object({
      centre_px: pointPx,
      tip_radius_px: z.number().positive(),
      within_px: z.number().positive(),
    })
    .exactOptional(),
  remark: text.exactOptional(),
});

const photoCorrection = z.object({
  /** Name in photos/. */
  file: z.string().max(500),
  /** Of the photograph meant: another picture under the same name is not changed. */
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  left_out: z.literal(true).exactOptional(),
  reason: text.exactOptional(),
  /** Heights of faces in this photograph; without a label for every part that has no tag. */
  face_heights: z
    .array(z.object({ label: label.exactOptional(), mm: z.number().min(0).max(300) }))
    .exactOptional(),
  parts: z.array(partCorrection).max(500),
});

export const correctionsSchema = z.object({
  photos: z.array(photoCorrection).max(5000),
  /** Findings that were dealt with, by key. */
  done: z.array(z.string().max(300)).max(5000),
});

type Frozen<T> = T extends object ? { readonly [K in keyof T]: Frozen<T[K]> } : T;

export type ToothStateByHand = (typeof toothStates)[number];
export type ToothCorrection = Frozen<z.infer<typeof toothCorrection>>;
export type PartCorrection = Frozen<z.infer<typeof partCorrection>>;
export type PhotoCorrection = Frozen<z.infer<typeof photoCorrection>>;
export type CorrectionsRecord = Frozen<z.infer<typeof correctionsSchema>>;

export const noCorrections: CorrectionsRecord = { photos: [], done: [] };

/** The changes of one photograph, told by its content. */
export const correctionOf = (
  corrections: CorrectionsRecord,
  sha256: string | undefined,
): PhotoCorrection | undefined =>
  sha256 === undefined ? undefined : corrections.photos.find((photo) => photo.sha256 === sha256);

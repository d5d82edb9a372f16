import type { SettingsRecord } from "./measurement-schema.js";
import type { MeasureSettings } from "./record-photo.js";

/** The settings that a record states, as the program takes them: the inverse of `recordSettings`. */
export const settingsFromRecord = (record: SettingsRecord): MeasureSettings => ({
  ...(record.mat_across_mm === undefined ? {} : { matAcrossMm: record.mat_across_mm }),
  ...(record.mat_along_mm === undefined ? {} : { matAlongMm: record.mat_along_mm }),
  ...(record.face_heights_mm === undefined
    ? {}
    : {
        faceHeights: record.face_heights_mm.map(({ label, height_mm, u_mm, from }) => ({
          ...(label === undefined ? {} : { label }),
          heightMm: height_mm,
          ...(u_mm === undefined ? {} : { uMm: u_mm }),
          ...(from === undefined ? {} : { fromSet: true as const }),
        })),
      }),
  ...(record.scale === undefined
    ? {}
    : {
        scale: { fromPx: record.scale.from_px, toPx: record.scale.to_px, lengthMm: record.scale.length_mm },
      }),
  ...(record.px_per_mm === undefined ? {} : { pxPerMm: record.px_per_mm }),
  ...(record.set === undefined ? {} : { set: record.set }),
  ...(record.model === undefined ? {} : { model: record.model }),
});

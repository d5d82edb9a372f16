import { pxPerMmAt } from "../geometry/index.js";
import type { Part } from "../parts/index.js";
import type { CameraData, Photo } from "../photo/index.js";
import type { Problem } from "../problem/index.js";
import type { View } from "../view/index.js";
import type { PartRecord, PhotoRecord, SettingsRecord, ViewRecord } from "./measurement-schema.js";
import { round } from "./quantity-record.js";
import { recordPart } from "./record-part.js";

export interface StatedFaceHeight {
  readonly label?: string;
  readonly heightMm: number;
  /** Standard uncertainty; absent: that of calipers on the bench. */
  readonly uMm?: number;
  /** Found by a height set, not typed. */
  readonly fromSet?: true;
}

/** What the user told the program about a photograph; absent means not said. */
export interface MeasureSettings {
  /** What the check bars measure on paper. */
  readonly matAcrossMm?: number;
  readonly matAlongMm?: number;
  /** Height of the face above the mat; without a label it holds for every part. */
  readonly faceHeights?: readonly StatedFaceHeight[];
  readonly scale?: {
    readonly fromPx: readonly [number, number];
    readonly toPx: readonly [number, number];
    readonly lengthMm: number;
  };
  readonly pxPerMm?: number;
  readonly set?: "turn" | "play" | "height";
  readonly model?: boolean;
}

export function recordSettings(settings: MeasureSettings): SettingsRecord {
  const { scale, faceHeights } = settings;
  return {
    ...(settings.matAcrossMm === undefined ? {} : { mat_across_mm: settings.matAcrossMm }),
    ...(settings.matAlongMm === undefined ? {} : { mat_along_mm: settings.matAlongMm }),
    ...(faceHeights && faceHeights.length > 0
      ? {
          face_heights_mm: faceHeights.map(({ label, heightMm, uMm, fromSet }) => ({
            ...(label === undefined ? {} : { label }),
            height_mm: heightMm,
            ...(uMm === undefined ? {} : { u_mm: uMm }),
            ...(fromSet ? { from: "height-set" as const } : {}),
          })),
        }
      : {}),
    ...(scale
      ? {
          scale: {
            from_px: [scale.fromPx[0], scale.fromPx[1]] as [number, number],
            to_px: [scale.toPx[0], scale.toPx[1]] as [number, number],
            length_mm: scale.lengthMm,
          },
        }
      : {}),
    ...(settings.pxPerMm === undefined ? {} : { px_per_mm: settings.pxPerMm }),
    ...(settings.set === undefined ? {} : { set: settings.set }),
    ...(settings.model === undefined ? {} : { model: settings.model }),
  };
}

function recordCamera(data: CameraData): Pick<PhotoRecord, "camera_data" | "captured_at"> {
  const camera = {
    ...(data.make === undefined ? {} : { make: data.make }),
    ...(data.model === undefined ? {} : { model: data.model }),
    ...(data.lens === undefined ? {} : { lens: data.lens }),
    ...(data.focalLengthMm === undefined ? {} : { focal_length_mm: data.focalLengthMm }),
    ...(data.focalLength35mm === undefined ? {} : { focal_length_35mm: data.focalLength35mm }),
  };
  return {
    ...(data.capturedAt === undefined ? {} : { captured_at: data.capturedAt }),
    ...(Object.keys(camera).length > 0 ? { camera_data: camera } : {}),
  };
}

function recordView(view: View): Pick<PhotoRecord, "view" | "tags" | "scale"> {
  const { mat, geometry } = view;
  const pxPerMm = view.source === "none" ? NaN : pxPerMmAt(geometry, 0, 0, 0);
  const { camera, cameraFromMat } = geometry;
  const seen: ViewRecord | undefined = mat && {
    markers_found: mat.markers.length,
    reprojection_rms_px: round(mat.reprojectionRmsPx, 4),
    camera: {
      fx_px: camera.fxPx,
      fy_px: camera.fyPx,
      cx_px: camera.cxPx,
      cy_px: camera.cyPx,
      k1: camera.k1,
      k2: camera.k2,
      ...(camera.p1 ? { p1: camera.p1 } : {}),
      ...(camera.p2 ? { p2: camera.p2 } : {}),
    },
    print_scale: [round(mat.printScaleAcross.value, 6), round(mat.printScaleAlong.value, 6)],
    print_scale_measured: mat.printScaleMeasured,
    paper: mat.paper,
    mat_to_camera: {
      rotation: [...cameraFromMat.rotation],
      translation_mm: [...cameraFromMat.translationMm],
    },
    blur_sigma_px: round(view.edge.blurSigmaPx, 3),
  };
  return {
    scale: { source: view.source, ...(pxPerMm > 0 ? { px_per_mm: round(pxPerMm, 5) } : {}) },
    ...(seen ? { view: seen } : {}),
    ...(view.tags.length > 0
      ? {
          tags: view.tags.map(({ label, centrePx: [x, y] }) => ({
            label,
            centre_px: [round(x, 2), round(y, 2)] as [number, number],
          })),
        }
      : {}),
  };
}

/** Says of a part that its height was not typed. */
function withHeightNote(part: PartRecord, { faceHeights = [] }: MeasureSettings): PartRecord {
  const stated =
    faceHeights.find(({ label }) => label !== undefined && label === part.label) ??
    faceHeights.find(({ label }) => label === undefined);
  if (stated?.fromSet === undefined || part.face_height_mm === undefined) return part;
  const text = `measured at the height that a height set found for the face: ${stated.heightMm.toFixed(2)} mm`;
  return { ...part, findings: [...part.findings, { code: "height-from-set", severity: "note", text }] };
}

/**
 * One measured photograph as the contract states it. Radians become degrees here; unknown stays absent.
 *
 * @param view absent if the view could not be solved; `problems` then says why.
 * @param problems of the photograph as a whole; those of the view are added, those of parts stay with them.
 */
export function recordPhoto(
  photo: Photo,
  view: View | undefined,
  parts: readonly Part[],
  problems: readonly Problem[],
  settings: MeasureSettings,
): PhotoRecord {
  const scaled = view !== undefined && view.source !== "none";
  const seen = new Set<string>();
  const all = [...problems, ...(view?.problems ?? [])].filter(({ code, text }) => {
    const key = `${code} ${text}`;
    return seen.has(key) ? false : seen.add(key);
  });
  return {
    file: photo.file,
    sha256: photo.sha256,
    byte_count: photo.byteCount,
    format: photo.format,
    width_px: photo.widthPx,
    height_px: photo.heightPx,
    ...recordCamera(photo.cameraData),
    ...(view ? recordView(view) : { scale: { source: "none" as const } }),
    parts: parts.map((part) => withHeightNote(recordPart(part, scaled), settings)),
    problems: all.map(({ code, text, advice }) => ({ code, text, advice })),
    settings: recordSettings(settings),
  };
}

/** A file that could not be read as a photograph: what is known of it, and why not. */
export const recordUnreadPhoto = (
  known: { readonly file: string; readonly sha256?: string; readonly byteCount?: number },
  problem: Problem,
  settings: MeasureSettings,
): PhotoRecord => ({
  file: known.file,
  ...(known.sha256 === undefined ? {} : { sha256: known.sha256 }),
  ...(known.byteCount === undefined ? {} : { byte_count: known.byteCount }),
  scale: { source: "none" },
  parts: [],
  problems: [{ code: problem.code, text: problem.text, advice: problem.advice }],
  settings: recordSettings(settings),
});

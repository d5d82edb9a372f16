import type { PhotoRecord, SettingsRecord, SurveyDocument } from "../../record/index.js";
import { shownText } from "../shown-text.js";
import { numberText } from "../rounded.js";
import type { Block, Section, Words } from "./content.js";
import { fileName } from "./photographs.js";

const megabytes = (bytes: number): string => `${(bytes / 1e6).toFixed(2)} MB`;

export function settingsText(settings: SettingsRecord | undefined): string {
  if (!settings) return "none";
  const parts: string[] = [];
  if (settings.mat_across_mm !== undefined) parts.push(`check bar across ${settings.mat_across_mm} mm`);
  if (settings.mat_along_mm !== undefined) parts.push(`check bar along ${settings.mat_along_mm} mm`);
  for (const { label, height_mm, from } of settings.face_heights_mm ?? []) {
    const whose = label === undefined ? "" : `${shownText(label, { max: 20 })} `;
    parts.push(`face height ${whose}${height_mm} mm${from === undefined ? "" : " (from a height set)"}`);
  }
  if (settings.px_per_mm !== undefined) parts.push(`${settings.px_per_mm} px/mm`);
  if (settings.scale) parts.push(`two points ${settings.scale.length_mm} mm apart`);
  if (settings.set !== undefined) parts.push(`set: ${settings.set}`);
  if (settings.model === false) parts.push("without the networks");
  return parts.length > 0 ? parts.join("; ") : "defaults";
}

function cameraWords({ camera_data: camera }: PhotoRecord): Words {
  const parts = [camera?.make, camera?.model, camera?.lens].filter((p) => p !== undefined);
  const focal = camera?.focal_length_mm === undefined ? [] : [`${camera.focal_length_mm} mm`];
  const all = [...parts, ...focal];
  return all.length > 0 ? [{ said: shownText(all.join(", "), { max: 120 }) }] : "not stated";
}

/** What a camera writes down that others need not know; stated only where it was asked for. */
export interface PrivateData {
  /** South and west negative. */
  readonly place?: { readonly latitudeDeg: number; readonly longitudeDeg: number };
  readonly serials: readonly string[];
}

/** All that is needed to repeat the measurements. */
export function provenanceSection(
  survey: SurveyDocument,
  privateData: readonly PrivateData[] | undefined,
): Section {
  const { photos } = survey.measurement;
  const { software } = survey;
  const shown = new Map<string, number[]>();
  photos.forEach((photo, i) => {
    const text = settingsText(photo.settings);
    shown.set(text, [...(shown.get(text) ?? []), i + 1]);
  });
  return {
    id: "provenance",
    title: "Provenance",
    blocks: [
      {
        kind: "facts",
        rows: [
          { term: "Made by", words: `${software.name} ${software.version}` },
          { term: "Made on", words: survey.made_at.replace(/\.\d+Z$/, "Z") },
          ...[...shown].map(([text, numbers]) => ({
            term: shown.size === 1 ? "Settings" : `Settings, photographs ${numbers.join(", ")}`,
            words: text,
          })),
        ],
      },
      {
        kind: "table",
        caption: "Photographs: camera data as written by the camera",
        small: true,
        columns: [
          { head: "No.", width: 0.05 },
          { head: "File", width: 0.3 },
          { head: "Size", align: "right", width: 0.1 },
          { head: "Pixels", align: "right", width: 0.13 },
          { head: "Taken", width: 0.18 },
          { head: "Camera", width: 0.24 },
        ],
        rows: photos.map((photo, i) => [
          `${i + 1}`,
          [{ said: fileName(photo.file) }],
          photo.byte_count === undefined ? "" : megabytes(photo.byte_count),
          photo.width_px === undefined ? "" : `${photo.width_px} × ${photo.height_px}`,
          photo.captured_at === undefined
            ? "not stated"
            : [{ said: shownText(photo.captured_at, { max: 30 }) }],
          cameraWords(photo),
        ]),
      },
      {
        kind: "table",
        caption: "Check-sums (SHA-256) of the untouched files",
        small: true,
        columns: [
          { head: "No.", width: 0.06 },
          { head: "SHA-256", width: 0.94 },
        ],
        rows: photos.map((photo, i) => [
          `${i + 1}`,
          photo.sha256 === undefined ? "could not be read" : [{ code: photo.sha256 }],
        ]),
      },
      ...privateBlocks(privateData),
      {
        kind: "paragraph",
        quiet: true,
        words:
          "Pictures in this report are copies without their metadata: no place, no serial numbers. Marks are drawn " +
          "over them, never into the original files.",
      },
    ],
  };
}

function privateBlocks(privateData: readonly PrivateData[] | undefined): Block[] {
  if (!privateData) return [];
  const rows = privateData.flatMap(({ place, serials }, i): Words[][] =>
    place === undefined && serials.length === 0
      ? []
      : [
          [
            `${i + 1}`,
            place
              ? `${numberText(place.latitudeDeg, 5)}°, ${numberText(place.longitudeDeg, 5)}°`
              : "not stated",
            serials.length > 0 ? [{ said: shownText(serials.join(", "), { max: 200 }) }] : "not stated",
          ],
        ],
  );
  if (rows.length === 0)
    return [
      {
        kind: "paragraph",
        words: "Place and serial numbers were asked for; the photographs carry none.",
      },
    ];
  return [
    {
      kind: "table",
      caption: "Place and serial numbers, as asked for (keep this page from strangers)",
      small: true,
      columns: [
        { head: "No.", width: 0.06 },
        { head: "Latitude, longitude", width: 0.4 },
        { head: "Serial numbers", width: 0.54 },
      ],
      rows,
    },
  ];
}

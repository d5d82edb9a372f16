import type { CameraData } from "./photo.js";

/**
 * Make, model, lens, focal lengths and time of capture; nothing else is looked at (no place, no serial number,
 * no owner). Missing, damaged or nonsensical entries are absent.
 *
 * @param bytes an EXIF block (TIFF structure) or a whole TIFF file.
 */
export async function readCameraData(bytes: Uint8Array): Promise<CameraData> {
  const { default: exifr } = await import("exifr");
  let tags: Readonly<Record<string, unknown>> | undefined;
  try {
    tags = (await exifr.parse(bytes, {
      pick: [
        "Make",
        "Model",
        "LensModel",
        "FocalLength",
        "FocalLengthIn35mmFormat",
        "Orientation",
        "DateTimeOriginal",
      ],
      gps: false,
      xmp: false,
      icc: false,
      iptc: false,
      makerNote: false,
      userComment: false,
      translateValues: false,
      reviveValues: false,
    })) as typeof tags;
  } catch {
    // A photograph measures as well without it.
  }
  if (!tags) return {};
  const make = plainText(tags["Make"]);
  const model = plainText(tags["Model"]);
  const lens = plainText(tags["LensModel"]);
  const focalLengthMm = lengthMm(tags["FocalLength"]);
  const focalLength35mm = lengthMm(tags["FocalLengthIn35mmFormat"]);
  const orientation = orientationOf(tags["Orientation"]);
  const capturedAt = isoTime(tags["DateTimeOriginal"]);
  return {
    ...(make && { make }),
    ...(model && { model }),
    ...(lens && { lens }),
    ...(focalLengthMm && { focalLengthMm }),
    ...(focalLength35mm && { focalLength35mm }),
    ...(orientation && { orientation }),
    ...(capturedAt && { capturedAt }),
  };
}

const orientationOf = (value: unknown): number | undefined =>
  typeof value === "number" && Number.isInteger(value) && value >= 1 && value <= 8 ? value : undefined;

const maxTextLength = 80;

/** These words reach terminals and reports: control characters, direction marks and excess length go. */
function plainText(value: unknown): string | undefined {
  if (typeof value !== "string") return undefined;
  const text = value
    .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, "")
    .trim()
    .slice(0, maxTextLength);
  return text === "" ? undefined : text;
}

/** Real lenses lie well within 0.5 mm to 5 m; 0 is EXIF's "unknown". */
const lengthMm = (value: unknown): number | undefined =>
  typeof value === "number" && value > 0.5 && value < 5000 ? value : undefined;

/** EXIF writes "2024:05:06 07:08:09", and zeros or blanks for "unknown". */
function isoTime(value: unknown): string | undefined {
  if (typeof value !== "string") return undefined;
  const match = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)/.exec(value);
  if (!match) return undefined;
  const [, year, month, day, hour, minute, second] = match;
  const time = `${year}-${month}-${day}T${hour}:${minute}:${second}`;
  // Only a date that survives the round trip exists: no month 00, no 30 February.
  const parsed = new Date(`${time}Z`);
  return !Number.isNaN(parsed.getTime()) && parsed.toISOString().startsWith(time) ? time : undefined;
}

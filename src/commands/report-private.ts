import type { PrivateData } from "../report/index.js";

const mostLetters = 60;

/**
 * Place and serial numbers that the camera wrote into a photograph. Read only where somebody asks for them: a report
 * goes to people who need not know where a clock stands.
 *
 * @returns nothing but what is there and makes sense.
 */
export async function readPrivateData(path: string): Promise<PrivateData> {
  const { default: exifr } = await import("exifr");
  let tags: Readonly<Record<string, unknown>> | undefined;
  try {
    tags = (await exifr.parse(path, {
      pick: [
        "SerialNumber",
        "BodySerialNumber",
        "CameraSerialNumber",
        "LensSerialNumber",
        "GPSLatitude",
        "GPSLongitude",
        "GPSLatitudeRef",
        "GPSLongitudeRef",
      ],
      gps: true,
      xmp: false,
      icc: false,
      iptc: false,
      makerNote: false,
      userComment: false,
    })) as typeof tags;
  } catch {
    // A photograph without EXIF, or with a damaged one, says nothing.
  }
  if (!tags) return { serials: [] };
  const text = (key: string): string => {
    const value = tags[key];
    const words = typeof value === "string" || typeof value === "number" ? String(value) : "";
    return words
      .replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, "")
      .trim()
      .slice(0, mostLetters);
  };
  const serials = ["SerialNumber", "BodySerialNumber", "CameraSerialNumber", "LensSerialNumber"].map(text);
  const place = placeOf(tags["latitude"], tags["longitude"]);
  return { ...(place && { place }), serials: [...new Set(serials)].filter((serial) => serial !== "") };
}

function placeOf(latitude: unknown, longitude: unknown): PrivateData["place"] {
  if (typeof latitude !== "number" || typeof longitude !== "number") return undefined;
  return Math.abs(latitude) <= 90 && Math.abs(longitude) <= 180
    ? { latitudeDeg: latitude, longitudeDeg: longitude }
    : undefined;
}

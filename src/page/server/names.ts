import { extname } from "node:path";

/** Text from outside for a message: nothing that a terminal or a page would obey, and not too long. */
export function shownName(text: string): string {
  const plain = text.replace(
    /[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu,
    (c) => `\\u{${c.codePointAt(0)!.toString(16)}}`,
  );
  return plain.length > 200 ? `${plain.slice(0, 200)}…` : plain;
}

const reservedOnWindows = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

/** Letters, digits, spaces, ". _ -": what every file system takes; never hidden, never a path. */
function plainStem(text: string, most: number): string {
  const stem = text
    .normalize("NFC")
    .replace(/[^\p{L}\p{M}\p{N} ._-]/gu, "_")
    .replace(/^[\s.-]+|[\s.]+$/g, "");
  const short = [...stem].slice(0, most).join("").trim();
  return reservedOnWindows.test(short) ? `_${short}` : short;
}

/** Endings of the kinds of pictures, as told by their first bytes. */
const endingOf = { jpeg: ".jpg", png: ".png", webp: ".webp", tiff: ".tif", heic: ".heic" } as const;
export type PictureFormat = keyof typeof endingOf;
const endings: Readonly<Record<PictureFormat, readonly string[]>> = {
  jpeg: [".jpg", ".jpeg"],
  png: [".png"],
  webp: [".webp"],
  tiff: [".tif", ".tiff"],
  heic: [".heic", ".heif"],
};

/**
 * Name for a photograph that was sent under a name from outside: the last part of it, made harmless, with the
 * ending of what it is. Free among `taken` (compared without case: some file systems take both for one).
 */
export function photoName(given: string, format: PictureFormat, taken: ReadonlySet<string>): string {
  const last = given.split(/[\\/]/).at(-1) ?? "";
  const own = extname(last).toLowerCase();
  const ending = endings[format].includes(own) ? own : endingOf[format];
  const stem = plainStem(last.slice(0, last.length - extname(last).length), 50) || "photo";
  // "-annotated.jpg" is the ending of copies, which are no photographs.
  const plain = stem.replace(/-annotated$/i, "_annotated");
  for (let n = 1; ; n++) {
    const name = `${plain}${n === 1 ? "" : `-${n}`}${ending}`;
    if (!taken.has(name.toLowerCase())) return name;
  }
}

/** Name of a new survey's folder; undefined if nothing fit to be one is left. */
export function surveyName(given: string): string | undefined {
  const name = plainStem(given, 60);
  return name === "" ? undefined : name;
}

/** What a picture is, by its first bytes; the decoder looks closer later. */
export function pictureFormat(head: Uint8Array): PictureFormat | undefined {
  const ascii = (from: number, to: number): string => String.fromCharCode(...head.slice(from, to));
  if (head[0] === 0xff && head[1] === 0xd8 && head[2] === 0xff) return "jpeg";
  if (ascii(1, 4) === "PNG" && head[0] === 0x89) return "png";
  if (ascii(0, 4) === "RIFF" && ascii(8, 12) === "WEBP") return "webp";
  if (ascii(0, 4) === "II*\0" || ascii(0, 4) === "MM\0*") return "tiff";
  if (ascii(4, 8) === "ftyp" && /^(heic|heix|hevc|heim|heis|mif1|msf1)$/.test(ascii(8, 12))) return "heic";
  return undefined;
}

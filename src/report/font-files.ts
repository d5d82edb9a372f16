import { createRequire } from "node:module";
import { readFile } from "node:fs/promises";

/** Families of a report: one to read, one for tables, labels and plots. */
export type Family = "serif" | "sans";
/** Weight and slope; tables and labels know no slope. */
export type Face = "regular" | "bold" | "italic";

const folders: Readonly<Record<Family, readonly [string, string]>> = {
  serif: ["@fontsource/source-serif-4", "source-serif-4"],
  sans: ["@fontsource/source-sans-3", "source-sans-3"],
};
const faceNames: Readonly<Record<Face, string>> = {
  regular: "400-normal",
  bold: "600-normal",
  italic: "400-italic",
};

const require = createRequire(import.meta.url);

/** Alphabets that these packages come cut into. */
export const alphabets = ["latin", "latin-ext", "greek", "cyrillic"] as const;
export type Alphabet = (typeof alphabets)[number];

/** A font file: WOFF for the PDF, WOFF 2 for browsers. */
export function readFont(
  family: Family,
  face: Face,
  alphabet: Alphabet,
  format: "woff" | "woff2",
): Promise<Buffer> {
  const [name, stem] = folders[family];
  return readFile(require.resolve(`${name}/files/${stem}-${alphabet}-${faceNames[face]}.${format}`));
}

/** A font of wide coverage for what the others lack: Hebrew, Arabic, arrows, brackets, symbols. */
export const readWideFont = (bold: boolean): Promise<Buffer> =>
  readFile(require.resolve(`dejavu-fonts-ttf/ttf/DejaVuSans${bold ? "-Bold" : ""}.ttf`));

export const readMonoFont = (): Promise<Buffer> =>
  readFile(require.resolve("dejavu-fonts-ttf/ttf/DejaVuSansMono.ttf"));

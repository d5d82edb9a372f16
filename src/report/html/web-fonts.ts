import { readFont, type Face, type Family } from "../font-files.js";

const familyNames: Readonly<Record<Family, string>> = { serif: "Source Serif 4", sans: "Source Sans 3" };
const faces: readonly (readonly [Family, Face])[] = [
  ["serif", "regular"],
  ["serif", "bold"],
  ["serif", "italic"],
  ["sans", "regular"],
  ["sans", "bold"],
];

/**
 * Style rules with the fonts inside (Latin letters; others come from the reader's machine), so that the report
 * looks the same everywhere and asks nobody for a font.
 */
export async function webFontFaces(): Promise<string> {
  const rules = await Promise.all(
    faces.map(async ([family, face]) => {
      const data = await readFont(family, face, "latin", "woff2");
      const weight = face === "bold" ? 600 : 400;
      const slope = face === "italic" ? "italic" : "normal";
      return (
        `@font-face { font-family: "${familyNames[family]}"; font-weight: ${weight}; font-style: ${slope}; ` +
        `src: url(data:font/woff2;base64,${data.toString("base64")}) format("woff2"); }`
      );
    }),
  );
  return `\n${rules.join("\n")}`;
}

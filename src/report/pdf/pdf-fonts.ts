import { alphabets, readFont, readMonoFont, readWideFont, type Face, type Family } from "../font-files.js";
import { ttfFromWoff } from "./ttf-from-woff.js";

/** The calls of pdfkit that drawing needs: its type package lacks some, and names none of the inner ones. */
export type Pdf = PDFKit.PDFDocument;

export interface TextStyle {
  readonly family: Family | "mono";
  readonly face: Face;
  readonly sizePt: number;
}

/** A stretch of text that one font can show. */
export interface FontRun {
  readonly font: string;
  readonly text: string;
}

/** Fonts of a document: which one shows a character, and how wide a text is. */
export interface PdfFonts {
  /** Cuts a text into stretches, each with a font that has its characters; what no font has becomes "□". */
  runsOf(text: string, style: TextStyle): FontRun[];
  widthPt(text: string, style: TextStyle): number;
}

/** A font file, opened when first asked for a character. */
interface LazyFont {
  readonly name: string;
  has(codePoint: number): boolean;
}

/** What pdfkit keeps of an embedded font. */
interface InnerFont {
  readonly font: { hasGlyphForCodePoint(codePoint: number): boolean };
}

const noGlyph = "\u25A1";

const faces: readonly (readonly [Family, Face])[] = [
  ["serif", "regular"],
  ["serif", "bold"],
  ["serif", "italic"],
  ["sans", "regular"],
  ["sans", "bold"],
];

/** Reads all fonts that a report may need; only what is used, and only its used glyphs, is embedded. */
export async function openPdfFonts(pdf: Pdf): Promise<PdfFonts> {
  const lazy = (name: string, data: Buffer): LazyFont => {
    let inner: InnerFont["font"] | undefined;
    return {
      name,
      has: (codePoint) => {
        if (!inner) {
          pdf.registerFont(name, data.toString("latin1", 0, 4) === "wOFF" ? ttfFromWoff(data) : data);
          pdf.font(name);
          inner = (pdf as unknown as { _font: InnerFont })._font.font;
        }
        return inner.hasGlyphForCodePoint(codePoint);
      },
    };
  };
  const wide = lazy("wide", await readWideFont(false));
  const wideBold = lazy("wide-bold", await readWideFont(true));
  const chains = new Map<string, LazyFont[]>();
  for (const [family, face] of faces) {
    const chain: LazyFont[] = [];
    for (const alphabet of alphabets)
      chain.push(lazy(`${family}-${face}-${alphabet}`, await readFont(family, face, alphabet, "woff")));
    chains.set(`${family}-${face}`, [...chain, face === "bold" ? wideBold : wide]);
  }
  chains.set("mono-regular", [lazy("mono", await readMonoFont()), wide]);
  const chainOf = ({ family, face }: TextStyle): LazyFont[] =>
    chains.get(`${family}-${face}`) ?? chains.get(`${family}-regular`)!;

  const runsOf = (text: string, style: TextStyle): FontRun[] => {
    const chain = chainOf(style);
    const runs: { font: LazyFont; text: string }[] = [];
    for (const character of text) {
      const codePoint = character.codePointAt(0)!;
      // Joiners and variation marks show nothing by themselves.
      if (/[\u200b-\u200d\ufe00-\ufe0f]/.test(character)) continue;
      const run = runs.at(-1);
      // Spaces and marks that stand on a letter stay in the font of what is before them.
      const stays = run && /\s|\p{M}/u.test(character) && run.font.has(codePoint);
      const font = stays ? run.font : chain.find((f) => f.has(codePoint));
      const shown = font ? character : noGlyph;
      const chosen = font ?? wide;
      if (!font) wide.has(noGlyph.codePointAt(0)!);
      if (run?.font === chosen) run.text += shown;
      else runs.push({ font: chosen, text: shown });
    }
    return runs.map(({ font, text: t }) => ({ font: font.name, text: t }));
  };

  const widths = new Map<string, number>();
  const widthPt = (text: string, style: TextStyle): number => {
    const key = `${style.family} ${style.face} ${text}`;
    const known = widths.get(key);
    if (known !== undefined) return known * style.sizePt;
    let em = 0;
    for (const run of runsOf(text, style))
      em += pdf.font(run.font).fontSize(100).widthOfString(run.text) / 100;
    if (text.length < 40) widths.set(key, em);
    return em * style.sizePt;
  };
  return { runsOf, widthPt };
}

import type { PdfFonts, TextStyle } from "./pdf-fonts.js";

/** A stretch of text in one dress. */
export interface Span {
  readonly text: string;
  readonly style: TextStyle;
  readonly colour: string;
  /** Name of the place that a click leads to. */
  readonly to?: string;
}

/** A piece of a line: a word, or part of one. */
export interface PlacedSpan extends Span {
  /** The span that it is a part of. */
  readonly source: Span;
  /** White space that its text begins with. */
  readonly leadPt: number;
  readonly xPt: number;
  readonly widthPt: number;
}

export interface Line {
  readonly spans: readonly PlacedSpan[];
  readonly widthPt: number;
}

interface Word {
  readonly span: Span;
  readonly text: string;
  readonly widthPt: number;
  /** Width of the white space in front of it; 0 if it clings to the word before. */
  readonly gapPt: number;
  readonly newLine: boolean;
}

/** Breaks spans into lines of at most `widthPt`: at spaces, else inside the word. Line feeds are kept. */
export function breakLines(spans: readonly Span[], widthPt: number, fonts: PdfFonts): Line[] {
  const lines: Line[] = [];
  let line: PlacedSpan[] = [];
  let x = 0;
  const end = (): void => {
    lines.push({ spans: line, widthPt: x });
    line = [];
    x = 0;
  };
  const put = (word: Word): void => {
    const last = line.at(-1);
    const gapPt = x > 0 ? word.gapPt : 0;
    // The space is written too: who copies or searches the text finds it.
    const text = gapPt > 0 ? ` ${word.text}` : word.text;
    const width = gapPt + word.widthPt;
    if (last?.source === word.span)
      line[line.length - 1] = { ...last, text: last.text + text, widthPt: last.widthPt + width };
    else line.push({ ...word.span, source: word.span, text, xPt: x, widthPt: width, leadPt: gapPt });
    x += width;
  };
  for (const word of wordsOf(spans, widthPt, fonts)) {
    if (word.newLine || (x > 0 && x + word.gapPt + word.widthPt > widthPt + 0.01)) end();
    if (word.text !== "") put(word);
  }
  if (line.length > 0 || lines.length === 0) end();
  return lines;
}

function* wordsOf(spans: readonly Span[], widthPt: number, fonts: PdfFonts): Generator<Word> {
  let gapPt = 0;
  for (const span of spans) {
    // Spaces that may break; no-break spaces are part of their word.
    for (const token of span.text.split(/([ \n]+)/)) {
      if (token === "") continue;
      if (/^[ \n]+$/.test(token)) {
        const feeds = token.split("\n").length - 1;
        for (let i = 0; i < feeds; i++) yield { span, text: "", widthPt: 0, gapPt: 0, newLine: true };
        gapPt = feeds > 0 ? 0 : fonts.widthPt(" ", span.style);
        continue;
      }
      for (const text of pieces(token, span, widthPt, fonts)) {
        yield { span, text, widthPt: fonts.widthPt(text, span.style), gapPt, newLine: false };
        gapPt = 0;
      }
    }
  }
}

/** A word that is wider than the line is cut into pieces that are not. */
function pieces(word: string, span: Span, widthPt: number, fonts: PdfFonts): string[] {
  if (fonts.widthPt(word, span.style) <= widthPt) return [word];
  const cut: string[] = [];
  let piece = "";
  let width = 0;
  for (const character of word) {
    const w = fonts.widthPt(character, span.style);
    if (piece !== "" && width + w > widthPt) {
      cut.push(piece);
      piece = "";
      width = 0;
    }
    piece += character;
    width += w;
  }
  return piece === "" ? cut : [...cut, piece];
}

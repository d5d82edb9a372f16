/**
 * Text from outside (labels, file names, remarks) made fit to be shown: it can neither break a document nor
 * pretend to be another text. Markup is not this function's business; whoever writes the document escapes it.
 *
 * - control characters and lone surrogates, which XML forbids, become U+FFFD; tabs and line breaks become spaces
 *   unless `lines` is set;
 * - characters that turn the reading direction of what follows are shown by their number, so that
 *   "photo⟨U+202E⟩gpj.exe" can't pass for "photoexe.jpg";
 * - more than `max` characters are cut, and the cut is stated.
 */
export function shownText(text: string, options: ShownTextOptions = {}): string {
  const { max = Infinity, lines = false } = options;
  // Counted in code points, so that no emoji is cut in half; a grapheme may be.
  const points = [...text];
  const kept = points.length > max ? points.slice(0, max) : points;
  let shown = "";
  for (const character of kept) shown += lines && character === "\n" ? "\n" : shownCharacter(character);
  return points.length > max ? `${shown}… (${points.length} characters)` : shown;
}

export interface ShownTextOptions {
  /** Longest text kept, code points; default: all. */
  readonly max?: number;
  /** Keep line feeds; default false. */
  readonly lines?: boolean;
}

function shownCharacter(character: string): string {
  const code = character.codePointAt(0)!;
  if (code === 0x09 || code === 0x0a || code === 0x0d) return " ";
  if (code < 0x20 || (code >= 0x7f && code <= 0x9f)) return "\uFFFD";
  if (code >= 0xd800 && code <= 0xdfff) return "\uFFFD";
  if ((code & 0xfffe) === 0xfffe) return "\uFFFD";
  const turnsDirection =
    (code >= 0x202a && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069) || code === 0x061c;
  if (turnsDirection || code === 0x200e || code === 0x200f || code === 0xfeff)
    return `⟨U+${code.toString(16).toUpperCase().padStart(4, "0")}⟩`;
  return character;
}

/** Rough width of a text, in em, for boxes that must be sized before a font is known. Errs on the wide side. */
export function guessWidthEm(text: string): number {
  let width = 0;
  for (const character of text) {
    const code = character.codePointAt(0)!;
    if (code >= 0x1100) width += 1.05;
    else if ("mwMW±⟨⟩…".includes(character)) width += 0.96;
    else if ("il.,:;'|!()[] ".includes(character)) width += 0.38;
    else width += code < 0x61 ? 0.68 : 0.62;
  }
  return width;
}

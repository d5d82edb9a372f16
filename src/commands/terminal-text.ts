/**
 * Text from outside (file names, labels) for a terminal: characters that would be obeyed instead of shown, or that
 * turn the reading direction, become their number, as in "\u{1b}". Line breaks too: a name can't forge a line.
 *
 * @param keep characters to leave alone, such as "\n" in a text of several lines.
 */
export const terminalText = (text: string, keep = ""): string =>
  text.replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/gu, (c) =>
    keep.includes(c) ? c : `\\u{${c.codePointAt(0)!.toString(16)}}`,
  );

/** Something in the file that cannot be right as it is written: where, and what was expected. */
export interface Mistake {
  /** Counted from 1; absent when it belongs to no line. */
  readonly line?: number;
  readonly text: string;
}

/** A file read: the thing itself, or every mistake found, in the order of their lines. */
export type Reading<T> =
  { readonly ok: true; readonly value: T } | { readonly ok: false; readonly mistakes: readonly Mistake[] };

/** "line 7: ..." */
export const mistakeText = ({ line, text }: Mistake): string =>
  line === undefined ? text : `line ${line}: ${text}`;

/** The known word nearest to a misspelt one, if it is near enough to be meant. */
export function nearestWord(word: string, known: Iterable<string>): string | undefined {
  let nearest: string | undefined;
  let least = Math.max(1, Math.floor(word.length / 3)) + 1;
  for (const candidate of known) {
    const distance = editDistance(word, candidate);
    if (distance < least) [nearest, least] = [candidate, distance];
  }
  return nearest;
}

/** Insertions, deletions, substitutions and swaps of neighbours (optimal string alignment). */
function editDistance(a: string, b: string): number {
  if (Math.abs(a.length - b.length) > 6 || a.length > 40 || b.length > 40) return Infinity;
  const rows = Array.from({ length: a.length + 1 }, (_, i) => {
    const row = new Array<number>(b.length + 1).fill(0);
    row[0] = i;
    return row;
  });
  for (let j = 0; j <= b.length; j++) rows[0]![j] = j;
  for (let i = 1; i <= a.length; i++) {
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let least = Math.min(rows[i - 1]![j]! + 1, rows[i]![j - 1]! + 1, rows[i - 1]![j - 1]! + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        least = Math.min(least, rows[i - 2]![j - 2]! + 1);
      rows[i]![j] = least;
    }
  }
  return rows[a.length]![b.length]!;
}

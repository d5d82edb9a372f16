/**
 * Blows from notch to notch for what is struck, in the order of the hours; undefined where the order is not
 * a standard one.
 */
export function blowsInOrder(words: string): readonly number[] | undefined {
  const hours = Array.from({ length: 12 }, (_, i) => i + 1);
  switch (words) {
    case "hours":
      return hours;
    case "hours and halves":
      return hours.flatMap((hour) => [hour, 1]);
    case "quarters":
      return hours.flatMap(() => [1, 2, 3, 4]);
    default:
      return undefined;
  }
}

/**
 * Where each run of blows ends on the count wheel, from the start of the first, rad: every blow takes the same
 * share of a turn, and the notch stands at the end of its run.
 */
export function notchAnglesRad(blows: readonly number[]): readonly number[] {
  const total = blows.reduce((sum, n) => sum + n, 0);
  let sum = 0;
  return blows.map((n) => (2 * Math.PI * (sum += n)) / total);
}

/** Whether `blows` is the expected sequence begun anywhere, repeated or cut to whole rounds of it. */
export function isInOrder(blows: readonly number[], expected: readonly number[]): boolean {
  return expected.some((_, start) => blows.every((n, i) => n === expected[(start + i) % expected.length]));
}

/** Measured minus true, and the standard uncertainty that was stated with it, in one unit. */
export interface ErrorOfOne {
  readonly error: number;
  readonly u?: number;
  /** What the design allows, where its bar applies to this wheel and photograph. */
  readonly allowed?: number;
}

export interface ErrorStatistics {
  readonly count: number;
  readonly bias: number;
  readonly rms: number;
  /** Largest amount, without sign. */
  readonly largest: number;
  /** Values stated with an uncertainty, and how many of them lie no farther than 2 u from the truth. */
  readonly stated: number;
  readonly covered: number;
  /** Values that a bar applies to, and how many meet it. */
  readonly barred: number;
  readonly withinBar: number;
}

/** Coverage factor of the intervals that the program states. */
export const coverageFactor = 2;

export function errorStatistics(errors: readonly ErrorOfOne[]): ErrorStatistics | undefined {
  const count = errors.length;
  if (count === 0) return undefined;
  const stated = errors.flatMap(({ error, u }) => (u === undefined ? [] : [{ error, u }]));
  const barred = errors.flatMap(({ error, allowed }) => (allowed === undefined ? [] : [{ error, allowed }]));
  return {
    count,
    bias: errors.reduce((sum, { error }) => sum + error, 0) / count,
    rms: Math.sqrt(errors.reduce((sum, { error }) => sum + error * error, 0) / count),
    largest: errors.reduce((most, { error }) => Math.max(most, Math.abs(error)), 0),
    stated: stated.length,
    covered: stated.filter(({ error, u }) => Math.abs(error) <= coverageFactor * u).length,
    barred: barred.length,
    withinBar: barred.filter(({ error, allowed }) => Math.abs(error) <= allowed).length,
  };
}

/** Fewer cases say nothing about a share of 90 % or 99 %. */
const fewest = 10;
/** One case in a hundred cannot be outside when there are fewer. */
const fewestForUpperEnd = 100;

/** Bar: 95 % intervals hold the truth in 90 % to 99 % of cases. */
export function coverageVerdict({ stated, covered }: Pick<ErrorStatistics, "stated" | "covered">): string {
  if (stated === 0) return "";
  if (stated < fewest) return "too few to tell";
  if (covered < 0.9 * stated) return "not met";
  if (stated >= fewestForUpperEnd && covered > 0.99 * stated) return "not met (too wide)";
  return "met";
}

/** Plain data with its keys as JSON output spells them: `lengthMm` becomes `length_mm`. Values stay. */
export function snakeKeys(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(snakeKeys);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [snakeKey(key), snakeKeys(inner)]));
}

const snakeKey = (key: string): string => key.replace(/(?<=[a-z0-9])[A-Z]/g, (c) => `_${c.toLowerCase()}`);

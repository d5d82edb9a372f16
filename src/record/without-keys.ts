/** A copy of a record without some of its keys: what is unknown is absent, not undefined. */
export function withoutKeys<T extends object, K extends keyof T>(
  record: T,
  ...keys: readonly K[]
): Omit<T, K> {
  const left = new Set<PropertyKey>(keys);
  return Object.fromEntries(Object.entries(record).filter(([key]) => !left.has(key))) as Omit<T, K>;
}

/**
 * Blows in 12 hours. 78 (hours), 90 (with one at every half hour), 88 (the same without half past twelve and
 * half past one): Encyclopaedia Britannica, 11th and 9th ed., Clock. Quarters: 1 + 2 + 3 + 4 in an hour, 240 a day.
 */
export const standardStrikes: ReadonlyMap<string, number> = new Map([
  ["hours", 78],
  ["hours and halves", 90],
  ["hours and most halves", 88],
  ["quarters", 120],
]);

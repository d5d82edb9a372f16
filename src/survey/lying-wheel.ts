/** A face higher than a thick wheel cannot lie on the sheet, mm. Common practice, no source. */
export const highestLyingMm = 3.2;

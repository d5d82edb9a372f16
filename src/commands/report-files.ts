/** Names of what `report` writes and `verify` reads. */
export const reportFiles = {
  survey: "survey.json",
  csv: "measurements.csv",
  html: "report.html",
  pdf: "report.pdf",
  checkSums: "SHA256SUMS",
} as const;

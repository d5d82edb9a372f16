/** Capitals and figures of 3 x 5 dots, so that rendered sheets and cards carry words like printed ones. */
const rowsOf: Record<string, string> = {
  A: "25755", B: "65656", C: "34443", D: "65556", E: "74647", F: "74644", G: "34553", H: "55755", I: "72227",
  J: "11152", K: "55655", L: "44447", M: "57755", N: "65555", O: "25552", P: "65644", Q: "25563", R: "65655",
  S: "34216", T: "72222", U: "55557", V: "55552", W: "55775", X: "55255", Y: "55222", Z: "71247",
  "0": "25552", "1": "26227", "2": "61247", "3": "61216", "4": "55711", "5": "74616", "6": "34652", "7": "71222",
  "8": "25252", "9": "25316", ".": "00002", ",": "00024", ":": "02020", "%": "51245", "(": "24442", ")": "21112",
}; // prettier-ignore

/** Is a dot of the text inked at (column, row) of its dot grid? Four columns a character, five rows from the top. */
export function isInked(text: string, column: number, row: number): boolean {
  if (row < 0 || row > 4 || column < 0) return false;
  const within = column % 4;
  if (within === 3) return false;
  const rows = rowsOf[text[(column - within) / 4]?.toUpperCase() ?? " "];
  return rows !== undefined && ((Number(rows[row]) >> (2 - within)) & 1) === 1;
}

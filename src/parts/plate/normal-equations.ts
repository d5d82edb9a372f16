/**
 * Small least squares, many thousands of times: sums of a linear model's normal equations, solved by elimination in
 * place. Row i holds the upper half of the matrix from column i, and the right side in the last column.
 */
export class NormalEquations {
  readonly #n: number;
  readonly #rows: Float64Array;
  #total = 0;

  constructor(unknowns: number) {
    this.#n = unknowns;
    this.#rows = new Float64Array(unknowns * (unknowns + 1));
  }

  clear(): void {
    this.#rows.fill(0);
    this.#total = 0;
  }

  /** What is believed of an unknown beforehand. */
  believe(i: number, value: number, u: number): void {
    const columns = this.#n + 1;
    const w = 1 / u ** 2;
    this.#rows[columns * i + i]! += w;
    this.#rows[columns * i + this.#n]! += w * value;
    this.#total += w * value ** 2;
  }

  /** A reading of weight w: the sum of shares[j] times unknown index[j], indices ascending. */
  add(shares: Float64Array, index: readonly number[], reading: number, w: number): void {
    const columns = this.#n + 1;
    const rows = this.#rows;
    for (let i = 0; i < index.length; i++) {
      const s = w * shares[i]!;
      if (s === 0) continue;
      const row = columns * index[i]!;
      for (let j = i; j < index.length; j++) rows[row + index[j]!]! += s * shares[j]!;
      rows[row + this.#n]! += s * reading;
    }
    this.#total += w * reading ** 2;
  }

  /** Adds to the matrix (column after row), or with the number of unknowns as column to the right side. */
  addTo(row: number, column: number, value: number): void {
    this.#rows[(this.#n + 1) * row + column]! += value;
  }

  /** Adds to the weighted sum of squares of the readings, for what came by `addTo`. */
  addTotal(value: number): void {
    this.#total += value;
  }

  /** Eliminates, and returns the sum of squares that is left. The equations are used up. */
  misfit(): number {
    const n = this.#n;
    const columns = n + 1;
    const rows = this.#rows;
    let explained = 0;
    for (let i = 0; i < n; i++) {
      const pivot = rows[columns * i + i]!;
      if (!(pivot > 1e-9)) continue;
      for (let k = i + 1; k < n; k++) {
        const f = rows[columns * i + k]! / pivot;
        if (f === 0) continue;
        for (let j = k; j < columns; j++) rows[columns * k + j]! -= f * rows[columns * i + j]!;
      }
      explained += rows[columns * i + n]! ** 2 / pivot;
    }
    return this.#total - explained;
  }

  /** The unknowns, after `misfit`. */
  solution(): number[] {
    const n = this.#n;
    const columns = n + 1;
    const found = Array.from({ length: n }, () => 0);
    for (let i = n - 1; i >= 0; i--) {
      const pivot = this.#rows[columns * i + i]!;
      let rest = this.#rows[columns * i + n]!;
      for (let j = i + 1; j < n; j++) rest -= this.#rows[columns * i + j]! * found[j]!;
      found[i] = pivot > 1e-9 ? rest / pivot : 0;
    }
    return found;
  }
}

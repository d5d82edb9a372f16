import { respond } from "../contrast.js";
import type { LensMixing } from "./tooth-depth.js";

/** Cells of constant radius (rows) and place (columns): from the middle of a tooth to the middle of the space. */
export interface ToothGrid {
  readonly rows: number;
  readonly columns: number;
  /** Radius of the first row, and from row to row. */
  readonly fromMm: number;
  readonly stepMm: number;
  readonly pitchRad: number;
}

/** How a photograph draws a tooth: lens, then tone curve, then stored colour. Standard deviations, mm. */
export interface ToothOptics {
  readonly lensMm: number;
  /** What walls under the flanks add along the arc. */
  readonly wallsMm: number;
  /** Blur inside the middle of the teeth over that outside. */
  readonly softer: number;
  /** Undefined: the signal is linear in the light, and there is one blur. */
  readonly colour: ({ readonly sigmaMm: number } & Pick<LensMixing, "atRoot" | "atTip">) | undefined;
}

/** Where the bottom of the spaces ends and the outer part begins, as a share of the depth. */
const middleOfDepth = 0.4;
/** Where the blur of the outer part counts. */
const outerOfDepth = 0.8;
/** Standard deviations that are summed. */
const kernelReach = 3;
/** Rows that are drawn beyond the first and the last: there it is nothing but metal, or sheet, as a rule. */
const margin = 3;

/**
 * Draws half a tooth as a photograph shows it, mirrored at the middle of the tooth and at that of the space. What was drawn
 * last is kept, step by step: fits change one thing at a time.
 */
export class ToothPicture {
  readonly #columns: number;
  readonly #fromMm: number;
  readonly #stepMm: number;
  readonly #pitchRad: number;
  readonly #drawn: number;
  readonly #sharp: Float64Array;
  readonly #across: Float64Array;
  /** Behind the lens; bent by the tone curve; as colour is stored. */
  readonly #seen: Float64Array;
  readonly #bent: Float64Array;
  readonly #stored: Float64Array;
  readonly #line: Float64Array;
  readonly #kernel: Float64Array;
  #rootMm = 0;
  #tipMm = 0;
  /** What `#seen` and `#stored` were drawn with; NaN: nothing yet. */
  #lensMm = NaN;
  #wallsMm = NaN;
  #softer = NaN;
  #colourMm = NaN;

  constructor(grid: ToothGrid) {
    this.#columns = grid.columns;
    this.#fromMm = grid.fromMm;
    this.#stepMm = grid.stepMm;
    this.#pitchRad = grid.pitchRad;
    this.#drawn = grid.rows + 2 * margin;
    const cells = this.#drawn * grid.columns;
    this.#sharp = new Float64Array(cells);
    this.#across = new Float64Array(cells);
    this.#seen = new Float64Array(cells);
    this.#bent = new Float64Array(cells);
    this.#stored = new Float64Array(cells);
    this.#line = new Float64Array(3 * grid.columns);
    this.#kernel = new Float64Array(Math.max(this.#drawn, grid.columns) + 1);
  }

  /** Radii at which `shape` wants the share of metal: twice as fine as the rows. */
  get shares(): { readonly count: number; readonly fromMm: number; readonly stepMm: number } {
    const stepMm = this.#stepMm;
    return { count: 2 * this.#drawn, fromMm: this.#radiusMm(0) - 0.25 * stepMm, stepMm: 0.5 * stepMm };
  }

  #radiusMm(row: number): number {
    return this.#fromMm + (row - margin) * this.#stepMm;
  }

  /** The tooth to draw. @param share of the pitch that is metal, at `shares`. */
  shape(share: Float64Array, rootMm: number, tipMm: number): void {
    const columns = this.#columns;
    for (let i = 0; i < this.#drawn; i++)
      drawRow(this.#sharp, i * columns, columns, share[2 * i]!, share[2 * i + 1]!);
    this.#rootMm = rootMm;
    this.#tipMm = tipMm;
    this.#lensMm = NaN;
  }

  /** @param out rows x columns: 0 on the open sheet, 1 on metal. */
  draw({ lensMm, wallsMm, softer, colour }: ToothOptics, out: Float64Array): void {
    if (lensMm !== this.#lensMm || wallsMm !== this.#wallsMm || softer !== this.#softer) {
      this.#blur(this.#sharp, lensMm, wallsMm, softer, this.#seen);
      this.#lensMm = lensMm;
      this.#wallsMm = wallsMm;
      this.#softer = softer;
      this.#colourMm = NaN;
    }
    const columns = this.#columns;
    if (colour !== undefined && colour.sigmaMm !== this.#colourMm) {
      const depthMm = this.#tipMm - this.#rootMm;
      for (let i = 0; i < this.#drawn; i++) {
        const up = Math.min(1, Math.max(0, (this.#radiusMm(i) - this.#rootMm) / depthMm));
        respondRow(this.#seen, i * columns, columns, up, colour.atRoot, colour.atTip, this.#bent);
      }
      this.#blur(this.#bent, colour.sigmaMm, 0, softer, this.#stored);
      this.#colourMm = colour.sigmaMm;
    }
    copyFrom(colour === undefined ? this.#seen : this.#stored, margin * columns, out);
  }

  /** Along the arc blur counts as at one radius for each of both zones; the inner one is `softer`. */
  #blur(from: Float64Array, sigmaMm: number, wallsMm: number, softer: number, to: Float64Array): void {
    const columns = this.#columns;
    const pitchRad = this.#pitchRad;
    const stepMm = this.#stepMm;
    const rows = this.#drawn;
    const depthMm = this.#tipMm - this.#rootMm;
    const outward = Math.ceil((this.#rootMm + middleOfDepth * depthMm - this.#radiusMm(0)) / stepMm);
    const split = Math.min(rows, Math.max(0, outward));
    const kernel = this.#kernel;
    const outerMm = this.#rootMm + outerOfDepth * depthMm;
    const innerCells = (Math.hypot(sigmaMm * softer, wallsMm) * 2 * columns) / (pitchRad * this.#rootMm);
    const outerCells = (Math.hypot(sigmaMm, wallsMm) * 2 * columns) / (pitchRad * outerMm);
    let reach = writeKernel(kernel, innerCells, columns);
    blurLines(from, 0, split, columns, kernel, reach, this.#line, this.#across);
    reach = writeKernel(kernel, outerCells, columns);
    blurLines(from, split, rows, columns, kernel, reach, this.#line, this.#across);
    reach = writeKernel(kernel, (sigmaMm * softer) / stepMm, rows);
    sumRows(this.#across, 0, split, rows, columns, kernel, reach, to);
    reach = writeKernel(kernel, sigmaMm / stepMm, rows);
    sumRows(this.#across, split, rows, rows, columns, kernel, reach, to);
  }
}

function copyFrom(from: Float64Array, start: number, out: Float64Array): void {
  for (let i = 0; i < out.length; i++) out[i] = from[start + i]!;
}

/** Of a row, half its metal as one share says and half as the other; the cell that the flank cuts in part. */
function drawRow(out: Float64Array, at: number, columns: number, some: number, other: number): void {
  const [a, b] = [some * columns, other * columns];
  for (let h = 0; h < columns; h++) {
    const x = a - h;
    const y = b - h;
    out[at + h] = 0.5 * ((x < 0 ? 0 : x > 1 ? 1 : x) + (y < 0 ? 0 : y > 1 ? 1 : y));
  }
}

function respondRow(
  from: Float64Array,
  at: number,
  columns: number,
  up: number,
  atRoot: Float64Array,
  atTip: Float64Array,
  out: Float64Array,
): void {
  for (let p = at; p < at + columns; p++) {
    const s = from[p]!;
    out[p] = (1 - up) * respond(atRoot, s) + up * respond(atTip, s);
  }
}

/** Gaussian, its middle first; no longer than `most`. @returns how far it reaches. */
function writeKernel(kernel: Float64Array, sigma: number, most: number): number {
  const s = Math.max(0.2, sigma);
  const reach = Math.max(1, Math.min(most, Math.ceil(kernelReach * s)));
  let total = 0;
  for (let i = 0; i <= reach; i++) {
    const k = Math.exp(-0.5 * (i / s) ** 2);
    kernel[i] = k;
    total += i === 0 ? k : 2 * k;
  }
  for (let i = 0; i <= reach; i++) kernel[i]! /= total;
  return reach;
}

/** Rows from .. to - 1, each mirrored at both ends. */
function blurLines(
  source: Float64Array,
  from: number,
  to: number,
  columns: number,
  kernel: Float64Array,
  reach: number,
  line: Float64Array,
  out: Float64Array,
): void {
  for (let i = from; i < to; i++) {
    const at = i * columns;
    for (let h = 0; h < columns; h++)
      line[columns - 1 - h] = line[columns + h] = line[3 * columns - 1 - h] = source[at + h]!;
    for (let h = 0; h < columns; h++) {
      const x = columns + h;
      let sum = kernel[0]! * line[x]!;
      for (let d = 1; d <= reach; d++) sum += kernel[d]! * (line[x - d]! + line[x + d]!);
      out[at + h] = sum;
    }
  }
}

/** Rows from .. to - 1, each the sum of those around it; rows beyond the first and the last are like them. */
function sumRows(
  source: Float64Array,
  from: number,
  to: number,
  rows: number,
  columns: number,
  kernel: Float64Array,
  reach: number,
  out: Float64Array,
): void {
  for (let i = from; i < to; i++) {
    const at = i * columns;
    const w = kernel[0]!;
    for (let h = 0; h < columns; h++) out[at + h] = w * source[at + h]!;
    for (let d = 1; d <= reach; d++) {
      const inner = Math.max(0, i - d) * columns;
      const outer = Math.min(rows - 1, i + d) * columns;
      const w = kernel[d]!;
      for (let h = 0; h < columns; h++) out[at + h]! += w * (source[inner + h]! + source[outer + h]!);
    }
  }
}

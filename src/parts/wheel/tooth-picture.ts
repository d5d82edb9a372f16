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
  /** Absent: the signal is linear in the light, and there is one blur. */
  readonly colour?: { readonly sigmaMm: number } & Pick<LensMixing, "atRoot" | "atTip">;
}

/** Where the bottom of the spaces ends and the outer part begins, as a share of the depth. */
const middleOfDepth = 0.4;
/** Where the blur of the outer part counts. */
const outerOfDepth = 0.8;
/** Standard deviations that are summed. */
const kernelReach = 3;
/** Rows that are drawn beyond the first and the last: there it is nothing but metal, or sheet, as a rule. */
const margin = 3;

/** Draws half a tooth as a photograph shows it, mirrored at the middle of the tooth and at that of the space. */
export class ToothPicture {
  readonly #grid: ToothGrid;
  readonly #drawn: number;
  readonly #sharp: Float64Array;
  readonly #across: Float64Array;
  readonly #blurred: Float64Array;
  readonly #line: Float64Array;

  constructor(grid: ToothGrid) {
    this.#grid = grid;
    this.#drawn = grid.rows + 2 * margin;
    this.#sharp = new Float64Array(this.#drawn * grid.columns);
    this.#across = new Float64Array(this.#drawn * grid.columns);
    this.#blurred = new Float64Array(this.#drawn * grid.columns);
    this.#line = new Float64Array(3 * grid.columns);
  }

  /** Radii at which `draw` wants the share of metal: twice as fine as the rows. */
  get shares(): { readonly count: number; readonly fromMm: number; readonly stepMm: number } {
    const { stepMm } = this.#grid;
    return { count: 2 * this.#drawn, fromMm: this.#radiusMm(0) - 0.25 * stepMm, stepMm: 0.5 * stepMm };
  }

  #radiusMm(row: number): number {
    return this.#grid.fromMm + (row - margin) * this.#grid.stepMm;
  }

  /**
   * @param share of the pitch that is metal, at `shares`.
   * @param out rows x columns: 0 on the open sheet, 1 on metal.
   */
  draw(share: Float64Array, rootMm: number, tipMm: number, optics: ToothOptics, out: Float64Array): void {
    const { columns } = this.#grid;
    const drawn = this.#drawn;
    for (let i = 0; i < drawn; i++)
      drawRow(this.#sharp, i * columns, columns, share[2 * i]!, share[2 * i + 1]!);
    const { lensMm, wallsMm, softer, colour } = optics;
    const depthMm = tipMm - rootMm;
    const zones: Zones = {
      from: Math.ceil((rootMm + middleOfDepth * depthMm - this.#radiusMm(0)) / this.#grid.stepMm),
      innerMm: rootMm,
      outerMm: rootMm + outerOfDepth * depthMm,
      softer,
    };
    this.#blur(lensMm, wallsMm, zones);
    if (colour !== undefined) {
      const { atRoot, atTip } = colour;
      for (let i = 0; i < drawn; i++) {
        const up = Math.min(1, Math.max(0, (this.#radiusMm(i) - rootMm) / depthMm));
        respondRow(this.#blurred, i * columns, columns, up, atRoot, atTip, this.#sharp);
      }
      this.#blur(colour.sigmaMm, 0, zones);
    }
    const skip = margin * columns;
    for (let i = 0; i < out.length; i++) out[i] = this.#blurred[skip + i]!;
  }

  /** From `#sharp` into `#blurred`. */
  #blur(sigmaMm: number, wallsMm: number, { from, innerMm, outerMm, softer }: Zones): void {
    const { columns, pitchRad, stepMm } = this.#grid;
    const along = (sigma: number, radiusMm: number): Float64Array =>
      kernelOf((Math.hypot(sigma, wallsMm) * 2 * columns) / (pitchRad * radiusMm), columns);
    const split = Math.min(this.#drawn, Math.max(0, from));
    blurLines(this.#sharp, 0, split, columns, along(sigmaMm * softer, innerMm), this.#line, this.#across);
    blurLines(this.#sharp, split, this.#drawn, columns, along(sigmaMm, outerMm), this.#line, this.#across);
    const rows = this.#drawn;
    sumRows(
      this.#across,
      0,
      split,
      rows,
      columns,
      kernelOf((sigmaMm * softer) / stepMm, rows),
      this.#blurred,
    );
    sumRows(this.#across, split, rows, rows, columns, kernelOf(sigmaMm / stepMm, rows), this.#blurred);
  }
}

/** Rows before `from` are blurred wider by `softer`. Along the arc blur counts as at one radius for each. */
interface Zones {
  readonly from: number;
  readonly innerMm: number;
  readonly outerMm: number;
  readonly softer: number;
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

/** Gaussian, its middle first; no longer than `most`. */
function kernelOf(sigma: number, most: number): Float64Array {
  const s = Math.max(0.2, sigma);
  const reach = Math.max(1, Math.min(most, Math.ceil(kernelReach * s)));
  const k = new Float64Array(reach + 1);
  let total = 0;
  for (let i = 0; i <= reach; i++) {
    k[i] = Math.exp(-0.5 * (i / s) ** 2);
    total += i === 0 ? k[i]! : 2 * k[i]!;
  }
  for (let i = 0; i <= reach; i++) k[i]! /= total;
  return k;
}

/** Rows from .. to - 1, each mirrored at both ends. */
function blurLines(
  source: Float64Array,
  from: number,
  to: number,
  columns: number,
  kernel: Float64Array,
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
      for (let d = 1; d < kernel.length; d++) sum += kernel[d]! * (line[x - d]! + line[x + d]!);
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
  out: Float64Array,
): void {
  for (let i = from; i < to; i++) {
    const at = i * columns;
    const w = kernel[0]!;
    for (let h = 0; h < columns; h++) out[at + h] = w * source[at + h]!;
    for (let d = 1; d < kernel.length; d++) {
      const inner = Math.max(0, i - d) * columns;
      const outer = Math.min(rows - 1, i + d) * columns;
      const w = kernel[d]!;
      for (let h = 0; h < columns; h++) out[at + h]! += w * (source[inner + h]! + source[outer + h]!);
    }
  }
}

import { homographyFromPoints, type Homography } from "../geometry/index.js";
import { describeSheet, markerBits, markerCells, papers, tags } from "../mat/index.js";
import type { LinearLight } from "./linear-light.js";
import type { Quad } from "./find-quads.js";

/** A marker that was read in the picture. */
export interface ReadMarker {
  readonly id: number;
  /** Corners in the order of the mat description (top left, top right, bottom right, bottom left), px. */
  readonly corners: Quad;
  /** Cells that differ from the dictionary. */
  readonly wrongCells: number;
  /** Seen as in a mirror: the picture was flipped. Corners still belong to the printed corners. */
  readonly mirrored: boolean;
}

/** AprilTag 36h11 codes differ in 11 cells at least; 3 wrong ones leave a wide margin against inventions. */
const mostWrongCells = 3;
const inside = markerCells - 2;

interface Code {
  readonly id: number;
  /** Upper and lower 18 cells inside the border, row by row, 1 = white. */
  readonly high: number;
  readonly low: number;
}

let known: readonly Code[] | undefined;

/** Codes of every printed marker and tag; other ids of the dictionary mean nothing here. */
function knownCodes(): readonly Code[] {
  known ??= [
    ...papers.flatMap((paper) => describeSheet(paper).markers.map(({ id }) => id)),
    ...tags.map(({ id }) => id),
  ].map((id) => {
    const cells = markerBits(id)
      .slice(1, -1)
      .flatMap((row) => row.slice(1, -1).map((black) => !black));
    return { id, ...packed(cells) };
  });
  return known;
}

/** Reads the marker in a four-sided dark patch; undefined when it holds none of ours. */
export function readMarker(light: LinearLight, quad: Quad): ReadMarker | undefined {
  const cells = readCells(light, quad);
  if (!cells) return undefined;
  const upright = cells;
  let best: ReadMarker | undefined;
  // A mirrored marker reads as its transpose, up to a quarter turn.
  for (const mirrored of [false, true]) {
    let turned = mirrored ? transposed(upright) : upright;
    for (let turn = 0; turn < 4; turn++) {
      const { high, low } = packed(turned);
      for (const code of knownCodes()) {
        const wrongCells = bitCount(high ^ code.high) + bitCount(low ^ code.low);
        if (wrongCells <= mostWrongCells && (!best || wrongCells < best.wrongCells)) {
          best = { id: code.id, corners: printedOrder(quad, turn, mirrored), wrongCells, mirrored };
        }
      }
      turned = quarterTurned(turned);
    }
    if (best) break;
  }
  return best;
}

/** Wrong cells of the marker `id` at known corners, or undefined when no dark border is to be seen there. */
export function wrongCellsAt(light: LinearLight, corners: Quad, id: number): number | undefined {
  const cells = readCells(light, corners);
  if (!cells) return undefined;
  const code = knownCodes().find((candidate) => candidate.id === id);
  if (!code) return undefined;
  const { high, low } = packed(cells);
  return bitCount(high ^ code.high) + bitCount(low ^ code.low);
}

/**
 * The 6 x 6 cells inside the border, row by row, true = white.
 * Each is held against the mean of the dark border and of the white paper around it.
 */
function readCells(light: LinearLight, quad: Quad): boolean[] | undefined {
  const h = homographyFromPoints(cellCorners, quad);
  if (!h) return undefined;
  // Levels along the four sides: dark border and white paper just outside.
  const last = markerCells - 1;
  const dark = new Float64Array(4);
  const white = new Float64Array(4);
  const border = new Float64Array(4 * markerCells);
  for (let k = 0; k < markerCells; k++) {
    for (let side = 0; side < 4; side++) {
      // Top, right, bottom, left.
      const depth = side === 1 || side === 2 ? last : 0;
      const beyond = side === 1 || side === 2 ? last + 1 : -1;
      const d = side % 2 === 0 ? cellLevel(light, h, k, depth) : cellLevel(light, h, depth, k);
      if (Number.isNaN(d)) return undefined;
      const w = side % 2 === 0 ? cellLevel(light, h, k, beyond) : cellLevel(light, h, beyond, k);
      border[side * markerCells + k] = d;
      dark[side]! += d / markerCells;
      // A marker at the picture's rim may lack some paper; the border's own level then stands in.
      white[side]! += (Number.isNaN(w) ? d : w) / markerCells;
    }
    // Most dark patches are no markers: stop as soon as that shows.
    if (
      k === 3 &&
      !(white[0]! + white[1]! + white[2]! + white[3]! > dark[0]! + dark[1]! + dark[2]! + dark[3]! + 0.1)
    )
      return undefined;
  }
  const meanDark = (dark[0]! + dark[1]! + dark[2]! + dark[3]!) / 4;
  const meanWhite = (white[0]! + white[1]! + white[2]! + white[3]!) / 4;
  const contrast = meanWhite - meanDark;
  if (!(contrast > 0.06)) return undefined;
  // The border must be dark all round, save for a glint. (Its four corner cells count twice.)
  let lightBorder = 0;
  for (const d of border) if (d > meanDark + 0.5 * contrast) lightBorder++;
  if (lightBorder > mostWrongCells) return undefined;
  const out: boolean[] = [];
  for (let row = 1; row < last; row++) {
    for (let column = 1; column < last; column++) {
      const across = (column + 0.5) / markerCells;
      const down = (row + 0.5) / markerCells;
      const level = 0.5 * (between(dark, across, down) + between(white, across, down));
      out.push(cellLevel(light, h, column, row) > level);
    }
  }
  return out;
}

/** Level inside a square, from the levels along its four sides. */
const between = (sides: Float64Array, across: number, down: number): number =>
  0.5 * (sides[0]! * (1 - down) + sides[2]! * down + sides[3]! * (1 - across) + sides[1]! * across);

const cellCorners = [0, 0, markerCells, 0, markerCells, markerCells, 0, markerCells];
const tapsX = [0, -0.22, 0.22, -0.22, 0.22];
const tapsY = [0, -0.22, -0.22, 0.22, 0.22];

/** Level of a cell, about as the eye sees it (reading needs no linear light); NaN outside the picture. */
function cellLevel(light: LinearLight, h: Homography, column: number, row: number): number {
  let sum = 0;
  for (let k = 0; k < 5; k++) {
    const x = column + 0.5 + tapsX[k]!;
    const y = row + 0.5 + tapsY[k]!;
    const w = h[6]! * x + h[7]! * y + h[8]!;
    sum += light.at((h[0]! * x + h[1]! * y + h[2]!) / w, (h[3]! * x + h[4]! * y + h[5]!) / w);
  }
  return Math.sqrt(sum / 5);
}

/** The cells with the quad's next corner taken as top left: one quarter turn counter-clockwise. */
function quarterTurned(cells: readonly boolean[]): boolean[] {
  return cells.map((_, i) => {
    const row = Math.floor(i / inside);
    const column = i % inside;
    return cells[column * inside + (inside - 1 - row)]!;
  });
}

function transposed(cells: readonly boolean[]): boolean[] {
  return cells.map((_, i) => cells[(i % inside) * inside + Math.floor(i / inside)]!);
}

function printedOrder(quad: Quad, turn: number, mirrored: boolean): Quad {
  // Transposing swaps top right and bottom left.
  const order = mirrored ? [0, 3, 2, 1] : [0, 1, 2, 3];
  const out = new Float64Array(8);
  for (let k = 0; k < 4; k++) {
    const from = order[(k + turn) % 4]!;
    out[2 * k] = quad[2 * from]!;
    out[2 * k + 1] = quad[2 * from + 1]!;
  }
  return out;
}

function packed(cells: readonly boolean[]): { high: number; low: number } {
  let high = 0;
  let low = 0;
  for (let i = 0; i < 18; i++) {
    high = (high << 1) | (cells[i] ? 1 : 0);
    low = (low << 1) | (cells[i + 18] ? 1 : 0);
  }
  return { high, low };
}

function bitCount(v: number): number {
  let n = v - ((v >>> 1) & 0x55555555);
  n = (n & 0x33333333) + ((n >>> 2) & 0x33333333);
  return (((n + (n >>> 4)) & 0x0f0f0f0f) * 0x01010101) >>> 24;
}

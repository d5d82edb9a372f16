import { markerBits, markerCells } from "../mat/index.js";
import type { LinearLight } from "./linear-light.js";
import type { Quad } from "./find-quads.js";
import { measureSide, type MeasureSideOptions, type SideEdge, type SidePath } from "./measure-side.js";

/** A marker whose corners were found to a fraction of a pixel, by lines through its four outer edges. */
export interface RefinedMarker {
  readonly id: number;
  /** Corners in the order of the mat description, px: where dark meets bright at half height, in linear light. */
  readonly corners: Quad;
  /** Standard uncertainty of a corner coordinate from the scatter of the edge points, px. */
  readonly uCornerPx: number;
  readonly sides: readonly SideEdge[];
}

/** The sides of a marker as it is expected in the picture, straight ones. Side s runs from corner s to corner s + 1. */
export interface StraightPath {
  readonly corners: Quad;
}

/** The same with sides that the lens or a sheet that bows has bent. */
export interface BentPath extends StraightPath {
  /** Writes the point at t (0 to 1) of a side, px. */
  pointOfSide(side: number, t: number, out: Float64Array): void;
}
export type MarkerPath = StraightPath | BentPath;
const isBent = (path: MarkerPath): path is BentPath => "pointOfSide" in path;

/**
 * Finds the four outer edges beside `path` and intersects them.
 *
 * @param options how far off the path the edges may be, how many points to take, how blurred the picture is.
 * @returns undefined when a side is covered for the most part or shows no edge.
 */
export function refineMarker(
  light: LinearLight,
  id: number,
  path: MarkerPath,
  options: Pick<MeasureSideOptions, "reachPx" | "pointCount" | "blurSigmaPx">,
): RefinedMarker | undefined {
  const first = refineWith(light, id, path, options);
  if (!first || first.cellPx > thinCellSigmas * (options.blurSigmaPx ?? 1)) return first?.marker;
  // Thin borders never get as dark as the ink is, so their half height lies too far out; the ink's own level
  // shows where a border and the cells behind it are dark together.
  const darkLevel = Math.min(...first.marker.sides.map(({ darkest }) => darkest));
  return refineWith(light, id, path, { ...options, darkLevel })?.marker;
}

/** Cells up to this many standard deviations of the blur are taken as thin. */
const thinCellSigmas = 6;

function refineWith(
  light: LinearLight,
  id: number,
  path: MarkerPath,
  options: MeasureSideOptions,
): { marker: RefinedMarker; cellPx: number } | undefined {
  const { corners } = path;
  let cellPx = Infinity;
  const sides: SideEdge[] = [];
  const normals: [number, number][][] = []; // per side: outward normal at its start and at its end
  const behind = darkBehindSides(id);
  // In mirrored pictures corners run counter-clockwise on the screen.
  const turn = Math.sign(signedArea(corners));
  for (let s = 0; s < 4; s++) {
    const side = sidePath(path, s, turn);
    if (!(side.lengthPx > 6)) return undefined;
    const edge = measureSide(light, side, { ...options, darkBehind: behind[s]! });
    cellPx = Math.min(cellPx, side.cellPx);
    if (!edge) return undefined;
    sides.push(edge);
    const ends: [number, number][] = [];
    for (const t of [0, 1]) {
      side.at(t, point);
      ends.push([point[2]!, point[3]!]);
    }
    normals.push(ends);
  }
  const out = new Float64Array(8);
  let variance = 0;
  for (let c = 0; c < 4; c++) {
    const before = (c + 3) % 4;
    const [a, b] = normals[before]![1]!;
    const [d, e] = normals[c]![0]!;
    const det = a * e - b * d;
    if (Math.abs(det) < 0.15) return undefined;
    const p = sides[before]!.atEndPx;
    const q = sides[c]!.atStartPx;
    out[2 * c] = corners[2 * c]! + (p * e - q * b) / det;
    out[2 * c + 1] = corners[2 * c + 1]! + (a * q - d * p) / det;
    variance += (sides[before]!.uEndPx ** 2 + sides[c]!.uEndPx ** 2) / (2 * det * det) / 4;
  }
  return { marker: { id, corners: out, uCornerPx: Math.sqrt(variance), sides }, cellPx };
}

const point = new Float64Array(4);
const ahead = new Float64Array(2);

/** Path of one side with its normals; `turn` is 1 when the corners run clockwise on the screen. */
export function sidePath(path: MarkerPath, s: number, turn: number): SidePath {
  const { corners } = path;
  const e = (s + 1) % 4;
  const x0 = corners[2 * s]!;
  const y0 = corners[2 * s + 1]!;
  const dx = corners[2 * e]! - x0;
  const dy = corners[2 * e + 1]! - y0;
  const lengthPx = Math.hypot(dx, dy);
  // Depth of the marker at right angles to this side, divided into cells.
  const cellPx = Math.abs(signedArea(corners)) / lengthPx / markerCells;
  return isBent(path)
    ? new BentSide(lengthPx, cellPx, path, s, turn)
    : new StraightSide(lengthPx, cellPx, [x0, y0], [dx, dy], turn);
}

class StraightSide implements SidePath {
  constructor(
    readonly lengthPx: number,
    readonly cellPx: number,
    private readonly start: readonly [number, number],
    private readonly along: readonly [number, number],
    private readonly turn: number,
  ) {}

  at(t: number, out: Float64Array): void {
    const dx = this.along[0];
    const dy = this.along[1];
    out[0] = this.start[0] + t * dx;
    out[1] = this.start[1] + t * dy;
    out[2] = (this.turn * dy) / this.lengthPx;
    out[3] = (-this.turn * dx) / this.lengthPx;
  }
}

class BentSide implements SidePath {
  constructor(
    readonly lengthPx: number,
    readonly cellPx: number,
    private readonly path: BentPath,
    private readonly side: number,
    private readonly turn: number,
  ) {}

  at(t: number, out: Float64Array): void {
    const { path, side, turn } = this;
    path.pointOfSide(side, Math.min(1, t + 0.01), ahead);
    const ax = ahead[0]!;
    const ay = ahead[1]!;
    path.pointOfSide(side, Math.max(0, t - 0.01), ahead);
    const tx = ax - ahead[0]!;
    const ty = ay - ahead[1]!;
    const length = Math.hypot(tx, ty);
    path.pointOfSide(side, t, ahead);
    out[0] = ahead[0]!;
    out[1] = ahead[1]!;
    out[2] = (turn * ty) / length;
    out[3] = (-turn * tx) / length;
  }
}

/** Area of a quad, positive when its corners run clockwise on the screen (y down), px². */
export function signedArea(q: Quad): number {
  let twice = 0;
  for (let i = 0; i < 4; i++) {
    const j = (i + 1) % 4;
    twice += q[2 * i]! * q[2 * j + 1]! - q[2 * j]! * q[2 * i + 1]!;
  }
  return twice / 2;
}

const behindOf = new Map<number, boolean[][]>();

/** Per side, per eighth along it: whether the cell behind the border is dark. */
function darkBehindSides(id: number): boolean[][] {
  let sides = behindOf.get(id);
  if (!sides) {
    const bits = markerBits(id);
    const last = markerCells - 1;
    const eighths = Array.from({ length: markerCells }, (_, k) => k);
    sides = [
      eighths.map((k) => bits[1]![k]!),
      eighths.map((k) => bits[k]![last - 1]!),
      eighths.map((k) => bits[last - 1]![last - k]!),
      eighths.map((k) => bits[last - k]![1]!),
    ];
    behindOf.set(id, sides);
  }
  return sides;
}

import { rawColourOf, type Brassiness } from "../brassiness.js";
import type { FaceSampler } from "../face-sampler.js";

/** A small place on the face that has not its colour: a pin, a hole, a speck. Local coordinates of the face, mm. */
export interface Spot {
  readonly xMm: number;
  readonly yMm: number;
  readonly areaMm2: number;
  /** Longest over shortest spread. */
  readonly aspect: number;
  /** Share of what lies round it that is face. */
  readonly enclosed: number;
}

export interface PolarBand {
  readonly fromMm: number;
  readonly toMm: number;
  readonly stepMm: number;
}

const isFace = 0.55;

/** Which cells of a band are face: 1 at face[row * columns + column], rows outwards, columns round the turn. */
export interface FaceCells {
  readonly band: PolarBand;
  readonly rows: number;
  readonly columns: number;
  readonly face: Uint8Array;
}

/** What is not seen passes for face. */
export function readFaceCells(sampler: FaceSampler, brassiness: Brassiness, band: PolarBand): FaceCells {
  const rows = Math.max(2, Math.round((band.toMm - band.fromMm) / band.stepMm));
  const columns = Math.ceil((2 * Math.PI * band.toMm) / band.stepMm);
  const face = new Uint8Array(rows * columns);
  const ray = new Float64Array(4);
  const places = new Float64Array(2 * rows);
  const colours = new Float64Array(3 * rows);
  for (let i = 0; i < columns; i++) {
    const t = (2 * Math.PI * i) / columns;
    if (!brassiness.isClear(t)) {
      for (let j = 0; j < rows; j++) face[j * columns + i] = 1;
      continue;
    }
    const cos = Math.cos(t);
    const sin = Math.sin(t);
    const fromMm = band.fromMm + 0.5 * band.stepMm;
    ray.set([fromMm * cos, fromMm * sin, band.stepMm * cos, band.stepMm * sin]);
    sampler.along(ray, places, colours);
    writeFace(colours, brassiness.rawAt(isFace, brassiness.spanAt(t)), face, i, columns);
  }
  return { band, rows, columns, face };
}

function writeFace(
  colours: Float64Array,
  from: number,
  face: Uint8Array,
  column: number,
  columns: number,
): void {
  for (let k = 0, p = column; k < colours.length; k += 3, p += columns) {
    const raw = rawColourOf(colours[k]!, colours[k + 1]!, colours[k + 2]!);
    face[p] = raw <= from ? 0 : 1;
  }
}

/**
 * Small spots on the rings of a wheel that are mostly face.
 *
 * @param sizeMm least and greatest diameter of a spot of the same area.
 * @param leastFaceShare share of a ring that must be face for spots to be looked for on it.
 */
export function findSpots(
  { band, rows, columns, face }: FaceCells,
  sizeMm: readonly [number, number],
  leastFaceShare: number,
): Spot[] {
  // Other rows are closed: what is open there belongs to a crossing.
  const ring = ringsOfFace(face, rows, columns, leastFaceShare);
  const spots: Spot[] = [];
  const done = new Uint8Array(rows * columns);
  for (let start = 0; start < done.length; start++) {
    const j = Math.floor(start / columns);
    if (done[start] || face[start] || !ring[j]) continue;
    const spot = flood(start, rows, columns, face, ring, done, band);
    const size = 2 * Math.sqrt(spot.areaMm2 / Math.PI);
    if (size >= sizeMm[0] && size <= sizeMm[1]) spots.push(spot);
  }
  return spots;
}

/** 1 for rows of which more than this share is face. */
function ringsOfFace(face: Uint8Array, rows: number, columns: number, leastShare: number): Uint8Array {
  const ring = new Uint8Array(rows);
  for (let j = 0; j < rows; j++) {
    let share = 0;
    for (let i = 0; i < columns; i++) share += face[j * columns + i]! / columns;
    ring[j] = share > leastShare ? 1 : 0;
  }
  return ring;
}

function flood(
  start: number,
  rows: number,
  columns: number,
  face: Uint8Array,
  ring: Uint8Array,
  done: Uint8Array,
  band: PolarBand,
): Spot {
  const stack = [start];
  done[start] = 1;
  let x = 0;
  let y = 0;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  let area = 0;
  let border = 0;
  let enclosed = 0;
  while (stack.length > 0) {
    const cell = stack.pop()!;
    const j = Math.floor(cell / columns);
    const i = cell - j * columns;
    const r = band.fromMm + (j + 0.5) * band.stepMm;
    const t = (2 * Math.PI * i) / columns;
    const size = band.stepMm * ((2 * Math.PI * r) / columns);
    area += size;
    const [cx, cy] = [r * Math.cos(t), r * Math.sin(t)];
    x += size * cx;
    y += size * cy;
    xx += size * cx * cx;
    xy += size * cx * cy;
    yy += size * cy * cy;
    for (const [dj, di] of neighbours) {
      const nj = j + dj;
      const next = nj * columns + ((i + di + columns) % columns);
      if (nj < 0 || nj >= rows) border++;
      else if (face[next] || !ring[nj]) {
        border++;
        enclosed++;
      } else if (!done[next]) {
        done[next] = 1;
        stack.push(next);
      }
    }
  }
  const [mx, my] = [x / area, y / area];
  // A single cell has a spread of its own.
  const own = band.stepMm ** 2 / 12;
  const [sxx, sxy, syy] = [xx / area - mx * mx + own, xy / area - mx * my, yy / area - my * my + own];
  const mean = 0.5 * (sxx + syy);
  const half = Math.hypot(0.5 * (sxx - syy), sxy);
  return {
    xMm: mx,
    yMm: my,
    areaMm2: area,
    aspect: Math.sqrt((mean + half) / Math.max(own, mean - half)),
    enclosed: border === 0 ? 0 : enclosed / border,
  };
}

const neighbours = [
  [1, 0],
  [-1, 0],
  [0, 1],
  [0, -1],
] as const;

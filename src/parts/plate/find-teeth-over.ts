import { selectInPlace } from "../../fit/index.js";
import type { ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { identityAffine } from "../face-plane.js";
import { FaceSampler } from "../face-sampler.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Point } from "../part.js";
import { realFourierInto, turnTable } from "../wheel/fourier.js";

/** Teeth set evenly round a circle, where metal lies on metal. Mat frame, mm. */
export interface TeethOver {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Power of the teeth's wave over that of an even spectrum. */
  readonly strength: number;
}

const stepMm = 0.25;
const beyondMm = 3;
/** Light is compared with that of so wide a neighbourhood, and told in units of its texture. */
const levelMm = 1.5;
const textureMm = 3;
/** Wheels smaller than this are not looked for, nor larger ones. */
const radiusMm = [5, 45] as const;
/** Plates without anything on them reach 29 on rendered photographs, wheels on plates 35 to 91. */
const leastStrength = 32;
/**
 * Where a plate is blown out or blotched, its spectrum falls off steeply, and its coarsest waves are strong against the
 * mean; they are like their neighbours, though: up to 9 times those, and teeth 38 to 480 times.
 */
const leastOverNeighbours = 18;
const neighbours = [3, 8] as const;

/**
 * A wheel that lies on a plate, brass on brass, has neither colour nor lightness of its own; its edges are seen all
 * the same. They vote for middles of circles; a middle counts if the light on a ring about it has one wave that is far
 * stronger than all others, as only teeth make it. Brushing, scratches, holes and engraving make none.
 *
 * @param hullMm of the plate and what hangs on to it, on the plane `zMm`.
 */
export function findTeethOver(
  photo: Photo,
  geometry: ViewGeometry,
  hullMm: readonly Point[],
  zMm: number,
): TeethOver[] {
  const field = lightOver(photo, geometry, hullMm, zMm);
  const found: TeethOver[] = [];
  for (const middle of likelyMiddles(field)) {
    const ring = strongestRing(field, middle);
    if (ring.strength < leastStrength || overNeighbours(field, ring) < leastOverNeighbours) continue;
    if (found.some((f) => Math.hypot(f.xMm - ring.xMm, f.yMm - ring.yMm) < 0.5 * f.radiusMm)) continue;
    found.push(ring);
  }
  return found;
}

/** Light against its neighbourhood, in units of the texture there; row-major cells of `stepMm`. */
interface Field {
  readonly x0: number;
  readonly y0: number;
  readonly columns: number;
  readonly rows: number;
  readonly value: Float32Array;
  /** Not in units of the texture. */
  readonly bare: Float32Array;
}

const mostOff = 2.5;
const floorTexture = 0.01;

function lightOver(photo: Photo, geometry: ViewGeometry, hullMm: readonly Point[], zMm: number): Field {
  const xs = hullMm.map((p) => p[0]);
  const ys = hullMm.map((p) => p[1]);
  const [x0, y0] = [Math.min(...xs) - beyondMm, Math.min(...ys) - beyondMm];
  const columns = Math.ceil((Math.max(...xs) + beyondMm - x0) / stepMm);
  const rows = Math.ceil((Math.max(...ys) + beyondMm - y0) / stepMm);
  const sampler = new FaceSampler(
    photo,
    { geometry, zMm, xMm: 0, yMm: 0, affine: identityAffine },
    linearFromSrgb,
  );
  const light = new Float32Array(columns * rows);
  for (let j = 0, p = 0; j < rows; j++)
    for (let i = 0; i < columns; i++, p++)
      light[p] = sampler.at(x0 + i * stepMm, y0 + j * stepMm)
        ? Math.log(0.004 + 0.3 * sampler.red + 0.6 * sampler.green + 0.1 * sampler.blue)
        : 0;
  const level = boxMean(light, columns, rows, Math.round(levelMm / stepMm));
  const off = light.map((v, p) => v - level[p]!);
  const texture = boxMean(
    off.map((v) => v * v),
    columns,
    rows,
    Math.round(textureMm / stepMm),
  );
  const value = off.map((v, p) =>
    Math.max(-mostOff, Math.min(mostOff, v / Math.sqrt(texture[p]! + floorTexture ** 2))),
  );
  return { x0, y0, columns, rows, value, bare: off };
}

/** Mean over a square of `reach` cells to each side, fewer at the borders. */
function boxMean(values: Float32Array, columns: number, rows: number, reach: number): Float32Array {
  const pass = (
    from: Float32Array,
    count: number,
    step: number,
    lines: number,
    next: number,
  ): Float32Array => {
    const out = new Float32Array(from.length);
    for (let line = 0; line < lines; line++) {
      const start = line * next;
      let [sum, n] = [0, 0];
      for (let k = 0; k < count + reach; k++) {
        if (k < count) {
          sum += from[start + k * step]!;
          n++;
        }
        if (k > 2 * reach) {
          sum -= from[start + (k - 2 * reach - 1) * step]!;
          n--;
        }
        if (k >= reach) out[start + (k - reach) * step] = sum / n;
      }
    }
    return out;
  };
  return pass(pass(values, columns, 1, rows, columns), rows, columns, columns, 1);
}

const orientations = 24;
const edgeShare = 0.03;
const mostMiddles = 8;
const voteCells = 2;

/** Cells to which many edges point from all round, best first. */
function likelyMiddles({ columns, rows, bare }: Field): Point[] {
  const value = boxMean(boxMean(bare, columns, rows, 1), columns, rows, 1);
  const cells = columns * rows;
  const gx = new Float32Array(cells);
  const gy = new Float32Array(cells);
  const kind = new Uint8Array(cells);
  const size = new Float64Array(cells);
  const counts = new Uint32Array(orientations);
  for (let j = 1; j < rows - 1; j++)
    for (let i = 1; i < columns - 1; i++) {
      const p = j * columns + i;
      gx[p] =
        2 * (value[p + 1]! - value[p - 1]!) +
        (value[p + 1 - columns]! - value[p - 1 - columns]!) +
        (value[p + 1 + columns]! - value[p - 1 + columns]!);
      gy[p] =
        2 * (value[p + columns]! - value[p - columns]!) +
        (value[p + columns - 1]! - value[p - columns - 1]!) +
        (value[p + columns + 1]! - value[p - columns + 1]!);
      const t = Math.atan2(gy[p], gx[p]) / Math.PI + 1;
      kind[p] = Math.floor(t * orientations) % orientations;
      counts[kind[p]]!++;
      size[p] = Math.sqrt(gx[p] ** 2 + gy[p] ** 2);
    }
  // Brushing has edges of one direction all over: of each direction only the strongest vote.
  const all = cells * (edgeShare / orientations);
  const sizes = Array.from(counts, (count) => new Float64Array(count));
  counts.fill(0);
  for (let j = 1; j < rows - 1; j++)
    for (let i = 1; i < columns - 1; i++) {
      const p = j * columns + i;
      sizes[kind[p]!]![counts[kind[p]!]!++] = size[p]!;
    }
  const least = sizes.map((s) =>
    s.length === 0 ? Infinity : selectInPlace(s, Math.max(0, s.length - 1 - Math.floor(all))),
  );
  const [w, h] = [Math.ceil(columns / voteCells), Math.ceil(rows / voteCells)];
  const votes = new Float32Array(w * h);
  const [from, to] = radiusMm.map((r) => r / stepMm) as [number, number];
  for (let j = 1; j < rows - 1; j++)
    for (let i = 1; i < columns - 1; i++) {
      const p = j * columns + i;
      if (!(size[p]! > 0) || size[p]! < least[kind[p]!]!) continue;
      const [ux, uy] = [gx[p]! / size[p]!, gy[p]! / size[p]!];
      for (const side of [-1, 1])
        for (let r = from; r < to; r += voteCells) {
          const u = Math.floor((i + side * r * ux) / voteCells);
          const v = Math.floor((j + side * r * uy) / voteCells);
          if (u >= 0 && v >= 0 && u < w && v < h) votes[v * w + u]! += 1 / r;
        }
    }
  const smooth = boxMean(votes, w, h, 1);
  const base = boxMean(votes, w, h, 12);
  const peaks: { at: Point; over: number }[] = [];
  for (let v = 2; v < h - 2; v++)
    for (let u = 2; u < w - 2; u++) {
      const p = v * w + u;
      const over = smooth[p]! - base[p]!;
      let isPeak = true;
      for (let dv = -2; dv <= 2 && isPeak; dv++)
        for (let du = -2; du <= 2; du++) if (smooth[p + dv * w + du]! > smooth[p]!) isPeak = false;
      if (isPeak) peaks.push({ at: [(u + 0.5) * voteCells, (v + 0.5) * voteCells], over });
    }
  return peaks
    .sort((a, b) => b.over - a.over)
    .slice(0, mostMiddles)
    .map((p) => p.at);
}

const ringSamples = 512;
const fewestTeeth = 16;
const mostTeeth = 170;
/** About a middle that is a little off, the wave of the teeth is spread over its neighbours. */
const spreadOver = 2;
/** Cells between middles tried first, and between rings. */
const coarse = 3;
const ringStep = 2;
const mostRefined = 3;

interface Ring {
  readonly i: number;
  readonly j: number;
  readonly r: number;
  readonly strength: number;
}

/** About the best middle near a cell: the ring on which one wave is strongest. */
function strongestRing(field: Field, [i0, j0]: Point): TeethOver {
  const [from, to] = radiusMm.map((r) => r / stepMm) as [number, number];
  const rough: Ring[] = [];
  for (let r = from; r < to; r += ringStep) {
    let best: Ring = { i: i0, j: j0, r, strength: 0 };
    for (let dj = -coarse; dj <= coarse; dj += coarse)
      for (let di = -coarse; di <= coarse; di += coarse)
        best = stronger(best, field, i0 + di, j0 + dj, r, spreadOver);
    rough.push(best);
  }
  rough.sort((a, b) => b.strength - a.strength);
  const fine = rough.slice(0, mostRefined).map((start) => {
    let best: Ring = { ...start, strength: 0 };
    for (const d of [1, 0.5]) {
      const { i, j, r } = best;
      for (let dj = -2; dj <= 2; dj++)
        for (let di = -2; di <= 2; di++)
          for (let dr = -1; dr <= 1; dr++)
            best = stronger(best, field, i + d * di, j + d * dj, r + d * dr, 0);
    }
    return best;
  });
  const { i, j, r, strength } = fine.sort((a, b) => b.strength - a.strength)[0]!;
  return { xMm: field.x0 + i * stepMm, yMm: field.y0 + j * stepMm, radiusMm: r * stepMm, strength };
}

const ring = new Float64Array(ringSamples);
const re = new Float64Array(ringSamples / 2 + 1);
const im = new Float64Array(ringSamples / 2 + 1);
const power = new Float64Array(ringSamples / 2 + 1);
/** Teeth are deeper than this apart, cells. */
const bandStep = 1.5;

/** Power of every wave of the light on a ring and beside it, into `power`. */
function powerOnRing({ columns, rows, value }: Field, i: number, j: number, r: number): void {
  const { cos, sin } = turnTable(ringSamples);
  power.fill(0);
  for (let b = -1; b <= 1; b++) {
    const radius = r + bandStep * b;
    for (let k = 0; k < ringSamples; k++) {
      const u = Math.round(i + radius * cos[k]!);
      const v = Math.round(j + radius * sin[k]!);
      ring[k] = u >= 0 && v >= 0 && u < columns && v < rows ? value[v * columns + u]! : 0;
    }
    realFourierInto(ring, re, im);
    for (let n = 0; n < power.length; n++) power[n]! += re[n]! ** 2 + im[n]! ** 2;
  }
}

/** Finer waves than cells can carry are none. */
const finestWave = (r: number): number => Math.min(mostTeeth, Math.floor((2 * Math.PI * r) / 3));

/** Power of the strongest wave that teeth may make on a ring over the mean of the waves a little coarser and finer. */
function overNeighbours(field: Field, { xMm, yMm, radiusMm: rMm }: TeethOver): number {
  const r = rMm / stepMm;
  powerOnRing(field, (xMm - field.x0) / stepMm, (yMm - field.y0) / stepMm, r);
  let best = fewestTeeth;
  for (let n = fewestTeeth; n <= finestWave(r); n++) if (power[n]! > power[best]!) best = n;
  let near = 0;
  for (let d = neighbours[0]; d <= neighbours[1]; d++) near += power[best - d]! + power[best + d]!;
  return (2 * (neighbours[1] - neighbours[0] + 1) * power[best]!) / near;
}

/** The better of a ring and another one; @param reach harmonics to each side that are taken together. */
function stronger(best: Ring, field: Field, i: number, j: number, r: number, reach: number): Ring {
  const last = finestWave(r);
  powerOnRing(field, i, j, r);
  let all = 0;
  let most = 0;
  let some = 0;
  for (let n = fewestTeeth; n <= last; n++) {
    all += power[n]!;
    some += power[n]!;
    const out = n - 2 * reach - 1;
    if (out >= fewestTeeth) some -= power[out]!;
    most = Math.max(most, some);
  }
  const strength = (most * (last - fewestTeeth + 1)) / ((2 * reach + 1) * all);
  return strength > best.strength ? { i, j, r, strength } : best;
}

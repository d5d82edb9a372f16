import { fitCircleRobust } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { RingReader, type RingRadii } from "../ring-reader.js";
import { radiiBetween } from "../unroll.js";

/** The outline of a wheel as seen from its centre: where it is centred, and between which radii teeth lie. */
export interface Rim {
  readonly face: FacePlane;
  /** Radius of the outline against angle, mm; NaN where something lies across it or the picture ends. */
  readonly outlineMm: Float64Array;
  readonly tipMm: number;
  readonly rootMm: number;
  /** Share of the turn in which the outline was seen. */
  readonly seen: number;
}

const coarseAngles = 1440;
/** Of the blocks of a ray: spaces between teeth end further out as a rule. */
const outerBlocks = 0.5;
const sectorsForTips = 36;

/** Centres the face on the tips of the outline and says how deep the teeth are, in a few rounds. */
export function findRim(
  photo: Photo,
  contrast: Contrast,
  start: FacePlane,
  radiusMm: number,
): Rim | undefined {
  let face = start;
  let radius = radiusMm;
  let rim: Rim | undefined;
  for (let round = 0; round < 3; round++) {
    const pxPerMm = pxPerMmOnFace(face);
    const step = Math.max(0.7 / pxPerMm, radius / 400);
    const fromRadiusMm = 0.45 * radius;
    const radii = radiiBetween(fromRadiusMm, 1.12 * radius, step);
    const outlineMm = readOutline(photo, contrast, face, { fromRadiusMm, stepMm: step, radii });
    const tips = tipsOf(outlineMm);
    if (tips.length < 2 * 12) return undefined;
    const fit = fitCircleRobust(tips, { uPointMm: 1 / pxPerMm });
    if (!fit.ok) return undefined;
    const { x, y } = fit.value;
    if (Math.hypot(x, y) > 0.2 * radius) return undefined;
    const [a, b, c, d] = face.affine;
    face = { ...face, xMm: face.xMm + a * x + b * y, yMm: face.yMm + c * x + d * y };
    radius = fit.value.radius;
    rim = describe(face, outlineMm, radius);
    if (Math.hypot(x, y) * pxPerMm < 0.25 && round > 0) break;
  }
  return rim;
}

/**
 * First crossing of half height from outside; NaN where the outside is not clear or nothing is met. What lies further
 * in is not read.
 */
function readOutline(photo: Photo, contrast: Contrast, face: FacePlane, ring: RingRadii): Float64Array {
  const { fromRadiusMm, stepMm, radii } = ring;
  const reader = new RingReader(photo, contrast, face, ring, outerBlocks);
  const row = new Float32Array(radii);
  const out = new Float64Array(coarseAngles);
  for (let i = 0; i < coarseAngles; i++) {
    reader.aim((2 * Math.PI * i) / coarseAngles);
    out[i] = fromRadiusMm + crossingInwards(reader, row) * stepMm;
  }
  return out;
}

/** Along the ray that the reader is aimed at, in samples. */
function crossingInwards(reader: RingReader, row: Float32Array): number {
  let block = reader.blocks - 1;
  reader.read(block, row, 0);
  let readFrom = block * reader.block;
  if (!(row[row.length - 1]! < 0.5)) return NaN;
  for (let j = row.length - 2; j >= 1; j--) {
    while (j - 1 < readFrom) {
      reader.read(--block, row, 0);
      readFrom = block * reader.block;
    }
    const s = row[j]!;
    if (Number.isNaN(s)) return NaN;
    // Two samples, so that a speck of noise is no rim.
    if (s >= 0.5 && row[j - 1]! >= 0.45) return j + (s - 0.5) / (s - row[j + 1]!);
  }
  return NaN;
}

/** The outermost of each sector, as points: tips, whatever their number. */
function tipsOf(outline: Float64Array): Float64Array {
  const points: number[] = [];
  const per = outline.length / sectorsForTips;
  for (let s = 0; s < sectorsForTips; s++) {
    const sector = outline.subarray(s * per, (s + 1) * per);
    const radii = below(sector, Infinity).sort();
    if (radii.length < per / 3) continue;
    // Not the very largest: that is where noise is.
    const r = radii[radii.length - 1 - Math.floor(radii.length * 0.04)]!;
    const t = (2 * Math.PI * (s * per + sector.indexOf(r))) / outline.length;
    points.push(r * Math.cos(t), r * Math.sin(t));
  }
  return Float64Array.from(points);
}

/** NaN left out. */
function below(values: Float64Array, limit: number): Float64Array {
  const out = new Float64Array(values.length);
  let n = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! < limit) out[n++] = values[i]!;
  return out.subarray(0, n);
}

function describe(face: FacePlane, outlineMm: Float64Array, radiusMm: number): Rim {
  const values = below(outlineMm, 1.06 * radiusMm).sort();
  const at = (share: number): number => values[Math.floor(share * (values.length - 1))] ?? NaN;
  return { face, outlineMm, tipMm: at(0.93), rootMm: at(0.08), seen: values.length / outlineMm.length };
}

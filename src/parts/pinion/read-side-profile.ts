import { cameraCentreMm, matFromPixel, pixelFromMat } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { SideProfile } from "./fit-side-profile.js";
import type { LyingArbor } from "./lying-arbor.js";

/** The profile across the pinion of an arbor that lies on the sheet. */
export interface ReadSide {
  readonly profile: SideProfile;
  /** Of the picture, square to the line of sight. */
  readonly pxPerMm: number;
  /** How alike the profile is at both ends of its middle part, -1 to 1: leaves run straight along the axis. */
  readonly alike: number;
}

const rows = 32;
/** Of the pinion's length: its ends are seen aslant, bevels and caps stay out. */
const middleShare = 0.55;
/** Beyond the tips, of the tip radius. */
const beyond = 1.28;
/** Values across: two a pixel, but no more than these. */
const mostValues = 150;

/**
 * Brightness across a lying pinion, averaged along its axis, in millimetres square to axis and line of sight.
 *
 * @param tipMm tip radius; the axis lies as high. @returns undefined where part of it is outside the picture.
 */
export function readSideProfile(
  photo: Photo,
  view: View,
  lying: LyingArbor,
  zMm: number,
  tipMm: number,
): ReadSide | undefined {
  const { geometry } = view;
  const { pinion, axis } = lying;
  const onAxis = (alongMm: number): [number, number, number] => {
    const [x, y] = axis.at(alongMm);
    return [...matFromPixel(geometry, ...pixelFromMat(geometry, x, y, zMm), tipMm), tipMm];
  };
  const half = (middleShare * pinion.lengthMm) / 2;
  const [from, to] = [onAxis(pinion.atMm - half), onAxis(pinion.atMm + half)];
  const middle = between(from, to, 0.5);
  const eye = cameraCentreMm(geometry.cameraFromMat);
  const across = unit(cross(unit(less(to, from)), unit(less(eye, middle))));
  const pixel = (p: Vector, tMm: number): [number, number] =>
    pixelFromMat(geometry, p[0] + tMm * across[0], p[1] + tMm * across[1], p[2] + tMm * across[2]);
  const [a, b] = [pixel(middle, -tipMm), pixel(middle, tipMm)];
  const pxPerMm = Math.hypot(b[0] - a[0], b[1] - a[1]) / (2 * tipMm);
  const reach = beyond * tipMm;
  const stepMm = Math.max(0.5 / pxPerMm, (2 * reach) / mostValues);
  const n = 2 * Math.floor(reach / stepMm);
  const thirds = [0, 1, 2].map(() => new Float64Array(n));
  for (let k = 0; k < rows; k++) {
    const p = between(from, to, (k + 0.5) / rows);
    const third = thirds[Math.floor((3 * k) / rows)]!;
    for (let i = 0; i < n; i++) third[i]! += greyAt(photo, ...pixel(p, -reach + i * stepMm));
  }
  const values = Float64Array.from(
    { length: n },
    (_, i) => (thirds[0]![i]! + thirds[1]![i]! + thirds[2]![i]!) / rows,
  );
  if (values.some(Number.isNaN)) return undefined;
  const inner = (v: Float64Array): Float64Array => v.subarray(Math.round(0.2 * n), Math.round(0.8 * n));
  return {
    profile: { values, fromMm: -reach, stepMm },
    pxPerMm,
    alike: correlation(inner(thirds[0]!), inner(thirds[2]!)),
  };
}

type Vector = readonly [number, number, number];

const less = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const unit = (a: Vector): Vector => {
  const length = Math.hypot(...a);
  return [a[0] / length, a[1] / length, a[2] / length];
};
const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const between = (a: Vector, b: Vector, share: number): Vector => [
  a[0] + share * (b[0] - a[0]),
  a[1] + share * (b[1] - a[1]),
  a[2] + share * (b[2] - a[2]),
];

/** Mean of the channels, 0 to 255, bilinear; NaN outside the picture. */
function greyAt({ rgb, widthPx, heightPx }: Photo, u: number, v: number): number {
  const [iu, iv] = [Math.floor(u), Math.floor(v)];
  if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) return NaN;
  const p = 3 * (iv * widthPx + iu);
  const q = p + 3 * widthPx;
  const [fu, fv] = [u - iu, v - iv];
  const grey = (at: number): number => (rgb[at]! + rgb[at + 1]! + rgb[at + 2]!) / 3;
  const upper = grey(p) + fu * (grey(p + 3) - grey(p));
  const lower = grey(q) + fu * (grey(q + 3) - grey(q));
  return upper + fv * (lower - upper);
}

function correlation(a: Float64Array, b: Float64Array): number {
  const n = a.length;
  const mean = (v: Float64Array): number => v.reduce((sum, x) => sum + x, 0) / n;
  const [ma, mb] = [mean(a), mean(b)];
  let [ab, aa, bb] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    ab += (a[i]! - ma) * (b[i]! - mb);
    aa += (a[i]! - ma) ** 2;
    bb += (b[i]! - mb) ** 2;
  }
  return ab / Math.sqrt(aa * bb || 1);
}

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
/** Along a lantern: so fine, mm; no profile is that of trundles that is less like those in the middle. */
const [alongStepMm, leastLike] = [0.12, 0.8] as const;
/** Of what looks alike, so much stays out at each end, mm: the shade of the caps, and what is seen aslant. */
const capShadeMm = 0.3;

/** From and to along the arbor, mm from its middle. */
export type AlongMm = readonly [number, number];

/** The middle part of a cut pinion. */
export const middleAlong = ({ pinion }: LyingArbor): AlongMm => {
  const half = (middleShare * pinion.lengthMm) / 2;
  return [pinion.atMm - half, pinion.atMm + half];
};

/**
 * Where, about the middle of the thick part, every profile across is like those next to it: between the caps of a
 * lantern trundles are seen, and on the caps they are not.
 */
export function alikeAlong(
  photo: Photo,
  view: View,
  lying: LyingArbor,
  zMm: number,
  tipMm: number,
): AlongMm | undefined {
  const { pinion } = lying;
  const n = Math.floor(pinion.lengthMm / alongStepMm);
  const from = pinion.atMm - (n * alongStepMm) / 2;
  const across = linesAcross(view, lying, zMm, tipMm, [from, from + n * alongStepMm]);
  const lines = Array.from({ length: n }, (_, k) => {
    const line = new Float64Array(across.count);
    for (let i = 0; i < across.count; i++) line[i] = greyAt(photo, ...across.pixel((k + 0.5) / n, i));
    return innerOf(line);
  });
  if (n < 5 || lines.some((line) => line.some(Number.isNaN))) return undefined;
  const sum = new Float64Array(lines[0]!.length);
  for (const line of lines.slice(Math.floor(0.4 * n), Math.ceil(0.6 * n)))
    line.forEach((v, i) => (sum[i]! += v));
  // One line is grainy: three together.
  const isLike = (k: number): boolean => {
    const near = lines.slice(Math.max(0, k - 1), k + 2);
    return (
      correlation(
        sum.map((_, i) => near.reduce((s, line) => s + line[i]!, 0)),
        sum,
      ) >= leastLike
    );
  };
  let [first, last] = [Math.floor(n / 2), Math.floor(n / 2)];
  while (first > 0 && isLike(first - 1)) first--;
  while (last < n - 1 && isLike(last + 1)) last++;
  const [a, b] = [from + first * alongStepMm + capShadeMm, from + (last + 1) * alongStepMm - capShadeMm];
  return b - a > 4 * alongStepMm ? [a, b] : undefined;
}

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
  along: AlongMm = middleAlong(lying),
): ReadSide | undefined {
  const { count, fromMm, stepMm, pxPerMm, pixel } = linesAcross(view, lying, zMm, tipMm, along);
  const thirds = [0, 1, 2].map(() => new Float64Array(count));
  for (let k = 0; k < rows; k++) {
    const third = thirds[Math.floor((3 * k) / rows)]!;
    for (let i = 0; i < count; i++) third[i]! += greyAt(photo, ...pixel((k + 0.5) / rows, i));
  }
  const values = Float64Array.from(
    { length: count },
    (_, i) => (thirds[0]![i]! + thirds[1]![i]! + thirds[2]![i]!) / rows,
  );
  if (values.some(Number.isNaN)) return undefined;
  return {
    profile: { values, fromMm, stepMm },
    pxPerMm,
    alike: correlation(innerOf(thirds[0]!), innerOf(thirds[2]!)),
  };
}

/** Without what lies beside the pinion. */
const innerOf = (v: Float64Array): Float64Array =>
  v.subarray(Math.round(0.2 * v.length), Math.round(0.8 * v.length));

interface LinesAcross {
  readonly count: number;
  /** Of the first value, from the axis. */
  readonly fromMm: number;
  readonly stepMm: number;
  /** Of the picture, square to the line of sight. */
  readonly pxPerMm: number;
  /** By the share of the way along, and the place across. */
  readonly pixel: (share: number, i: number) => [number, number];
}

function linesAcross(
  { geometry }: View,
  { axis }: LyingArbor,
  zMm: number,
  tipMm: number,
  [fromMm, toMm]: AlongMm,
): LinesAcross {
  const onAxis = (alongMm: number): [number, number, number] => {
    const [x, y] = axis.at(alongMm);
    return [...matFromPixel(geometry, ...pixelFromMat(geometry, x, y, zMm), tipMm), tipMm];
  };
  const [from, to] = [onAxis(fromMm), onAxis(toMm)];
  const middle = between(from, to, 0.5);
  const eye = cameraCentreMm(geometry.cameraFromMat);
  const across = unit(cross(unit(less(to, from)), unit(less(eye, middle))));
  const pixel = (p: Vector, tMm: number): [number, number] =>
    pixelFromMat(geometry, p[0] + tMm * across[0], p[1] + tMm * across[1], p[2] + tMm * across[2]);
  const [a, b] = [pixel(middle, -tipMm), pixel(middle, tipMm)];
  const pxPerMm = Math.hypot(b[0] - a[0], b[1] - a[1]) / (2 * tipMm);
  const reach = beyond * tipMm;
  const stepMm = Math.max(0.5 / pxPerMm, (2 * reach) / mostValues);
  return {
    count: 2 * Math.floor(reach / stepMm),
    fromMm: -reach,
    stepMm,
    pxPerMm,
    pixel: (share, i) => pixel(between(from, to, share), -reach + i * stepMm),
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

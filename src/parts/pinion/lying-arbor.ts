import { medianOf } from "../../fit/index.js";
import { cameraCentreMm, pixelFromMat } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { quantity, type InputId, type Quantity } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import { identityAffine } from "../face-plane.js";
import type { Part, Point } from "../part.js";
import { asPinion } from "./as-pinion.js";
import { lanternSizes } from "./lantern-sizes.js";
import {
  brassOf,
  countLyingPinion,
  type BrassOfLying,
  type LyingCount,
  type LyingSide,
} from "./count-lying-pinion.js";

/** An arbor on its side, as its outline shows it on one plane, mm. */
export interface LyingArbor {
  readonly xMm: number;
  readonly yMm: number;
  readonly angleRad: number;
  readonly lengthMm: number;
  /** Thick part: its middle from the arbor's, along the arbor; its length and thickness, and how thick its middle is. */
  readonly pinion: {
    readonly atMm: number;
    readonly lengthMm: number;
    readonly widthMm: number;
    readonly waistMm: number;
  };
  /** Of the arbor beside it. */
  readonly rodMm: number;
  /** The middle of the arbor beside its thick part, carried on through it. */
  readonly axis: { at(alongMm: number): Point };
  readonly outlineMm: readonly Point[];
}

const stepMm = 0.1;
const isMetal = 0.5;
/** A pinion is thicker than its arbor by this, and the arbor goes on at both ends of it (trade). */
const leastThicker = 1.3;
const leastBesideMm = 0.8;
const pinionLengthMm = [1.5, 30] as const;
/** The middle of a straight rod wanders by less, as the network draws it, mm root mean square. */
const mostBentMm = 0.2;
/** Of the rod's thickness: places that differ by more do not tell where its middle is, while so many others do. */
const [mostUnlike, leastPlain] = [0.25, 0.4] as const;
/** Level enough to be one cylinder. */
const levelShare = 0.8;
/** Trundles, of the caps, at the least; and where the arbor's thickness stands among the widths, thinnest first. */
const [waistShare, rodPlace] = [0.5, 0.25] as const;

/**
 * A thick part between two thin ones on one straight line: an arbor with its pinion. Undefined for any other long
 * thing: a screw's head is at its end, a pin has no thick part.
 */
export function readLyingArbor(
  metalAt: (xMm: number, yMm: number) => number,
  box: {
    readonly centreMm: Point;
    readonly angleRad: number;
    readonly lengthMm: number;
    readonly widthMm: number;
  },
): LyingArbor | undefined {
  const [cos, sin] = [Math.cos(box.angleRad), Math.sin(box.angleRad)];
  const n = Math.floor(box.lengthMm / stepMm);
  const reach = box.widthMm / 2 + 0.6;
  const widths = new Float64Array(n);
  const lower = new Float64Array(n);
  const at = (s: number, t: number): Point => [
    box.centreMm[0] + s * cos - t * sin,
    box.centreMm[1] + s * sin + t * cos,
  ];
  for (let k = 0; k < n; k++) {
    const s = (k + 0.5 - n / 2) * stepMm;
    let [low, high] = [Infinity, -Infinity];
    for (let t = -reach; t <= reach; t += stepMm / 2)
      if (metalAt(...at(s, t)) >= isMetal) {
        low = Math.min(low, t);
        high = Math.max(high, t);
      }
    widths[k] = high > low ? high - low + stepMm / 2 : 0;
    lower[k] = high > low ? low : 0;
  }
  const sorted = Float64Array.from(widths).sort();
  const thick = sorted[Math.floor(0.94 * n)]!;
  const [from, to] = bridged(widths, longestRun(widths, levelShare * thick), thick);
  const beside = [...widths].filter((w, k) => w > 0 && (k < from - 2 || k > to + 2));
  if (to <= from || beside.length < 10) return undefined;
  const rodMm = medianOf(beside);
  const lengthMm = (to - from + 1) * stepMm;
  const isPinion =
    thick > leastThicker * rodMm &&
    from * stepMm > leastBesideMm &&
    (n - 1 - to) * stepMm > leastBesideMm &&
    lengthMm > pinionLengthMm[0] &&
    lengthMm < Math.min(pinionLengthMm[1], 0.7 * box.lengthMm);
  const line = middleLine(widths, lower, from - 2, to + 2, rodMm);
  if (!isPinion || line.bendMm > mostBentMm) return undefined;
  const side = (upper: boolean): Point[] =>
    Array.from({ length: n }, (_, k) => at((k + 0.5 - n / 2) * stepMm, lower[k]! + (upper ? widths[k]! : 0)));
  return {
    xMm: box.centreMm[0],
    yMm: box.centreMm[1],
    angleRad: box.angleRad,
    lengthMm: box.lengthMm,
    pinion: {
      atMm: ((from + to + 1 - n) / 2) * stepMm,
      lengthMm,
      widthMm: medianOf([...widths.subarray(from, to + 1)]),
      waistMm: medianOf([...middleOf(widths.subarray(from, to + 1))]),
    },
    rodMm,
    axis: { at: (alongMm) => at(alongMm, line.asideMm(alongMm / stepMm - 0.5 + n / 2)) },
    outlineMm: [...side(false), ...side(true).reverse()],
  };
}

/** Two fifths: caps and what the network rounds off stay out. */
const middleOf = (values: Float64Array): Float64Array =>
  values.subarray(Math.floor(0.3 * values.length), Math.ceil(0.7 * values.length));

interface MiddleLine {
  /** At a place along the rod, in steps. */
  asideMm(place: number): number;
  /**
   * By how much the middle of the rod, outside of its thick part, strays from one line, root mean square: a piece of a
   * rim is thickest in the middle too.
   */
  readonly bendMm: number;
}

function middleLine(
  widths: Float64Array,
  lower: Float64Array,
  from: number,
  to: number,
  rodMm: number,
): MiddleLine {
  const beside = [...widths.keys()].filter((k) => widths[k]! > 0 && (k < from || k > to));
  // A shadow or a letter that runs into the rod is no bend of it; nor is a collet.
  const plain = beside.filter((k) => Math.abs(widths[k]! / rodMm - 1) < mostUnlike);
  const rod = plain.length > leastPlain * beside.length ? plain : beside;
  const middles = rod.map((k) => lower[k]! + widths[k]! / 2);
  const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;
  const [place, middle] = [mean(rod), mean(middles)];
  const slope =
    rod.reduce((sum, k, i) => sum + (k - place) * (middles[i]! - middle), 0) /
    rod.reduce((sum, k) => sum + (k - place) ** 2, 0);
  const asideMm = (k: number): number => middle + slope * (k - place);
  return { asideMm, bendMm: Math.sqrt(mean(middles.map((m, i) => (m - asideMm(rod[i]!)) ** 2))) };
}

/** Trundles are nearer to the axis than the caps at their ends: both caps and all between them are one thick part. */
function bridged(widths: Float64Array, [from, to]: [number, number], thick: number): [number, number] {
  const rod =
    Float64Array.from(widths.filter((w) => w > 0)).sort()[Math.floor(rodPlace * widths.length)] ?? 0;
  const waist = Math.max(waistShare * thick, leastThicker * rod);
  const isCap = (k: number): boolean => (widths[k] ?? 0) >= levelShare * thick;
  const reach = (start: number, step: 1 | -1): number => {
    let end = start;
    for (
      let k = start + step;
      (widths[k] ?? 0) >= waist && Math.abs(k - start) * stepMm < pinionLengthMm[1];
      k += step
    )
      if (isCap(k)) end = k;
    return end;
  };
  return [reach(from, -1), reach(to, 1)];
}

function longestRun(values: Float64Array, least: number): [number, number] {
  let best: [number, number] = [0, -1];
  let from: number | undefined;
  for (let k = 0; k <= values.length; k++) {
    const is = k < values.length && values[k]! >= least;
    if (is && from === undefined) from = k;
    if (!is && from !== undefined) {
      if (k - 1 - from > best[1] - best[0]) best = [from, k - 1];
      from = undefined;
    }
  }
  return best;
}

/**
 * Surfaces that turn away mirror the paper, and are taken for it; and none of the leaves may stand straight out to the side
 * (up to 1 - cos(pi / n)). Found on 54 pinions of known size: 0.13 mm missing beyond a shortfall of 2 %, 0.3 mm scatter.
 */
const brightEdgesMm = 0.23;
const uEdgeMm = 0.25;
const uShortfall = 0.02;

/** A lying arbor, and what is seen on the side of its thick part. */
export interface SeenLyingArbor {
  readonly lying: LyingArbor;
  readonly brass: BrassOfLying;
  readonly side: LyingSide;
}

/** @param zMm the plane on which the arbor was read. */
export function lookAtSide(photo: Photo, view: View, lying: LyingArbor, zMm: number): SeenLyingArbor {
  const brass = brassOf(photo, view, lying, zMm);
  const side = countLyingPinion(photo, view, lying, zMm, tipByOutlineMm(view, lying, zMm) / 2, brass);
  return { lying, brass, side };
}

/** It lies on the sheet, its axis half of its thickness up; it was read on another plane. */
function loweredBy(view: View, { pinion }: LyingArbor, zMm: number): number {
  const [, , eyeMm] = cameraCentreMm(view.geometry.cameraFromMat);
  return (eyeMm - pinion.widthMm / 2) / (eyeMm - zMm);
}

/** Diameter. */
const tipByOutlineMm = (view: View, lying: LyingArbor, zMm: number): number =>
  loweredBy(view, lying, zMm) * lying.pinion.widthMm + brightEdgesMm;

/** What can be said of a pinion from its side: sizes, and the number of its leaves as far as one half tells it. */
export function measureLyingArbor(
  photo: Photo,
  view: View,
  { lying, brass, side: { count: side } }: SeenLyingArbor,
  zMm: number,
  id: string,
  label: string | undefined,
): Part {
  const { xMm, yMm, pinion } = lying;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const lower = loweredBy(view, lying, zMm);
  const face = { geometry: view.geometry, zMm, xMm, yMm, affine: identityAffine };
  const terms = circleTerms(view, face, lying.lengthMm / 2, {
    id: `height:${label ?? owner}` as InputId,
    uMm: 0.5,
  });
  const length = (value: number, name: string, own: number): Quantity<"mm"> =>
    quantity(value, "mm", [...stretchTerms(terms, value), [`edge:${name}-${owner}`, own]]);
  const outlineTipMm = tipByOutlineMm(view, lying, zMm);
  const tip = side === undefined ? outlineTipMm : 2 * side.tipMm;
  const uTip = side === undefined ? Math.hypot(uEdgeMm, uShortfall * tip) : 2 * side.uTipMm;
  const lengthMm = lower * lying.lengthMm;
  const outline = lying.outlineMm.map(([x, y]) => pixelFromMat(view.geometry, x, y, zMm));
  const part: Part = {
    id,
    kind: "wheel",
    ...(label === undefined ? {} : { label }),
    centrePx: pixelFromMat(view.geometry, xMm, yMm, zMm),
    centreMm: [xMm, yMm],
    ...(side === undefined
      ? {}
      : {
          teeth: {
            count: side.count,
            probability: side.probability,
            alternatives: [{ count: side.next, probability: 0.9 * (1 - side.probability) }],
            places: [],
            missing: [],
            bent: [],
          },
        }),
    tipDiameterMm: length(tip, "tip", uTip),
    findings: [],
    problems: [],
    outlinePx: { tipCircle: outline, rootCircle: [], pitchCircle: [], edge: outline },
  };
  const pinionPart =
    side?.trundles !== undefined
      ? {
          ...part,
          ...lanternSizes(
            side.count,
            length(side.trundles.circleDiameterMm, "circle", side.trundles.uCircleDiameterMm),
          ),
        }
      : side === undefined
        ? { ...part, kind: "pinion" as const }
        : asPinion(part, owner);
  return {
    ...pinionPart,
    findings: [
      {
        code: "pinion-lying",
        severity: "note",
        text:
          `an arbor lying on its side, ${lengthMm.toFixed(1)} mm long, with a pinion ${(lower * pinion.lengthMm).toFixed(1)} mm long: ` +
          whatIsSeen(side, brass.ends > 0 || brass.inMiddle),
      },
    ],
  };
}

const standUp = "stand it on end (through a cross of the mat) and take the photograph from straight above";

function whatIsSeen(side: LyingCount | undefined, hasBrass: boolean): string {
  if (side === undefined)
    return hasBrass
      ? `it has brass on it, as a lantern pinion has; how many trundles it has cannot be told from the side; ${standUp}`
      : `one half of the leaves is seen, and their number cannot be told from it; ${standUp}`;
  const { trundles } = side;
  const agreed = side.isClear ? "which all signs agree on" : "not surely";
  if (trundles === undefined)
    return `${side.count} leaves, counted from the half that is seen, ${agreed}; to be sure ${standUp}`;
  const mm = (value: number, u: number): string => `${value.toFixed(2)} ± ${(2 * u).toFixed(2)} mm`;
  return (
    `a lantern of ${side.count} trundles, counted from the half that is seen, ${agreed}; ` +
    `trundles of ${mm(trundles.diameterMm, trundles.uDiameterMm)} on a circle of ${mm(trundles.circleDiameterMm, trundles.uCircleDiameterMm)}; ` +
    `the tip diameter stated is that over the trundles; to be sure ${standUp}`
  );
}

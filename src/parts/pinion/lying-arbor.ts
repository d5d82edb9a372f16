import { medianOf } from "../../fit/index.js";
import { cameraCentreMm, pixelFromMat } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { quantity, type InputId, type Quantity } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import { circleTerms, stretchTerms } from "../camera-terms.js";
import { identityAffine } from "../face-plane.js";
import type { Part, Point } from "../part.js";
import { asPinion } from "./as-pinion.js";
import { countLyingPinion, isOfBrassInPart, type LyingCount } from "./count-lying-pinion.js";

/** An arbor on its side, as its outline shows it on one plane, mm. */
export interface LyingArbor {
  readonly xMm: number;
  readonly yMm: number;
  readonly angleRad: number;
  readonly lengthMm: number;
  /** Thick part: its middle from the arbor's, along the arbor; its length and thickness. */
  readonly pinion: { readonly atMm: number; readonly lengthMm: number; readonly widthMm: number };
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
/** Level enough to be one cylinder. */
const levelShare = 0.8;

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
  const [from, to] = longestRun(widths, levelShare * thick);
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
  const line = middleLine(widths, lower, from - 2, to + 2);
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
    },
    rodMm,
    axis: { at: (alongMm) => at(alongMm, line.asideMm(alongMm / stepMm - 0.5 + n / 2)) },
    outlineMm: [...side(false), ...side(true).reverse()],
  };
}

interface MiddleLine {
  /** At a place along the rod, in steps. */
  asideMm(place: number): number;
  /**
   * By how much the middle of the rod, outside of its thick part, strays from one line, root mean square: a piece of a
   * rim is thickest in the middle too.
   */
  readonly bendMm: number;
}

function middleLine(widths: Float64Array, lower: Float64Array, from: number, to: number): MiddleLine {
  const rod = [...widths.keys()].filter((k) => widths[k]! > 0 && (k < from || k > to));
  const middles = rod.map((k) => lower[k]! + widths[k]! / 2);
  const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;
  const [place, middle] = [mean(rod), mean(middles)];
  const slope =
    rod.reduce((sum, k, i) => sum + (k - place) * (middles[i]! - middle), 0) /
    rod.reduce((sum, k) => sum + (k - place) ** 2, 0);
  const asideMm = (k: number): number => middle + slope * (k - place);
  return { asideMm, bendMm: Math.sqrt(mean(middles.map((m, i) => (m - asideMm(rod[i]!)) ** 2))) };
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

/** What can be said of a pinion from its side: sizes, and the number of its leaves as far as one half tells it. */
export function measureLyingArbor(
  photo: Photo,
  view: View,
  lying: LyingArbor,
  zMm: number,
  id: string,
  label: string | undefined,
): Part {
  const { xMm, yMm, pinion } = lying;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const [, , eyeMm] = cameraCentreMm(view.geometry.cameraFromMat);
  // It lies on the sheet, its axis half of its thickness up; it was read on another plane.
  const lower = (eyeMm - pinion.widthMm / 2) / (eyeMm - zMm);
  const face = { geometry: view.geometry, zMm, xMm, yMm, affine: identityAffine };
  const terms = circleTerms(view, face, lying.lengthMm / 2, {
    id: `height:${label ?? owner}` as InputId,
    uMm: 0.5,
  });
  const length = (value: number, name: string, own: number): Quantity<"mm"> =>
    quantity(value, "mm", [...stretchTerms(terms, value), [`edge:${name}-${owner}`, own]]);
  const outlineTipMm = lower * pinion.widthMm + brightEdgesMm;
  const isLantern = isOfBrassInPart(photo, view, lying, zMm);
  const side = isLantern ? undefined : countLyingPinion(photo, view, lying, zMm, outlineTipMm / 2);
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
  const pinionPart = side === undefined ? { ...part, kind: "pinion" as const } : asPinion(part, owner);
  return {
    ...pinionPart,
    findings: [
      {
        code: "pinion-lying",
        severity: "note",
        text:
          `an arbor lying on its side, ${lengthMm.toFixed(1)} mm long, with a pinion ${(lower * pinion.lengthMm).toFixed(1)} mm long: ` +
          `${isLantern ? lanternSeen : whatIsSeen(side)}`,
      },
    ],
  };
}

const standUp = "stand it on end (through a cross of the mat) and take the photograph from straight above";

const lanternSeen = `it has brass on it, as a lantern pinion has; trundles are not counted from the side; ${standUp}`;

function whatIsSeen(side: LyingCount | undefined): string {
  if (side === undefined)
    return `one half of the leaves is seen, and their number cannot be told from it; ${standUp}`;
  const counted = `${side.count} leaves, counted from the half that is seen`;
  return `${counted}, ${side.isClear ? "which all signs agree on" : "not surely"}; to be sure ${standUp}`;
}

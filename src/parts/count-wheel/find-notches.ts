import { medianOf } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace } from "../face-plane.js";
import type { Notch } from "../part.js";
import { unroll, type Unrolled } from "../unroll.js";
import type { Rim } from "../wheel/find-rim.js";

export interface NotchedRim {
  readonly notches: readonly Required<Notch>[];
  /** Share of the rim that is metal, just below its edge. */
  readonly metal: number;
  /** Share of the rim that was seen. */
  readonly seen: number;
}

/** Below the edge of the disc, where a notch is as wide as it is cut: from, to, mm. */
const bandMm = [0.35, 1.1] as const;
/** A notch is at least so wide and deep, mm; anything less is a burr or a scratch. */
const leastWidthMm = 0.45;
const leastDepthMm = 0.5;
/** Shallower than this share of its neighbours: half filled. */
const shallowShare = 0.65;

/** Of a count wheel or a locking cam, where nothing says how large it is (common practice, no source). */
const usualRadiusMm = 15;

/**
 * How long a millimetre is on the plane of a disc: without a scale one pixel stands for one millimetre, and widths and
 * depths are judged by the size of the disc instead.
 */
export const millimetreOn = (view: Pick<View, "source">, rim: Pick<Rim, "tipMm">): number =>
  view.source === "none" ? rim.tipMm / usualRadiusMm : 1;

/**
 * Notches in the rim of a disc: openings that reach in from its edge.
 *
 * @param mm length of a millimetre on its plane: see `millimetreOn`.
 */
export function findNotches(photo: Photo, contrast: Contrast, rim: Rim, mm: number): NotchedRim {
  const { face, tipMm } = rim;
  const pxMm = 1 / pxPerMmOnFace(face);
  const angles = 4096;
  const [edgeMm, bandEndMm] = [bandMm[0] * mm, bandMm[1] * mm];
  const depthMm = Math.min(0.45 * tipMm, 8 * mm);
  const stepMm = Math.max(0.6 * pxMm, 0.05 * mm);
  const ring = unroll(photo, contrast, face, tipMm - depthMm, tipMm - edgeMm, stepMm, angles);
  const bandRows = Math.max(2, Math.round((bandEndMm - edgeMm) / stepMm));
  const band = new Float64Array(angles);
  let seen = 0;
  let metal = 0;
  for (let i = 0; i < angles; i++) {
    let sum = 0;
    for (let j = ring.radii - bandRows; j < ring.radii; j++)
      sum += Math.min(1.2, Math.max(-0.2, ring.data[i * ring.radii + j]!)) / bandRows;
    band[i] = sum;
    if (Number.isNaN(sum)) continue;
    seen++;
    if (sum > 0.5) metal++;
  }
  const mmPerStep = (2 * Math.PI * (tipMm - 0.5 * (edgeMm + bandEndMm))) / angles;
  const found = openings(band)
    .map(({ from, to }) => ({ middle: 0.5 * (from + to), widthMm: (to - from) * mmPerStep }))
    .filter((o) => o.widthMm >= Math.max(leastWidthMm * mm, 2.5 * pxMm))
    .map(({ middle, widthMm }) => ({
      angleRad: ((((2 * Math.PI * middle) / angles) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI),
      widthMm,
      // Deep at two places of the middle part: a burr or a thin wall in it does not make it shallow.
      depthMm: acrossNotch
        .map((x) => tipMm - floorMm(ring, middle + (x * widthMm) / mmPerStep))
        .sort((a, b) => b - a)[1]!,
    }))
    .filter((n) => n.depthMm >= leastDepthMm * mm);
  const usual = found.length > 0 ? medianOf(found.map((n) => n.depthMm)) : 0;
  return {
    notches: found
      .map((n) => ({
        ...n,
        state: n.depthMm < shallowShare * usual ? ("shallow" as const) : ("whole" as const),
      }))
      .sort((a, b) => a.angleRad - b.angleRad),
    metal: seen === 0 ? 0 : metal / seen,
    seen: seen / angles,
  };
}

/** Shares of the width, from the middle. The floor is flat or follows the circle; so near the middle that is all one. */
const acrossNotch = [-0.25, -0.12, 0, 0.12, 0.25];

/** Runs below half height round the turn; ends to a fraction of a step. */
function openings(band: Float64Array): { from: number; to: number }[] {
  const n = band.length;
  const start = band.findIndex((v) => v > 0.5);
  if (start < 0) return [];
  const out: { from: number; to: number }[] = [];
  let from: number | undefined;
  for (let k = start + 1; k <= start + n; k++) {
    const before = band[(k - 1) % n]!;
    const now = band[k % n]!;
    if (before > 0.5 && now <= 0.5) from = k - 1 + (before - 0.5) / (before - now);
    else if (before <= 0.5 && now > 0.5 && from !== undefined) {
      out.push({ from, to: k - 1 + (0.5 - before) / (now - before) });
      from = undefined;
    } else if (Number.isNaN(now)) from = undefined;
  }
  return out;
}

/** Radius at which metal begins, from outside, at an angle; where it never does, that of the ring's inner end. */
function floorMm({ data, radii, angles, fromRadiusMm, stepMm }: Unrolled, at: number): number {
  const first = (((Math.round(at) % angles) + angles) % angles) * radii;
  let j = radii - 1;
  while (j > 0 && !(data[first + j]! > 0.5)) j--;
  const [metal, open] = [data[first + j]!, data[first + j + 1]!];
  const part = j > 0 && j < radii - 1 && open < metal ? (metal - 0.5) / (metal - open) : 0;
  return fromRadiusMm + stepMm * (j + part);
}

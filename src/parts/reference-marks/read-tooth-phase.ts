import { medianOf, robustScale } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { learnContrast, type Contrast } from "../contrast.js";
import { pxPerMmOnFace, type FacePlane } from "../face-plane.js";
import { unroll } from "../unroll.js";
import { ringSamples } from "./bare-colour.js";

const perTooth = 24;

/**
 * Angle of the teeth about the centre of the face: where a tooth stands, the mean over all of them.
 *
 * Each tooth's place is the phase of one wave over its pitch, in a band half way up; the middle one of all places
 * counts, so that broken and bent teeth have no say.
 */
export function readToothPhase(
  photo: Photo,
  face: FacePlane,
  toothCount: number,
  rootMm: number,
  tipMm: number,
  contrast: Contrast,
): { readonly angleRad: number; readonly uRad: number } | undefined {
  const depth = tipMm - rootMm;
  const step = Math.max(0.5 / pxPerMmOnFace(face), depth / 24);
  const angles = toothCount * perTooth;
  const ring = unroll(photo, contrast, face, rootMm + 0.2 * depth, tipMm - 0.2 * depth, step, angles);
  const signal = new Float64Array(angles);
  for (let i = 0; i < angles; i++) {
    for (let j = 0; j < ring.radii; j++)
      signal[i]! += Math.min(1.3, Math.max(-0.3, ring.data[i * ring.radii + j]!)) / ring.radii;
  }
  const waves: { re: number; im: number }[] = [];
  for (let k = 0; k < toothCount; k++) {
    let re = 0;
    let im = 0;
    for (let i = 0; i < perTooth; i++) {
      const t = (2 * Math.PI * i) / perTooth;
      re += signal[k * perTooth + i]! * Math.cos(t);
      im += signal[k * perTooth + i]! * Math.sin(t);
    }
    if (!Number.isNaN(re + im)) waves.push({ re, im });
  }
  if (waves.length < 0.5 * toothCount) return undefined;
  const first = Math.atan2(
    waves.reduce((s, w) => s + w.im, 0),
    waves.reduce((s, w) => s + w.re, 0),
  );
  const off = waves
    .filter((w) => Math.hypot(w.re, w.im) > 0.02 * perTooth)
    .map((w) => {
      const d = Math.atan2(w.im, w.re) - first;
      return d - 2 * Math.PI * Math.round(d / (2 * Math.PI));
    });
  if (off.length < 0.5 * toothCount) return undefined;
  return {
    angleRad: (first + trimmedMean(off)) / toothCount,
    uRad: robustScale(off) / Math.sqrt(off.length) / toothCount,
  };
}

/** Mean of what lies within three standard deviations of the middle: nearly as sharp as a mean, and robust. */
function trimmedMean(values: readonly number[]): number {
  const middle = medianOf(values);
  const reach = 3 * robustScale(values) + 1e-9;
  const kept = values.filter((v) => Math.abs(v - middle) <= reach);
  return kept.reduce((a, b) => a + b, 0) / kept.length;
}

/** Metal of the rim against what lies round the wheel. */
export function rimContrast(
  photo: Photo,
  face: FacePlane,
  rootMm: number,
  tipMm: number,
): Contrast | undefined {
  const depth = tipMm - rootMm;
  const metal = ringSamples(photo, face, rootMm - 0.6 * depth, rootMm - 0.15 * depth);
  const around = ringSamples(photo, face, tipMm + 0.4 * depth, tipMm + 1.2 * depth);
  return learnContrast(metal, around);
}

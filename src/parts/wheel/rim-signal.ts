import type { Photo } from "../../photo/index.js";
import type { Contrast } from "../contrast.js";
import { pxPerMmOnFace } from "../face-plane.js";
import { unroll } from "../unroll.js";
import type { Rim } from "./find-rim.js";

/** Height of the metal against angle, mean over the tooth band: high on a tooth, low in a space. */
export interface RimSignal {
  readonly value: Float64Array;
  /** 1 where the outside of the rim is clear, so that a low value means a space. */
  readonly seen: Uint8Array;
  readonly pxPerTurn: number;
  readonly fromMm: number;
  readonly toMm: number;
  /** Told by colour, which pictures store at half resolution: noisy between fine teeth, but free of shadows. */
  readonly coarse: boolean;
}

/** Part of the tooth depth, from root (0) to tip (1). */
export interface Band {
  readonly from: number;
  readonly to: number;
}

export const wholeBand: Band = { from: 0.25, to: 0.88 };

/** Samples the band between root and tip; a little wider when blur has eaten the depth. */
export function readRimSignal(photo: Photo, contrast: Contrast, rim: Rim, part: Band = wholeBand): RimSignal {
  const pxPerMm = pxPerMmOnFace(rim.face);
  const pxPerTurn = 2 * Math.PI * rim.tipMm * pxPerMm;
  const depth = rim.tipMm - rim.rootMm;
  const shallow = depth * pxPerMm < 3;
  const fromMm = shallow ? rim.tipMm - 3 / pxPerMm : rim.rootMm + part.from * depth;
  const toMm = shallow ? rim.tipMm + 0.7 / pxPerMm : rim.rootMm + part.to * depth;
  const angles = pxPerTurn > 2500 ? 6144 : 3072;
  const step = Math.max(0.6 / pxPerMm, (toMm - fromMm) / 12);
  const band = unroll(photo, contrast, rim.face, fromMm, toMm, step, angles);
  const guardMm = Math.max(0.03 * rim.tipMm, 2.5 / pxPerMm);
  const guard = unroll(
    photo,
    contrast,
    rim.face,
    rim.tipMm + guardMm,
    rim.tipMm + 1.6 * guardMm,
    0.6 * guardMm,
    angles,
  );
  const value = meansOf(band.data, band.radii, angles);
  const seen = new Uint8Array(angles);
  for (let i = 0; i < angles; i++) {
    const isSeen = !Number.isNaN(value[i]!);
    // A comparison with NaN is false: where the picture ends just outside the teeth, they still count as seen.
    const clear = !(guard.data[i * guard.radii]! >= 0.5 || guard.data[i * guard.radii + 1]! >= 0.6);
    if (!isSeen) value[i] = 0;
    seen[i] = clear && isSeen ? 1 : 0;
  }
  return { value, seen, pxPerTurn, fromMm, toMm, coarse: contrast.growth !== 0 };
}

/** Mean height of every ray, glare and deep shade cut off; NaN where the picture ends. */
function meansOf(data: Float32Array, radii: number, angles: number): Float64Array {
  const means = new Float64Array(angles);
  for (let i = 0, p = 0; i < angles; i++) {
    let sum = 0;
    for (const end = p + radii; p < end; p++) {
      const height = data[p]!;
      sum += height > 1.3 ? 1.3 : height < -0.3 ? -0.3 : height;
    }
    means[i] = sum / radii;
  }
  return means;
}

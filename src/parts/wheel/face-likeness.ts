import { medianInPlace } from "../../fit/index.js";
import type { Photo } from "../../photo/index.js";
import { luminanceWeights } from "../contrast.js";
import { pxPerMmOnFace } from "../face-plane.js";
import { unroll } from "../unroll.js";
import type { Rim } from "./find-rim.js";
import type { RimSignal } from "./rim-signal.js";

/** Fine teeth are about so deep, and no colour tells how deep; larger ones as deep as the outline says. Pixels. */
const leastDepthPx = 4;
const beyondTipPx = 0.7;
/** The face itself is read so far below the teeth, from and to, px. */
const belowTeethPx = [2.5, 5] as const;
/** Of its readings the median over so much of the rim, to both sides: scratches and grain, not the light on it. */
const alongRimPx = 8;
const readingsAlong = 8;
/** Lighter or darker than the face by this much is wholly unlike it; natural logarithm of the ratio. */
const unlike = 0.5;
/** Keeps the logarithm of near-black quiet. */
const floor = 0.004;

/**
 * The rim by likeness to the face: 1 where the tooth band is as light as the face just below it, 0 where it is lighter
 * or darker. Lightness is stored at full resolution, and a shadow between the teeth is as unlike the face as bright
 * paper is. It only fails where paper, or the shade on it, happens to be as light as the metal.
 *
 * @param rim by colour, so that no shadow has a part in it; @param own the signal by colour round that rim.
 */
export function readFaceLikeness(photo: Photo, rim: Rim, own: RimSignal): RimSignal {
  const { face, tipMm, rootMm } = rim;
  const pxMm = 1 / pxPerMmOnFace(face);
  const angles = own.value.length;
  const fromMm = tipMm - Math.max(leastDepthPx * pxMm, tipMm - rootMm);
  const toMm = tipMm + beyondTipPx * pxMm;
  const stepMm = 0.6 * pxMm;
  const ring = (from: number, to: number): Float64Array[] => {
    const { data, radii } = unroll(photo, luminanceWeights, face, from, to, stepMm, angles);
    return Array.from({ length: angles }, (_, i) =>
      Float64Array.from(data.subarray(i * radii, (i + 1) * radii), (v) => Math.log(Math.max(0, v) + floor)),
    );
  };
  const below = ring(fromMm - belowTeethPx[1] * pxMm, fromMm - belowTeethPx[0] * pxMm).map(mean);
  const band = ring(fromMm, toMm);
  const reach = (alongRimPx / own.pxPerTurn) * angles;
  const readings = new Float64Array(2 * readingsAlong + 1);
  const value = new Float64Array(angles);
  const seen = new Uint8Array(angles);
  for (let i = 0; i < angles; i++) {
    for (let k = -readingsAlong; k <= readingsAlong; k++)
      readings[k + readingsAlong] = below[(Math.round(i + (k / readingsAlong) * reach) + angles) % angles]!;
    const level = medianInPlace(readings);
    let sum = 0;
    for (const v of band[i]!) sum += Math.min(1, Math.abs(v - level) / unlike);
    const likeness = 1 - sum / band[i]!.length;
    if (own.seen[i] && !Number.isNaN(likeness)) {
      value[i] = likeness;
      seen[i] = 1;
    }
  }
  return { value, seen, pxPerTurn: own.pxPerTurn, fromMm, toMm, coarse: false };
}

const mean = (v: Float64Array): number => v.reduce((a, b) => a + b, 0) / v.length;

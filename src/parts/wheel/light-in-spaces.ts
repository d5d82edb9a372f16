import type { Photo } from "../../photo/index.js";
import { luminanceOf, luminanceWeights, type Contrast } from "../contrast.js";
import { unroll } from "../unroll.js";
import type { ToothPlaces } from "./tooth-places.js";

/** Light of the surroundings between the teeth, as a share of what they give beside the wheel. */
export interface LightInSpaces {
  readonly root: number;
  readonly tip: number;
}

/** Parts of the tooth depth over which the spaces are read. */
const atRoot = { from: 0.15, to: 0.45 };
const atTip = { from: 0.65, to: 1 };
/** Nothing between teeth is as dark as this, nor much brighter than the open sheet. */
const darkest = 0.05;
const brightest = 1.2;
const rowsAPlace = 12;

/**
 * The wheel itself shades the spaces. Along the arc blur moves light but loses none: of the mean luminance at a radius,
 * what the teeth's share of metal does not explain came from between them.
 *
 * @param places read by colour, so that the share of metal holds in shade.
 */
export function lightInSpaces(
  photo: Photo,
  contrast: Contrast,
  places: ToothPlaces,
  chosen: readonly number[],
): LightInSpaces {
  const { face, count, radii, stepMm, fromRadiusMm, coverage, metalTo } = places;
  const ring = unroll(
    photo,
    // Of its own: pixels that were read are kept as long as the weights are, and grow with every ring that is asked for.
    { ...luminanceWeights },
    face,
    fromRadiusMm,
    fromRadiusMm + (radii - 1) * stepMm,
    stepMm,
    count * rowsAPlace,
    places.angleRad[0]! - places.pitchRad / 2,
  );
  const means = meansOver(ring.data, ring.radii, count);
  const depthMm = places.tipMm - places.rootMm;
  const column = (share: number): number =>
    Math.min(radii - 1, Math.max(0, Math.round((places.rootMm + share * depthMm - fromRadiusMm) / stepMm)));
  const usual = luminanceOf(contrast.around) / luminanceOf(contrast.metal);
  const between = ({ from, to }: { readonly from: number; readonly to: number }): number => {
    const light = lightOf(means, ring.radii, coverage, radii, chosen, metalTo, column(from), column(to));
    return Number.isNaN(light) ? 1 : Math.min(brightest, Math.max(darkest, light / usual));
  };
  return { root: between(atRoot), tip: between(atTip) };
}

/** Light between two columns where no metal is, over that of the metal beside it; NaN where all is metal. */
function lightOf(
  means: Float64Array,
  meansRadii: number,
  coverage: Float32Array,
  radii: number,
  chosen: readonly number[],
  metalTo: number,
  fromColumn: number,
  toColumn: number,
): number {
  let light = 0;
  let open = 0;
  for (let n = 0; n < chosen.length; n++) {
    const row = chosen[n]! * meansRadii;
    const at = chosen[n]! * radii;
    let metal = 0;
    for (let j = metalTo - 5; j < metalTo; j++) metal += means[row + Math.max(0, j)]! / 5;
    for (let j = fromColumn; j <= toColumn; j++) {
      const covered = Math.min(0.9, Math.max(0, coverage[at + j]!));
      const from = means[row + j]! - covered * metal;
      if (!(metal > 0) || Number.isNaN(from)) continue;
      // Against the metal beside it: light that falls off over the sheet falls on both.
      light += from / metal;
      open += 1 - covered;
    }
  }
  return open > 0 ? light / open : NaN;
}

/** Mean over the rows of a place, place by place and radius by radius. */
function meansOver(data: Float32Array, radii: number, count: number): Float64Array {
  const means = new Float64Array(count * radii);
  for (let row = 0, p = 0; row < count * rowsAPlace; row++) {
    const at = Math.floor(row / rowsAPlace) * radii;
    for (let j = 0; j < radii; j++, p++) means[at + j]! += data[p]!;
  }
  for (let i = 0; i < means.length; i++) means[i]! /= rowsAPlace;
  return means;
}

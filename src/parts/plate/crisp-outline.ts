import { pixelFromMat } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { luminanceFrom } from "../contrast.js";
import { FaceSampler } from "../face-sampler.js";
import { identityAffine } from "../face-plane.js";
import { resampleClosed } from "../find/guess-circles.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Point } from "../part.js";

/** Lines across an outline, and how far each looks to both sides: rough outlines are off by a millimetre. */
const lines = 120;
const lookMm = 1.6;
const samplePx = 0.5;
/** The direction of a jagged outline is taken over so many of its lines to both sides. */
const smoothLines = 2;
/** A step counts over so many px to both sides of its middle, beyond the blur of the lens. */
const stepPx = 1.5;
/** Least share of what changes over so many px to both sides that the step makes up. */
const aroundPx = 6;
const sharpShare = 0.5;
/** Less of a step than this share of the lighter side is grain of the paper, or lines of a brushed face. */
const leastStep = 0.1;

/**
 * Share of an outline that is as sharp as the lens allows: that of a thing is so, a soft shadow's is not.
 *
 * @param contour closed, on the plane at `zMm`, mm.
 */
export function crispShare(photo: Photo, view: View, contour: readonly Point[], zMm: number): number {
  const sampler = new FaceSampler(
    photo,
    { geometry: view.geometry, zMm, xMm: 0, yMm: 0, affine: identityAffine },
    linearFromSrgb,
  );
  const places = resampleClosed(Float64Array.from(contour.flat()), lines);
  const placeAt = (i: number): Point => [places[2 * (i % lines)]!, places[2 * (i % lines) + 1]!];
  let [crisp, seen] = [0, 0];
  for (let i = 0; i < lines; i++) {
    const [x, y] = placeAt(i);
    const [ax, ay] = placeAt(i + lines - smoothLines);
    const [bx, by] = placeAt(i + smoothLines);
    const length = Math.hypot(bx - ax, by - ay);
    if (length === 0) continue;
    const [ux, uy] = [(by - ay) / length, (ax - bx) / length];
    const pxMm = 1 / pxPerMmAlong(view, [x, y], [ux, uy], zMm);
    const count = Math.ceil((2 * lookMm) / (samplePx * pxMm));
    const light = Float64Array.from({ length: count }, (_, k) => {
      const d = (k - count / 2) * samplePx * pxMm;
      return sampler.at(x + d * ux, y + d * uy)
        ? luminanceFrom(sampler.red, sampler.green, sampler.blue)
        : NaN;
    });
    if (light.some(Number.isNaN)) continue;
    seen++;
    const half = Math.round(Math.hypot(stepPx, view.edge.blurSigmaPx) / samplePx);
    let [steepest, at] = [0, half];
    for (let k = half; k < count - half; k++) {
      const step = Math.abs(light[k + half]! - light[k - half]!);
      if (step > steepest) [steepest, at] = [step, k];
    }
    const around = light.subarray(Math.max(0, at - aroundPx / samplePx), at + aroundPx / samplePx + 1);
    const [least, most] = [Math.min(...around), Math.max(...around)];
    if (steepest > leastStep * most && steepest > sharpShare * (most - least)) crisp++;
  }
  return seen < lines / 2 ? 0 : crisp / seen;
}

function pxPerMmAlong({ geometry }: View, [x, y]: Point, [ux, uy]: Point, zMm: number): number {
  const [u, v] = pixelFromMat(geometry, x, y, zMm);
  const [u2, v2] = pixelFromMat(geometry, x + ux, y + uy, zMm);
  return Math.hypot(u2 - u, v2 - v);
}

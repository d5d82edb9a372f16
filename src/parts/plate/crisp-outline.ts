import { pixelFromMat } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { FaceSampler } from "../face-sampler.js";
import { identityAffine } from "../face-plane.js";
import { linearFromSrgb } from "../linear-light.js";
import type { Point } from "../part.js";
import { luminanceOf } from "./plate-signal.js";

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
  const places = evenly(contour, lines);
  let [crisp, seen] = [0, 0];
  places.forEach(([x, y], i) => {
    const [ax, ay] = places[(i + lines - smoothLines) % lines]!;
    const [bx, by] = places[(i + smoothLines) % lines]!;
    const length = Math.hypot(bx - ax, by - ay);
    if (length === 0) return;
    const [ux, uy] = [(by - ay) / length, (ax - bx) / length];
    const pxMm = 1 / pxPerMmAlong(view, [x, y], [ux, uy], zMm);
    const count = Math.ceil((2 * lookMm) / (samplePx * pxMm));
    const light = new Float64Array(count);
    for (let k = 0; k < count; k++) {
      const d = (k - count / 2) * samplePx * pxMm;
      if (!sampler.at(x + d * ux, y + d * uy)) return;
      light[k] = luminanceOf(sampler.red, sampler.green, sampler.blue);
    }
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
  });
  return seen < lines / 2 ? 0 : crisp / seen;
}

function pxPerMmAlong({ geometry }: View, [x, y]: Point, [ux, uy]: Point, zMm: number): number {
  const [u, v] = pixelFromMat(geometry, x, y, zMm);
  const [u2, v2] = pixelFromMat(geometry, x + ux, y + uy, zMm);
  return Math.hypot(u2 - u, v2 - v);
}

/** So many points, evenly along a closed line. */
function evenly(points: readonly Point[], count: number): Point[] {
  const lengths = points.map(([x, y], i) => {
    const [x2, y2] = points[(i + 1) % points.length]!;
    return Math.hypot(x2 - x, y2 - y);
  });
  const whole = lengths.reduce((sum, length) => sum + length, 0);
  const line: Point[] = [];
  let walked = 0;
  points.forEach(([x, y], i) => {
    const [x2, y2] = points[(i + 1) % points.length]!;
    const length = lengths[i]!;
    while (line.length < count && (line.length * whole) / count < walked + length) {
      const share = ((line.length * whole) / count - walked) / length;
      line.push([x + share * (x2 - x), y + share * (y2 - y)]);
    }
    walked += length;
  });
  while (line.length < count) line.push(points[0]!);
  return line;
}

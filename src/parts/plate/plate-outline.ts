import type { FaceSampler } from "../face-sampler.js";
import type { Point } from "../part.js";
import { edgeAcross } from "./edge-across.js";
import type { PlateSignal } from "./plate-signal.js";

export interface Rectangle {
  readonly xMm: number;
  readonly yMm: number;
  /** Direction of the longer side. */
  readonly angleRad: number;
  readonly lengthMm: number;
  readonly widthMm: number;
}

/** Of a closed polygon; below zero where it runs clockwise. */
export function signedAreaOf(p: readonly Point[]): number {
  let sum = 0;
  p.forEach(([x, y], i) => {
    const [x2, y2] = p[(i + 1) % p.length]!;
    sum += x * y2 - x2 * y;
  });
  return sum / 2;
}

export const areaOf = (p: readonly Point[]): number => Math.abs(signedAreaOf(p));

/** Smallest rectangle round a convex hull: one side lies along a side of the hull. */
export function smallestRectangle(hull: readonly Point[]): Rectangle {
  let best: (Rectangle & { readonly area: number }) | undefined;
  hull.forEach((p, i) => {
    const q = hull[(i + 1) % hull.length]!;
    const angle = Math.atan2(q[1] - p[1], q[0] - p[0]);
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    const along = hull.map(([x, y]) => x * cos + y * sin);
    const across = hull.map(([x, y]) => y * cos - x * sin);
    const [a0, a1] = [Math.min(...along), Math.max(...along)];
    const [b0, b1] = [Math.min(...across), Math.max(...across)];
    const area = (a1 - a0) * (b1 - b0);
    if (best !== undefined && area >= best.area) return;
    const [ma, mb] = [(a0 + a1) / 2, (b0 + b1) / 2];
    const isLong = a1 - a0 >= b1 - b0;
    best = {
      area,
      xMm: ma * cos - mb * sin,
      yMm: ma * sin + mb * cos,
      angleRad: isLong ? angle : angle + Math.PI / 2,
      lengthMm: Math.max(a1 - a0, b1 - b0),
      widthMm: Math.min(a1 - a0, b1 - b0),
    };
  });
  return best!;
}

const sideSamples = 60;

/**
 * Moves the sides of a rough rectangle onto the edges of the plate, by half height on lines across them. The middle
 * seven tenths of each side count; holes and cut-outs in it are outvoted.
 *
 * @param lookMm how far the rough sides may be off.
 * @returns the sides with the number of lines that showed an edge, least of four.
 */
export function refineRectangle(
  sampler: FaceSampler,
  signal: PlateSignal,
  rough: Rectangle,
  lookMm: number,
  stepMm: number,
): Rectangle & { readonly leastShare: number } {
  const [cos, sin] = [Math.cos(rough.angleRad), Math.sin(rough.angleRad)];
  const side = (ux: number, uy: number, half: number, reach: number): { at: number; share: number } => {
    const found: number[] = [];
    for (let k = 0; k < sideSamples; k++) {
      const s = (k / (sideSamples - 1) - 0.5) * 0.7 * 2 * reach;
      const onSide: Point = [rough.xMm - uy * s, rough.yMm + ux * s];
      const edge = edgeAcross(sampler, signal, onSide, [ux, uy], half + lookMm, half - lookMm, stepMm);
      if (edge !== undefined) found.push(edge);
    }
    if (found.length === 0) return { at: half, share: 0 };
    found.sort((a, b) => a - b);
    return { at: found[found.length >> 1]!, share: found.length / sideSamples };
  };
  const [l, w] = [rough.lengthMm / 2, rough.widthMm / 2];
  const [right, left] = [side(cos, sin, l, w), side(-cos, -sin, l, w)];
  const [top, bottom] = [side(-sin, cos, w, l), side(sin, -cos, w, l)];
  const dl = (right.at - left.at) / 2;
  const dw = (top.at - bottom.at) / 2;
  return {
    xMm: rough.xMm + dl * cos - dw * sin,
    yMm: rough.yMm + dl * sin + dw * cos,
    angleRad: rough.angleRad,
    lengthMm: right.at + left.at,
    widthMm: top.at + bottom.at,
    leastShare: Math.min(right.share, left.share, top.share, bottom.share),
  };
}

import { normalBelow } from "./rim-signals.js";

/** Share of the pitch that is metal at a radius, unblurred. */
export type Share = (radiusMm: number) => number;

export const rectangular =
  (rootMm: number, tipMm: number, flank: number): Share =>
  (r) =>
    r < rootMm ? 1 : r < tipMm ? flank : 0;

/** Rectangular, its outer corners rounded by a quarter of a circle. */
export const rounded =
  (rootMm: number, tipMm: number, flank: number, cornerMm: number, toothCount: number): Share =>
  (r) => {
    if (r < rootMm) return 1;
    if (r >= tipMm) return 0;
    const up = Math.max(0, r - (tipMm - cornerMm)) / cornerMm;
    const lost = cornerMm * (1 - Math.sqrt(1 - up * up));
    return flank - (2 * lost * toothCount) / (2 * Math.PI * r);
  };

/** Of a tooth of the scenes: twice the half angle of its flank at this radius, over the pitch. */
export function shareOfProfile(points: Float64Array, toothCount: number): Share {
  const pitch = (2 * Math.PI) / toothCount;
  const half: [number, number][] = [];
  for (let i = 0; i < points.length / 2; i += 2) half.push([points[i]!, points[i + 1]!]);
  return (r) => {
    if (r <= half[0]![1]) return 1;
    for (let i = 1; i < half.length; i++) {
      const [a0, r0] = half[i - 1]!;
      const [a1, r1] = half[i]!;
      if (r1 >= r && r1 > r0) return (2 * Math.abs(a0 + ((r - r0) / (r1 - r0)) * (a1 - a0))) / pitch;
    }
    return 0;
  };
}

/** Of any tooth of the scenes: of the pitch, what lies inside the outline at this radius; the outline may overhang. */
export function shareOfOutline(points: Float64Array, toothCount: number): Share {
  const pitch = (2 * Math.PI) / toothCount;
  const corners = Array.from(
    { length: points.length / 2 },
    (_, i) => [points[2 * i]!, points[2 * i + 1]!] as const,
  );
  corners.push([corners[0]![0] + pitch, corners[0]![1]]);
  const root = Math.min(...corners.map(([, r]) => r));
  return (r) => {
    if (r <= root) return 1;
    let inside = 0;
    for (let i = 1; i < corners.length; i++) {
      const [a0, r0] = corners[i - 1]!;
      const [a1, r1] = corners[i]!;
      if (r0 < r && r1 < r) continue;
      const crossing = a0 + ((r - r0) / (r1 - r0)) * (a1 - a0);
      inside += (r1 < r ? crossing : a1) - (r0 < r ? crossing : a0);
    }
    return inside / pitch;
  };
}

/** Mean of `at` about a radius, weighted by a Gaussian: midpoint sums 40 to the sigma. */
export function meanAlongRadius(at: Share, radiusMm: number, sigmaMm: number): number {
  let sum = 0;
  let weight = 0;
  for (let d = -5 * sigmaMm; d <= 5 * sigmaMm; d += sigmaMm / 40) {
    const w = Math.exp(-0.5 * (d / sigmaMm) ** 2);
    sum += w * at(radiusMm + d);
    weight += w;
  }
  return sum / weight;
}

/**
 * What a picture blurred both ways shows at a radius, `besideMm` from the middle of a tooth: along the arc the blur of
 * this tooth and its neighbours in closed form, along the radius by sums.
 */
export const heightBeside = (
  share: Share,
  radiusMm: number,
  besideMm: number,
  pitchMm: number,
  sigmaMm: number,
): number =>
  meanAlongRadius(
    (r) => {
      const half = 0.5 * pitchMm * share(r);
      let height = 0;
      for (let tooth = -3; tooth <= 3; tooth++) {
        const d = besideMm + tooth * pitchMm;
        height += normalBelow((half - d) / sigmaMm) - normalBelow((-half - d) / sigmaMm);
      }
      return height;
    },
    radiusMm,
    sigmaMm,
  );

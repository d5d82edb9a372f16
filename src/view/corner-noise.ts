import { medianOf } from "../fit/index.js";
import { sumOfSquares, type MarkerObservation, type Noise } from "./corner-system.js";

/** Edge lines are straight to a few hundredths of a pixel at best: rasters, sharpening and compression see to that. */
export const uFloorPx = 0.03;
/** Belief about the scatter of whole markers (print, creases) before the residuals are seen, px; worth 4 residuals. */
export const markerScatterPx = 0.08;
const markerScatterWeight = 4;

/** Before the residuals are seen. */
export const plainNoise = ({ uPx }: MarkerObservation): number => Math.hypot(uPx, uFloorPx);

/** Root mean square residual of each marker, and the median of these, px. */
export function sizesOf(seen: readonly Float64Array[]): { size: Float64Array; typical: number } {
  const size = Float64Array.from(seen, (r) => Math.sqrt(sumOfSquares(r) / 8));
  return { size, typical: medianOf(size) };
}

/** Splits the residuals into what corners do on their own and what whole markers do. */
export function noiseFrom(seen: readonly Float64Array[], markers: readonly MarkerObservation[]): Noise {
  const count = seen.length;
  let own = 0;
  let shared = 0;
  seen.forEach((r, m) => {
    const u = Math.hypot(markers[m]!.uPx, uFloorPx);
    for (let k = 0; k < 2; k++) {
      const mean = (r[4 * k]! + r[4 * k + 1]! + r[4 * k + 2]! + r[4 * k + 3]!) / 4;
      for (let c = 0; c < 4; c++) own += ((r[4 * k + c]! - mean) / u) ** 2;
      shared += mean * mean;
    }
  });
  // Of 8 residuals a marker has 6 contrasts and 2 means; pose and camera take about 12 of the means, and the
  // contrasts give the bloom.
  const factor = Math.sqrt(Math.max(0.25, own / Math.max(4, 6 * count - 2)));
  const corner = markers.map((m) => factor * Math.hypot(m.uPx, uFloorPx));
  const meanVariance = corner.reduce((sum, u) => sum + u * u, 0) / count;
  const free = Math.max(0, 2 * count - 12);
  const fromResiduals = Math.max(0, shared - (free * meanVariance) / 4);
  const marker = Math.sqrt(
    (markerScatterWeight * markerScatterPx ** 2 + (free > 0 ? fromResiduals : 0)) /
      (markerScatterWeight + free),
  );
  return { corner, marker };
}

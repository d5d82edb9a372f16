import type { CentreTerm, WheelMarks } from "../../parts/index.js";
import type { WheelPhoto } from "../set-photo.js";

/** A lens that focuses changes its focal length by so much, as a share. Common practice, no source. */
const breathing = 0.004;
/** Focal lengths that differ by more standard uncertainties than this belong to another camera, or another zoom. */
const mostApart = 4;

/**
 * Photographs of one set are taken by one camera, so its focal length is the same in all of them. Each photograph
 * alone knows it poorly when the camera looks straight down; together they know it better. Every photograph is moved
 * along its own input to the common focal length.
 *
 * @returns the same photographs, unchanged if they are of different cameras.
 */
export function asOneCamera(photos: readonly WheelPhoto[]): WheelPhoto[] {
  const lenses = photos.map(({ marks }) => marks.lens);
  const uLog = lenses.map((l) => Math.hypot(l.uFocalPx / l.focalPx, breathing));
  const weights = uLog.map((u) => u ** -2);
  const total = weights.reduce((a, b) => a + b, 0);
  const common = lenses.reduce((s, l, k) => s + weights[k]! * Math.log(l.focalPx / l.longSidePx), 0) / total;
  const off = lenses.map((l) => common - Math.log(l.focalPx / l.longSidePx));
  if (photos.length < 2 || off.some((d, k) => Math.abs(d) > mostApart * uLog[k]!)) return [...photos];
  const uCommon = 1 / Math.sqrt(total);
  return photos.map((photo, k) => ({ ...photo, marks: moved(photo.marks, off[k]!, uCommon, String(k)) }));
}

function moved(marks: WheelMarks, off: number, uCommon: number, owner: string): WheelMarks {
  const { lens, centreTerms, centreMm, cameraMm } = marks;
  const input = centreTerms.find(({ id }) => id === lens.focalInput);
  const step = lens.uFocalPx / lens.focalPx;
  if (input === undefined || step === 0) return marks;
  const steps = off / step;
  const scaled = (id: CentreTerm["id"], by: number): CentreTerm => ({
    id,
    dxMm: by * input.dxMm,
    dyMm: by * input.dyMm,
    cameraMm: [by * input.cameraMm[0], by * input.cameraMm[1], by * input.cameraMm[2]],
  });
  const to = scaled(input.id, steps);
  return {
    ...marks,
    centreMm: [centreMm[0] + to.dxMm, centreMm[1] + to.dyMm],
    cameraMm: [cameraMm[0] + to.cameraMm[0], cameraMm[1] + to.cameraMm[1], cameraMm[2] + to.cameraMm[2]],
    centreTerms: [
      ...centreTerms.filter((t) => t !== input),
      scaled("pose:focal-length", uCommon / step),
      scaled(`pose:focus-${owner}`, breathing / Math.abs(step)),
    ],
  };
}

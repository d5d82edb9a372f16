import type { Part, Point, ToothPlace } from "../../src/parts/index.js";
import type { Photo } from "../../src/photo/index.js";
import { quantity } from "../../src/quantity/index.js";
import type { View } from "../../src/view/index.js";

/** Invented data: a wheel that never existed, in the shape that the rooms hand over. */

const pxPerMm = 12;

export interface InventedWheel {
  readonly id: string;
  readonly count: number;
  readonly moduleMm: number;
  readonly centrePx: Point;
  readonly missing?: readonly number[];
  readonly bent?: readonly number[];
  readonly eccentricityMm?: number;
  readonly eccentricityAngleRad?: number;
  readonly label?: string;
  readonly crossings?: number;
}

/** Flat view, 12 px/mm, photograph 4032 x 3024, mat origin in its middle. */
export const inventedView: View = {
  source: "mat",
  geometry: {
    camera: { fxPx: 4800, fyPx: 4800, cxPx: 2015.5, cyPx: 1511.5, k1: -0.01, k2: 0.002 },
    cameraFromMat: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translationMm: [0, 0, 400] },
  },
  inputs: [],
  edge: { blurSigmaPx: 0.9, shiftPx: 0.1, uShiftPx: 0.05 },
  mat: {
    paper: "a4",
    revision: 1,
    markers: Array.from({ length: 24 }, (_, id) => ({ id, cornersPx: [] })),
    reprojectionRmsPx: 0.13,
    printScaleAcross: quantity(0.998, "1", [["scale:mat-across", 0.0003]]),
    printScaleAlong: quantity(1.001, "1", [["scale:mat-along", 0.0003]]),
    printScaleMeasured: true,
  },
  tags: [{ label: "T2", centrePx: [1000, 1000], cornersPx: [] }],
  problems: [],
};

export const inventedPhoto = (file = "invented-1.jpg"): Photo => ({
  file,
  byteCount: 4_123_456,
  sha256: "0123456789abcdef".repeat(4),
  format: "jpeg",
  widthPx: 4032,
  heightPx: 3024,
  rgb: new Uint8Array(0),
  colourHalved: false,
  cameraData: { make: "Invented", model: "Phone", focalLengthMm: 5.1, capturedAt: "2025-03-01T10:15:00" },
});

const circle = ([cx, cy]: Point, radiusPx: number, n = 180): Point[] =>
  Array.from({ length: n }, (_, i) => {
    const a = (2 * Math.PI * i) / n;
    return [cx + radiusPx * Math.cos(a), cy - radiusPx * Math.sin(a)];
  });

/** Lengths share the scale terms; each has its own edge and fit terms. */
const length = (valueMm: number, id: string, uFit = 0.004) =>
  quantity(valueMm, "mm", [
    ["scale:mat-across", valueMm * 0.0002],
    ["scale:mat-along", valueMm * 0.00018],
    ["height:face", valueMm * 0.0003],
    ["pose:1", valueMm * 0.00005],
    ["pose:2", -valueMm * 0.00004],
    [`edge:${id}`, 0.003],
    [`fit:${id}`, uFit],
  ]);

/** Rule of thumb for the addendum, 1.38 m (trade article; see the check values of the project). */
export function inventedPart(wheel: InventedWheel): Part {
  const { id, count, moduleMm: m, centrePx, eccentricityMm = 0.02, eccentricityAngleRad = 0.6 } = wheel;
  const pitchMm = m * count;
  const tipMm = m * (count + 2.76);
  const rootMm = m * (count - Math.PI);
  const missing = new Set(wheel.missing ?? []);
  const bent = new Set(wheel.bent ?? []);
  const angleOf = (number: number): number => (2 * Math.PI * (number - 1)) / count + 0.01;
  const places = Array.from({ length: count }, (_, i): ToothPlace => {
    const number = i + 1;
    const angleRad = angleOf(number);
    const state = missing.has(number) ? "missing" : bent.has(number) ? "bent" : "whole";
    const r = (tipMm / 2) * pxPerMm;
    const tipPx: Point = [centrePx[0] + r * Math.cos(angleRad), centrePx[1] - r * Math.sin(angleRad)];
    if (state === "missing") return { number, angleRad, state, tipPx };
    return {
      number,
      angleRad,
      state,
      tipPx,
      indexDeviationMm: eccentricityMm * Math.sin(angleRad - eccentricityAngleRad),
      tipDeviationMm: eccentricityMm * Math.cos(angleRad - eccentricityAngleRad),
    };
  });
  const samples = count * 40;
  const radiusMm = new Float64Array(samples);
  for (let i = 0; i < samples; i++) {
    const a = (2 * Math.PI * i) / samples;
    const phase = (((a - 0.01) * count) / (2 * Math.PI) + count) % 1;
    const number = (Math.round(((a - 0.01) * count) / (2 * Math.PI) + count) % count) + 1;
    const up = !missing.has(number) && Math.min(phase, 1 - phase) < 0.25;
    const tooth = up ? Math.sqrt(1 - (Math.min(phase, 1 - phase) / 0.25) ** 2) : 0;
    radiusMm[i] =
      rootMm / 2 + ((tipMm - rootMm) / 2) * tooth + eccentricityMm * Math.cos(a - eccentricityAngleRad);
  }
  const seen = new Uint8Array(samples).fill(1);
  seen.fill(0, 10, 30);
  return {
    id,
    kind: "wheel",
    ...(wheel.label === undefined ? {} : { label: wheel.label }),
    centrePx,
    centreMm: [(centrePx[0] - 2015.5) / pxPerMm, (1511.5 - centrePx[1]) / pxPerMm],
    faceHeightMm: quantity(1.5, "mm", [["height:face", 0.1]]),
    teeth: {
      count,
      probability: 0.998,
      alternatives: [{ count: count + 1, probability: 0.001 }],
      places,
      missing: [...missing].map((n) => ({ angleRad: angleOf(n) })),
      bent: [...bent].map((n) => ({ angleRad: angleOf(n), offsetMm: 0.31 })),
    },
    tipDiameterMm: length(tipMm, `${id}-tip`),
    rootDiameterMm: length(rootMm, `${id}-root`),
    toothDepthMm: length((tipMm - rootMm) / 2, `${id}-depth`),
    pitchDiameterMm: length(pitchMm, `${id}-pitch`),
    moduleMm: quantity(m, "mm", [
      ["scale:mat-across", m * 0.0002],
      [`fit:${id}-module`, m * 0.0015],
    ]),
    diametralPitch: quantity(25.4 / m, "1", [[`fit:${id}-module`, (-25.4 / m) * 0.0015]]),
    addendumAssumption: "addendum 1.38 m (rule of thumb)",
    crossings: { count: wheel.crossings ?? 4 },
    boreDiameterMm: length(4.2, `${id}-bore`, 0.01),
    eccentricityMm: quantity(eccentricityMm, "mm", [[`edge:${id}-ecc`, 0.012]]),
    eccentricityAngleRad: quantity(eccentricityAngleRad, "rad", [[`edge:${id}-ecc`, 0.2]]),
    eccentricityEstimates: {
      datum: "bore",
      radialMm: [
        eccentricityMm * Math.cos(eccentricityAngleRad),
        eccentricityMm * Math.sin(eccentricityAngleRad),
      ],
      tangentialMm: [
        eccentricityMm * Math.cos(eccentricityAngleRad) + 0.004,
        eccentricityMm * Math.sin(eccentricityAngleRad) - 0.003,
      ],
      uMm: 0.012,
      agree: true,
    },
    radialRunoutMm: quantity(2 * eccentricityMm + 0.012, "mm", [[`edge:${id}-run`, 0.015]]),
    roundnessMm: quantity(0.031, "mm", [[`edge:${id}-round`, 0.008]]),
    roundnessMinimumZoneMm: quantity(0.028, "mm", [[`edge:${id}-round`, 0.008]]),
    ovalityMm: quantity(0.018, "mm", [[`edge:${id}-oval`, 0.009]]),
    ovalityAngleRad: quantity(-0.3, "rad", [[`edge:${id}-oval`, 0.4]]),
    threeLobeMm: quantity(0.006, "mm", [[`edge:${id}-lobe`, 0.007]]),
    tiltRad: quantity(0.004, "rad", [["pose:1", 0.006]]),
    findings:
      missing.size > 0
        ? [{ code: "teeth-missing", severity: "fault", text: `${missing.size} teeth are missing.` }]
        : [],
    problems: [],
    outlinePx: {
      tipCircle: circle(centrePx, (tipMm / 2) * pxPerMm),
      rootCircle: circle(centrePx, (rootMm / 2) * pxPerMm),
      pitchCircle: circle(centrePx, (pitchMm / 2) * pxPerMm),
      bore: circle(centrePx, 2.1 * pxPerMm),
      scaleBar: {
        from: [centrePx[0] - 10 * pxPerMm, centrePx[1] + (tipMm / 2 + 4) * pxPerMm],
        to: [centrePx[0] + 10 * pxPerMm, centrePx[1] + (tipMm / 2 + 4) * pxPerMm],
        lengthMm: 20,
      },
    },
    rim: { startAngleRad: 0, stepRad: (2 * Math.PI) / samples, radiusMm, seen },
  };
}

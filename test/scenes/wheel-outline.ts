import { toothProfile } from "./tooth-profile.js";
import type { ToothForm } from "./tooth-profile.js";

export interface WheelOutlineOptions {
  readonly toothCount: number;
  /** Cycloidal, involute-like and pinion forms: module. Escape and ratchet forms: tip diameter / tooth count. */
  readonly moduleMm: number;
  readonly form: ToothForm;
  /** Leaves of the pinion that a cycloidal wheel is cut for; default 8. */
  readonly leaves?: number;
  /** Teeth gone down to the root, by index (tooth 0 sits at `phaseRad`). */
  readonly missing?: readonly number[];
  /** Stumps: `fraction` of the tooth depth that is left. */
  readonly broken?: readonly { readonly index: number; readonly fraction: number }[];
  /** Tangential shift of the tip, mm, positive counter-clockwise; dies away towards the root. */
  readonly bent?: readonly { readonly index: number; readonly offsetMm: number }[];
  /** Metal worn off the counter-clockwise flank near the pitch circle, mm; the tip loses half of it. */
  readonly wornMm?: number;
  /** Largest minus smallest diameter of the second harmonic, mm. */
  readonly ovalMm?: number;
  readonly ovalAngleRad?: number;
  /** Peak to valley of the third harmonic, mm. */
  readonly threeLobeMm?: number;
  readonly threeLobeAngleRad?: number;
  /** Cutting errors, one per tooth: along the pitch circle and in tip radius, mm. */
  readonly indexErrorMm?: readonly number[];
  readonly tipErrorMm?: readonly number[];
  /** Angle of tooth 0, counter-clockwise from x. */
  readonly phaseRad?: number;
  /** Escape and ratchet wheels: +1 if the steep faces look counter-clockwise; default 1. */
  readonly rake?: 1 | -1;
  /** Escape and ratchet wheels: depth of the teeth, mm. */
  readonly depthMm?: number;
}

export interface ToothOfOutline {
  readonly index: number;
  /** Where the tooth was meant to stand plus its index error; counter-clockwise from x. */
  readonly angleRad: number;
  readonly state: "whole" | "missing" | "broken" | "bent";
}

export interface WheelOutline {
  /** Closed, counter-clockwise, x0, y0, x1, y1 ...; origin at the centre of the tooth circle. */
  readonly xyMm: Float64Array;
  readonly teeth: readonly ToothOfOutline[];
  /** Of the tip circle: mean over whole teeth, form deviations (oval, lobes) left out. */
  readonly tipDiameterMm: number;
  readonly rootDiameterMm: number;
  /** Absent for escape and ratchet wheels, which have none. */
  readonly pitchDiameterMm?: number;
}

/**
 * Outline of a toothed wheel or pinion, all edges true to well under a micrometre.
 *
 * @throws RangeError for fewer than 3 teeth or a module that is not positive.
 */
export function wheelOutline(options: WheelOutlineOptions): WheelOutline {
  const { toothCount, moduleMm } = options;
  if (toothCount < 3 || !(moduleMm > 0))
    throw new RangeError("expected 3 or more teeth and a module above 0");
  const profile = toothProfile(options.form, toothCount, moduleMm, {
    ...(options.leaves === undefined ? {} : { leaves: options.leaves }),
    ...(options.depthMm === undefined ? {} : { depthMm: options.depthMm }),
    rake: options.rake ?? 1,
  });
  const { rootRadiusMm, tipRadiusMm, referenceRadiusMm } = profile;
  const depth = tipRadiusMm - rootRadiusMm;
  const missing = new Set(options.missing ?? []);
  const broken = new Map((options.broken ?? []).map((b) => [b.index, b.fraction]));
  const bent = new Map((options.bent ?? []).map((b) => [b.index, b.offsetMm]));
  const worn = options.wornMm ?? 0;
  const phase = options.phaseRad ?? 0;
  const pitchRad = (2 * Math.PI) / toothCount;
  const out: number[] = [];
  const teeth: ToothOfOutline[] = [];
  let tipSum = 0;
  let wholeCount = 0;

  for (let i = 0; i < toothCount; i++) {
    const nominal = phase + i * pitchRad;
    const shiftRad = (options.indexErrorMm?.[i] ?? 0) / referenceRadiusMm;
    const tipError = (options.tipErrorMm?.[i] ?? 0) - worn / 2;
    const state = missing.has(i) ? "missing" : broken.has(i) ? "broken" : bent.has(i) ? "bent" : "whole";
    teeth.push({ index: i, angleRad: nominal + shiftRad, state });
    if (state === "whole") {
      tipSum += tipRadiusMm + tipError;
      wholeCount++;
    }
    const stumpRadius = rootRadiusMm + depth * (broken.get(i) ?? 1);
    for (let k = 0; k < profile.points.length; k += 2) {
      let angle = profile.points[k]!;
      let r = profile.points[k + 1]!;
      const height = (r - rootRadiusMm) / depth;
      if (state === "missing") {
        // A file mark: a little metal stays behind.
        r = Math.min(r, rootRadiusMm + 0.05 * depth * (0.5 + 0.5 * Math.cos(17 * angle * toothCount + i)));
      } else {
        // Errors fade out towards the root, so that neighbouring spaces still join.
        angle += shiftRad * Math.min(1, 3 * height);
        r += tipError * height;
        if (worn > 0 && angle > 0) {
          const nearPitch = (r - referenceRadiusMm) / (0.6 * depth);
          angle -= (worn / r) * Math.exp(-nearPitch * nearPitch) * Math.min(1, 4 * height);
        }
        angle += ((bent.get(i) ?? 0) / r) * Math.max(0, height) ** 1.3;
        if (state === "broken" && r > stumpRadius) {
          r = stumpRadius + 0.06 * depth * Math.sin(23 * angle * toothCount + 3 * i);
        }
      }
      const theta = nominal + angle;
      r += ((options.ovalMm ?? 0) / 4) * Math.cos(2 * (theta - (options.ovalAngleRad ?? 0)));
      r += ((options.threeLobeMm ?? 0) / 2) * Math.cos(3 * (theta - (options.threeLobeAngleRad ?? 0)));
      out.push(r * Math.cos(theta), r * Math.sin(theta));
    }
  }
  return {
    xyMm: Float64Array.from(out),
    teeth,
    tipDiameterMm: 2 * (wholeCount > 0 ? tipSum / wholeCount : tipRadiusMm),
    rootDiameterMm: 2 * rootRadiusMm,
    ...(profile.pitchRadiusMm === undefined ? {} : { pitchDiameterMm: 2 * profile.pitchRadiusMm }),
  };
}

import type { Part } from "../../src/parts/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import type { Quantity } from "../../src/quantity/index.js";
import type { ErrorOfOne } from "./error-statistics.js";
import type { KnownPhoto, KnownWheel } from "./known-photo.js";

/** What is compared, and in which unit; the order is that of the table. */
export const sizes = {
  tip: "mm",
  root: "mm",
  module: "%",
  bore: "mm",
  eccentricity: "mm",
  ovality: "mm",
  lean: "°",
  centre: "mm",
} as const;
export type SizeName = keyof typeof sizes;

export interface SizeError extends ErrorOfOne {
  readonly size: SizeName;
}

/** A count below this probability is not claimed. */
export const sureProbability = 0.95;

export type CountVerdict = "right" | "not sure, but right" | "not sure" | "confidently wrong" | "missed";

export function countVerdict(trueCount: number, teeth: Part["teeth"]): CountVerdict {
  const isRight = teeth?.count === trueCount;
  if ((teeth?.probability ?? 0) < sureProbability) return isRight ? "not sure, but right" : "not sure";
  return isRight ? "right" : "confidently wrong";
}

/** Beyond this a single photograph sees the flank of the rim as well (bar: "near the foot point"). */
const nearFootMm = 50;

/**
 * Errors of everything that was measured of a wheel and is known of it. Sizes count whether or not the tooth
 * count is right; the module of a wrong count is left out, it is that mistake once more.
 */
export function sizeErrors(
  photo: KnownPhoto,
  wheel: KnownWheel,
  part: Part,
  heightKnown: boolean,
): SizeError[] {
  const errors: SizeError[] = [];
  const compare = (
    size: SizeName,
    measured: Quantity<"mm" | "rad"> | undefined,
    known: number | undefined,
    allowed?: number,
    factor = 1,
  ): void => {
    if (!measured || known === undefined) return;
    errors.push({
      size,
      error: factor * (measured.value - known),
      u: factor * standardUncertainty(measured),
      ...(allowed === undefined ? {} : { allowed }),
    });
  };
  const { onMat } = photo;
  const fine = onMat && wheel.pxPerMm >= 10 && heightKnown;
  compare(
    "tip",
    part.tipDiameterMm,
    wheel.tipDiameterMm,
    fine ? 0.03 + 0.001 * wheel.tipDiameterMm : undefined,
  );
  compare("root", part.rootDiameterMm, wheel.rootDiameterMm);
  if (part.teeth?.count === wheel.toothCount && wheel.moduleMm !== undefined)
    compare("module", part.moduleMm, wheel.moduleMm, onMat ? 0.5 : undefined, 100 / wheel.moduleMm);
  compare("bore", part.boreDiameterMm, wheel.boreDiameterMm);
  const near = onMat && wheel.fromFootMm <= nearFootMm;
  compare("eccentricity", part.eccentricityMm, wheel.eccentricityMm, near ? 0.03 : undefined);
  compare("ovality", part.ovalityMm, wheel.ovalityMm);
  // A lean that is stated of a flat wheel is an error like any other.
  compare("lean", part.tiltRad, wheel.leanRad, undefined, 180 / Math.PI);
  // Without a mat there is no common origin.
  if (onMat && part.centreMm)
    for (const i of [0, 1] as const)
      errors.push({ size: "centre", error: part.centreMm[i] - wheel.centreMm[i] });
  return errors;
}

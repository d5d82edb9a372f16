import type { Mesh } from "./gearing.js";
import type { Gear } from "./movement.js";

/**
 * How usual a count is, as a logarithm (0 the most usual), and what is unusual about it. Common practice, no
 * source: makers took few pinion leaves, and wheels that a dividing plate had.
 */
export interface Plausibility {
  readonly logWeight: number;
  readonly remarks: readonly string[];
}

const usualLeaves: ReadonlyMap<number, number> = new Map([
  [6, 0],
  [7, -0.3],
  [8, 0],
  [9, -1.2],
  [10, -0.2],
  [11, -2],
  [12, -0.3],
  [13, -3],
  [14, -1.5],
  [15, -2],
  [16, -1],
]);

export function gearPlausibility(gear: Gear, count: number): Plausibility {
  if (
    gear.kind === "pinion" &&
    !gear.position.startsWith("motion work") &&
    !gear.position.endsWith(".driver")
  ) {
    const logWeight = usualLeaves.get(count) ?? -3;
    return { logWeight, remarks: logWeight <= -1.2 ? [`${count} leaves are unusual`] : [] };
  }
  const largest = largestPrimeFactor(count);
  if (largest > 31)
    return {
      logWeight: -3,
      remarks: [`${count} is ${largest === count ? "a prime" : `${count / largest} x ${largest}`}: unusual`],
    };
  if (largest > 13) return { logWeight: -1.5, remarks: [] };
  return { logWeight: count % 2 === 0 ? 0 : -0.6, remarks: [] };
}

/** Wheels step up by about 5 to 10 in a clock train; below 3 or above 12 a pair is suspicious. */
export function meshPlausibility(
  { driver, driven, train }: Mesh,
  driverCount: number,
  drivenCount: number,
): Plausibility {
  if (driver.kind !== "wheel" || driven.kind !== "pinion" || train === "motion work")
    return { logWeight: 0, remarks: [] };
  const ratio = driverCount / drivenCount;
  if (ratio < 3 || ratio > 12.5)
    return {
      logWeight: -3,
      remarks: [`${driverCount} into ${drivenCount} is an unusual step (${Number(ratio.toFixed(2))})`],
    };
  return { logWeight: ratio >= 5 && ratio <= 10.5 ? 0 : -0.7, remarks: [] };
}

function largestPrimeFactor(count: number): number {
  let rest = count;
  let largest = 1;
  for (let factor = 2; factor * factor <= rest; factor++) {
    while (rest % factor === 0) {
      largest = factor;
      rest /= factor;
    }
  }
  return Math.max(largest, rest);
}

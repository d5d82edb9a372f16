import type { Measured } from "./movement.js";

/**
 * The simple pendulum: length from the suspension to the centre of oscillation. A beat is half a period.
 */

/**
 * Length that gives these beats, L = g t^2 / pi^2 for small swings; with a semi-arc the exact period
 * 2 pi sqrt(L/g) / agm(1, cos(arc/2)) is used (closed form by the arithmetic-geometric mean, Gauss).
 *
 * @param semiArcRad swing to one side of the middle, rad; 0 for the limit of small swings.
 * @returns mm.
 * @throws RangeError if beats or gravity are not positive.
 */
export function pendulumLengthMm(beatsPerHour: number, gravityMps2: number, semiArcRad = 0): number {
  if (!(beatsPerHour > 0 && gravityMps2 > 0)) throw new RangeError("beats and gravity must be positive");
  const secondsPerBeat = 3600 / beatsPerHour;
  const slowing = arithmeticGeometricMean(1, Math.cos(semiArcRad / 2));
  return 1000 * gravityMps2 * ((secondsPerBeat * slowing) / Math.PI) ** 2;
}

/** The other way about: beats per hour of a pendulum of this length. */
export function beatsOfPendulum(lengthMm: number, gravityMps2: number, semiArcRad = 0): number {
  if (!(lengthMm > 0 && gravityMps2 > 0)) throw new RangeError("length and gravity must be positive");
  const slowing = arithmeticGeometricMean(1, Math.cos(semiArcRad / 2));
  return ((3600 * slowing) / Math.PI) * Math.sqrt((1000 * gravityMps2) / lengthMm);
}

/** A pendulum's length as people measure it is to the bob, not to the centre of oscillation: about this share off. */
const usualLengthShare = 0.015;

/** A length as the file gives it, or with the doubt of one that was taken with a rule. */
export const pendulumAsMeasured = ({ value, u }: Measured): Measured => ({
  value,
  u: u ?? usualLengthShare * value,
});

/** Circular error: how much a pendulum loses in a day by swinging this far instead of hardly at all, s. */
export function circularErrorSecondsPerDay(semiArcRad: number): number {
  const rate = arithmeticGeometricMean(1, Math.cos(semiArcRad / 2));
  return 86400 * (1 / rate - 1);
}

function arithmeticGeometricMean(a: number, b: number): number {
  // Converges quadratically; 8 rounds are beyond double precision for any angle below half a turn.
  for (let i = 0; i < 8; i++) [a, b] = [(a + b) / 2, Math.sqrt(a * b)];
  return a;
}

import type { Measured, Place } from "./movement.js";

/** Standard acceleration of free fall, 3rd CGPM 1901. */
export const standardGravityMps2 = 9.80665;

/**
 * Geodetic Reference System 1980: H. Moritz, Geodetic Reference System 1980, Journal of Geodesy 74 (2000)
 * 128-133, doi 10.1007/s001900050278.
 */
const grs80 = {
  equatorMps2: 9.7803267715,
  k: 0.001931851353,
  eccentricitySquared: 0.0066943800229,
  semiMajorAxisM: 6378137,
  flattening: 1 / 298.257222101,
  m: 0.00344978600308,
};

/**
 * Normal gravity of GRS 80: Somigliana's closed formula on the ellipsoid, and the second-order height term
 * g (1 - 2/a (1 + f + m - 2 f sin^2) h + 3 h^2/a^2) (W. A. Heiskanen and H. Moritz, Physical Geodesy, 1967,
 * 2-123). The true value at a place differs from it by local anomalies, mostly under 0.001 m/s² (a hundredth of
 * a per cent: from memory), which is 0.1 mm of a seconds pendulum.
 *
 * @param latitudeRad geographic latitude, south negative; in -pi/2 .. pi/2.
 * @param heightM above the sea, m.
 * @returns m/s².
 * @throws RangeError if the latitude is out of range.
 */
export function normalGravityMps2(latitudeRad: number, heightM = 0): number {
  if (!(Math.abs(latitudeRad) <= Math.PI / 2 + 1e-12))
    throw new RangeError(
      `a latitude lies between -90 and 90 degrees, received ${(latitudeRad * 180) / Math.PI}`,
    );
  const { equatorMps2, k, eccentricitySquared, semiMajorAxisM, flattening, m } = grs80;
  const sinSquared = Math.sin(latitudeRad) ** 2;
  const onEllipsoid = (equatorMps2 * (1 + k * sinSquared)) / Math.sqrt(1 - eccentricitySquared * sinSquared);
  const height = heightM / semiMajorAxisM;
  return (
    onEllipsoid * (1 - 2 * (1 + flattening + m - 2 * flattening * sinSquared) * height + 3 * height * height)
  );
}

export interface GravityUsed {
  readonly valueMps2: number;
  /** Standard uncertainty, m/s²; absent for a given value without one. */
  readonly uMps2?: number;
  readonly from: "standard" | "place" | "given";
}

/** Local anomalies, mostly under 0.001 m/s² (from memory), taken as two standard uncertainties. */
const anomalyU = 0.0005;

/** Anywhere from the equator (9.780) to a pole (9.832; both GRS 80), evenly likely: half width over root 3. */
const anywhereU = 0.026 / Math.sqrt(3);

export function gravityAt(place: Place | undefined): GravityUsed {
  if (place?.gravityMps2 !== undefined) {
    const { value, u } = place.gravityMps2;
    return { valueMps2: value, ...(u !== undefined && { uMps2: u }), from: "given" };
  }
  if (place?.latitudeRad !== undefined)
    return {
      valueMps2: normalGravityMps2(place.latitudeRad, place.heightM ?? 0),
      uMps2: anomalyU,
      from: "place",
    };
  return { valueMps2: standardGravityMps2, uMps2: anywhereU, from: "standard" };
}

/** Gravity as an input of a measured figure. */
export const gravityInput = ({ valueMps2, uMps2 }: GravityUsed): Measured => ({
  value: valueMps2,
  ...(uMps2 !== undefined && { u: uMps2 }),
});

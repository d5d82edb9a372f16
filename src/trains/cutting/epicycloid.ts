/**
 * The curve that a point of a circle draws as it rolls round the outside of another. Starts at angle 0 on the base
 * circle; lengths in any one unit.
 */
export interface Epicycloid {
  readonly baseRadius: number;
  readonly rollingRadius: number;
}

/** A point of the curve, and where the two circles touch at that moment: the normal runs through both. */
export interface RolledPoint {
  readonly angleRad: number;
  readonly radius: number;
  readonly touchAngleRad: number;
}

/** @param rollRad how far the point of contact has gone round the base circle. */
export function pointOfEpicycloid({ baseRadius, rollingRadius }: Epicycloid, rollRad: number): RolledPoint {
  const centre = baseRadius + rollingRadius;
  const own = (centre / rollingRadius) * rollRad;
  const x = centre * Math.cos(rollRad) - rollingRadius * Math.cos(own);
  const y = centre * Math.sin(rollRad) - rollingRadius * Math.sin(own);
  return { angleRad: Math.atan2(y, x), radius: Math.hypot(x, y), touchAngleRad: rollRad };
}

/** How far to roll until the curve's point stands at an angle, which must lie on its rising half. */
export function rollToAngle(curve: Epicycloid, angleRad: number): number {
  const top = (Math.PI * curve.rollingRadius) / curve.baseRadius;
  return bisect((roll) => pointOfEpicycloid(curve, roll).angleRad - angleRad, 0, top);
}

/** Where a function that is below 0 at `low` and above at `high` passes it. */
export function bisect(f: (x: number) => number, low: number, high: number): number {
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (f(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

import { bisect, pointOfEpicycloid, rollToAngle } from "./epicycloid.js";
import type { ToothForm } from "./tooth-form.js";

/** Angle from the middle of the tooth, rad (0 or less: one half of it), and radius, modules. */
type Polar = readonly [angleRad: number, radius: number];

const flankSteps = 24;
const tipSteps = 8;
const filletSteps = 8;
const rootSteps = 8;

/** Corner at the foot of a tooth, in modules, where the space is wide enough. Our own choice; no source. */
export const filletModules = 0.2;

/**
 * Outline of a gear with teeth of one form.
 *
 * @returns x0, y0, x1, y1 ... in mm, counter-clockwise about the centre at (0, 0), y up, a tooth at the top; closed,
 *   the first point not repeated. Chords stay within about 0.0003 modules of the true curves.
 * @throws RangeError if the form cannot have so few teeth: spaces would meet in the middle, or teeth touch.
 */
export function gearOutlineMm(toothCount: number, moduleMm: number, form: ToothForm): Float64Array {
  const half = halfTooth(toothCount, form);
  // From the middle of the space clockwise of the tooth, over its tip, to just before the next space's middle.
  const tooth = [
    ...half,
    ...half
      .slice(1, -1)
      .reverse()
      .map(([angle, radius]): Polar => [-angle, radius]),
  ];
  const out = new Float64Array(2 * toothCount * tooth.length);
  let i = 0;
  for (let k = 0; k < toothCount; k++) {
    const middle = Math.PI / 2 + (2 * Math.PI * k) / toothCount;
    for (const [angle, radius] of tooth) {
      out[i++] = radius * moduleMm * Math.cos(middle + angle);
      out[i++] = radius * moduleMm * Math.sin(middle + angle);
    }
  }
  return out;
}

function halfTooth(toothCount: number, form: ToothForm): readonly Polar[] {
  const pitchRadius = toothCount / 2;
  const rootRadius = pitchRadius - form.dedendum;
  const halfAngle = form.thickness / 2 / pitchRadius;
  const halfSpace = Math.PI / toothCount - halfAngle;
  if (rootRadius <= 0.1 || halfSpace <= 0)
    throw new RangeError(`${toothCount} teeth are too few for this tooth form`);
  return [...foot(rootRadius, halfAngle, halfSpace), ...upperFlank(toothCount, form, halfAngle)];
}

/** Along the root circle from the middle of the space, and round the corner up to the straight flank. */
function foot(rootRadius: number, halfAngle: number, halfSpace: number): Polar[] {
  // The corner takes at most nine tenths of half the space.
  const most = Math.sin(0.9 * halfSpace);
  const f = Math.min(filletModules, (rootRadius * most) / (1 - most));
  const centreRadius = rootRadius + f;
  const lean = Math.asin(f / centreRadius);
  const centreAngle = -halfAngle - lean;
  const start = -halfAngle - halfSpace;
  const points: Polar[] = [];
  for (let k = 0; k < rootSteps; k++)
    points.push([start + ((centreAngle - start) * k) / rootSteps, rootRadius]);
  // About the corner's centre: from the point nearest the middle of the gear round to the flank.
  const sweep = Math.PI / 2 - lean;
  for (let k = 0; k <= filletSteps; k++) {
    const turn = (sweep * k) / filletSteps;
    const along = centreRadius - f * Math.cos(turn);
    const across = f * Math.sin(turn);
    points.push([centreAngle + Math.atan2(across, along), Math.hypot(along, across)]);
  }
  return points;
}

const upperFlank = (toothCount: number, form: ToothForm, halfAngle: number): Polar[] =>
  form.flank.kind === "epicycloid"
    ? epicycloidFlank(toothCount, form.addendum, form.flank.rollingRadius, halfAngle)
    : arcFlank(toothCount, form.addendum, form.flank.arcRadius, halfAngle);

/**
 * The epicycloid from the pitch circle, and an arc over the tip that touches it and ends at the addendum. The arc's
 * centre lies on the middle line and on the normal of the flank, which runs through the rolling circle's touching point.
 */
function epicycloidFlank(
  toothCount: number,
  addendum: number,
  rollingRadius: number,
  halfAngle: number,
): Polar[] {
  const curve = { baseRadius: toothCount / 2, rollingRadius };
  const tip = curve.baseRadius + addendum;
  const rollAtMiddle = rollToAngle(curve, halfAngle);
  const touching = (roll: number) => {
    const { angleRad, radius, touchAngleRad } = pointOfEpicycloid(curve, roll);
    const [x, y] = [radius * Math.cos(angleRad - halfAngle), radius * Math.sin(angleRad - halfAngle)];
    const px = curve.baseRadius * Math.cos(touchAngleRad - halfAngle);
    const py = curve.baseRadius * Math.sin(touchAngleRad - halfAngle);
    const centre = x - (y * (px - x)) / (py - y);
    return { angle: angleRad - halfAngle, radius, x, y, centre, arc: Math.hypot(x - centre, y) };
  };
  const excess = (roll: number) => {
    const { centre, arc } = touching(roll);
    return centre + arc - tip;
  };
  let low = rollAtMiddle;
  do low -= rollAtMiddle / 50;
  while (low > rollAtMiddle / 2 && excess(low) > 0);
  const rollAtTouch = bisect(excess, low, rollAtMiddle * (1 - 1e-9));
  const points: Polar[] = [];
  for (let k = 0; k <= flankSteps; k++) {
    const { angleRad, radius } = pointOfEpicycloid(curve, (rollAtTouch * k) / flankSteps);
    points.push([angleRad - halfAngle, radius]);
  }
  const { x, y, centre, arc } = touching(rollAtTouch);
  const from = Math.atan2(y, x - centre);
  for (let k = 1; k <= tipSteps; k++) {
    const turn = from * (1 - k / tipSteps);
    const along = centre + arc * Math.cos(turn);
    const across = arc * Math.sin(turn);
    points.push([Math.atan2(across, along), Math.hypot(along, across)]);
  }
  return points;
}

/** An arc of given radius, hollow side inwards, from the edge of the tooth on the pitch circle to its tip. */
function arcFlank(toothCount: number, addendum: number, arcRadius: number, halfAngle: number): Polar[] {
  const pitchRadius = toothCount / 2;
  const [ex, ey] = [pitchRadius * Math.cos(halfAngle), -pitchRadius * Math.sin(halfAngle)];
  const tip = pitchRadius + addendum;
  const chord = Math.hypot(tip - ex, ey);
  if (chord / 2 > arcRadius) throw new RangeError("the arc is too small for this tooth");
  const away = Math.sqrt(arcRadius ** 2 - (chord / 2) ** 2);
  // Half-way along the chord, then square to it, towards the middle line and the gear's centre.
  const cx = (ex + tip) / 2 + (ey / chord) * away;
  const cy = ey / 2 + ((tip - ex) / chord) * away;
  const from = Math.atan2(ey - cy, ex - cx);
  const to = Math.atan2(-cy, tip - cx);
  return Array.from({ length: flankSteps + 1 }, (_, k): Polar => {
    const turn = from + ((to - from) * k) / flankSteps;
    // The last point lies on the middle line by construction.
    if (k === flankSteps) return [0, tip];
    const [x, y] = [cx + arcRadius * Math.cos(turn), cy + arcRadius * Math.sin(turn)];
    return [Math.atan2(y, x), Math.hypot(x, y)];
  });
}

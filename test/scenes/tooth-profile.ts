/**
 * One tooth with half a space on either side, as polar points. Angles from the middle of the tooth (escape and
 * ratchet teeth: from the tip), counter-clockwise; the points run counter-clockwise too.
 */
export type ToothForm =
  "cycloidal" | "involute-like" | "pinion" | "ratchet" | "escape-recoil" | "escape-deadbeat";

export interface ToothProfile {
  /** angle, radius, angle, radius ... (rad, mm) */
  readonly points: Float64Array;
  readonly tipRadiusMm: number;
  readonly rootRadiusMm: number;
  readonly pitchRadiusMm?: number;
  /** Where an index error counts: the pitch circle, or the tip circle of wheels that have none. */
  readonly referenceRadiusMm: number;
}

interface ProfileOptions {
  readonly leaves?: number;
  readonly depthMm?: number;
  readonly rake: 1 | -1;
}

export function toothProfile(
  form: ToothForm,
  toothCount: number,
  moduleMm: number,
  options: ProfileOptions,
): ToothProfile {
  switch (form) {
    case "cycloidal":
      return cycloidalTooth(toothCount, moduleMm, options.leaves ?? 8);
    case "involute-like":
      return involuteTooth(toothCount, moduleMm);
    case "pinion":
      return pinionLeaf(toothCount, moduleMm);
    case "ratchet":
      return slantedTooth(toothCount, moduleMm, options, {
        undercutDeg: 4,
        backShare: 0.93,
        landMm: 0.08,
        bow: 0,
      });
    case "escape-recoil":
      return slantedTooth(toothCount, moduleMm, options, {
        undercutDeg: -8,
        backShare: 0.62,
        landMm: 0.2,
        bow: 0.35,
      });
    case "escape-deadbeat":
      return slantedTooth(toothCount, moduleMm, options, {
        undercutDeg: 12,
        backShare: 0.6,
        landMm: 0.15,
        bow: 0.2,
      });
  }
}

/**
 * Height over the pitch circle, in modules, at which the epicycloid from the edge of a tooth pi/2 modules thick
 * meets the middle of the tooth. Rolling circle: half the pinion's pitch diameter.
 */
export function epicycloidHeight(leaves: number, ratio: number): number {
  const wheel = epicycloid((leaves * ratio) / 2, leaves / 4);
  const half = Math.PI / (2 * leaves * ratio);
  return wheel.at(wheel.parameterAtAngle(half))[1] - (leaves * ratio) / 2;
}

/** Addendum factor of BS 978-2:1952: 0.95 of the full height. */
export const addendumFactor = (leaves: number, ratio: number): number =>
  0.95 * epicycloidHeight(leaves, ratio);

interface Epicycloid {
  /** Polar angle and radius at rolling angle `phi`, from the start at angle 0 on the base circle. */
  at(phi: number): [number, number];
  parameterAtAngle(angle: number): number;
}

function epicycloid(baseRadius: number, rollingRadius: number): Epicycloid {
  const sum = baseRadius + rollingRadius;
  const at = (phi: number): [number, number] => {
    const x = sum * Math.cos(phi) - rollingRadius * Math.cos((sum / rollingRadius) * phi);
    const y = sum * Math.sin(phi) - rollingRadius * Math.sin((sum / rollingRadius) * phi);
    return [Math.atan2(y, x), Math.hypot(x, y)];
  };
  return {
    at,
    parameterAtAngle(angle) {
      let low = 0;
      let high = (Math.PI * rollingRadius) / baseRadius;
      for (let i = 0; i < 80; i++) {
        const middle = (low + high) / 2;
        if (at(middle)[0] < angle) low = middle;
        else high = middle;
      }
      return (low + high) / 2;
    },
  };
}

/**
 * BS 978-2 wheel tooth: pi/2 m thick at the pitch circle, dedendum pi/2 m with radial flanks and a fillet,
 * addendum f_a m on the epicycloid, rounded at the tip by an arc that touches both flanks.
 */
function cycloidalTooth(toothCount: number, m: number, leaves: number): ToothProfile {
  const pitchRadius = (toothCount * m) / 2;
  const rootRadius = pitchRadius - (Math.PI / 2) * m;
  const tipRadius = pitchRadius + addendumFactor(leaves, toothCount / leaves) * m;
  const halfAngle = Math.PI / (2 * toothCount);
  const curve = epicycloid(pitchRadius, (leaves * m) / 4);
  const phiEnd = curve.parameterAtAngle(halfAngle);
  const point = (phi: number): [number, number] => {
    const [angle, r] = curve.at(phi);
    return [angle - halfAngle, r];
  };
  const { phi: phiTouch, radius: roundRadius } = tipArc(point, phiEnd, tipRadius);
  // Clockwise half, from the space to the tip.
  const half: [number, number][] = [
    ...rootAndFillet(rootRadius, -halfAngle, -Math.PI / toothCount, 0.18 * m),
  ];
  const flankSteps = 14;
  for (let k = 0; k <= flankSteps; k++) half.push(point((phiTouch * k) / flankSteps));
  half.push(...arcToTip(point(phiTouch), tipRadius - roundRadius, roundRadius));
  return symmetric(half, tipRadius, rootRadius, pitchRadius);
}

/** Standard involute tooth, 20 degrees, addendum 1 m, dedendum 1.25 m; small wheels get radial feet. */
function involuteTooth(toothCount: number, m: number): ToothProfile {
  const pitchRadius = (toothCount * m) / 2;
  const base = pitchRadius * Math.cos(Math.PI / 9);
  const rootRadius = pitchRadius - 1.25 * m;
  const tipRadius = pitchRadius + m;
  const involute = (r: number): number => {
    const pressure = Math.acos(Math.min(1, base / r));
    return Math.tan(pressure) - pressure;
  };
  const halfAngle = (r: number): number =>
    Math.PI / (2 * toothCount) + involute(pitchRadius) - involute(Math.max(r, base));
  const foot = Math.max(base, rootRadius + 0.3 * m);
  const half: [number, number][] = [
    ...rootAndFillet(rootRadius, -halfAngle(foot), -Math.PI / toothCount, 0.22 * m),
  ];
  const steps = 12;
  const top = tipRadius - 0.06 * m;
  for (let k = 0; k <= steps; k++) {
    const r = foot + ((top - foot) * k) / steps;
    half.push([-halfAngle(r), r]);
  }
  const corner = halfAngle(tipRadius) - (0.06 * m) / tipRadius;
  for (let k = 0; k < 5; k++) half.push([-corner * (1 - k / 5), tipRadius]);
  half.push([0, tipRadius]);
  return symmetric(half, tipRadius, rootRadius, pitchRadius);
}

/** Round-topped leaf: BS 978-2 profile A below 11 leaves: addendum 0.525 m, thickness 1.05 m; above 0.625, 1.25. */
function pinionLeaf(leaves: number, m: number): ToothProfile {
  const [addendum, thickness] = leaves <= 10 ? [0.525 * m, 1.05 * m] : [0.625 * m, 1.25 * m];
  const pitchRadius = (leaves * m) / 2;
  const tipRadius = pitchRadius + addendum;
  // Room for the wheel's addendum of about 1.4 m and some clearance.
  const rootRadius = pitchRadius - Math.min(1.75 * m, 0.6 * pitchRadius);
  const halfAngle = thickness / 2 / pitchRadius;
  const half: [number, number][] = [
    ...rootAndFillet(rootRadius, -halfAngle, -Math.PI / leaves, Math.min(0.15 * m, 0.2 * rootRadius)),
  ];
  for (let k = 0; k <= 12; k++) {
    const t = (Math.PI / 2) * (k / 12);
    half.push([-halfAngle * Math.cos(t), pitchRadius + addendum * Math.sin(t)]);
  }
  return symmetric(half, tipRadius, rootRadius, pitchRadius);
}

interface Slant {
  /** How far the steep face leans back under the tip. */
  readonly undercutDeg: number;
  /** Share of the pitch that the sloping back takes at the root. */
  readonly backShare: number;
  readonly landMm: number;
  /** How far the back curves in, as a share of its width. */
  readonly bow: number;
}

/** Saw-like teeth: escape and ratchet wheels. The tip's steep corner is at angle 0. */
function slantedTooth(toothCount: number, m: number, options: ProfileOptions, slant: Slant): ToothProfile {
  const tipRadius = (toothCount * m) / 2;
  const depth = options.depthMm ?? 0.6 * Math.PI * m;
  const rootRadius = tipRadius - depth;
  const pitch = (2 * Math.PI) / toothCount;
  const foot = (-depth * Math.tan((slant.undercutDeg * Math.PI) / 180)) / rootRadius;
  const land = slant.landMm / tipRadius;
  const backFoot = Math.min(foot, 0) - slant.backShare * pitch;
  const points: [number, number][] = [];
  // From the middle of the space behind the tooth, over the back and the land, down the steep face.
  const start = foot - pitch;
  for (let k = 0; k < 6; k++) points.push([start + ((backFoot - start) * k) / 6, rootRadius]);
  const steps = 16;
  for (let k = 0; k <= steps; k++) {
    const t = k / steps;
    const bowed = t - slant.bow * t * (1 - t);
    // Straight in angle: a slow spiral; bow > 0 makes the back hollow, as cut with a shaped cutter.
    points.push([backFoot + (-land - backFoot) * t, rootRadius + depth * bowed]);
  }
  points.push([-land / 2, tipRadius], [0, tipRadius]);
  for (let k = 1; k <= 6; k++) points.push([(foot * k) / 6, tipRadius - (depth * k) / 6]);
  points.pop();
  const turned = options.rake === 1 ? points : points.map(([a, r]): [number, number] => [-a, r]).reverse();
  return {
    points: Float64Array.from(turned.flat()),
    tipRadiusMm: tipRadius,
    rootRadiusMm: rootRadius,
    referenceRadiusMm: tipRadius,
  };
}

/** The arc on the middle line, topping out at `tipRadius`, that touches the flank: bisection on its radius. */
function tipArc(
  flank: (phi: number) => [number, number],
  phiEnd: number,
  tipRadius: number,
): { phi: number; radius: number } {
  const nearest = (centre: number): { phi: number; distance: number } => {
    const distance = (phi: number): number => {
      const [angle, r] = flank(phi);
      return Math.hypot(r * Math.cos(angle) - centre, r * Math.sin(angle));
    };
    let best = 0;
    for (let k = 1; k <= 50; k++) {
      if (distance((phiEnd * k) / 50) < distance((phiEnd * best) / 50)) best = k;
    }
    let low = (phiEnd * Math.max(0, best - 1)) / 50;
    let high = (phiEnd * Math.min(50, best + 1)) / 50;
    for (let k = 0; k < 60; k++) {
      const a = low + (high - low) / 3;
      const b = high - (high - low) / 3;
      if (distance(a) < distance(b)) high = b;
      else low = a;
    }
    return { phi: (low + high) / 2, distance: distance((low + high) / 2) };
  };
  let low = 0;
  let high = tipRadius * 0.2;
  for (let k = 0; k < 50; k++) {
    const radius = (low + high) / 2;
    if (nearest(tipRadius - radius).distance > radius) low = radius;
    else high = radius;
  }
  return { phi: nearest(tipRadius - high).phi, radius: high };
}

/** Points of the rounding from the touching point to the middle line, both kept out but the last. */
function arcToTip(touch: [number, number], centre: number, radius: number): [number, number][] {
  const x = touch[1] * Math.cos(touch[0]) - centre;
  const y = touch[1] * Math.sin(touch[0]);
  const from = Math.atan2(y, x);
  return Array.from({ length: 8 }, (_, k): [number, number] => {
    const angle = from * (1 - (k + 1) / 8);
    const px = centre + radius * Math.cos(angle);
    const py = radius * Math.sin(angle);
    return [Math.atan2(py, px), Math.hypot(px, py)];
  });
}

/** From the middle of the space along the root circle, then a fillet up to the radial flank at `flankAngle`. */
function rootAndFillet(
  rootRadius: number,
  flankAngle: number,
  spaceAngle: number,
  filletMm: number,
): [number, number][] {
  const room = (flankAngle - spaceAngle) * rootRadius;
  const f = Math.min(filletMm, 0.8 * room);
  const centreRadius = rootRadius + f;
  const centreAngle = flankAngle - Math.asin(f / centreRadius);
  const out: [number, number][] = [];
  for (let k = 0; k < 4; k++) out.push([spaceAngle + ((centreAngle - spaceAngle) * k) / 4, rootRadius]);
  // The arc, in a frame whose x axis runs outwards through its centre: from straight down to the flank.
  const sweep = Math.PI / 2 - Math.asin(f / centreRadius);
  for (let k = 0; k <= 5; k++) {
    const turn = Math.PI - (sweep * k) / 5;
    const x = centreRadius + f * Math.cos(turn);
    const y = f * Math.sin(turn);
    out.push([centreAngle + Math.atan2(y, x), Math.hypot(x, y)]);
  }
  return out;
}

/** Mirrors the clockwise half; its last point lies on the middle line. */
function symmetric(
  half: readonly [number, number][],
  tipRadiusMm: number,
  rootRadiusMm: number,
  pitchRadiusMm: number,
): ToothProfile {
  const mirrored = half
    .slice(1, -1)
    .reverse()
    .map(([a, r]): [number, number] => [-a, r]);
  return {
    points: Float64Array.from([...half, ...mirrored].flat()),
    tipRadiusMm,
    rootRadiusMm,
    pitchRadiusMm,
    referenceRadiusMm: pitchRadiusMm,
  };
}

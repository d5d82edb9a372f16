/** Plain outlines and the cut-outs of crossed-out wheels. Closed, x0, y0, x1, y1 ..., mm. */

export function circle(x: number, y: number, radius: number, points = 180): Float64Array {
  const out = new Float64Array(2 * points);
  for (let i = 0; i < points; i++) {
    const angle = (2 * Math.PI * i) / points;
    out[2 * i] = x + radius * Math.cos(angle);
    out[2 * i + 1] = y + radius * Math.sin(angle);
  }
  return out;
}

/** Rectangle with corners rounded by `cornerMm`. */
export function roundedRectangle(widthMm: number, heightMm: number, cornerMm: number): Float64Array {
  const out: number[] = [];
  const w = widthMm / 2 - cornerMm;
  const h = heightMm / 2 - cornerMm;
  const corners = [[w, h], [-w, h], [-w, -h], [w, -h]] as const; // prettier-ignore
  corners.forEach(([x, y], i) => {
    const steps = cornerMm > 0 ? 10 : 0;
    for (let k = 0; k <= steps; k++) {
      const angle = (Math.PI / 2) * (i + (steps === 0 ? 0.5 : k / steps));
      out.push(x + cornerMm * Math.cos(angle), y + cornerMm * Math.sin(angle));
    }
  });
  return Float64Array.from(out);
}

/** Line with round ends and a radius that runs from one value to another. */
export function capsule(
  ax: number,
  ay: number,
  aRadius: number,
  bx: number,
  by: number,
  bRadius: number,
): Float64Array {
  const along = Math.atan2(by - ay, bx - ax);
  const out: number[] = [];
  for (let k = 0; k <= 24; k++) {
    const angle = along + Math.PI / 2 + (Math.PI * k) / 24;
    out.push(ax + aRadius * Math.cos(angle), ay + aRadius * Math.sin(angle));
  }
  for (let k = 0; k <= 24; k++) {
    const angle = along - Math.PI / 2 + (Math.PI * k) / 24;
    out.push(bx + bRadius * Math.cos(angle), by + bRadius * Math.sin(angle));
  }
  return Float64Array.from(out);
}

/** Moved by (x, y) after turning by `angleRad`. */
export function placed(xyMm: Float64Array, angleRad: number, x: number, y: number): Float64Array {
  const c = Math.cos(angleRad);
  const s = Math.sin(angleRad);
  const out = new Float64Array(xyMm.length);
  for (let i = 0; i < xyMm.length; i += 2) {
    out[i] = x + c * xyMm[i]! - s * xyMm[i + 1]!;
    out[i + 1] = y + s * xyMm[i]! + c * xyMm[i + 1]!;
  }
  return out;
}

export interface Crossings {
  readonly count: number;
  readonly rimRadiusMm: number;
  readonly hubRadiusMm: number;
  /** Width of an arm at the hub and at the rim. */
  readonly armHubMm: number;
  readonly armRimMm: number;
  /** Rounding of the inner corners. */
  readonly cornerMm: number;
  readonly phaseRad: number;
}

/** The openings between the arms, one polygon each, with straight tapering arms and rounded corners. */
export function crossingOpenings(c: Crossings): Float64Array[] {
  const pitch = (2 * Math.PI) / c.count;
  const openings: Float64Array[] = [];
  // Where the arm's flank, running from (hub, armHub/2) to (rim, armRim/2), meets the two circles.
  const hubAngle = Math.asin(Math.min(0.95, c.armHubMm / 2 / c.hubRadiusMm));
  const rimAngle = Math.asin(Math.min(0.95, c.armRimMm / 2 / c.rimRadiusMm));
  for (let i = 0; i < c.count; i++) {
    const from = c.phaseRad + i * pitch;
    const corners: [number, number][] = [];
    const arc = (radius: number, a: number, b: number): void => {
      const steps = Math.max(4, Math.ceil((Math.abs(b - a) * radius) / 0.25));
      for (let k = 0; k <= steps; k++) {
        const angle = a + ((b - a) * k) / steps;
        corners.push([radius * Math.cos(angle), radius * Math.sin(angle)]);
      }
    };
    arc(c.rimRadiusMm, from + rimAngle, from + pitch - rimAngle);
    arc(c.hubRadiusMm, from + pitch - hubAngle, from + hubAngle);
    openings.push(roundedCorners(corners, c.cornerMm));
  }
  return openings;
}

/** Replaces sharp corners (turns over 30 degrees) by quadratic curves that start `sizeMm` before them. */
function roundedCorners(points: readonly [number, number][], sizeMm: number): Float64Array {
  const n = points.length;
  const sharp = points.map((p, i) => {
    const a = points[(i + n - 1) % n]!;
    const b = points[(i + 1) % n]!;
    const turn = Math.atan2(
      (p[0] - a[0]) * (b[1] - p[1]) - (p[1] - a[1]) * (b[0] - p[0]),
      (p[0] - a[0]) * (b[0] - p[0]) + (p[1] - a[1]) * (b[1] - p[1]),
    );
    return Math.abs(turn) > Math.PI / 6;
  });
  const out: number[] = [];
  const corners = points.filter((_, i) => sharp[i]);
  points.forEach((p, i) => {
    if (sharp[i]) {
      const before = walk(points, i, -1, sizeMm);
      const after = walk(points, i, 1, sizeMm);
      for (let k = 0; k <= 8; k++) {
        const t = k / 8;
        const a = (1 - t) * (1 - t);
        const b = 2 * t * (1 - t);
        out.push(a * before[0] + b * p[0] + t * t * after[0], a * before[1] + b * p[1] + t * t * after[1]);
      }
    } else if (corners.every((q) => Math.hypot(p[0] - q[0], p[1] - q[1]) > sizeMm)) {
      out.push(p[0], p[1]);
    }
  });
  return Float64Array.from(out);
}

/** The point `distance` along the polygon from vertex i. */
function walk(
  points: readonly (readonly [number, number])[],
  i: number,
  step: 1 | -1,
  distance: number,
): readonly [number, number] {
  const n = points.length;
  let left = distance;
  let at = points[i]!;
  for (let k = 1; k < n; k++) {
    const next = points[(i + step * k + n * k) % n]!;
    const length = Math.hypot(next[0] - at[0], next[1] - at[1]);
    if (length >= left && length > 0) {
      return [at[0] + ((next[0] - at[0]) * left) / length, at[1] + ((next[1] - at[1]) * left) / length];
    }
    left -= length;
    at = next;
  }
  return at;
}

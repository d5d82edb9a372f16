/**
 * Nearest point of an ellipse to a point, kept in one object so that a loop over points allocates nothing.
 * The ellipse is given as (x, y, meanRadius, ovalCos, ovalSin), see EllipseFit.
 */
export class FootPoint {
  /** Signed distance of the point from the ellipse, positive outside. */
  distance = 0;
  /** Outward unit normal at the foot point. */
  nx = 0;
  ny = 0;
  /** The point of the unit circle that the ellipse's stretch takes to the foot point. */
  ux = 0;
  uy = 0;

  #cx = 0;
  #cy = 0;
  /** Semi-axes, a >= b > 0, and direction of the major one. */
  #a = 1;
  #b = 1;
  #cos = 1;
  #sin = 0;

  setEllipse(params: Float64Array): void {
    this.#cx = params[0]!;
    this.#cy = params[1]!;
    const mean = Math.abs(params[2]!);
    const half = Math.hypot(params[3]!, params[4]!);
    this.#a = mean + half;
    // A trial step may fold the ellipse flat: keep it an ellipse, its distances refuse the step.
    this.#b = Math.max(Math.abs(mean - half), 1e-12 * this.#a);
    const angle = half === 0 ? 0 : 0.5 * Math.atan2(params[4]!, params[3]!);
    this.#cos = Math.cos(angle);
    this.#sin = Math.sin(angle);
  }

  find(px: number, py: number): void {
    const a = this.#a;
    const b = this.#b;
    const c = this.#cos;
    const s = this.#sin;
    const dx = px - this.#cx;
    const dy = py - this.#cy;
    // In the frame of the axes, folded into the first quadrant.
    const x = c * dx + s * dy;
    const y = c * dy - s * dx;
    const z0 = Math.abs(x);
    const z1 = Math.abs(y);
    let f0: number;
    let f1: number;
    if (z1 === 0 && a * z0 < a * a - b * b) {
      // On the major axis between the centres of curvature: two equal feet, above and below.
      f0 = (a * a * z0) / (a * a - b * b);
      f1 = b * Math.sqrt(Math.max(0, 1 - (f0 / a) ** 2));
    } else {
      // (a z0/(t + a²))² + (b z1/(t + b²))² = 1 falls and is convex in t: Newton from the left never overshoots.
      let t = Math.max(a * z0 - a * a, b * z1 - b * b);
      for (let i = 0; i < 100; i++) {
        const p = t + a * a;
        const q = t + b * b;
        const r0 = (a * z0) / p;
        const r1 = (b * z1) / q;
        const excess = r0 * r0 + r1 * r1 - 1;
        if (!(excess > 0)) break;
        const next = t + excess / (2 * ((r0 * r0) / p + (r1 * r1) / q));
        if (!(next > t)) break;
        t = next;
      }
      f0 = (a * a * z0) / (t + a * a);
      f1 = (b * b * z1) / (t + b * b);
    }
    const ex = x < 0 ? -f0 : f0;
    const ey = y < 0 ? -f1 : f1;
    let n0 = ex / (a * a);
    let n1 = ey / (b * b);
    const norm = Math.sqrt(n0 * n0 + n1 * n1) || 1;
    n0 /= norm;
    n1 /= norm;
    this.distance = (x - ex) * n0 + (y - ey) * n1;
    this.nx = c * n0 - s * n1;
    this.ny = s * n0 + c * n1;
    this.ux = (c * ex) / a - (s * ey) / b;
    this.uy = (s * ex) / a + (c * ey) / b;
  }
}

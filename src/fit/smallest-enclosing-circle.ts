import type { Circle } from "./guess-circle.js";

/**
 * Smallest circle that holds all points (exact): grown point by point, expected linear time.
 *
 * @param xy n >= 1 points x0, y0, x1, y1 ...
 * Source: E. Welzl, Smallest enclosing disks, 1991 (from memory), in its iterative form.
 */
export function smallestEnclosingCircle(xy: Float64Array): Circle {
  const order = shuffled(xy.length / 2);
  const n = order.length;
  let circle: Circle = { x: xy[2 * order[0]!]!, y: xy[2 * order[0]! + 1]!, radius: 0 };
  for (let i = 1; i < n; i++) {
    if (holds(circle, xy, order[i]!)) continue;
    // Point i lies on the circle of the first i points; the same for j, then k, inside.
    circle = { x: xy[2 * order[i]!]!, y: xy[2 * order[i]! + 1]!, radius: 0 };
    for (let j = 0; j < i; j++) {
      if (holds(circle, xy, order[j]!)) continue;
      circle = throughTwo(xy, order[i]!, order[j]!);
      for (let k = 0; k < j; k++) {
        if (holds(circle, xy, order[k]!)) continue;
        circle = throughThree(xy, order[i]!, order[j]!, order[k]!) ?? circle;
      }
    }
  }
  return circle;
}

function holds(circle: Circle, xy: Float64Array, i: number): boolean {
  const dx = xy[2 * i]! - circle.x;
  const dy = xy[2 * i + 1]! - circle.y;
  return dx * dx + dy * dy <= circle.radius * circle.radius * (1 + 2e-14);
}

function throughTwo(xy: Float64Array, i: number, j: number): Circle {
  const x = (xy[2 * i]! + xy[2 * j]!) / 2;
  const y = (xy[2 * i + 1]! + xy[2 * j + 1]!) / 2;
  return { x, y, radius: Math.hypot(xy[2 * i]! - x, xy[2 * i + 1]! - y) };
}

/** Undefined if the three lie on a line. */
function throughThree(xy: Float64Array, i: number, j: number, k: number): Circle | undefined {
  const x0 = xy[2 * i]!;
  const y0 = xy[2 * i + 1]!;
  const ax = xy[2 * j]! - x0;
  const ay = xy[2 * j + 1]! - y0;
  const bx = xy[2 * k]! - x0;
  const by = xy[2 * k + 1]! - y0;
  const det = 2 * (ax * by - ay * bx);
  if (det === 0) return undefined;
  const aa = ax * ax + ay * ay;
  const bb = bx * bx + by * by;
  const dx = (by * aa - ay * bb) / det;
  const dy = (ax * bb - bx * aa) / det;
  return { x: x0 + dx, y: y0 + dy, radius: Math.hypot(dx, dy) };
}

/** Fixed random order: the result must not change from run to run. */
function shuffled(n: number): Uint32Array {
  const order = Uint32Array.from({ length: n }, (_, i) => i);
  let state = 0x2545f491;
  for (let i = n - 1; i > 0; i--) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    const j = Math.floor((state / 2 ** 32) * (i + 1));
    [order[i], order[j]] = [order[j]!, order[i]!];
  }
  return order;
}

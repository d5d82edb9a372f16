import { seededRandom, type SeededRandom } from "../../src/quantity/index.js";
import type { Outcome } from "../../src/problem/index.js";

export const flat = (points: readonly (readonly number[])[]): Float64Array =>
  Float64Array.from(points.flat());

export interface Arc {
  readonly x?: number;
  readonly y?: number;
  readonly radius?: number;
  readonly count: number;
  readonly fromRad?: number;
  readonly toRad?: number;
}

/** Points evenly along an arc (default the full circle round the origin, radius 1), with normal noise of `u` in x and y. */
export function arcPoints(arc: Arc, u = 0, random: SeededRandom = seededRandom(1)): Float64Array {
  const { x = 0, y = 0, radius = 1, count, fromRad = 0, toRad = 2 * Math.PI } = arc;
  const out = new Float64Array(2 * count);
  for (let i = 0; i < count; i++) {
    const angle = fromRad + ((toRad - fromRad) * i) / count;
    out[2 * i] = x + radius * Math.cos(angle) + u * random.normal();
    out[2 * i + 1] = y + radius * Math.sin(angle) + u * random.normal();
  }
  return out;
}

/** The value of an outcome that a test expects to be there. */
export function valueOf<T>(outcome: Outcome<T>): T {
  if (!outcome.ok) throw new Error(`unexpected problem ${outcome.problem.code}: ${outcome.problem.text}`);
  return outcome.value;
}

export const codeOf = (outcome: Outcome<unknown>): string | undefined =>
  outcome.ok ? undefined : outcome.problem.code;

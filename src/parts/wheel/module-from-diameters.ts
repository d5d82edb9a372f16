import { propagate, standardUncertainty, type Quantity } from "../../quantity/index.js";

/**
 * What is assumed of the tooth form where the photograph cannot tell: factors of the module.
 * BS 978-2:1952 gives wheels an addendum of 1.30 (6 leaves) to 1.63 (10 leaves) and more for 12, 1.38 by the workshop
 * rule, and a dedendum of 1.57 (pi/2). Old cutters vary; the spreads are ours.
 */
const addendum = { factor: 1.46, u: 0.2 };
const dedendum = { factor: 1.571, u: 0.1 };

export interface ModuleEstimate {
  readonly moduleMm: Quantity<"mm">;
  readonly addendumFactor: number;
  readonly assumption: string;
}

/**
 * Module from tip and root diameter, each with its own assumption, weighted by how much either is worth:
 * m = tip / (N + 2 a) and m = root / (N - 2 d).
 */
export function moduleFromDiameters(
  count: number,
  tip: Quantity<"mm">,
  root: Quantity<"mm">,
  part: string,
): ModuleEstimate | undefined {
  const byTip = count + 2 * addendum.factor;
  const byRoot = count - 2 * dedendum.factor;
  const m1 = tip.value / byTip;
  const m2 = root.value / byRoot;
  const a1 = (2 * m1 * addendum.u) / byTip;
  const a2 = (2 * m2 * dedendum.u) / byRoot;
  const own = (q: Quantity<"mm">): number =>
    Math.hypot(...[...q.terms].filter(([id]) => /^(edge|fit|resolution):/.test(id)).map(([, t]) => t));
  const u1 = Math.hypot(a1, own(tip) / byTip);
  const u2 = Math.hypot(a2, own(root) / byRoot);
  const w1 = 1 / u1 ** 2 / (1 / u1 ** 2 + 1 / u2 ** 2);
  const w2 = 1 - w1;
  // Two answers that disagree by more than their assumptions allow widen what is claimed.
  const strain = Math.max(1, Math.abs(m1 - m2) / (2 * Math.hypot(u1, u2)));
  const value = w1 * m1 + w2 * m2;
  if (!(value > 0)) return undefined;
  const moduleMm = propagate(
    value,
    "mm",
    [
      [tip, w1 / byTip],
      [root, w2 / byRoot],
    ],
    [
      [`fit:addendum-${part}`, w1 * a1 * strain],
      [`fit:dedendum-${part}`, w2 * a2 * strain],
    ],
  );
  if (standardUncertainty(moduleMm) > 0.2 * value) return undefined;
  const addendumFactor = (tip.value / value - count) / 2;
  return {
    moduleMm,
    addendumFactor,
    assumption:
      `addendum ${addendum.factor} ± ${(2 * addendum.u).toFixed(2)} and dedendum ${dedendum.factor} ± ` +
      `${(2 * dedendum.u).toFixed(2)} modules (cycloidal wheel); the diameters give an addendum of ` +
      `${addendumFactor.toFixed(2)} modules`,
  };
}

/** Series 1 and 2 of preferred modules, mm (DIN 780, from memory). Old wheels need match none. */
const preferred = [
  0.05, 0.055, 0.06, 0.07, 0.08, 0.09, 0.1, 0.11, 0.12, 0.14, 0.16, 0.18, 0.2, 0.22, 0.25, 0.28, 0.3, 0.35,
  0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 1, 1.125, 1.25, 1.375, 1.5, 1.75, 2,
] as const;

export const nearestPreferredModule = (moduleMm: number): number =>
  preferred.reduce(
    (best, m) => (Math.abs(m - moduleMm) < Math.abs(best - moduleMm) ? m : best),
    preferred[0],
  );

import { propagate, quantity } from "../../quantity/index.js";
import { checkWheel } from "../wheel/check-wheel.js";
import { nearestPreferredModule } from "../wheel/module-from-diameters.js";
import type { Part } from "../part.js";

/** Pinions have 6 to 16 leaves as a rule; wheels of clocks have more teeth (trade). */
const mostLeaves = 16;
/**
 * Addendum of driven pinions in modules, up to 10 leaves and from 11: tip diameter (n + 1.71) m and (n + 1.61) m
 * (rules of thumb; profiles of BS 978-2 run from 0.525 to 1.05).
 */
const addendum = { few: 0.855, many: 0.805, u: 0.2 };

/** No pinion of a house clock is so large (common practice, no source). */
const largestMm = 16;

/** A small toothed part with so few teeth is a pinion seen from its end: its module follows from another addendum. */
export function asPinion(part: Part, owner: string): Part {
  const leaves = part.teeth?.count;
  if (part.kind !== "wheel" || leaves === undefined || leaves > mostLeaves) return part;
  const tip = part.tipDiameterMm;
  // Pinions are solid.
  if ((part.crossings?.count ?? 0) > 0 || (tip !== undefined && tip.value > largestMm)) return part;
  if (tip === undefined) return { ...part, kind: "pinion" };
  const a = leaves <= 10 ? addendum.few : addendum.many;
  const over = leaves + 2 * a;
  const assumed = quantity(a, "1", [[`fit:pinion-addendum-${owner}`, addendum.u]]);
  const module = propagate(tip.value / over, "mm", [
    [tip, 1 / over],
    [assumed, (-2 * tip.value) / over ** 2],
  ]);
  const pinion: Part = {
    ...part,
    kind: "pinion",
    moduleMm: module,
    pitchDiameterMm: propagate(leaves * module.value, "mm", [[module, leaves]]),
    diametralPitch: propagate(25.4 / module.value, "1", [[module, -25.4 / module.value ** 2]]),
    nearestPreferredModuleMm: nearestPreferredModule(module.value),
    addendumAssumption: `pinion: tip diameter (leaves + ${(2 * a).toFixed(2)}) modules, addendum ${a} ± ${addendum.u}`,
  };
  return { ...pinion, findings: checkWheel(pinion).filter((f) => f.code !== "bore-hidden") };
}

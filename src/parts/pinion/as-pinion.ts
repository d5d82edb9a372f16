import { propagate, quantity } from "../../quantity/index.js";
import { checkWheel } from "../wheel/check-wheel.js";
import { nearestPreferredModule } from "../wheel/module-from-diameters.js";
import type { Part } from "../part.js";

/** Pinions have 6 to 16 leaves as a rule; wheels of clocks have more teeth (trade). */
const mostLeaves = 16;
/**
 * Addendum of driven pinions in modules, by the profile that BS 978-2:1952 advises: C up to 7 leaves, B for 8 and 9,
 * A from 10; A is higher from 11. (As carried by an open gear library; the standard itself not seen.) Cutters of one
 * profile serve other counts too: the spread is that of the profiles.
 */
const addenda = [
  { toLeaves: 7, modules: 0.855 },
  { toLeaves: 9, modules: 0.67 },
  { toLeaves: 10, modules: 0.525 },
  { toLeaves: mostLeaves, modules: 0.625 },
] as const;
const uAddendum = 0.17;

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
  const a = addenda.find(({ toLeaves }) => leaves <= toLeaves)!.modules;
  const over = leaves + 2 * a;
  const assumed = quantity(a, "1", [[`fit:pinion-addendum-${owner}`, uAddendum]]);
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
    addendumAssumption: `pinion: tip diameter (leaves + ${(2 * a).toFixed(2)}) modules, addendum ${a} ± ${uAddendum}`,
  };
  return { ...pinion, findings: checkWheel(pinion).filter((f) => f.code !== "bore-hidden") };
}

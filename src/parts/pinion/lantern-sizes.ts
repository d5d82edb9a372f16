import { propagate, type Quantity } from "../../quantity/index.js";
import type { Part } from "../part.js";
import { nearestPreferredModule } from "../wheel/module-from-diameters.js";

/** Of a lantern the circle of its trundles is what rolls on the wheel's pitch circle. */
export function lanternSizes(trundles: number, circle: Quantity<"mm">): Partial<Part> & { kind: "pinion" } {
  const module = propagate(circle.value / trundles, "mm", [[circle, 1 / trundles]]);
  return {
    kind: "pinion",
    pitchDiameterMm: circle,
    moduleMm: module,
    diametralPitch: propagate(25.4 / module.value, "1", [[module, -25.4 / module.value ** 2]]),
    nearestPreferredModuleMm: nearestPreferredModule(module.value),
  };
}

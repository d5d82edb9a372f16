import type { Condition, Verdict } from "./condition.js";
import { fitLimit } from "./condition.js";
import { distanceAsMeasured, moduleIfMm } from "./depthing.js";
import type { Mesh } from "./gearing.js";
import type { Gear, Measured } from "./movement.js";

/** Two gears of one pair were cut alike only to about this share of their module (common practice, no source). */
const pairShare = 0.01;

/**
 * What sizes say about the counts of a pair: wheel and pinion have one module, and the centre distance is half
 * the sum of their counts in modules.
 */
export function sizeConditions(mesh: Mesh): readonly Condition[] {
  const { driver, driven, centreDistanceMm } = mesh;
  if (driver.position === driven.position) return [];
  const unknown = [driver, driven].filter(({ teeth }) => teeth === "missing").map(({ position }) => position);
  const driverModule = moduleTable(driver);
  const drivenModule = moduleTable(driven);
  const conditions: Condition[] = [];
  if (driverModule && drivenModule)
    conditions.push({
      id: `mates: ${driven.position}`,
      words: `${driver.words} and ${driven.words} have the same module`,
      exact: false,
      aboutSizes: true,
      unknown,
      judge: (counts) => {
        const a = driverModule(countIn(driver, counts));
        const b = drivenModule(countIn(driven, counts));
        return within(a.value / b.value - 1, Math.hypot(a.u! / a.value, b.u! / b.value, pairShare));
      },
    });
  const sized = driverModule
    ? { gear: driver, module: driverModule }
    : { gear: driven, module: drivenModule };
  if (centreDistanceMm && sized.module) {
    const { gear, module } = sized as { gear: Gear; module: (count: number) => Measured };
    const distanceU = distanceAsMeasured(centreDistanceMm).u!;
    conditions.push({
      id: `centre distance: ${driven.position}`,
      words: `${driver.words} and ${driven.words} fit their centre distance of ${Number(centreDistanceMm.value.toFixed(2))} mm`,
      exact: false,
      aboutSizes: true,
      unknown,
      judge: (counts) => {
        const size = module(countIn(gear, counts));
        const wanted = (size.value * (countIn(driver, counts) + countIn(driven, counts))) / 2;
        return within(
          centreDistanceMm.value / wanted - 1,
          Math.hypot(size.u! / size.value, distanceU / wanted, pairShare / 2),
        );
      },
    });
  }
  return conditions;
}

function within(deviation: number, u: number): Verdict {
  const chiSquared = (deviation / u) ** 2;
  return { fits: chiSquared <= fitLimit * fitLimit, chiSquared, deviation };
}

const countIn = (gear: Gear, counts: ReadonlyMap<string, number>): number =>
  gear.teeth === "missing" ? counts.get(gear.position)! : gear.teeth;

/** Module for a count, remembered: the same few counts are asked for thousands of times. */
function moduleTable(gear: Gear): ((count: number) => Measured) | undefined {
  if (gear.tipDiameterMm === undefined && gear.moduleMm === undefined) return undefined;
  const table = new Map<number, Measured>();
  return (count) => {
    const known = table.get(count);
    if (known !== undefined) return known;
    const module = moduleIfMm(gear, count)!;
    const sure = { value: module.value, u: module.u ?? 0 };
    table.set(count, sure);
    return sure;
  };
}

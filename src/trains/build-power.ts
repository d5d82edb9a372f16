import type { LineOf } from "./build-gear.js";
import type { Mistake } from "./mistake.js";
import type { TrainShape } from "./movement-shape.js";
import type { Measured, Power } from "./movement.js";

/** What drives a train: exactly one of turns, weight, barrel or open spring. */
export function buildPower(
  shape: NonNullable<TrainShape["power"]>,
  lineOf: LineOf,
  mistakes: Mistake[],
): Power | undefined {
  const given = (["turns", "weight", "barrel", "open spring"] as const).filter(
    (key) => shape[key] !== undefined,
  );
  const line = lineOf(["power"]);
  if (given.length !== 1) {
    mistakes.push({
      line,
      text: `expected one of turns, weight, barrel, open spring; found ${given.join(" and ") || "none"}`,
    });
    return undefined;
  }
  const none: Measured = { value: 0 };
  const stop = (turns: number | undefined) => (turns === undefined ? {} : { stopWorkTurns: turns });
  if (shape.turns !== undefined) return { kind: "turns", turns: shape.turns, line };
  if (shape.weight) {
    const { drop, drum, line: thickness, pulley } = shape.weight;
    return {
      kind: "weight",
      dropMm: drop,
      drumMm: drum,
      lineMm: thickness ?? none,
      pulley: pulley ?? false,
      line,
    };
  }
  const from = (shape.barrel ?? shape["open spring"])!;
  const spring = { lengthMm: from["spring length"], thicknessMm: from["spring thickness"] };
  const outerMm = shape.barrel?.inside ?? shape["open spring"]!["let down"];
  if (outerMm.value <= from.arbor.value)
    mistakes.push({
      line: lineOf(["power", given[0]!, "arbor"]),
      text: `the arbor (${from.arbor.value} mm) must be thinner than what the spring lies in (${outerMm.value} mm)`,
    });
  const shared = { arborMm: from.arbor, spring, ...stop(from["stop work"]), line };
  return shape.barrel
    ? { kind: "barrel", insideMm: outerMm, ...shared }
    : { kind: "open spring", letDownMm: outerMm, ...shared };
}

import { motionWorkProduct } from "./gearing.js";
import type { Movement } from "./movement.js";
import type { Product } from "./product.js";
import { over, valueOf } from "./product.js";
import { Ratio, ratioJson } from "./ratio.js";
import type { MotionWorkResult, TrainFinding } from "./result.js";

export interface MotionWorkReading {
  readonly motionWork?: MotionWorkResult;
  readonly findings: readonly TrainFinding[];
}

/** @param turnsPerHour of the arbor that carries the first gear, if the time train gives it. */
export function motionWorkOf(movement: Movement, turnsPerHour: Product | undefined): MotionWorkReading {
  const work = movement.motionWork;
  if (work === undefined) return { findings: [] };
  const product = motionWorkProduct(work);
  const ratio = valueOf(product);
  const hours = valueOf(turnsPerHour && over(product, turnsPerHour));
  const wanted = Ratio.of(work.dialHours);
  const findings: TrainFinding[] = [];
  if (hours !== undefined && !hours.equals(wanted))
    findings.push({
      code: "motion-work-wrong",
      severity: "fault",
      text: `the hour hand would go round in ${hours.isWhole() ? hours.toString() : `${hours.toNumber().toFixed(3)} (${hours.toString()})`} hours, not ${work.dialHours}`,
      advice: `count the motion work again: its ratio is ${ratio?.toString() ?? "not known"}`,
      line: work.line,
      position: "motion work",
    });
  const { cannonPinion, minuteWheel, minutePinion, hourWheel } = work;
  const sum = (a: number | "missing" | undefined, b: number | "missing" | undefined) =>
    typeof a === "number" && typeof b === "number" ? a + b : undefined;
  const first = sum(cannonPinion.teeth, minuteWheel?.teeth);
  const second = sum(minutePinion?.teeth, hourWheel.teeth);
  return {
    motionWork: {
      dialHours: work.dialHours,
      ...(ratio && { ratio: ratioJson(ratio) }),
      ...(hours && { hourHandHours: ratioJson(hours) }),
      ...(first !== undefined && second !== undefined && { moduleRatio: ratioJson(Ratio.of(first, second)) }),
    },
    findings,
  };
}

import type { LineOf } from "./build-gear.js";
import { buildGear, plainName } from "./build-gear.js";
import type { Mistake } from "./mistake.js";
import type { MovementShape } from "./movement-shape.js";
import { shown } from "./shape-fields.js";
import type { MotionWork, Train } from "./movement.js";

/** Links the motion work to the arbor that carries its first gear. */
export function buildMotionWork(
  shape: NonNullable<MovementShape["motion work"]>,
  trains: readonly Train[],
  lineOf: LineOf,
  mistakes: Mistake[],
): MotionWork {
  const gear = (part: "cannon pinion" | "minute wheel" | "minute pinion" | "hour wheel") => {
    const given = shape[part];
    return (
      given &&
      buildGear(given, {
        position: `motion work.${part}`,
        words: `the ${part} (motion work)`,
        kind: part.endsWith("pinion") ? "pinion" : "wheel",
        lineOf: (path) => lineOf(["motion work", part, ...path]),
        mistakes,
      })
    );
  };
  const minuteWheel = gear("minute wheel");
  const minutePinion = gear("minute pinion");
  if ((minuteWheel === undefined) !== (minutePinion === undefined))
    mistakes.push({
      line: lineOf(["motion work"]),
      text: "the minute wheel and its pinion belong together: give both (? for a lost one), or neither if the first gear drives the hour wheel itself",
    });
  const on = shape.on === undefined ? undefined : findArbor(plainName(shape.on), trains);
  if (shape.on !== undefined && on === undefined)
    mistakes.push({
      line: lineOf(["motion work", "on"]),
      text: `the motion work is said to be on ${shown(shape.on)}, but no train has an arbor of that name`,
    });
  return {
    line: lineOf(["motion work"]),
    dialHours: shape.dial ?? 12,
    cannonPinion: gear("cannon pinion")!,
    hourWheel: gear("hour wheel")!,
    ...(minuteWheel && { minuteWheel }),
    ...(minutePinion && { minutePinion }),
    ...(on && { on }),
  };
}

/** In the time train first: most movements have a great wheel in every train. */
function findArbor(name: string, trains: readonly Train[]): MotionWork["on"] {
  const inOrder = [...trains].sort((a, b) => Number(b.duty === "time") - Number(a.duty === "time"));
  const train = inOrder.find(({ arbors }) => arbors.some((arbor) => arbor.name === name));
  return train && { train: train.name, arbor: name };
}

import type { Arbor, Gear, Movement } from "../movement.js";
import type { Mark } from "./marks.js";
import type { DrawnSizes } from "./sizes.js";
import { escapeRadius, tipRadius } from "./sizes.js";

/** A gear as it is drawn: any unit, the same for the whole picture. */
export interface DrawnGear {
  readonly position: string;
  readonly kind: "wheel" | "pinion" | "escape wheel";
  /** Count, or "?". */
  readonly text: string;
  readonly teeth: number;
  readonly tip: number;
  readonly pitch: number;
  readonly mark: Mark;
}

export interface DrawnArbor {
  readonly name: string;
  readonly drivenBy?: string;
  /** From the driving arbor; 0 on the first. */
  readonly distance: number;
  /** The gear on the driving arbor that drives this one. */
  readonly driverPosition?: string;
  /** The gear here that is driven. */
  readonly drivenPosition?: string;
  /** Wheels carried, the escape wheel and gears that drive other arbors among them. */
  readonly gears: readonly DrawnGear[];
  readonly pins?: number;
  readonly fly: boolean;
  readonly words: readonly string[];
  readonly mark: Mark;
}

export interface DrawnTrain {
  readonly title: string;
  readonly power?: "barrel" | "drum" | "spring";
  readonly arbors: readonly DrawnArbor[];
}

/** From here on a gear is drawn and called a wheel, whatever its place in the file. */
const mostLeaves = 24;

type MarkOf = (position: string) => Mark;

/** Trains as they are drawn, the motion work as the last. */
export function drawnTrains(movement: Movement, sizes: DrawnSizes, markOf: MarkOf): readonly DrawnTrain[] {
  const draw = (gear: Gear, kind: DrawnGear["kind"] = gear.kind): DrawnGear => {
    const teeth = sizes.countOf(gear);
    const escape = kind === "escape wheel" ? escapeRadius(movement, gear, sizes) : undefined;
    return {
      position: gear.position,
      // A pinion key may hold a wheel: a count wheel that a gear of its own drives, say.
      kind: kind === "pinion" && teeth > mostLeaves ? "wheel" : kind,
      text: gear.teeth === "missing" ? "?" : String(gear.teeth),
      teeth,
      tip: escape ?? tipRadius(gear, sizes),
      pitch: escape ?? sizes.pitchRadius(gear),
      mark: markOf(gear.position),
    };
  };
  const trains = movement.trains.map(({ name, arbors, power }): DrawnTrain => {
    const powers = { barrel: "barrel", weight: "drum", "open spring": "spring", turns: undefined } as const;
    const driving = power && powers[power.kind];
    return {
      title: `${name} train`,
      ...(driving && { power: driving }),
      arbors: arbors.map((arbor): DrawnArbor => {
        // A gear given on another arbor's line sits here, if that arbor is driven by this one.
        const carried = arbors.flatMap(({ driver, drivenBy }) =>
          drivenBy === arbor.name && driver && driver.position !== arbor.wheel?.position ? [driver] : [],
        );
        const unique = [...new Map(carried.map((gear) => [gear.position, gear])).values()];
        return {
          name: arbor.name,
          distance:
            arbor.driver && arbor.driven
              ? sizes.pitchRadius(arbor.driver) + sizes.pitchRadius(arbor.driven)
              : 0,
          ...(arbor.drivenBy !== undefined && { drivenBy: arbor.drivenBy }),
          ...(arbor.driver && { driverPosition: arbor.driver.position }),
          ...(arbor.driven && { drivenPosition: arbor.driven.position }),
          gears: [
            ...(arbor.pinion ? [draw(arbor.pinion)] : []),
            ...(arbor.wheel ? [draw(arbor.wheel)] : []),
            ...unique.map((gear) => draw(gear)),
            ...(arbor.escape ? [draw(arbor.escape.gear, "escape wheel")] : []),
          ],
          ...(arbor.pins && { pins: arbor.pins.count }),
          fly: arbor.fly === true,
          words: wordsOf(arbor),
          mark: markOf(`${name}.${arbor.name}`),
        };
      }),
    };
  });
  return movement.motionWork ? [...trains, motionWork(movement.motionWork, sizes, draw)] : trains;
}

function motionWork(
  { cannonPinion, minuteWheel, minutePinion, hourWheel }: NonNullable<Movement["motionWork"]>,
  { pitchRadius }: DrawnSizes,
  draw: (gear: Gear) => DrawnGear,
): DrawnTrain {
  const none = { faulty: false, uncertain: false };
  const arbor = (name: string, gears: readonly Gear[], driver?: Gear, on?: string): DrawnArbor => ({
    name,
    distance: driver ? pitchRadius(driver) + pitchRadius(gears[0]!) : 0,
    ...(driver && { driverPosition: driver.position, drivenPosition: gears[0]!.position }),
    ...(on !== undefined && { drivenBy: on }),
    gears: gears.map((gear) => draw(gear)),
    fly: false,
    words: [],
    mark: none,
  });
  const cannon = arbor("cannon pinion", [cannonPinion]);
  return {
    title: "motion work",
    arbors:
      minuteWheel && minutePinion
        ? [
            cannon,
            arbor("minute wheel", [minuteWheel, minutePinion], cannonPinion, "cannon pinion"),
            arbor("hour wheel (on the cannon)", [hourWheel], minutePinion, "minute wheel"),
          ]
        : [cannon, arbor("hour wheel", [hourWheel], cannonPinion, "cannon pinion")],
  };
}

const wordsOf = (arbor: Arbor): readonly string[] => [
  ...(arbor.hand ? [`${arbor.hand} hand`] : []),
  ...(arbor.pins ? [`${arbor.pins.count} lifting pins`] : []),
  ...(arbor.locks ? [`${arbor.locks.count} locking`] : []),
  ...(arbor.warning ? [`${arbor.warning.count} warning`] : []),
  ...(arbor.gathers ? [`gathers ${arbor.gathers.count}`] : []),
  ...(arbor.countWheel ? ["count wheel"] : []),
  ...(arbor.chimeBarrel ? ["chime barrel"] : []),
  ...(arbor.fly === true ? ["fly"] : []),
];

/** "third: wheel 56, pinion 8 (?)", for the list beside a train. */
export function arborLabel({ name, gears, words, mark }: DrawnArbor): readonly [string, string] {
  const sign = ({ faulty, uncertain }: Mark) => `${faulty ? " (!)" : ""}${uncertain ? " (?)" : ""}`;
  return [
    `${name}${sign(mark)}`,
    [
      ...gears.map(
        (gear) =>
          `${gear.kind} ${gear.text}${gear.text === "?" ? sign({ ...gear.mark, uncertain: false }) : sign(gear.mark)}`,
      ),
      ...words,
    ].join(", "),
  ];
}

import type { Arbor, Gear, Movement } from "./movement.js";

/** The same movement with every gear passed through `change`. */
export function mapGears(movement: Movement, change: (gear: Gear) => Gear): Movement {
  const optional = <K extends string>(key: K, gear: Gear | undefined) =>
    (gear === undefined ? {} : { [key]: change(gear) }) as { readonly [P in K]?: Gear };
  const arborOf = (arbor: Arbor): Arbor => ({
    ...arbor,
    ...optional("driver", arbor.driver),
    ...optional("driven", arbor.driven),
    ...optional("wheel", arbor.wheel),
    ...optional("pinion", arbor.pinion),
    ...(arbor.escape && { escape: { ...arbor.escape, gear: change(arbor.escape.gear) } }),
  });
  const work = movement.motionWork;
  return {
    ...movement,
    trains: movement.trains.map((train) => ({ ...train, arbors: train.arbors.map(arborOf) })),
    ...(work && {
      motionWork: {
        ...work,
        cannonPinion: change(work.cannonPinion),
        hourWheel: change(work.hourWheel),
        ...optional("minuteWheel", work.minuteWheel),
        ...optional("minutePinion", work.minutePinion),
      },
    }),
  };
}

/** With these counts put in, by position. */
export const withCounts = (movement: Movement, counts: ReadonlyMap<string, number>): Movement =>
  mapGears(movement, (gear) => {
    const teeth = counts.get(gear.position);
    return teeth === undefined ? gear : { ...gear, teeth };
  });

/** With these counts taken out, as if they were not known; a module keeps the count that it was found with. */
export const withMissing = (movement: Movement, positions: ReadonlySet<string>): Movement =>
  mapGears(movement, (gear) => {
    if (!positions.has(gear.position) || gear.teeth === "missing") return gear;
    const moduleCount = gear.moduleMm && (gear.moduleCount ?? gear.teeth);
    return { ...gear, teeth: "missing", ...(moduleCount !== undefined && { moduleCount }) };
  });

import type { Mistake } from "./mistake.js";
import { shown } from "./shape-fields.js";
import type { Arbor, Train } from "./movement.js";

/** Checks who drives whom: every arbor must come back to the first. */
export function linkDrivers(
  trainName: string,
  arbors: readonly Arbor[],
  mistakes: Mistake[],
): readonly Arbor[] {
  const byName = new Map(arbors.map((arbor) => [arbor.name, arbor]));
  const linked = arbors.map((arbor): Arbor => {
    const source = arbor.drivenBy === undefined ? undefined : byName.get(arbor.drivenBy);
    if (source === undefined) return arbor;
    if (source === arbor) {
      mistakes.push({ line: arbor.line, text: `${arbor.name} is said to be driven by itself` });
      return arbor;
    }
    if (arbor.driver !== undefined) return arbor;
    if (source.wheel !== undefined) return { ...arbor, driver: source.wheel };
    mistakes.push({
      line: arbor.line,
      text: `${source.name} has no wheel to drive ${arbor.name}: give ${source.name} a wheel, or say here "driven by" another arbor`,
    });
    return arbor;
  });
  const reported = new Set<string>();
  for (const arbor of arbors) {
    const path = [arbor.name];
    let at = arbor.drivenBy;
    while (at !== undefined && !path.includes(at)) {
      path.push(at);
      at = byName.get(at)?.drivenBy;
    }
    if (at === undefined) continue;
    const loop = path.slice(path.indexOf(at));
    const key = [...loop].sort().join(" ");
    if (loop.length > 1 && !reported.has(key)) {
      reported.add(key);
      mistakes.push({
        line: byName.get(at)!.line,
        text: `these arbors of ${trainName} drive each other in a loop: ${loop.map((name, i) => `${name} is driven by ${loop[(i + 1) % loop.length]}`).join(", ")}`,
      });
    }
  }
  return linked;
}

export function refuseSecondEscape(trains: readonly Train[], mistakes: Mistake[]): void {
  const escapes = trains.flatMap(({ arbors }) =>
    arbors.flatMap(({ escape, name }) => (escape ? [{ escape, name }] : [])),
  );
  for (const { escape, name } of escapes.slice(1))
    mistakes.push({
      line: escape.gear.line,
      text: `${name} is a second escape wheel; ${escapes[0]!.name} (line ${escapes[0]!.escape.gear.line}) is one already`,
    });
}

export function refuseSharedTags(trains: readonly Train[], mistakes: Mistake[]): void {
  const owners = new Map<string, Arbor>();
  for (const arbor of trains.flatMap(({ arbors }) => arbors)) {
    const owner = arbor.tag === undefined ? undefined : owners.get(arbor.tag);
    if (owner !== undefined)
      mistakes.push({
        line: arbor.line,
        text: `${arbor.name} and ${owner.name} (line ${owner.line}) share the tag ${shown(arbor.tag)}; give one of them another tag`,
      });
    if (arbor.tag !== undefined) owners.set(arbor.tag, arbor);
  }
}

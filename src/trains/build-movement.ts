import type { Mistake, Reading } from "./mistake.js";
import { nearestWord } from "./mistake.js";
import type { ArborShape, MovementShape, TrainShape } from "./movement-shape.js";
import { shown } from "./movement-shape.js";
import type {
  Arbor,
  CountWheel,
  Gear,
  Measured,
  Movement,
  Power,
  Rack,
  Strikes,
  Train,
  TrainDuty,
} from "./movement.js";
import type { LineOf } from "./build-gear.js";
import { buildGear, plainName } from "./build-gear.js";
import { buildMotionWork } from "./build-motion-work.js";
import { readQuantityText } from "./quantity-text.js";
import { standardStrikes } from "./strikes.js";

/** Turns a well-shaped file into a movement: links every arbor to its driver and refuses what cannot turn. */
export function buildMovement(shape: MovementShape, lineOf: LineOf): Reading<Movement> {
  const mistakes: Mistake[] = [];
  const trains = Object.entries(shape.trains).map(([name, train]) =>
    buildTrain(name, train, (path) => lineOf(["trains", name, ...path]), mistakes),
  );
  if (trains.length === 0) mistakes.push({ line: lineOf(["trains"]), text: "no train is given" });
  refuseSecondEscape(trains, mistakes);
  refuseSharedTags(trains, mistakes);

  const place = shape.place;
  const heightM = place?.height === undefined ? undefined : readHeightM(place.height, lineOf, mistakes);
  if (shape.balance === true && shape.pendulum !== undefined)
    mistakes.push({
      line: lineOf(["balance"]),
      text: "a clock has a pendulum or a balance; keep one of the two",
    });
  const semiArcRad = shape.pendulum?.arc?.value;
  if (semiArcRad !== undefined && semiArcRad > Math.PI / 3)
    mistakes.push({
      line: lineOf(["pendulum", "arc"]),
      text: "expected the swing to one side of the middle, at most 60 deg",
    });
  const motionWork = shape["motion work"];
  const builtMotionWork = motionWork && buildMotionWork(motionWork, trains, lineOf, mistakes);
  if (mistakes.length > 0)
    return { ok: false, mistakes: mistakes.sort((a, b) => (a.line ?? 0) - (b.line ?? 0)) };

  return {
    ok: true,
    value: {
      ...(shape.movement !== undefined && { title: shape.movement }),
      ...(place && {
        place: {
          line: lineOf(["place"]),
          ...(place.latitude !== undefined && { latitudeRad: (place.latitude * Math.PI) / 180 }),
          ...(heightM !== undefined && { heightM }),
          ...(place.gravity && { gravityMps2: place.gravity.value }),
        },
      }),
      ...(shape.pendulum !== undefined && {
        regulator: {
          kind: "pendulum" as const,
          line: lineOf(["pendulum"]),
          ...(shape.pendulum?.length && { lengthMm: shape.pendulum.length }),
          ...(semiArcRad !== undefined && { semiArcRad }),
        },
      }),
      ...(shape.balance === true && { regulator: { kind: "balance" as const, line: lineOf(["balance"]) } }),
      ...(shape["beats per hour"] !== undefined && {
        statedBeatsPerHour: { value: shape["beats per hour"], line: lineOf(["beats per hour"]) },
      }),
      trains,
      ...(builtMotionWork && { motionWork: builtMotionWork }),
    },
  };
}

function buildTrain(name: string, shape: TrainShape, lineOf: LineOf, mistakes: Mistake[]): Train {
  const duty = shape.does ?? dutyFromName(name) ?? dutyFromParts(shape);
  const names = Object.keys(shape.arbors);
  const arbors: Arbor[] = [];
  if (names.length === 0) mistakes.push({ line: lineOf(["arbors"]), text: `${name}: no arbor is given` });
  names.forEach((arborName, index) => {
    const arborShape = shape.arbors[arborName]!;
    if (/^\d+$/.test(arborName))
      mistakes.push({
        line: lineOf(["arbors", arborName]),
        text: `give this arbor a name, like "third", instead of the number ${arborName}`,
      });
    arbors.push(
      buildArbor(
        { trainName: name, duty, arborName, index, before: names[index - 1], names },
        arborShape,
        (path) => lineOf(["arbors", arborName, ...path]),
        mistakes,
      ),
    );
  });
  const linked = linkDrivers(name, arbors, mistakes);
  const strikes =
    shape.strikes === undefined ? undefined : readStrikes(shape.strikes, lineOf(["strikes"]), mistakes);
  const power = shape.power && buildPower(shape.power, lineOf, mistakes);
  return {
    name,
    duty,
    line: lineOf([]),
    arbors: linked,
    ...(power && { power }),
    ...(strikes && { strikes }),
    ...(shape.rack && { rack: buildRack(shape.rack, lineOf(["rack"])) }),
    ...(shape["said to run"] && {
      saidToRunH: { valueH: shape["said to run"].value / 3600, line: lineOf(["said to run"]) },
    }),
    ...(shape["blow interval"] && { blowIntervalS: shape["blow interval"] }),
  };
}

interface ArborPlace {
  readonly trainName: string;
  readonly duty: TrainDuty;
  readonly arborName: string;
  readonly index: number;
  readonly before: string | undefined;
  readonly names: readonly string[];
}

function buildArbor(place: ArborPlace, shape: ArborShape, lineOf: LineOf, mistakes: Mistake[]): Arbor {
  const { trainName, arborName, index, before, names } = place;
  const line = lineOf([]);
  const gear = (part: "wheel" | "pinion" | "driver" | "escape wheel"): Gear | undefined => {
    const given = shape[part];
    return (
      given &&
      buildGear(given, {
        position: `${trainName}.${arborName}.${part}`,
        words:
          part === "driver"
            ? `the gear that drives ${arborName} (${trainName})`
            : `the ${part} of ${arborName} (${trainName})`,
        kind: part === "pinion" || part === "driver" ? "pinion" : "wheel",
        lineOf: (path) => lineOf([part, ...path]),
        mistakes,
      })
    );
  };
  const wheel = gear("wheel");
  const pinion = gear("pinion");
  const driver = gear("driver");
  const escapeGear = gear("escape wheel");
  const drivenBy =
    shape["driven by"] === undefined ? (index === 0 ? undefined : before) : plainName(shape["driven by"]);
  if (shape["driven by"] !== undefined && !names.includes(drivenBy!)) {
    const meant = nearestWord(drivenBy!, names);
    mistakes.push({
      line: lineOf(["driven by"]),
      text: `${arborName} is driven by ${shown(drivenBy)}, but there is no arbor of that name in this train${
        meant === undefined ? "" : `; did you mean "${meant}"?`
      }`,
    });
  }
  const driven = pinion ?? (shape.idler === true || driver !== undefined ? wheel : undefined);
  if (drivenBy !== undefined && driven === undefined)
    mistakes.push({
      line,
      text:
        wheel === undefined
          ? `${arborName} has no pinion that ${drivenBy} could drive: give it (pinion: 8), or pinion: ? if it is lost`
          : `${arborName} has a wheel but no pinion: give it (pinion: 8), or pinion: ? if it is lost; a wheel that only passes the motion on is marked idler: yes`,
    });
  if (drivenBy === undefined && driver !== undefined)
    mistakes.push({
      line: lineOf(["driver"]),
      text: `${arborName} has a driver but nothing drives it: say driven by`,
    });
  if (shape["beats per tooth"] !== undefined && escapeGear === undefined)
    mistakes.push({
      line: lineOf(["beats per tooth"]),
      text: `${arborName} has beats per tooth but no escape wheel`,
    });
  const centre = shape["centre distance"] ?? shape["center distance"];
  const counted = <K extends "pins" | "locks" | "warning" | "gathers">(key: K) =>
    shape[key] === undefined ? undefined : { [key]: { count: shape[key], line: lineOf([key]) } };
  const countWheel = buildCountWheel(shape["count wheel"], lineOf(["count wheel"]), mistakes);
  return {
    name: arborName,
    tag: shape.tag ?? `${tagLetters[place.duty]}${index + 1}`,
    line,
    ...(drivenBy !== undefined && { drivenBy }),
    ...(driver && { driver }),
    ...(driven && { driven }),
    ...(centre && { centreDistanceMm: centre }),
    ...(wheel && { wheel }),
    ...(pinion && { pinion }),
    ...(escapeGear && { escape: { gear: escapeGear, beatsPerTooth: shape["beats per tooth"] ?? 2 } }),
    ...(shape.hand && { hand: shape.hand }),
    ...counted("pins"),
    ...counted("locks"),
    ...counted("warning"),
    ...counted("gathers"),
    ...(countWheel && { countWheel }),
    ...(shape["chime barrel"] && {
      chimeBarrel: {
        phrases: shape["chime barrel"].phrases,
        phrasesPerHour: shape["chime barrel"]["phrases per hour"] ?? 10,
        line: lineOf(["chime barrel"]),
      },
    }),
    ...(shape.fly === true && { fly: true }),
  };
}

/** Letters of the part tags. */
const tagLetters: Readonly<Record<TrainDuty, string>> = { time: "T", strike: "S", chime: "C" };

/** Checks who drives whom: every arbor must come back to the first. */
function linkDrivers(trainName: string, arbors: readonly Arbor[], mistakes: Mistake[]): readonly Arbor[] {
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
        text: `these arbors of ${trainName} drive each other in a loop: ${[...loop, at].join(" <- ")}`,
      });
    }
  }
  return linked;
}

function refuseSecondEscape(trains: readonly Train[], mistakes: Mistake[]): void {
  const escapes = trains.flatMap(({ arbors }) =>
    arbors.flatMap(({ escape, name }) => (escape ? [{ escape, name }] : [])),
  );
  for (const { escape, name } of escapes.slice(1))
    mistakes.push({
      line: escape.gear.line,
      text: `${name} is a second escape wheel; ${escapes[0]!.name} (line ${escapes[0]!.escape.gear.line}) is one already`,
    });
}

function refuseSharedTags(trains: readonly Train[], mistakes: Mistake[]): void {
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

function buildCountWheel(
  shape: ArborShape["count wheel"],
  line: number,
  mistakes: Mistake[],
): CountWheel | undefined {
  if (shape === undefined || shape === false) return undefined;
  if (shape === true) return { line, hoursPerTurn: 12 };
  const hoursPerTurn = shape["once in"] === undefined ? 12 : shape["once in"].value / 3600;
  if (hoursPerTurn > 24 || hoursPerTurn < 0.25)
    mistakes.push({ line, text: "expected a count wheel that turns once in 15 min to 24 h" });
  return { line, hoursPerTurn, ...(shape.blows && { blows: shape.blows }) };
}

function readStrikes(given: string | number, line: number, mistakes: Mistake[]): Strikes | undefined {
  const words = typeof given === "number" ? `${given} blows in 12 hours` : plainName(given);
  const blows = typeof given === "number" ? given : standardStrikes.get(words);
  if (blows !== undefined && Number.isInteger(blows) && blows >= 1 && blows <= 2000)
    return { words, blowsPer12h: blows, line };
  mistakes.push({
    line,
    text: `expected what is struck (${[...standardStrikes.keys()].join(", ")}) or the blows in 12 hours, found ${shown(given)}`,
  });
  return undefined;
}

function buildPower(
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

function buildRack(shape: NonNullable<TrainShape["rack"]>, line: number): Rack {
  const optional = <K extends string, V>(key: K, value: V | undefined) =>
    (value === undefined ? {} : { [key]: value }) as { readonly [P in K]?: V };
  return {
    line,
    snailSteps: shape["snail steps"] ?? 12,
    ...optional("teeth", shape.teeth),
    ...optional("radiusMm", shape.radius),
    ...optional("toothPitchMm", shape["tooth pitch"]),
    ...optional("tailMm", shape.tail),
    ...optional("snailHighMm", shape["snail high"]),
    ...optional("snailLowMm", shape["snail low"]),
  };
}

function readHeightM(input: unknown, lineOf: LineOf, mistakes: Mistake[]): number | undefined {
  const heightM = typeof input === "string" ? readQuantityText(input, "length") : undefined;
  if (heightM !== undefined && heightM.value >= -500_000 && heightM.value <= 9_000_000)
    return heightM.value / 1000;
  mistakes.push({
    line: lineOf(["place", "height"]),
    text: `expected a height above the sea from -500 m to 9000 m, like "30 m", found ${shown(input)}`,
  });
  return undefined;
}

function dutyFromName(name: string): TrainDuty | undefined {
  if (/chim|quarter/.test(name)) return "chime";
  if (/strik|hour/.test(name)) return "strike";
  return /time|going|watch/.test(name) ? "time" : undefined;
}

/** A train with neither a telling name nor "does:" is what its parts make it. */
function dutyFromParts(shape: TrainShape): TrainDuty {
  const arbors = Object.values(shape.arbors);
  if (arbors.some((arbor) => arbor["escape wheel"] !== undefined)) return "time";
  if (arbors.some((arbor) => arbor["chime barrel"] !== undefined)) return "chime";
  return arbors.some((arbor) => arbor.pins !== undefined || arbor.gathers !== undefined) ? "strike" : "time";
}

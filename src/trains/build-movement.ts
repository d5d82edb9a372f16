import type { Mistake, Reading } from "./mistake.js";
import { nearestWord } from "./mistake.js";
import type { ArborShape, MovementShape, TrainShape } from "./movement-shape.js";
import { shown } from "./shape-fields.js";
import type { Arbor, Gear, Movement, Train, TrainDuty } from "./movement.js";
import type { LineOf } from "./build-gear.js";
import { buildGear, plainName } from "./build-gear.js";
import { buildPower } from "./build-power.js";
import { buildCountWheel, buildRack, readStrikes } from "./build-strike-parts.js";
import { buildMotionWork } from "./build-motion-work.js";
import { readQuantityText } from "./quantity-text.js";
import { linkDrivers, refuseSecondEscape, refuseSharedTags } from "./link-arbors.js";

/** Turns a well-shaped file into a movement: links every arbor to its driver and refuses what cannot turn. */
export function buildMovement(shape: MovementShape, lineOf: LineOf): Reading<Movement> {
  const mistakes: Mistake[] = [];
  const tooMany = tooManyParts(shape, lineOf);
  if (tooMany !== undefined) return { ok: false, mistakes: [tooMany] };
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
  const semiArcRad = shape.pendulum?.arc;
  if (semiArcRad !== undefined && semiArcRad.value > Math.PI / 3)
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
          ...(place.gravity && { gravityMps2: place.gravity }),
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

const mostTrains = 8;
const mostArbors = 40;

/** No clock has so many; the work grows with them. */
function tooManyParts(shape: MovementShape, lineOf: LineOf): Mistake | undefined {
  const trains = Object.entries(shape.trains);
  if (trains.length > mostTrains)
    return {
      line: lineOf(["trains"]),
      text: `expected at most ${mostTrains} trains, found ${trains.length}`,
    };
  for (const [name, { arbors }] of trains) {
    const count = Object.keys(arbors).length;
    if (count > mostArbors)
      return {
        line: lineOf(["trains", name, "arbors"]),
        text: `expected at most ${mostArbors} arbors in a train, found ${count}`,
      };
  }
  return undefined;
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
  const countWheel = buildCountWheel(shape["count wheel"], place.duty, lineOf(["count wheel"]), mistakes);
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

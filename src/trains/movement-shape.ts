import { z } from "zod";
import { measured, name, oneOf, pinion, say, wheel, wholeNumber, yesNo } from "./shape-fields.js";

/** Shape of a movement file. Keys are already in lower case with single spaces. */

const perTurn = (words: string) => wholeNumber(`${words} in a turn: a whole number from 1 to 200`, 1, 200);

const countWheelFull = z.strictObject({
  "once in": measured("time", "the time of one turn").optional(),
  blows: z
    .array(wholeNumber("blows from notch to notch: whole numbers from 1 to 24", 1, 24))
    .min(1)
    .max(200)
    .optional(),
});

const arbor = z.strictObject(
  {
    wheel: wheel("teeth of the wheel").optional(),
    pinion: pinion("leaves of the pinion").optional(),
    driver: pinion("teeth or leaves of the gear that drives this arbor").optional(),
    "driven by": name("the name of the arbor that drives this one").optional(),
    "centre distance": measured("length", "the centre distance to the driving arbor").optional(),
    "center distance": measured("length", "the centre distance to the driving arbor").optional(),
    "escape wheel": wheel("teeth of the escape wheel").optional(),
    "beats per tooth": wholeNumber("beats per tooth: 1 or 2", 1, 2).optional(),
    idler: yesNo.optional(),
    hand: oneOf(["hour", "minute", "seconds"]).optional(),
    tag: name("the label of a part tag, like T3").optional(),
    pins: perTurn("lifting pins").optional(),
    locks: perTurn("locking places (slots, notches or locking pins)").optional(),
    warning: perTurn("warning pins").optional(),
    gathers: perTurn("rack teeth gathered").optional(),
    "count wheel": z
      .union([yesNo, countWheelFull], { error: say('yes, or "once in" and "blows"') })
      .optional(),
    "chime barrel": z
      .strictObject({
        phrases: wholeNumber("phrases on the barrel: a whole number from 1 to 100", 1, 100),
        "phrases per hour": wholeNumber(
          "phrases in an hour: a whole number from 1 to 100",
          1,
          100,
        ).optional(),
      })
      .optional(),
    fly: yesNo.optional(),
  },
  { error: say("the parts of this arbor, like { pinion: 8, wheel: 64 }") },
);

const spring = {
  "spring length": measured("length", "the length of the mainspring"),
  "spring thickness": measured("length", "the thickness of the mainspring"),
  "stop work": z
    .number({ error: say("the turns that the stop work allows") })
    .positive()
    .max(100)
    .optional(),
};

const power = z.strictObject(
  {
    turns: z
      .number({ error: say("the turns of the first arbor in one winding") })
      .positive({ error: say("the turns of the first arbor in one winding") })
      .max(1000, { error: say("at most 1000 turns") })
      .optional(),
    weight: z
      .strictObject({
        drop: measured("length", "the drop of the weight"),
        drum: measured("length", "the diameter of the drum"),
        line: measured("length", "the thickness of the line").optional(),
        pulley: yesNo.optional(),
      })
      .optional(),
    barrel: z
      .strictObject({
        inside: measured("length", "the inside diameter of the barrel"),
        arbor: measured("length", "the diameter of the barrel arbor"),
        ...spring,
      })
      .optional(),
    "open spring": z
      .strictObject({
        "let down": measured("length", "the outside diameter of the spring when let down"),
        arbor: measured("length", "the diameter of the winding arbor"),
        ...spring,
      })
      .optional(),
  },
  { error: say("what drives the train, like { turns: 16 }") },
);

const rack = z.strictObject({
  "snail steps": wholeNumber("steps of the snail: a whole number from 1 to 24", 1, 24).optional(),
  teeth: wholeNumber("teeth of the rack: a whole number from 1 to 60", 1, 60).optional(),
  radius: measured("length", "the distance from the rack's pivot to its teeth").optional(),
  "tooth pitch": measured("length", "the distance from one rack tooth to the next").optional(),
  tail: measured("length", "the distance from the rack's pivot to the pin of its tail").optional(),
  "snail high": measured("length", "the radius of the snail's highest step").optional(),
  "snail low": measured("length", "the radius of the snail's lowest step").optional(),
});

const train = z.strictObject(
  {
    does: oneOf(["time", "strike", "chime"]).optional(),
    arbors: z.record(z.string(), arbor, { error: say("the arbors of this train, from the great wheel up") }),
    power: power.optional(),
    strikes: z
      .union([name("what is struck"), z.number()], { error: say("what is struck, like hours") })
      .optional(),
    rack: rack.optional(),
    "said to run": measured("time", "how long it is said to run").optional(),
    "blow interval": measured("time", "the time from blow to blow").optional(),
  },
  { error: say("a train: its arbors, and what drives it") },
);

export const movementShape = z.strictObject(
  {
    movement: name("the name of the clock").optional(),
    place: z
      .strictObject({
        latitude: z
          .number({ error: say("a latitude in degrees from -90 to 90, south negative") })
          .min(-90, { error: say("a latitude in degrees from -90 to 90, south negative") })
          .max(90, { error: say("a latitude in degrees from -90 to 90, south negative") })
          .optional(),
        height: z.unknown().optional(),
        gravity: measured("acceleration", "the local gravity").optional(),
      })
      .optional(),
    pendulum: z
      .strictObject({
        length: measured("length", "the length of the pendulum").optional(),
        arc: measured("angle", "the swing to one side").optional(),
      })
      .nullable()
      .optional(),
    balance: yesNo.optional(),
    "beats per hour": z
      .number({ error: say("beats in an hour") })
      .min(60, { error: say("beats in an hour, from 60 to 100000") })
      .max(100_000, { error: say("beats in an hour, from 60 to 100000") })
      .optional(),
    trains: z.record(z.string(), train, { error: say('"trains:", with at least one train') }),
    "motion work": z
      .strictObject({
        on: name("the arbor that carries the first gear of the motion work").optional(),
        dial: z
          .union([z.literal(12), z.literal(24)], { error: say("12 or 24 hours on the dial") })
          .optional(),
        "cannon pinion": pinion("teeth of the cannon pinion"),
        "minute wheel": wheel("teeth of the minute wheel").optional(),
        "minute pinion": pinion("leaves of the minute pinion").optional(),
        "hour wheel": wheel("teeth of the hour wheel"),
      })
      .optional(),
  },
  { error: say("a movement: a file that begins with trains:") },
);

export type MovementShape = z.output<typeof movementShape>;
export type GearShape = NonNullable<MovementShape["trains"][string]["arbors"][string]["wheel"]>;
export type ArborShape = MovementShape["trains"][string]["arbors"][string];
export type TrainShape = MovementShape["trains"][string];

import { z } from "zod";
import type { Measured } from "./movement.js";
import type { Dimension } from "./quantity-text.js";
import { exampleOf, readQuantityText } from "./quantity-text.js";

/** Shape of a movement file. Keys are already in lower case with single spaces. */

const say =
  (text: string) =>
  (issue: { input?: unknown }): string =>
    issue.input === undefined ? `${text} is missing` : `expected ${text}, found ${shown(issue.input)}`;

const wholeNumber = (words: string, least: number, most: number) =>
  z
    .number({ error: say(words) })
    .int({ error: say(words) })
    .min(least, { error: say(words) })
    .max(most, { error: say(words) });

const measured = (dimension: Dimension, words: string) =>
  z.unknown().transform((input, context): Measured => {
    const value = typeof input === "string" ? readQuantityText(input, dimension) : undefined;
    if (value === undefined || !(value.value > 0)) {
      const hint = typeof input === "number" ? "; the unit is missing" : "";
      context.addIssue({
        code: "custom",
        message:
          input === undefined
            ? `${words} is missing: write it like ${exampleOf[dimension]}`
            : `expected ${words} like ${exampleOf[dimension]}, found ${shown(input)}${hint}`,
      });
      return z.NEVER;
    }
    return value;
  });

/** JavaScript's zod treats a transform of unknown as required; optional ones say so. */
const optional = <T>(schema: z.ZodType<T>) => schema.optional();

const greatestCount = 1000;
const teeth = (words: string, least: number) =>
  z.union([z.literal("?"), z.literal("missing")]).or(wholeNumber(words, least, greatestCount));

const gear = (words: string, least: number) => {
  const expected = `${words}: a whole number from ${least} to ${greatestCount}, or ? for a lost one`;
  const full = z.strictObject({
    teeth: teeth(`the number of teeth (${expected})`, least).optional(),
    leaves: teeth(`the number of leaves (${expected})`, least).optional(),
    module: optional(measured("length", "the module")),
    "tip diameter": optional(measured("length", "the tip diameter")),
    seen: z
      .record(
        z.string(),
        z
          .number({ error: say("a probability from 0 to 1") })
          .min(0, { error: say("a probability from 0 to 1") })
          .max(1, {
            error: say("a probability from 0 to 1"),
          }),
      )
      .optional(),
  });
  return z.unknown().transform((input, context): z.output<typeof full> => {
    if (input !== null && typeof input === "object" && !Array.isArray(input)) {
      const result = full.safeParse(input);
      if (result.success) return result.data;
      for (const issue of result.error.issues) context.addIssue({ ...issue, input: undefined } as never);
      return z.NEVER;
    }
    if (
      input === "?" ||
      input === "missing" ||
      wholeNumber(words, least, greatestCount).safeParse(input).success
    )
      return { teeth: input as number | "?" };
    context.addIssue({ code: "custom", message: `expected ${expected}; found ${shown(input)}` });
    return z.NEVER;
  });
};

const wheel = (words: string) => gear(words, 2);
const pinion = (words: string) => gear(words, 1);

const yesNo = z.preprocess(
  (input) => (input === "yes" ? true : input === "no" ? false : input),
  z.boolean({ error: say("yes or no") }),
);
const name = (words: string) =>
  z.string({ error: say(words) }).max(80, { error: say(`${words} of at most 80 letters`) });
const oneOf = <const T extends readonly string[]>(words: readonly [...T]) =>
  z.enum(words as unknown as [string, ...string[]], {
    error: say(`one of: ${words.join(", ")}`),
  }) as z.ZodType<T[number]>;

const perTurn = (words: string) => wholeNumber(`${words} in a turn: a whole number from 1 to 200`, 1, 200);

const countWheelFull = z.strictObject({
  "once in": optional(measured("time", "the time of one turn")),
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
    "centre distance": optional(measured("length", "the centre distance to the driving arbor")),
    "center distance": optional(measured("length", "the centre distance to the driving arbor")),
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
        line: optional(measured("length", "the thickness of the line")),
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
  radius: optional(measured("length", "the distance from the rack's pivot to its teeth")),
  "tooth pitch": optional(measured("length", "the distance from one rack tooth to the next")),
  tail: optional(measured("length", "the distance from the rack's pivot to the pin of its tail")),
  "snail high": optional(measured("length", "the radius of the snail's highest step")),
  "snail low": optional(measured("length", "the radius of the snail's lowest step")),
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
    "said to run": optional(measured("time", "how long it is said to run")),
    "blow interval": optional(measured("time", "the time from blow to blow")),
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
        gravity: optional(measured("acceleration", "the local gravity")),
      })
      .optional(),
    pendulum: z
      .strictObject({
        length: optional(measured("length", "the length of the pendulum")),
        arc: optional(measured("angle", "the swing to one side")),
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

/** A value as a message may show it: short, on one line. */
export function shown(input: unknown): string {
  if (input === null || input === undefined) return "nothing";
  const text = typeof input === "string" ? `"${input}"` : JSON.stringify(input);
  const oneLine = text.replace(/[\p{Cc}\p{Cf}]+/gu, " ");
  return oneLine.length > 60 ? `${oneLine.slice(0, 57)}...` : oneLine;
}

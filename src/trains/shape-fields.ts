import { z } from "zod";
import type { Measured } from "./movement.js";
import type { Dimension } from "./quantity-text.js";
import { exampleOf, readQuantityText } from "./quantity-text.js";

/** Kinds of values in a movement file, each with the words that a person is told when it is something else. */

export const say =
  (text: string) =>
  (issue: { input?: unknown }): string =>
    issue.input === undefined ? `${text} is missing` : `expected ${text}, found ${shown(issue.input)}`;

export const wholeNumber = (words: string, least: number, most: number) =>
  z
    .number({ error: say(words) })
    .int({ error: say(words) })
    .min(least, { error: say(words) })
    .max(most, { error: say(words) });

export const measured = (dimension: Dimension, words: string) =>
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

const greatestCount = 1000;
const isLost = (input: unknown): input is "?" => input === "?" || input === "missing";

const teeth = (expected: string, least: number) =>
  z.unknown().transform((input, context): number | "?" => {
    if (isLost(input)) return "?";
    const count = z.number().int().min(least).max(greatestCount).safeParse(input);
    if (count.success) return count.data;
    context.addIssue({ code: "custom", message: `expected ${expected}; found ${shown(input)}` });
    return z.NEVER;
  });

const probability = "a probability from 0 to 1";

const gear = (words: string, least: number) => {
  const expected = `${words}: a whole number from ${least} to ${greatestCount}, or ? for a lost one`;
  const count = teeth(expected, least);
  const full = z.strictObject({
    teeth: count.optional(),
    leaves: count.optional(),
    module: measured("length", "the module").optional(),
    "tip diameter": measured("length", "the tip diameter").optional(),
    seen: z
      .record(
        z.string(),
        z
          .number({ error: say(probability) })
          .min(0, { error: say(probability) })
          .max(1, { error: say(probability) }),
      )
      .optional(),
  });
  // A union would report "invalid input" for every slip inside; here each slip keeps its own words.
  return z.unknown().transform((input, context): z.output<typeof full> => {
    const isMap = input !== null && typeof input === "object" && !Array.isArray(input);
    const result = isMap ? full.safeParse(input) : z.object({ teeth: count }).safeParse({ teeth: input });
    if (result.success) return result.data;
    for (const { path, ...issue } of result.error.issues)
      context.addIssue({ ...issue, path: isMap ? path : [], input: undefined } as never);
    return z.NEVER;
  });
};

export const wheel = (words: string) => gear(words, 2);
export const pinion = (words: string) => gear(words, 1);

export const yesNo = z.preprocess(
  (input) => (input === "yes" ? true : input === "no" ? false : input),
  z.boolean({ error: say("yes or no") }),
);
export const name = (words: string) =>
  z.string({ error: say(words) }).max(80, { error: say(`${words} of at most 80 letters`) });
export const oneOf = <const T extends readonly string[]>(words: readonly [...T]) =>
  z.enum(words as unknown as [string, ...string[]], {
    error: say(`one of: ${words.join(", ")}`),
  }) as z.ZodType<T[number]>;

/** A value as a message may show it: short, on one line. */
export function shown(input: unknown): string {
  if (input === null || input === undefined) return "nothing";
  const text = typeof input === "string" ? `"${input}"` : JSON.stringify(input);
  const oneLine = text.replace(/[\p{Cc}\p{Cf}]+/gu, " ");
  return oneLine.length > 60 ? `${oneLine.slice(0, 57)}...` : oneLine;
}

import type { z } from "zod";
import { buildMovement } from "./build-movement.js";
import type { Mistake, Reading } from "./mistake.js";
import { nearestWord } from "./mistake.js";
import { movementShape } from "./movement-shape.js";
import type { Movement } from "./movement.js";
import { readYamlLines } from "./yaml-lines.js";

/**
 * Reads a movement file (YAML; the format is shown by `exampleMovements`).
 *
 * @returns the movement, or every mistake with its line: shape first, then what cannot be built (two escape
 *   wheels, an arbor that drives itself, a loop).
 */
export function readMovement(yamlText: string): Reading<Movement> {
  const lined = readYamlLines(yamlText);
  if (!lined.ok) return lined;
  const { data, lineOf } = lined.value;
  if (data === undefined || data === null)
    return {
      ok: false,
      mistakes: [{ text: 'the file is empty; a movement file begins with "trains:"' }],
    };
  const shape = movementShape.safeParse(data);
  if (shape.success) return buildMovement(shape.data, lineOf);
  const mistakes = shape.error.issues.flatMap((issue) => mistakesOf(issue, lineOf));
  return { ok: false, mistakes: inOrder(mistakes) };
}

function mistakesOf(
  issue: z.core.$ZodIssue,
  lineOf: (path: readonly PropertyKey[]) => number,
): readonly Mistake[] {
  const where = issue.path
    .map(String)
    .filter((step, i) => !(i === 0 && step === "trains") && !(i === 2 && step === "arbors"))
    .join(" > ");
  if (issue.code === "unrecognized_keys") {
    const known = knownKeysNear(issue.path);
    return issue.keys.map((key) => {
      const meant = nearestWord(key, known);
      const hint =
        meant === undefined ? `; known here: ${[...known].join(", ")}` : `; did you mean "${meant}"?`;
      return {
        line: lineOf([...issue.path, key]),
        text: `"${key.slice(0, 40)}" is not known here${known.length ? hint : ""}`,
      };
    });
  }
  return [{ line: lineOf(issue.path), text: where === "" ? issue.message : `${where}: ${issue.message}` }];
}

/** Keys that the shape allows at a path, for a hint. */
function knownKeysNear(path: readonly PropertyKey[]): readonly string[] {
  let schema: unknown = movementShape;
  for (const step of path) schema = childOf(unwrapped(schema), String(step));
  const shape = (unwrapped(schema) as { shape?: object } | undefined)?.shape;
  return shape === undefined ? ["teeth", "leaves", "module", "tip diameter", "seen"] : Object.keys(shape);
}

type Definition = { def?: { type?: string; innerType?: unknown; valueType?: unknown; options?: unknown[] } };

function unwrapped(schema: unknown): unknown {
  let inner = schema;
  for (;;) {
    const def = (inner as Definition | undefined)?.def;
    if (def?.innerType !== undefined) inner = def.innerType;
    else if (def?.type === "union" && def.options !== undefined)
      inner = def.options.find((option) => (option as { shape?: object }).shape !== undefined);
    else return inner;
  }
}

function childOf(schema: unknown, step: string): unknown {
  const shape = (schema as { shape?: Record<string, unknown> } | undefined)?.shape;
  return shape === undefined ? (schema as Definition | undefined)?.def?.valueType : shape[step];
}

/** By line, without repeats. */
export function inOrder(mistakes: readonly Mistake[]): readonly Mistake[] {
  const seen = new Set<string>();
  return mistakes
    .filter(({ line, text }) => {
      const key = `${line} ${text}`;
      return seen.has(key) ? false : (seen.add(key), true);
    })
    .sort((a, b) => (a.line ?? 0) - (b.line ?? 0));
}

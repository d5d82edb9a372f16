import type { Movement } from "../../src/trains/index.js";
import { evaluateMovement, mistakeText, readMovement } from "../../src/trains/index.js";

/** The movement of a file that must be good. */
export function movementOf(yaml: string): Movement {
  const reading = readMovement(yaml);
  if (!reading.ok) throw new Error(reading.mistakes.map(mistakeText).join("\n"));
  return reading.value;
}

export const evaluated = (yaml: string) => evaluateMovement(movementOf(yaml));

/** What a bad file is told, one line a mistake. */
export function mistakesIn(yaml: string): readonly string[] {
  const reading = readMovement(yaml);
  return reading.ok ? [] : reading.mistakes.map(mistakeText);
}

export const codes = (findings: readonly { readonly code: string }[]): readonly string[] =>
  findings.map(({ code }) => code);

import { failed, type Problem } from "../problem/index.js";
import type { Leftover } from "./find-leftover.js";
import type { Part } from "./part.js";

const nameOf = (part: Part | undefined): string => part?.label ?? part?.id ?? "a part";

/** To whole millimetres, without a zero below zero. */
const whole = (mm: number): string => (Math.round(mm) + 0).toFixed(0);

/**
 * What was seen and could not be measured, and parts too close to each other.
 *
 * @param parts those that `touching` speaks of by their place in this list.
 */
export function leftoverProblems(
  leftover: Pick<Leftover, "touching" | "unknown">,
  parts: readonly Part[],
): Problem[] {
  const problems = leftover.touching.map(
    ([a, b]) =>
      failed(
        "parts-touching",
        `${nameOf(parts[a])} and ${nameOf(parts[b])} touch or overlap in the picture; what is hidden is not measured`,
        "move them a few millimetres apart and take the photograph again",
      ).problem,
  );
  if (leftover.unknown.length > 0) {
    const list = leftover.unknown
      .slice(0, 8)
      .map(
        ({ centreMm: [x, y], lengthMm, widthMm }) =>
          `${whole(lengthMm)} by ${whole(widthMm)} mm at ${whole(x)}, ${whole(y)} mm`,
      );
    const more = leftover.unknown.length - list.length;
    problems.push(
      failed(
        "part-unknown",
        `seen and not understood: ${list.join("; ")}${more > 0 ? `; ${more} more` : ""} (from the middle of the mat)`,
        "if it is a part of the clock: lay it flat, apart from others, and take a photograph from closer",
      ).problem,
    );
  }
  return problems;
}

import { failed, type Problem } from "../problem/index.js";
import type { Unknown } from "./find/seen-patch.js";
import type { Part } from "./part.js";

const nameOf = (part: Part | Unknown | undefined): string => {
  if (part === undefined) return "a part";
  if ("id" in part) return part.label ?? part.id;
  return `${part.hasTeeth ? "" : "something of "}${sizeAndPlace(part)}`;
};

/** To whole millimetres, without a zero below zero. */
const whole = (mm: number): string => (Math.round(mm) + 0).toFixed(0);

type Place = Omit<Unknown, "centrePx">;

/** Of something that is named by nothing else. */
export const sizeAndPlace = ({ centreMm: [x, y], lengthMm, widthMm, hasTeeth }: Place): string =>
  `${hasTeeth ? "a round thing with teeth, " : ""}${whole(lengthMm)} by ${whole(widthMm)} mm at ${whole(x)}, ${whole(y)} mm`;

/** A pinion on its end is no larger, its walls and a short arbor seen from the side, mm; and about so round. */
const [largestEndMm, longestEnd] = [20, 1.8] as const;

/** What to do besides where something may be a pinion on its end: the caps of a lantern hide its trundles. */
export const ifPinion = (places: readonly Pick<Unknown, "lengthMm" | "widthMm">[]): string =>
  places.some(({ lengthMm, widthMm }) => lengthMm <= largestEndMm && lengthMm < longestEnd * widthMm)
    ? "; if it is a pinion on its end, a lantern too: set it straight below the camera in light from several sides, or lay its arbor down"
    : "";

/**
 * What was seen and could not be measured, and parts too close to each other.
 *
 * @param touching pairs; a part is absent where it could not be measured after all.
 */
export function leftoverProblems(
  touching: readonly (readonly [Part | Unknown | undefined, Part | Unknown | undefined])[],
  unknown: readonly Unknown[],
): Problem[] {
  const problems = touching.map(
    ([a, b]) =>
      failed(
        "parts-touching",
        `${nameOf(a)} and ${nameOf(b)} touch or overlap in the picture; what is hidden is not measured`,
        "move them a few millimetres apart and take the photograph again",
      ).problem,
  );
  if (unknown.length > 0) {
    const list = unknown.slice(0, 8).map(sizeAndPlace);
    const more = unknown.length - list.length;
    problems.push(
      failed(
        "part-unknown",
        `seen and not understood: ${list.join("; ")}${more > 0 ? `; ${more} more` : ""} (from the middle of the mat)`,
        `if it is a part of the clock: lay it flat, apart from others, and take a photograph from closer${ifPinion(unknown)}`,
      ).problem,
    );
  }
  return problems;
}

import type { PlatesResult } from "./run-plates.js";
import { terminalText } from "./terminal-text.js";
import { columns } from "./text-columns.js";

const mm = (value: number): string => value.toFixed(2);

/** What `wheelsurvey plates` prints; ± is the expanded uncertainty, k = 2. */
export function platesText({ plates, match, distances, depths }: PlatesResult): string {
  const lines = plates.map(
    ({ name, holes, photographs, isCutOff }) =>
      `${terminalText(name)}: ${holes} holes, ${photographs === 1 ? "one photograph" : `${photographs} photographs put together`}` +
      (isCutOff
        ? "; it reaches beyond the picture: add photographs of the rest, four holes or more in both, or take the A3 mat"
        : ""),
  );
  if (match?.matched === false)
    lines.push("", `The plates do not lie over each other: ${match.reason ?? ""}`);
  if (match?.arbors) {
    lines.push("", `Both plates over each other, ${mm(match.rmsMm ?? 0)} mm left (root mean square).`);
    lines.push(
      ...columns([
        ["first", "second", "apart, mm"],
        ...match.arbors.map((a) => [a.first, a.second, `${mm(a.offMm)} ± ${mm(2 * Math.SQRT2 * a.uMm)}`]),
      ]),
    );
    const alone = [
      ...(match.onlyFirst ?? []).map((id) => `${id} of the first`),
      ...(match.onlySecond ?? []).map((id) => `${id} of the second`),
    ];
    if (alone.length > 0) lines.push(`In one plate only: ${alone.join(", ")}.`);
  }
  if (distances.length > 0)
    lines.push(
      "",
      "Centre distances of pivot holes that may mesh",
      ...columns([
        ["from", "to", "mm", "wear lets it grow by, mm", "plates"],
        ...distances.map((d) => [
          d.from,
          d.to,
          `${mm(d.value)} ± ${mm(2 * d.u)}`,
          d.wearMm > 0.005 ? mm(d.wearMm) : "",
          d.bothPlates ? "both" : "first",
        ]),
      ]),
    );
  for (const { from, to, words } of depths) lines.push("", `${from} to ${to}: ${words}`);
  return `${lines.join("\n")}\n`;
}

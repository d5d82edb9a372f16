import { roundToUncertainty } from "../quantity/index.js";
import type { QuantityRecord, SetRecord } from "../record/index.js";
import { terminalText } from "./terminal-text.js";

/** Coverage factor of every ±. */
const k = 2;

export const setName = (set: SetRecord): string =>
  `${set.kind} set${set.label === undefined ? "" : ` ${terminalText(set.label)}`}`;

/** What the sets of photographs say, a few lines each; nothing where there are none. */
export function setLines(sets: readonly SetRecord[]): string[] {
  if (sets.length === 0) return [];
  return ["", "Sets", ...sets.flatMap(linesOf), ""];
}

function linesOf(set: SetRecord): string[] {
  const head = `  ${setName(set)}, ${set.photos.length} photographs: ${verdictWords(set)}`;
  const limits = set.detection_limits;
  const values = [
    value("eccentricity", set.eccentricity_mm, "mm") +
      (set.eccentricity_angle_deg
        ? ` towards ${set.eccentricity_angle_deg.value.toFixed(0)}° in the first photograph`
        : ""),
    value("run-out", set.radial_runout_mm, "mm"),
    value("rise and fall of the rim", set.axial_runout_mm, "mm"),
    value("sideways play", set.radial_play_mm, "mm", limits?.radial_play_mm),
    value("twist", set.twist_deg, "°", limits?.twist_deg),
    value("rock", set.rock_deg, "°", limits?.rock_deg),
    value("height of the face", set.face_height_mm, "mm"),
    value("tip Ø at that height", set.tip_diameter_mm, "mm"),
  ].filter((text) => text !== "");
  const findings = (set.findings ?? []).map((f) => `    ${f.severity}: ${terminalText(f.text)}`);
  return [head, ...values.map((text) => `    ${text}`), ...findings];
}

function verdictWords(set: SetRecord): string {
  if (set.verdict !== undefined) return set.verdict;
  return set.kind === "turn" ? "eccentricity told" : "height told";
}

function value(name: string, q: QuantityRecord | undefined, unit: "mm" | "°", limit?: number): string {
  if (q === undefined) return "";
  const rounded = roundToUncertainty(q.value, k * q.u);
  const space = unit === "mm" ? " " : "";
  const seen = limit === undefined ? "" : `; seen from ${limit.toFixed(2)}${space}${unit} on`;
  return `${name} ${rounded.value} ± ${rounded.u}${space}${unit}${seen}`;
}

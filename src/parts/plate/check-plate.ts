import { expandedUncertainty, standardUncertainty } from "../../quantity/index.js";
import type { Finding, Hole, Part } from "../part.js";

/** An oval pivot hole is worth a word from here on, mm; no standard gives limits for clock plates: a setting. */
const watchOvalityMm = 0.05;
const faultOvalityMm = 0.15;

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(0)}°`;

/**
 * What a repairer should know of a plate.
 *
 * @param isBlown a good part of it is so bright that it is white.
 */
export function checkPlate(plate: Part, isBlown = false): Finding[] {
  const findings = (plate.holes ?? []).filter((h) => h.kind === "pivot").flatMap(checkPivotHole);
  if (plate.plate?.isCutOff)
    findings.push({
      code: "plate-cut-off",
      severity: "note",
      text: "the plate reaches beyond the picture: photograph the rest with at least three holes of this picture in view",
    });
  if (isBlown)
    findings.push({
      code: "plate-too-bright",
      severity: "note",
      text: "a part of the plate is white with light: holes there are measured badly, or not seen at all; photograph it without flash, in soft light",
    });
  return findings;
}

function checkPivotHole(hole: Hole): Finding[] {
  const { ovalityMm: oval, ovalityAngleRad: angle } = hole;
  const sure = oval.value - 2 * standardUncertainty(oval);
  if (sure < watchOvalityMm / 2 || oval.value < watchOvalityMm) return [];
  return [
    {
      code: "hole-oval",
      severity: sure > faultOvalityMm ? "fault" : "watch",
      text:
        `pivot hole ${hole.id} is worn oval by ${oval.value.toFixed(2)} mm (± ${expandedUncertainty(oval).toFixed(2)} mm)` +
        (angle === undefined ? "" : `, longest at ${degrees(angle.value)}`) +
        ": the arbor leans away by half of it under load",
    },
  ];
}

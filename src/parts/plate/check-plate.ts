import { expandedUncertainty, standardUncertainty } from "../../quantity/index.js";
import type { Finding, Hole, Part } from "../part.js";
import type { NoHole } from "./find-open-holes.js";

/** An oval pivot hole is worth a word from here on, mm; no standard gives limits for clock plates: a setting. */
const watchOvalityMm = 0.05;
const faultOvalityMm = 0.15;

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(0)}°`;

/**
 * What a repairer should know of a plate.
 *
 * @param isBlown a good part of it is so bright that it is white.
 * @param noHoles what else was seen in it, mat frame, mm. @param isGrey its metal has no colour.
 */
export function checkPlate(
  plate: Part,
  isBlown = false,
  noHoles: readonly NoHole[] = [],
  isGrey = false,
): Finding[] {
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
  if (isGrey)
    findings.push({
      code: "plate-grey",
      severity: "note",
      text:
        "the metal has no colour of its own: holes are told by lightness alone, and where they have wide bevels their " +
        "diameters are uncertain; light from several sides shows bevels",
    });
  const posts = noHoles.filter((h) => h.isPost);
  if (posts.length > 0)
    findings.push({
      code: "post-in-plate",
      severity: "note",
      text: `no holes, but ends of posts, screws or pivots of another metal, as it seems: ${listOf(posts)}`,
    });
  const unclear = noHoles.filter((h) => !h.isPost);
  if (unclear.length > 0)
    findings.push({
      code: "hole-unclear",
      severity: "note",
      text:
        `round grey places that may be holes in shade, oil sinks, or ends of posts and pivots, and are not measured: ${listOf(unclear)}; ` +
        "if they are holes, photograph the plate again from further to one side, in light that falls into them",
    });
  return findings;
}

const mostListed = 8;

function listOf(noHoles: readonly NoHole[]): string {
  const list = noHoles
    .slice(0, mostListed)
    .map((h) => `${(2 * h.radiusMm).toFixed(1)} mm wide at ${h.xMm.toFixed(0)}, ${h.yMm.toFixed(0)} mm`);
  const more = noHoles.length - list.length;
  return `${list.join("; ")}${more > 0 ? `; ${more} more` : ""} (from the middle of the mat)`;
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

import type { SetResult } from "../survey/index.js";
import type { SetRecord } from "./measurement-schema.js";
import { degreesFromRad, recordQuantity, round, type QuantityRecord } from "./quantity-record.js";
import type { Quantity, Unit } from "../quantity/index.js";

/** A set's result as the contract states it: mm and degrees, unknown absent. */
export function recordSet(set: SetResult): SetRecord {
  const q = <K extends string>(
    key: K,
    value: Quantity<Unit> | undefined,
    direction = false,
  ): { [P in K]?: QuantityRecord } => {
    const record = value && recordQuantity(value, direction);
    return record === undefined ? {} : ({ [key]: record } as { [P in K]?: QuantityRecord });
  };
  const { limits, axisMm } = set;
  const degrees = (rad: number): number => round((rad * 180) / Math.PI, 4);
  return {
    kind: set.kind,
    ...(set.label === undefined ? {} : { label: set.label }),
    photos: [...set.photos],
    ...q("eccentricity_mm", set.eccentricityMm),
    ...q("eccentricity_angle_deg", set.eccentricityAngleRad, true),
    ...q("radial_runout_mm", set.radialRunoutMm),
    ...q("axial_runout_mm", set.axialRunoutMm),
    ...q("axial_high_angle_deg", set.axialHighAngleRad, true),
    ...(axisMm ? { axis_mm: [round(axisMm[0], 4), round(axisMm[1], 4)] as [number, number] } : {}),
    ...q("radial_play_mm", set.radialPlayMm),
    ...q("twist_deg", set.twistRad),
    ...q("rock_deg", set.rockRad),
    ...(limits
      ? {
          detection_limits: {
            ...(limits.radialMm === undefined ? {} : { radial_play_mm: round(limits.radialMm, 4) }),
            ...(limits.twistRad === undefined ? {} : { twist_deg: degrees(limits.twistRad) }),
            ...(limits.rockRad === undefined ? {} : { rock_deg: degrees(limits.rockRad) }),
          },
        }
      : {}),
    ...(set.greatestMovement
      ? {
          greatest_movement: {
            kind: set.greatestMovement.kind,
            photos: [...set.greatestMovement.files] as [string, string],
          },
        }
      : {}),
    ...q("face_height_mm", set.faceHeightMm),
    ...q("tip_diameter_mm", set.tipDiameterMm),
    ...(set.positions.length > 0
      ? {
          positions: set.positions.map((p) => ({
            file: p.file,
            part_id: p.partId,
            turn_deg: degreesFromRad(p.turnRad),
            centre_mm: [round(p.centreMm[0], 4), round(p.centreMm[1], 4)] as [number, number],
            ...(p.arborMm
              ? { arbor_mm: [round(p.arborMm[0], 4), round(p.arborMm[1], 4)] as [number, number] }
              : {}),
            ...(p.axisOnFaceMm
              ? { axis_mm: [round(p.axisOnFaceMm[0], 4), round(p.axisOnFaceMm[1], 4)] as [number, number] }
              : {}),
            ...(p.twistRad === undefined ? {} : { twist_deg: degrees(p.twistRad) }),
            ...(p.leftOut === undefined ? {} : { left_out: p.leftOut }),
          })),
        }
      : {}),
    ...(set.verdict === undefined ? {} : { verdict: set.verdict }),
    ...(set.findings.length > 0 ? { findings: set.findings.map((f) => ({ ...f })) } : {}),
    ...(set.problems.length > 0 ? { problems: set.problems.map((p) => ({ ...p })) } : {}),
  };
}

import type { Hole, Notches, PinsOfWheel, PlateForm, Point } from "../parts/index.js";
import type { Quantity, Unit } from "../quantity/index.js";
import type { PartRecord } from "./measurement-schema.js";
import { degreesFromRad, recordQuantity, round, type QuantityRecord } from "./quantity-record.js";

type Recorded<K extends keyof PartRecord> = NonNullable<PartRecord[K]>;

const mm = (value: number): number => round(value, 4);
const pointMm = ([x, y]: Point): [number, number] => [mm(x), mm(y)];
const pointPx = ([x, y]: Point): [number, number] => [round(x, 2), round(y, 2)];

/** The key with its quantity; nothing for a value that is unknown or not finite. */
function stated<K extends string>(
  key: K,
  value: Quantity<Unit> | undefined,
  direction = false,
): { [P in K]?: QuantityRecord } {
  const record = value && recordQuantity(value, direction);
  return record === undefined ? {} : ({ [key]: record } as { [P in K]?: QuantityRecord });
}

/** @param scaled false: no length leaves the program. */
export function recordPins(pins: PinsOfWheel, scaled: boolean): Recorded<"pins"> {
  return {
    count: pins.count,
    ...(scaled
      ? {
          ...stated("circle_diameter_mm", pins.circleDiameterMm),
          ...stated("pin_diameter_mm", pins.pinDiameterMm),
          ...stated("height_mm", pins.heightMm),
        }
      : {}),
    places: pins.places.map((p) => ({
      angle_deg: degreesFromRad(p.angleRad),
      state: p.state,
      ...(scaled && p.spacingDeviationMm !== undefined
        ? { spacing_deviation_mm: mm(p.spacingDeviationMm) }
        : {}),
      ...(scaled && p.offMm !== undefined ? { off_mm: mm(p.offMm) } : {}),
      end_px: pointPx(p.endPx),
    })),
  };
}

export function recordNotches(n: Notches, scaled: boolean): Recorded<"notches"> {
  return {
    notches: n.notches.map((notch) => ({
      angle_deg: degreesFromRad(notch.angleRad),
      ...(scaled && notch.widthMm !== undefined ? { width_mm: mm(notch.widthMm) } : {}),
      ...(scaled && notch.depthMm !== undefined ? { depth_mm: mm(notch.depthMm) } : {}),
      state: notch.state,
    })),
    blows_per_turn: n.blowsPerTurn,
    blows: [...n.blows],
    ...(n.order ? { order: n.order } : {}),
    ...(n.sequence ? { sequence: n.sequence } : {}),
    missing: n.missing.map((m) => ({ angle_deg: degreesFromRad(m.angleRad), after_blows: m.afterBlows })),
    extra: n.extra.map((e) => ({ angle_deg: degreesFromRad(e.angleRad) })),
    probability: round(n.probability, 6),
  };
}

export const recordHoles = (holes: readonly Hole[]): Recorded<"holes"> =>
  holes.map((hole) => ({
    id: hole.id,
    kind: hole.kind,
    centre_px: pointPx(hole.centrePx),
    centre_mm: pointMm(hole.centreMm),
    centre_u_mm: round(hole.uCentreMm, 5),
    ...stated("diameter_mm", hole.diameterMm),
    ...stated("ovality_mm", hole.ovalityMm),
    ...stated("ovality_angle_deg", hole.ovalityAngleRad, true),
    ...(hole.bushed === undefined ? {} : { bushed: hole.bushed }),
    ...stated("bush_diameter_mm", hole.bushDiameterMm),
    edge_px: hole.edgePx.map(pointPx),
  }));

export const recordPlate = (plate: PlateForm): Recorded<"plate"> => ({
  outline_mm: plate.outlineMm.map(pointMm),
  ...stated("length_mm", plate.lengthMm),
  ...stated("width_mm", plate.widthMm),
  cut_off: plate.isCutOff,
  scale_u: round(plate.uScale, 7),
});

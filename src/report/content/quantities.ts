import type { PartRecord, QuantityRecord } from "../../record/index.js";

/** A measured quantity of a part, as reports name it. */
export interface NamedQuantity {
  /** Where it stands in the record of the part: "tip_diameter_mm", "pins.circle_diameter_mm". */
  readonly key: string;
  readonly name: string;
  readonly unit: "mm" | "°" | "1/in" | "";
  readonly q: QuantityRecord;
  /** An amount that is never negative: near its uncertainty it says nothing. */
  readonly amount?: true;
}

type Row = readonly [key: string, name: string, unit: NamedQuantity["unit"], amount?: "amount"];

const rows: readonly Row[] = [
  ["plate.length_mm", "Length", "mm"],
  ["plate.width_mm", "Width", "mm"],
  ["tip_diameter_mm", "Tip diameter", "mm"],
  ["root_diameter_mm", "Root diameter", "mm"],
  ["tooth_depth_mm", "Tooth depth", "mm"],
  ["pitch_diameter_mm", "Pitch diameter", "mm"],
  ["module_mm", "Module", "mm"],
  ["diametral_pitch", "Diametral pitch", "1/in"],
  ["bore_diameter_mm", "Bore diameter", "mm"],
  ["eccentricity_mm", "Eccentricity", "mm", "amount"],
  ["eccentricity_angle_deg", "Direction of eccentricity", "°"],
  ["relative_eccentricity", "Eccentricity / tip diameter", "", "amount"],
  ["radial_runout_mm", "Radial run-out", "mm", "amount"],
  ["roundness_mm", "Roundness (least squares)", "mm", "amount"],
  ["roundness_minimum_zone_mm", "Roundness (minimum zone)", "mm", "amount"],
  ["ovality_mm", "Ovality", "mm", "amount"],
  ["ovality_angle_deg", "Direction of ovality", "°"],
  ["three_lobe_mm", "Three-lobed form", "mm", "amount"],
  ["tilt_deg", "Tilt of the face", "°"],
  ["pins.circle_diameter_mm", "Circle of the lifting pins", "mm"],
  ["pins.pin_diameter_mm", "Diameter of a lifting pin", "mm"],
  ["pins.height_mm", "Height of the lifting pins", "mm"],
  ["face_height_mm", "Height of face used", "mm"],
];

/** Directions mean nothing where the amount that they belong to does not stand out. */
const amountOf: Readonly<Record<string, "eccentricity_mm" | "ovality_mm">> = {
  eccentricity_angle_deg: "eccentricity_mm",
  ovality_angle_deg: "ovality_mm",
};

/** An amount that is not above its expanded uncertainty. */
export const isBelowUncertainty = (q: QuantityRecord): boolean => q.value <= 2 * q.u;

/** What was measured of a part, in the order of a report; what is unknown is left out. */
export function quantitiesOf(part: PartRecord): NamedQuantity[] {
  return rows.flatMap(([key, name, unit, amount]) => {
    const q = key
      .split(".")
      .reduce<unknown>((at, step) => (at as Readonly<Record<string, unknown>> | undefined)?.[step], part);
    if (!q) return [];
    return [{ key, name, unit, q: q as QuantityRecord, ...(amount ? { amount: true as const } : {}) }];
  });
}

/** As above, for people: without directions of what does not stand out. */
export const tellingQuantitiesOf = (part: PartRecord): NamedQuantity[] =>
  quantitiesOf(part).filter(({ key }) => {
    // With a scale the amount itself stands there.
    if (key === "relative_eccentricity" && part.eccentricity_mm) return false;
    const amount = amountOf[key];
    const q = amount && part[amount];
    return !(amount && (!q || isBelowUncertainty(q)));
  });

import type { Part, PartOutlinePx, Point, RimProfile, TeethCount } from "../parts/index.js";
import type { Quantity, Unit } from "../quantity/index.js";
import type { OutlineRecord, PartRecord, RimRecord, TeethRecord } from "./measurement-schema.js";
import { recordHoles, recordNotches, recordPins, recordPlate } from "./record-fittings.js";
import { degreesFromRad, recordQuantity, round, type QuantityRecord } from "./quantity-record.js";

/** Enough samples to show every tooth of the finest wheel, few enough for a document of sixty photographs. */
const maxRimSamples = 1536;
const maxOutlinePoints = 96;

const pointPx = ([x, y]: Point): [number, number] => [round(x, 2), round(y, 2)];
const pointMm = ([x, y]: Point): [number, number] => [round(x, 4), round(y, 4)];
const isFinitePoint = (p: Point): boolean => Number.isFinite(p[0]) && Number.isFinite(p[1]);

/** Polyline for drawing, thinned evenly. */
function polyline(points: readonly Point[]): [number, number][] {
  const step = Math.max(1, points.length / maxOutlinePoints);
  const kept: [number, number][] = [];
  for (let i = 0; i < points.length; i += step) {
    const p = points[Math.floor(i)]!;
    if (isFinitePoint(p)) kept.push([round(p[0], 1), round(p[1], 1)]);
  }
  return kept;
}

function recordOutline(outline: PartOutlinePx, scaled: boolean): OutlineRecord {
  const { scaleBar } = outline;
  return {
    tip_circle_px: polyline(outline.tipCircle),
    root_circle_px: polyline(outline.rootCircle),
    pitch_circle_px: polyline(outline.pitchCircle),
    ...(outline.edge ? { edge_px: polyline(outline.edge) } : {}),
    ...(outline.bore ? { bore_px: polyline(outline.bore) } : {}),
    ...(scaled && scaleBar && scaleBar.lengthMm > 0
      ? {
          scale_bar: {
            from_px: pointPx(scaleBar.from),
            to_px: pointPx(scaleBar.to),
            length_mm: scaleBar.lengthMm,
          },
        }
      : {}),
  };
}

function recordRim(rim: RimProfile, scaled: boolean): RimRecord | undefined {
  const n = rim.radiusMm.length;
  if (n === 0 || !Number.isFinite(rim.stepRad) || rim.stepRad <= 0) return undefined;
  const every = Math.ceil(n / maxRimSamples);
  const radii: number[] = [];
  const unseen: [number, number][] = [];
  for (let i = 0; i < n; i += every) {
    const radius = rim.radiusMm[i]!;
    const seen = rim.seen[i] !== 0 && Number.isFinite(radius);
    if (!seen) {
      const run = unseen.at(-1);
      if (run && run[0] + run[1] === radii.length) run[1] += 1;
      else unseen.push([radii.length, 1]);
    }
    radii.push(Number.isFinite(radius) ? round(radius, scaled ? 3 : 2) : 0);
  }
  return {
    start_deg: degreesFromRad(rim.startAngleRad),
    step_deg: (rim.stepRad * every * 180) / Math.PI,
    ...(scaled ? { radius_mm: radii } : { radius_px: radii }),
    unseen,
  };
}

function recordTeeth(teeth: TeethCount, scaled: boolean): TeethRecord {
  const mm = (value: number | undefined): number | undefined =>
    scaled && value !== undefined && Number.isFinite(value) ? round(value, 4) : undefined;
  const probability = (p: number): number => round(Math.min(1, Math.max(0, p)), 6);
  return {
    count: teeth.count,
    probability: probability(teeth.probability),
    alternatives: teeth.alternatives.map((a) => ({
      count: a.count,
      probability: probability(a.probability),
    })),
    missing: teeth.missing.map(({ angleRad }) => ({ angle_deg: degreesFromRad(angleRad) })),
    bent: teeth.bent.map(({ angleRad, offsetMm }) => ({
      angle_deg: degreesFromRad(angleRad),
      ...present("offset_mm", mm(offsetMm)),
    })),
    places: teeth.places.map((place) => ({
      number: place.number,
      angle_deg: degreesFromRad(place.angleRad),
      state: place.state,
      tip_px: pointPx(place.tipPx),
      ...present("index_deviation_mm", mm(place.indexDeviationMm)),
      ...present("tip_deviation_mm", mm(place.tipDeviationMm)),
    })),
  };
}

/** The key with its value, or nothing: unknown is absent. */
function present<K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } {
  return value === undefined ? {} : ({ [key]: value } as { [P in K]?: V });
}

/**
 * A measured part as the contract states it.
 *
 * @param scaled false if the photograph carries no scale: then no length leaves the program, whatever the
 *   part holds (parts are measured in pixels then).
 */
export function recordPart(part: Part, scaled: boolean): PartRecord {
  const spoilt: string[] = [];
  const q = <K extends string>(
    key: K,
    value: Quantity<Unit> | undefined,
    direction = false,
  ): { [P in K]?: QuantityRecord } => {
    const isLength = value?.unit === "mm" || key === "diametral_pitch";
    if (value === undefined || (isLength && !scaled)) return {};
    const record = recordQuantity(value, direction);
    if (record === undefined) spoilt.push(key);
    return present(key, record);
  };
  const estimates = part.eccentricityEstimates;
  const record = {
    id: part.id,
    kind: part.kind,
    ...present("label", part.label),
    ...present("on_arbor_of", part.onArborOf),
    centre_px: pointPx(part.centrePx),
    ...(scaled && part.centreMm ? { centre_mm: pointMm(part.centreMm) } : {}),
    ...q("face_height_mm", part.faceHeightMm),
    ...(part.teeth ? { teeth: recordTeeth(part.teeth, scaled) } : {}),
    ...q("tip_diameter_mm", part.tipDiameterMm),
    ...q("root_diameter_mm", part.rootDiameterMm),
    ...q("tooth_depth_mm", part.toothDepthMm),
    ...q("pitch_diameter_mm", part.pitchDiameterMm),
    ...q("module_mm", part.moduleMm),
    ...q("diametral_pitch", part.diametralPitch),
    ...(scaled ? present("addendum_assumption", part.addendumAssumption) : {}),
    ...(scaled ? present("nearest_preferred_module_mm", part.nearestPreferredModuleMm) : {}),
    ...(part.crossings ? { crossings: { count: part.crossings.count } } : {}),
    ...(part.pins ? { pins: recordPins(part.pins, scaled) } : {}),
    ...(part.notches ? { notches: recordNotches(part.notches, scaled) } : {}),
    ...(scaled && part.plate ? { plate: recordPlate(part.plate) } : {}),
    ...(scaled && part.holes ? { holes: recordHoles(part.holes) } : {}),
    ...present("rake", part.rake),
    ...q("bore_diameter_mm", part.boreDiameterMm),
    ...q("eccentricity_mm", part.eccentricityMm),
    ...q("eccentricity_angle_deg", part.eccentricityAngleRad, true),
    ...(scaled && estimates
      ? {
          eccentricity_estimates: {
            datum: estimates.datum,
            radial_mm: pointMm(estimates.radialMm),
            tangential_mm: pointMm(estimates.tangentialMm),
            u_mm: round(estimates.uMm, 5),
            agree: estimates.agree,
          },
        }
      : {}),
    ...q("relative_eccentricity", part.relativeEccentricity),
    ...q("radial_runout_mm", part.radialRunoutMm),
    ...q("roundness_mm", part.roundnessMm),
    ...q("roundness_minimum_zone_mm", part.roundnessMinimumZoneMm),
    ...q("ovality_mm", part.ovalityMm),
    ...q("ovality_angle_deg", part.ovalityAngleRad, true),
    ...q("three_lobe_mm", part.threeLobeMm),
    ...q("tilt_deg", part.tiltRad),
    ...present("rim", part.rim && recordRim(part.rim, scaled)),
    outline: recordOutline(part.outlinePx, scaled),
    ...(part.problems.length > 0 ? { problems: part.problems.map((p) => ({ ...p })) } : {}),
  };
  const findings = part.findings.map((f) => ({ ...f }));
  for (const key of spoilt) {
    findings.push({
      code: "value-not-finite",
      severity: "note",
      text: `${key} could not be computed and is left out.`,
    });
  }
  return { ...record, findings };
}

import { correctionOf, noCorrections, type PartCorrection, type PhotoCorrection } from "./corrections.js";
import { correctTeeth, hasTeethByHand } from "./correct-teeth.js";
import type { FindingRecord, PartRecord, PhotoRecord } from "./measurement-schema.js";
import type { QuantityRecord } from "./quantity-record.js";
import type { MeasureSettings } from "./record-photo.js";
import { withoutKeys } from "./without-keys.js";
import type { SurveyDocument } from "./survey-record.js";

/**
 * A photograph as a person wants it understood: what was measured, with the changes by hand put over it. Every
 * changed part says so in a finding ("...-by-hand") that also names what was measured. Values that hung on what was
 * changed are worked out again or left out, never kept.
 */
export function correctPhoto(record: PhotoRecord, correction: PhotoCorrection | undefined): PhotoRecord {
  if (correction === undefined) return record;
  if (correction.left_out) {
    const why = correction.reason === undefined ? "" : `: ${correction.reason}`;
    return {
      ...record,
      parts: [],
      problems: [
        {
          code: "left-out-by-hand",
          text: `this photograph was left out by hand${why}`,
          advice: "take it in again on the page, or leave it as it is",
        },
      ],
    };
  }
  const found = record.parts.flatMap((part): PartRecord[] => {
    const change = correction.parts.find((each) => meansPart(each, part));
    if (change === undefined) return [part];
    return change.left_out ? [] : [correctPart(part, change)];
  });
  const seenByHand = correction.parts.filter(({ part, left_out }) => isByHand(part) && !left_out);
  return { ...record, parts: [...found, ...seenByHand.map(partByHand)] };
}

/** A survey as its report shows it. */
export function correctedSurvey(survey: SurveyDocument): SurveyDocument {
  const { corrections = noCorrections, measurement } = survey;
  return {
    ...survey,
    measurement: {
      ...measurement,
      photos: measurement.photos.map((photo) => correctPhoto(photo, correctionOf(corrections, photo.sha256))),
    },
  };
}

/** Settings to measure a photograph with: heights stated for it by hand come before those of the survey. */
export function settingsWithCorrection<S extends MeasureSettings>(
  settings: S,
  correction: PhotoCorrection | undefined,
): S {
  const own = correction?.face_heights ?? [];
  if (own.length === 0) return settings;
  const given = (settings.faceHeights ?? []).filter((each) => own.every(({ label }) => label !== each.label));
  return {
    ...settings,
    faceHeights: [
      ...given,
      ...own.map(({ label, mm }) => ({ ...(label === undefined ? {} : { label }), heightMm: mm })),
    ],
  };
}

export const isByHand = (partId: string): boolean => /^hand-\d+$/.test(partId);

/** Same id, and still at the same place: within a fifth of the tip radius (20 px where none is known). */
export function meansPart(change: PartCorrection, part: PartRecord): boolean {
  if (change.part !== part.id) return false;
  const [dx, dy] = [change.at_px[0] - part.centre_px[0], change.at_px[1] - part.centre_px[1]];
  return Math.hypot(dx, dy) <= Math.max(20, 0.2 * (tipRadiusPx(part) ?? 0));
}

/** Changes of a photograph that no part of its measurement fits any more. */
export const strayCorrections = (record: PhotoRecord, correction: PhotoCorrection): PartCorrection[] =>
  correction.parts.filter(
    (change) => !isByHand(change.part) && !record.parts.some((part) => meansPart(change, part)),
  );

/** Mean distance of the tip circle from the centre, in the picture. */
export function tipRadiusPx(part: PartRecord): number | undefined {
  const points = part.outline?.tip_circle_px ?? [];
  if (points.length < 3) return undefined;
  const [cx, cy] = part.centre_px;
  return points.reduce((sum, [x, y]) => sum + Math.hypot(x - cx, y - cy), 0) / points.length;
}

const note = (code: string, text: string): FindingRecord => ({ code, severity: "note", text });

function correctPart(part: PartRecord, change: PartCorrection): PartRecord {
  const notes: FindingRecord[] = [];
  let corrected = part;
  if (change.kind !== undefined && change.kind !== part.kind) {
    corrected = { ...corrected, kind: change.kind };
    notes.push(note("kind-by-hand", `kind stated by hand; the photograph was read as: ${part.kind}`));
  }
  if (change.label !== undefined && change.label !== (part.label ?? "")) {
    const bare = withoutKeys(corrected, "label");
    corrected = change.label === "" ? bare : { ...bare, label: change.label };
    const read = part.label === undefined ? "no tag" : `tag ${part.label}`;
    notes.push(note("label-by-hand", `place in the movement stated by hand; the photograph shows ${read}`));
  }
  if (change.circle !== undefined) {
    corrected = withCircle(corrected, change.circle);
    notes.push(note("circle-by-hand", circleWords(part, corrected)));
  }
  if (hasTeethByHand(change)) {
    const before = corrected;
    corrected = correctTeeth(corrected, change);
    notes.push(note("teeth-by-hand", teethWords(before, corrected)));
  }
  if (change.remark !== undefined && change.remark !== "")
    notes.push(note("remark-by-hand", `remark: ${change.remark}`));
  return { ...corrected, findings: [...corrected.findings, ...notes] };
}

function circleWords(measured: PartRecord, changed: PartRecord): string {
  const tip = measured.tip_diameter_mm;
  const now = changed.tip_diameter_mm;
  return tip === undefined || now === undefined
    ? "tip circle set by hand"
    : `tip circle set by hand: ${now.value.toFixed(2)} mm across; measured ${tip.value.toFixed(2)} mm`;
}

function teethWords(measured: PartRecord, changed: PartRecord): string {
  const was = measured.teeth;
  const now = changed.teeth?.count;
  const measuredWords =
    was === undefined
      ? "the photograph gave no count"
      : `measured ${was.count}, probability ${was.probability.toFixed(3)}`;
  return was?.count === now
    ? `teeth looked through by hand; their number stays ${now}`
    : `tooth count stated by hand: ${now}; ${measuredWords}`;
}

/** What says something about a circle that is no longer believed. */
const hangsOnCircle = [
  "root_diameter_mm",
  "tooth_depth_mm",
  "pitch_diameter_mm",
  "module_mm",
  "diametral_pitch",
  "addendum_assumption",
  "nearest_preferred_module_mm",
  "eccentricity_mm",
  "eccentricity_angle_deg",
  "eccentricity_estimates",
  "relative_eccentricity",
  "radial_runout_mm",
  "roundness_mm",
  "roundness_minimum_zone_mm",
  "ovality_mm",
  "ovality_angle_deg",
  "three_lobe_mm",
  "rim",
  "tilt_deg",
  "centre_mm",
] as const;

/** Findings of the program about the form of the circle. */
const formFindings: ReadonlySet<string> = new Set(["eccentric", "oval", "estimates-disagree", "leans"]);

function withCircle(part: PartRecord, circle: NonNullable<PartCorrection["circle"]>): PartRecord {
  const { centre_px: centre, tip_radius_px: radius, within_px: within } = circle;
  const before = tipRadiusPx(part);
  const tip = part.tip_diameter_mm;
  const kept = { ...part } as Record<string, unknown>;
  for (const key of [...hangsOnCircle, "tip_diameter_mm", "outline"]) delete kept[key];
  let tipNow: QuantityRecord | undefined;
  if (before !== undefined && tip !== undefined) {
    const mmPerPx = tip.value / (2 * before);
    const value = 2 * radius * mmPerPx;
    // A circle set on the screen is as good as the hand, on top of the scale it is measured by.
    tipNow = { value, u: Math.hypot((tip.u * value) / tip.value, 2 * within * mmPerPx) };
  }
  const moved = before === undefined ? undefined : movedOutline(part, centre, radius / before);
  return {
    ...(kept as unknown as PartRecord),
    centre_px: centre,
    ...(tipNow === undefined ? {} : { tip_diameter_mm: tipNow }),
    ...(moved === undefined ? { outline: drawnCircle(centre, radius) } : { outline: moved }),
    findings: part.findings.filter(({ code }) => !formFindings.has(code)),
  };
}

type Px = readonly [number, number];

function movedOutline(part: PartRecord, [cx, cy]: Px, factor: number): NonNullable<PartRecord["outline"]> {
  const [px, py] = part.centre_px;
  const move = (points: readonly Px[]): [number, number][] =>
    points.map(([x, y]) => [cx + (x - px) * factor, cy + (y - py) * factor]);
  return { tip_circle_px: move(part.outline!.tip_circle_px), root_circle_px: [], pitch_circle_px: [] };
}

function drawnCircle([cx, cy]: Px, radius: number): NonNullable<PartRecord["outline"]> {
  const points = Array.from({ length: 72 }, (_, i): [number, number] => {
    const a = (2 * Math.PI * i) / 72;
    return [cx + radius * Math.cos(a), cy - radius * Math.sin(a)];
  });
  return { tip_circle_px: points, root_circle_px: [], pitch_circle_px: [] };
}

/** A part that the program did not find. It has no lengths: nothing was measured. */
function partByHand(change: PartCorrection): PartRecord {
  const { circle, kind = "wheel", label } = change;
  const bare: PartRecord = {
    id: change.part,
    kind,
    centre_px: circle?.centre_px ?? change.at_px,
    ...(label === undefined || label === "" ? {} : { label }),
    ...(circle === undefined ? {} : { outline: drawnCircle(circle.centre_px, circle.tip_radius_px) }),
    findings: [note("part-by-hand", "this part was marked by hand; the program did not find it")],
  };
  const counted = hasTeethByHand(change) ? correctTeeth(bare, change) : bare;
  const remark =
    change.remark === undefined || change.remark === ""
      ? []
      : [note("remark-by-hand", `remark: ${change.remark}`)];
  return { ...counted, findings: [...counted.findings, ...remark] };
}

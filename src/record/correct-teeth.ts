import type { PartCorrection, ToothCorrection } from "./corrections.js";
import type { PartRecord, TeethRecord } from "./measurement-schema.js";
import type { QuantityRecord } from "./quantity-record.js";

type Place = NonNullable<TeethRecord["places"]>[number];

export const hasTeethByHand = ({ tooth_count, teeth = [] }: PartCorrection): boolean =>
  tooth_count !== undefined || teeth.length > 0;

/**
 * A part with its teeth as a person sees them. A count that was stated holds; else it follows from the teeth that
 * were added and struck. Module and pitch diameter are worked out again with the new count, by the same assumption.
 */
export function correctTeeth(part: PartRecord, change: PartCorrection): PartRecord {
  const measured = part.teeth;
  const places = measured?.places ?? [];
  const looked = lookedThrough(places, change.teeth ?? []);
  const near = places.length === 0 ? 0 : 90 / places.length;
  const struckAndAdded =
    (change.teeth ?? []).filter(({ state }) => state === "added").length -
    places.filter((place) => stateAt(place, change.teeth ?? [], near) === "none").length;
  const count =
    change.tooth_count ?? (measured === undefined ? looked.length : measured.count + struckAndAdded);
  if (count < 1) return part;
  const same = measured?.count === count;
  // Places that do not add up to the count would number the teeth wrongly.
  const shown = looked.length === count ? looked : undefined;
  const at = (state: Place["state"]): { angle_deg: number }[] =>
    (shown ?? []).filter((place) => place.state === state).map(({ angle_deg }) => ({ angle_deg }));
  const teeth: TeethRecord = {
    count,
    probability: 1,
    alternatives: [],
    missing: shown ? at("missing") : (measured?.missing ?? []),
    bent: shown ? at("bent") : (measured?.bent ?? []),
    ...(shown ? { places: same ? shown : shown.map(withoutDeviation) } : {}),
  };
  const recounted = { ...part, teeth, findings: findingsAfter(part, shown) };
  return same ? recounted : withCount(recounted, measured?.count, count);
}

/** @param near how near an angle must be to mean this tooth: a quarter of the pitch, degrees. */
const stateAt = (
  place: Place,
  teeth: readonly ToothCorrection[],
  near: number,
): ToothCorrection["state"] | undefined =>
  teeth.find(({ state, angle_deg }) => state !== "added" && apart(angle_deg, place.angle_deg) < near)?.state;

const apart = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180);

/** Places after a person looked through them, numbered anew from the one nearest to x. */
function lookedThrough(places: readonly Place[], teeth: readonly ToothCorrection[]): Place[] {
  const kept = places.flatMap((place): Place[] => {
    const state = stateAt(place, teeth, 90 / places.length);
    if (state === "none") return [];
    if (state === undefined || state === "added") return [place];
    return [{ ...place, state: state === "broken" ? "short" : state }];
  });
  const added = teeth.flatMap(({ state, angle_deg }): Place[] => {
    const tip = state === "added" ? tipAt(places, angle_deg) : undefined;
    return tip === undefined ? [] : [{ number: 1, angle_deg, state: "whole", tip_px: tip }];
  });
  if (added.length === 0 && kept.length === places.length) return kept;
  const round = [...kept, ...added].sort((a, b) => a.angle_deg - b.angle_deg);
  const first = round.findIndex((p) => round.every((q) => apart(q.angle_deg, 0) >= apart(p.angle_deg, 0)));
  return [...round.slice(first), ...round.slice(0, first)].map((place, i) => ({ ...place, number: i + 1 }));
}

/** Where a tooth at this angle has its tip: between its neighbours. */
function tipAt(places: readonly Place[], angleDeg: number): [number, number] | undefined {
  if (places.length < 3) return undefined;
  const [a, b] = [...places].sort((p, q) => apart(p.angle_deg, angleDeg) - apart(q.angle_deg, angleDeg));
  const [da, db] = [apart(a!.angle_deg, angleDeg), apart(b!.angle_deg, angleDeg)];
  const share = da + db === 0 ? 0 : da / (da + db);
  return [
    a!.tip_px[0] + (b!.tip_px[0] - a!.tip_px[0]) * share,
    a!.tip_px[1] + (b!.tip_px[1] - a!.tip_px[1]) * share,
  ];
}

const withoutDeviation = ({ number, angle_deg, state, tip_px }: Place): Place => ({
  number,
  angle_deg,
  state,
  tip_px,
});

/** Codes of findings that are said anew from the places, and the one that a stated count settles. */
const aboutPlaces: ReadonlySet<string> = new Set(["missing-teeth", "short-teeth", "bent-teeth"]);
const aboutCount = "count-not-sure";

function findingsAfter(part: PartRecord, places: readonly Place[] | undefined): PartRecord["findings"] {
  const kept = part.findings.filter(({ code }) => code !== aboutCount);
  if (places === undefined) return kept;
  const say = (state: Place["state"], one: string, many: string): PartRecord["findings"] => {
    const at = places.filter((place) => place.state === state);
    if (at.length === 0) return [];
    const where = at
      .slice(0, 6)
      .map(({ angle_deg }) => `${angle_deg.toFixed(0)}°`)
      .join(", ");
    const more = at.length > 6 ? " and elsewhere" : "";
    const text = `${at.length === 1 ? `1 tooth ${one}` : `${at.length} teeth ${many}`}, at ${where}${more} (looked through by hand)`;
    return [{ code: `${state}-teeth`, severity: "fault", text }];
  };
  return [
    ...kept.filter(({ code }) => !aboutPlaces.has(code)),
    ...say("missing", "is missing", "are missing"),
    ...say("short", "is short or broken", "are short or broken"),
    ...say("bent", "is bent", "are bent"),
  ];
}

const timesBy = (q: QuantityRecord, factor: number): QuantityRecord => ({
  value: q.value * factor,
  u: q.u * factor,
});

/** Module and pitch diameter for another count, from the same tip diameter and the same addendum in modules. */
function withCount(part: PartRecord, before: number | undefined, count: number): PartRecord {
  const kept = { ...part } as Record<string, unknown>;
  for (const key of ["module_mm", "pitch_diameter_mm", "diametral_pitch", "nearest_preferred_module_mm"])
    delete kept[key];
  const { tip_diameter_mm: tip, module_mm: module } = part;
  if (before === undefined || tip === undefined || module === undefined) return kept as unknown as PartRecord;
  const addendum = (tip.value / module.value - before) / 2;
  const now = timesBy(module, (before + 2 * addendum) / (count + 2 * addendum));
  return {
    ...(kept as unknown as PartRecord),
    module_mm: now,
    pitch_diameter_mm: timesBy(now, count),
    diametral_pitch: { value: 25.4 / now.value, u: (25.4 / now.value) * (now.u / now.value) },
  };
}

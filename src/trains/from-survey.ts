import type { Measured, SeenCount } from "./movement.js";
import type { PhotoEvidence } from "./photo-evidence.js";

/** What this room needs of a measured part, as the measurement document writes it down (mm, value and u). */
export interface SurveyedPart {
  readonly kind: string;
  /** Part tag: T1 is the time train's first arbor, S2 the strike train's second. */
  readonly label?: string;
  readonly teeth?: {
    readonly count: number;
    readonly probability: number;
    readonly alternatives: readonly SeenCount[];
  };
  readonly tip_diameter_mm?: Measured;
  readonly module_mm?: Measured;
  readonly pins?: { readonly count: number };
  /** Of a count wheel. */
  readonly notches?: {
    readonly notches: readonly unknown[];
    readonly blows: readonly number[];
    readonly probability: number;
  };
}

/** A photograph that is not sure says nothing beside one that is. */
const sureFrom = 0.95;

/**
 * Evidence from labelled parts, by part tag. Several photographs of one gear share its damage, so the
 * probabilities of those that are sure (else of all) are averaged, not multiplied; of several sizes the surest is taken. Parts without a label or a
 * count say nothing about a train.
 */
export function evidenceFromSurvey(surveyed: readonly SurveyedPart[]): readonly PhotoEvidence[] {
  const parts = surveyed.map(withoutNotchCount);
  const gears = gearsSeen(parts).map(({ label, kind, views }): PhotoEvidence => {
    const tip = surest(views.map(({ tip_diameter_mm }) => tip_diameter_mm));
    // A module hangs on the count it was found with: only that of the photograph with the leading count will do.
    const alternatives = averaged(views);
    const module = surest(
      views.filter(({ teeth }) => teeth?.count === alternatives[0]!.count).map(({ module_mm }) => module_mm),
    );
    return {
      position: label,
      kind,
      alternatives,
      ...(module && { moduleMm: module }),
      ...(tip && { tipDiameterMm: tip }),
      ...fittingsOf(views),
    };
  });
  const toothless = parts.flatMap((part): PhotoEvidence[] => {
    const label = part.label?.trim().toUpperCase();
    if (label === undefined || part.teeth !== undefined || gears.some(({ position }) => position === label))
      return [];
    const fittings = fittingsOf([part]);
    return fittings.blows ? [{ position: label, kind: "wheel", alternatives: [], ...fittings }] : [];
  });
  return [...gears, ...toothless];
}

/** What was counted round a count wheel may be its notches: they are no teeth of a gear. */
function withoutNotchCount(part: SurveyedPart): SurveyedPart {
  if (part.notches === undefined || part.teeth?.count !== part.notches.notches.length) return part;
  const { teeth, ...rest } = part;
  return teeth === undefined ? part : rest;
}

/** Pins and notches as the surest photograph shows them. */
function fittingsOf(views: readonly SurveyedPart[]): Pick<PhotoEvidence, "pins" | "blows"> {
  const pins = views.find((view) => view.pins !== undefined && view.pins.count > 0)?.pins?.count;
  const notches = views
    .flatMap((view) => (view.notches && view.notches.probability >= sureFrom ? [view.notches] : []))
    .sort((a, b) => b.probability - a.probability)[0];
  return {
    ...(pins !== undefined && { pins }),
    ...(notches && notches.blows.length > 0 && { blows: notches.blows }),
  };
}

const trainNames = { T: "time", S: "strike", C: "chime" } as const;
const arborNames = ["great", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];

/**
 * A movement file to go on from, made of what was measured: trains from the labels, `?` where a gear was not
 * seen, and comments where the person has to say what a photograph cannot.
 */
export function draftMovement(parts: readonly SurveyedPart[]): string {
  const gears = gearsSeen(parts.map(withoutNotchCount));
  const lines = ["# Made from photographs. Check it, and add what they cannot show.", "trains:"];
  let anyTrain = false;
  for (const letter of ["T", "S", "C"] as const) {
    const own = gears.filter(({ label }) => label.startsWith(letter));
    if (own.length === 0) continue;
    anyTrain = true;
    const last = Math.max(...own.map(({ place }) => place));
    lines.push(`  ${trainNames[letter]}:`, `    # power: { turns: 16 }`, "    arbors:");
    for (let place = 1; place <= last; place++)
      lines.push(
        ...arborDraft(
          `${letter}${place}`,
          place,
          last,
          own.filter((gear) => gear.place === place),
        ),
      );
  }
  if (!anyTrain) lines.push("  time:", "    arbors:", "      great: { wheel: ? }");
  lines.push(...motionWorkDraft(gears.filter(({ label }) => label.startsWith("M"))));
  return `${lines.join("\n")}\n`;
}

interface GearSeen {
  readonly label: string;
  readonly place: number;
  readonly kind: "wheel" | "pinion";
  readonly partKind: string;
  readonly views: readonly SurveyedPart[];
}

/** Gears with a place in a train, each with all its photographs, in the order of the trains. */
function gearsSeen(parts: readonly SurveyedPart[]): readonly GearSeen[] {
  const gears = new Map<string, { gear: Omit<GearSeen, "views">; views: SurveyedPart[] }>();
  for (const part of parts) {
    const label = part.label?.trim().toUpperCase();
    const match = label === undefined ? null : /^[TSCM]([1-9])$/.exec(label);
    if (
      match === null ||
      label === undefined ||
      part.teeth === undefined ||
      part.kind === "plate" ||
      part.kind === "ratchet"
    )
      continue;
    const kind = part.kind === "pinion" ? "pinion" : "wheel";
    const key = `${label} ${kind}`;
    const known = gears.get(key);
    if (known) known.views.push(part);
    else
      gears.set(key, { gear: { label, place: Number(match[1]), kind, partKind: part.kind }, views: [part] });
  }
  return [...gears.values()].map(({ gear, views }) => ({ ...gear, views })).sort((a, b) => a.place - b.place);
}

function averaged(all: readonly SurveyedPart[]): readonly SeenCount[] {
  const sure = all.filter(({ teeth }) => teeth!.probability >= sureFrom);
  const views = sure.length > 0 ? sure : all;
  const sums = new Map<number, number>();
  for (const { teeth } of views) {
    const own = new Map(teeth!.alternatives.map(({ count, probability }) => [count, probability]));
    own.set(teeth!.count, teeth!.probability);
    for (const [count, probability] of own)
      sums.set(count, (sums.get(count) ?? 0) + probability / views.length);
  }
  return [...sums]
    .map(([count, probability]) => ({ count, probability }))
    .filter(({ count, probability }) => count > 0 && probability > 0)
    .sort((a, b) => b.probability - a.probability);
}

const surest = (figures: readonly (Measured | undefined)[]): Measured | undefined =>
  figures.filter((figure) => figure !== undefined).sort((a, b) => (a.u ?? Infinity) - (b.u ?? Infinity))[0];

function arborDraft(tag: string, place: number, last: number, gears: readonly GearSeen[]): readonly string[] {
  const isTime = tag.startsWith("T");
  const wheel = gears.find(({ kind }) => kind === "wheel");
  const pinion = gears.find(({ kind }) => kind === "pinion");
  const escape = wheel?.partKind === "escape-wheel";
  const name = escape ? "escape" : (arborNames[place - 1] ?? `arbor ${place}`);
  const parts = [
    ...(place === 1 ? [] : [`pinion: ${pinion ? gearDraft(pinion) : "?"}`]),
    ...(wheel
      ? [`${escape ? "escape wheel" : "wheel"}: ${gearDraft(wheel)}`]
      : place < last
        ? ["wheel: ?"]
        : isTime
          ? ["escape wheel: ?"]
          : []),
    ...(wheel?.partKind === "count-wheel" ? ["count wheel: yes"] : []),
    ...pinsDraft(wheel),
  ];
  const hint = isTime
    ? place === 2
      ? " # add hand: minute to the arbor that carries the minute hand"
      : ""
    : place === 1
      ? " # add pins, locks, warning, count wheel, fly where they belong"
      : "";
  return [`      ${name}: { ${parts.join(", ")} }${hint}`];
}

const pinsDraft = (wheel: GearSeen | undefined): readonly string[] => {
  const pins = wheel?.views.find((view) => view.pins !== undefined && view.pins.count > 0)?.pins?.count;
  return pins === undefined ? [] : [`pins: ${pins}`];
};

/** A plain count when the photographs are sure, else what they saw. */
function gearDraft({ views, kind, label }: GearSeen): string {
  const [evidence] = evidenceFromSurvey(
    views.map((view) => ({ ...view, label, kind: kind === "pinion" ? "pinion" : view.kind })),
  );
  const { alternatives, tipDiameterMm } = evidence!;
  const [best] = alternatives;
  const tip = tipDiameterMm && `tip diameter: ${measuredText(tipDiameterMm)}`;
  if (best!.probability >= 0.999 && tip === undefined) return String(best!.count);
  const counts =
    best!.probability >= 0.999
      ? `${kind === "wheel" ? "teeth" : "leaves"}: ${best!.count}`
      : `seen: { ${alternatives
          .slice(0, 5)
          .map(({ count, probability }) => `${count}: ${Number(probability.toFixed(4))}`)
          .join(", ")} }`;
  return `{ ${[counts, ...(tip === undefined ? [] : [tip])].join(", ")} }`;
}

const measuredText = ({ value, u }: Measured): string =>
  u === undefined ? `${value.toFixed(3)} mm` : `${value.toFixed(3)} ± ${u.toFixed(3)} mm`;

/** M1 is the cannon pinion, M2 the minute wheel with its pinion, M3 the hour wheel. */
function motionWorkDraft(gears: readonly GearSeen[]): readonly string[] {
  if (gears.length === 0) return [];
  const at = (place: number, kind: "wheel" | "pinion") => {
    const gear = gears.find((g) => g.place === place && g.kind === kind);
    return gear === undefined ? "?" : gearDraft(gear);
  };
  const cannon = gears.find(({ place }) => place === 1);
  return [
    "motion work: # M1 is the cannon pinion, M2 the minute wheel and pinion, M3 the hour wheel",
    `  cannon pinion: ${cannon ? gearDraft(cannon) : "?"}`,
    `  minute wheel: ${at(2, "wheel")}`,
    `  minute pinion: ${at(2, "pinion")}`,
    `  hour wheel: ${at(3, "wheel")}`,
  ];
}

import { pointOfEpicycloid, rollToAngle } from "./epicycloid.js";

/** Proportions of a tooth, in modules, and where they come from. */
export interface ToothForm {
  readonly family: "driving wheel" | "driven pinion" | "drives and is driven";
  /** Of a driven pinion: how its leaves end. */
  readonly profile?: LeafProfile;
  /** Above the pitch circle. */
  readonly addendum: number;
  /** Below the pitch circle. */
  readonly dedendum: number;
  /** Of a tooth, along the pitch circle. */
  readonly thickness: number;
  readonly flank: Flank;
  readonly source: string;
  /** What the source does not cover. */
  readonly notes: readonly string[];
}

/** Above the pitch circle; below it flanks are straight and point to the centre. */
export type Flank =
  | {
      readonly kind: "epicycloid";
      /** Of the rolling circle, modules. */
      readonly rollingRadius: number;
      /** Of the arc that a cutter may have in its place, modules (f_r of the tables). */
      readonly arcRadius: number;
    }
  /** Two arcs from the edges of the tooth to its middle. */
  | { readonly kind: "arc"; readonly arcRadius: number };

export type LeafProfile = "A" | "B" | "C";

/**
 * Height above the pitch circle, in modules, at which the epicycloid from the edge of a tooth pi/2 modules thick meets
 * the middle of the tooth. Rolling circle: half the mate's pitch diameter.
 */
export function epicycloidHeight(teeth: number, mateTeeth: number): number {
  const curve = { baseRadius: teeth / 2, rollingRadius: mateTeeth / 4 };
  const roll = rollToAngle(curve, Math.PI / (2 * teeth));
  return pointOfEpicycloid(curve, roll).radius - teeth / 2;
}

/**
 * Addendum factor f_a and flank radius factor f_r of a wheel that drives a pinion. 0.95 and 1.40 of the full height
 * give back the tables of BS 978-2:1952 (derived from the tables; the standard's text not seen).
 */
export const wheelFactors = (teeth: number, mateTeeth: number): { fa: number; fr: number } => {
  const height = epicycloidHeight(teeth, mateTeeth);
  return { fa: 0.95 * height, fr: 1.4 * height };
};

/** Of teeth and spaces that share the pitch evenly, and of a wheel's depth below the pitch circle. */
const halfPi = Math.PI / 2;

const tableLimits = { leaves: [6, 16], ratio: [3, 12] } as const;

export function drivingWheelForm(teeth: number, leaves: number): ToothForm {
  const { fa, fr } = wheelFactors(teeth, leaves);
  const ratio = teeth / leaves;
  const outside = [
    ...(leaves < tableLimits.leaves[0] || leaves > tableLimits.leaves[1]
      ? [`the tables have pinions of 6 to 16 leaves, this one has ${leaves}`]
      : []),
    ...(ratio < tableLimits.ratio[0] || ratio > tableLimits.ratio[1]
      ? [`the tables have ratios from 3 to 12, this one is ${Number(ratio.toFixed(3))}`]
      : []),
  ];
  return {
    family: "driving wheel",
    addendum: fa,
    dedendum: halfPi,
    thickness: halfPi,
    flank: { kind: "epicycloid", rollingRadius: leaves / 4, arcRadius: fr },
    source:
      "BS 978-2:1952, wheel that drives a pinion: thickness and dedendum 1.5708 m; addendum 0.95 of the height at " +
      "which the epicycloids meet (rolling circle half the mate's pitch diameter), derived from its tables",
    notes: outside.map((what) => `${what}: the addendum is reckoned by the same rule, beyond them`),
  };
}

/** Addendum, tip radius, thickness in modules, BS 978-2:1952 (as its tables are passed on; the standard not seen). */
const leafProfiles: Readonly<Record<LeafProfile, Readonly<Record<"few" | "many", LeafTable>>>> = {
  A: { few: [0.525, 0.525, 1.05], many: [0.625, 0.625, 1.25] },
  B: { few: [0.67, 0.7, 1.05], many: [0.805, 0.84, 1.25] },
  C: { few: [0.855, 1.05, 1.05], many: [1.05, 1.25, 1.25] },
};
type LeafTable = readonly [addendum: number, tipRadius: number, thickness: number];

export const usualProfile = (leaves: number): LeafProfile => (leaves >= 10 ? "A" : leaves >= 8 ? "B" : "C");

/** Room below the mate's tip, in modules. From memory, not checked against a source. */
const leafClearance = 0.4;

export function drivenPinionForm(
  leaves: number,
  wheelTeeth: number,
  profile: LeafProfile = usualProfile(leaves),
): ToothForm {
  const [addendum, arcRadius, thickness] = leafProfiles[profile][leaves <= 10 ? "few" : "many"];
  return {
    family: "driven pinion",
    profile,
    addendum,
    dedendum: wheelFactors(wheelTeeth, leaves).fa + leafClearance,
    thickness,
    flank: { kind: "arc", arcRadius },
    source: `BS 978-2:1952, driven pinion, profile ${profile}: addendum, tip radius and thickness as printed; dedendum the wheel's addendum and 0.4 m of room (from memory, no source seen)`,
    notes:
      leaves < tableLimits.leaves[0] || leaves > tableLimits.leaves[1]
        ? [`the standard has pinions of 6 to 16 leaves, this one has ${leaves}`]
        : [],
  };
}

/** First and last count, f_a, f_r: BS 978-2:1952, gears that drive at one time and are driven at another. */
const sometimesDriving: readonly (readonly [from: number, to: number, fa: number, fr: number])[] = [
  [8, 8, 1.16, 1.85],
  [9, 9, 1.17, 1.87],
  [10, 11, 1.19, 1.9],
  [12, 13, 1.2, 1.92],
  [14, 16, 1.22, 1.95],
  [17, 20, 1.24, 1.98],
  [21, 25, 1.26, 2.01],
  [26, 34, 1.27, 2.03],
  [35, 54, 1.29, 2.06],
  [55, 134, 1.31, 2.09],
  [135, 999, 1.32, 2.11],
];

/** @returns undefined where the table has no such count (below 8): nothing is made up in its place. */
export function driveBothWaysForm(teeth: number, mateTeeth: number): ToothForm | undefined {
  const own = sometimesDriving.find(([from, to]) => teeth >= from && teeth <= to);
  const mate = sometimesDriving.find(([from, to]) => mateTeeth >= from && mateTeeth <= to);
  if (own === undefined) return undefined;
  const [, , fa, fr] = own;
  // A mate below the table is no taller than its smallest.
  const mateAddendum = (mate ?? sometimesDriving[0]!)[2];
  return {
    family: "drives and is driven",
    addendum: fa,
    dedendum: mateAddendum + leafClearance,
    thickness: 1.41,
    flank: { kind: "arc", arcRadius: fr },
    source:
      "BS 978-2:1952, gears that drive as well as being driven: thickness 1.41 m, addendum and arc by count as printed; " +
      "dedendum the mate's addendum and 0.4 m of room (from memory, no source seen)",
    notes: mate === undefined ? [`the standard's table begins at 8 teeth, the mate has ${mateTeeth}`] : [],
  };
}

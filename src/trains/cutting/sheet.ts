import { distanceAsMeasured, moduleIfMm } from "../depthing.js";
import type { Mesh } from "../gearing.js";
import { gearsOf, meshesOf } from "../gearing.js";
import { measuredFrom, scaled } from "../measured.js";
import { nearestWord } from "../mistake.js";
import type { Gear, Measured, Movement } from "../movement.js";
import { gearOutlineMm } from "./gear-outline.js";
import type { Indexing } from "./indexing.js";
import { indexingFor } from "./indexing.js";
import type { LeafProfile, ToothForm } from "./tooth-form.js";
import { driveBothWaysForm, drivenPinionForm, drivingWheelForm } from "./tooth-form.js";

/** What it takes to cut one wheel or pinion anew. Plain data, but for the outline. Unknown is absent. */
export interface CuttingSheet {
  readonly position: string;
  readonly words: string;
  readonly kind: "wheel" | "pinion";
  readonly count: number;
  readonly mate: { readonly position: string; readonly words: string; readonly count: number };
  readonly moduleMm: Measured;
  /** Where the module comes from, in words. */
  readonly moduleFrom: string;
  /** What else says something about it. */
  readonly otherModules: readonly ModuleClue[];
  readonly pitchAngleDeg: number;
  readonly pitchDiameterMm: Measured;
  readonly circularPitchMm: Measured;
  /** Of the pair, by module and counts. */
  readonly centreDistanceMm: Measured;
  /** Between the plates, as measured. */
  readonly centreDistanceGivenMm?: Measured;
  /** Outside diameter of the old part, as measured. */
  readonly tipDiameterGivenMm?: Measured;
  /** Absent where no published form covers this gear. */
  readonly tooth?: {
    readonly form: ToothForm;
    /** Outside diameter to turn the blank to. */
    readonly blankDiameterMm: Measured;
    readonly rootDiameterMm: Measured;
    /** How deep the cutter goes, from the blank's edge. */
    readonly depthMm: Measured;
    readonly thicknessMm: Measured;
  };
  readonly indexing?: Indexing;
  /** What to look at before any metal is cut. */
  readonly warnings: readonly string[];
}

export interface ModuleClue {
  readonly from: string;
  readonly moduleMm: Measured;
}

export interface CuttingOptions {
  /** How the leaves of a driven pinion end; default: the usual one for their number. */
  readonly profile?: LeafProfile;
  /** Holes of the dividing plate's rows. */
  readonly plateRows?: readonly number[];
  /** Turns of the plate's handle for one of the work; default 1. */
  readonly handleTurns?: number;
}

/** Stands on every page and drawing. */
export const checkFirst = "Check against the mating part before cutting.";

/**
 * The sheet of one gear of a movement.
 *
 * @param position as in "time.third.wheel".
 * @throws RangeError saying what is missing: no such gear, no count, no mate, no size; or an option that can't be.
 */
export function cuttingSheet(
  movement: Movement,
  position: string,
  options: CuttingOptions = {},
): CuttingSheet {
  const gear = gearAt(movement, position);
  const count = countOf(gear);
  const meshes = meshesOf(movement).filter(({ driver, driven }) =>
    [driver.position, driven.position].includes(position),
  );
  const mesh = meshes.find(({ driver }) => driver.position === position) ?? meshes[0];
  if (mesh === undefined)
    throw new RangeError(
      movement.trains.some(({ arbors }) => arbors.some(({ escape }) => escape?.gear.position === position))
        ? `${gear.words}: an escape wheel's teeth follow from its pallets, not from a mate; no sheet can be made from counts`
        : `${gear.words} works with no other gear of the file: its mate's count is needed for the tooth form`,
    );
  const mate = mesh.driver.position === position ? mesh.driven : mesh.driver;
  const mateCount = countOf(mate, `it works with ${gear.words}, and the tooth form depends on its count`);
  const [used, ...otherModules] = moduleClues(gear, count, meshes);
  if (used === undefined)
    throw new RangeError(
      `${gear.words}: no size is known; give the file a module or tip diameter of this gear or its mate, or their centre distance, as in wheel: { teeth: ${count}, module: 0.8 mm }`,
    );
  const form = formOf(gear, count, mateCount, meshes, options.profile);
  const moduleMm = used.moduleMm;
  const ofModule = (factor: number) => scaled(moduleMm, factor);
  const drawable = form && canBeDrawn(count, form);
  return {
    position,
    words: gear.words,
    kind: gear.kind,
    count,
    mate: { position: mate.position, words: mate.words, count: mateCount },
    moduleMm,
    moduleFrom: used.from,
    otherModules,
    pitchAngleDeg: 360 / count,
    pitchDiameterMm: ofModule(count),
    circularPitchMm: ofModule(Math.PI),
    centreDistanceMm: ofModule((count + mateCount) / 2),
    ...(mesh.centreDistanceMm && { centreDistanceGivenMm: mesh.centreDistanceMm }),
    ...(gear.tipDiameterMm && { tipDiameterGivenMm: gear.tipDiameterMm }),
    ...(form &&
      drawable && {
        tooth: {
          form,
          blankDiameterMm: ofModule(count + 2 * form.addendum),
          rootDiameterMm: ofModule(count - 2 * form.dedendum),
          depthMm: ofModule(form.addendum + form.dedendum),
          thicknessMm: ofModule(form.thickness),
        },
      }),
    ...(options.plateRows && {
      indexing: indexingFor(count, options.plateRows, options.handleTurns),
    }),
    warnings: [
      ...countWarnings(gear),
      ...countWarnings(mate),
      ...sizeWarnings(used, otherModules),
      ...(form && drawable ? form.notes : [noFormText(count, mateCount)]),
      ...(form && drawable ? blankWarnings(gear, ofModule(count + 2 * form.addendum)) : []),
      ...(meshes.length > 1
        ? [
            `it works with ${meshes.length} gears; the form is that for ${mate.words}: check it against the others too`,
          ]
        : []),
    ],
  };
}

/** x0, y0, x1, y1 ... mm, counter-clockwise about (0, 0), a tooth at the top; undefined if no form is known. */
export const sheetOutlineMm = ({ count, moduleMm, tooth }: CuttingSheet): Float64Array | undefined =>
  tooth && gearOutlineMm(count, moduleMm.value, tooth.form);

function gearAt(movement: Movement, position: string): Gear {
  const gears = gearsOf(movement);
  const gear = gears.find((one) => one.position === position);
  if (gear) return gear;
  const places = gears.map((one) => one.position);
  const meant = nearestWord(position, places);
  throw new RangeError(
    `"${position}" is no gear of this movement; ${meant === undefined ? `there are: ${places.join(", ")}` : `did you mean "${meant}"?`}`,
  );
}

function countOf({ teeth, words, position }: Gear, why?: string): number {
  if (teeth !== "missing") return teeth;
  throw new RangeError(
    `the count of ${words} is not known${why === undefined ? "" : ` (${why})`}; choose one of the answers that the train allows, and try it with --change "${position}=..."`,
  );
}

/** What is known of the module, the best first: a stated one, then the surest. */
function moduleClues(gear: Gear, count: number, meshes: readonly Mesh[]): readonly ModuleClue[] {
  const ofGear = (one: Gear, itsCount: number): ModuleClue[] => {
    // Written down without a ±, as off a cutter: taken at its word, unless it was found with another count.
    if (one.moduleMm && one.moduleMm.u === undefined && (one.moduleCount ?? itsCount) === itsCount)
      return [{ from: `the module given for ${one.words}`, moduleMm: one.moduleMm }];
    const moduleMm = moduleIfMm(one, itsCount);
    const from = one.tipDiameterMm ? "tip diameter" : "module";
    return moduleMm ? [{ from: `the ${from} of ${one.words}`, moduleMm }] : [];
  };
  const clues = [
    ...ofGear(gear, count),
    ...meshes.flatMap(({ driver, driven, centreDistanceMm }): ModuleClue[] => {
      const mate = driver.position === gear.position ? driven : driver;
      if (mate.teeth === "missing") return [];
      const both = count + mate.teeth;
      return [
        ...ofGear(mate, mate.teeth),
        ...(centreDistanceMm
          ? [
              {
                from: `the centre distance to ${mate.words}`,
                moduleMm: measuredFrom(
                  [distanceAsMeasured(centreDistanceMm)],
                  ([distance]) => (2 * distance!) / both,
                ),
              },
            ]
          : []),
      ];
    }),
  ];
  return clues.sort((a, b) => (a.moduleMm.u ?? 0) - (b.moduleMm.u ?? 0));
}

function formOf(
  gear: Gear,
  count: number,
  mateCount: number,
  meshes: readonly Mesh[],
  profile: LeafProfile | undefined,
): ToothForm | undefined {
  const drives = meshes.some(({ driver }) => driver.position === gear.position);
  const isDriven = meshes.some(({ driven }) => driven.position === gear.position);
  // The motion work is driven by the train, and drives it when the hands are set.
  const bothWays = (drives && isDriven) || meshes.some(({ train }) => train === "motion work");
  const slowsDown = drives ? count < mateCount : mateCount < count;
  if (bothWays || slowsDown) {
    if (profile !== undefined) throw profileRefused(gear);
    return driveBothWaysForm(count, mateCount);
  }
  if (!drives) return drivenPinionForm(count, mateCount, profile);
  if (profile !== undefined) throw profileRefused(gear);
  return drivingWheelForm(count, mateCount);
}

const profileRefused = ({ words }: Gear): RangeError =>
  new RangeError(`profiles A, B and C are for pinions that are only driven; ${words} is none`);

function canBeDrawn(count: number, form: ToothForm): boolean {
  try {
    gearOutlineMm(count, 1, form);
    return true;
  } catch (cause) {
    if (cause instanceof RangeError) return false;
    throw cause;
  }
}

const noFormText = (count: number, mateCount: number): string =>
  `no published tooth form covers ${count} teeth working with ${mateCount} in this way: copy the form from the old part or its mate; blank and depth are left out`;

function countWarnings(gear: Gear): readonly string[] {
  const { seen, teeth, words, teethFromPhotographs } = gear;
  const own = seen?.find(({ count }) => count === teeth);
  if (seen === undefined || (own?.probability ?? 0) >= 0.999) return [];
  const share = own === undefined ? "under 0.1 %" : `${Number((100 * own.probability).toFixed(1))} %`;
  return [
    `${words}: the photographs give ${teeth} a probability of ${share}${teethFromPhotographs ? ", and nobody has written a count down" : ""}: count it by hand`,
  ];
}

/** Clues that are apart by more than three standard uncertainties, and a share for cutters that are not quite alike. */
function sizeWarnings(used: ModuleClue, others: readonly ModuleClue[]): readonly string[] {
  return others.flatMap((other) => {
    const difference = other.moduleMm.value - used.moduleMm.value;
    const u = Math.hypot(used.moduleMm.u ?? 0, other.moduleMm.u ?? 0, 0.01 * used.moduleMm.value);
    return Math.abs(difference) > 3 * u
      ? [
          `${used.from} gives module ${used.moduleMm.value.toFixed(3)} mm, but ${other.from} ${other.moduleMm.value.toFixed(3)} mm: they do not agree, measure again`,
        ]
      : [];
  });
}

function blankWarnings({ tipDiameterMm, words }: Gear, blank: Measured): readonly string[] {
  if (tipDiameterMm === undefined) return [];
  const difference = blank.value - tipDiameterMm.value;
  const u = Math.hypot(blank.u ?? 0, tipDiameterMm.u ?? 0.05);
  return Math.abs(difference) > 2 * u
    ? [
        `${words} measured ${tipDiameterMm.value.toFixed(2)} mm over its teeth, this form gives ${blank.value.toFixed(2)} mm: the old teeth were of another form, or are worn`,
      ]
    : [];
}

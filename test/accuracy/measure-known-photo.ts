import { findAndMeasureParts } from "../../src/parts/index.js";
import type { FaceHeights, Part } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { solveView } from "../../src/view/index.js";
import type { KnownPhoto, KnownWheel } from "./known-photo.js";
import { matchParts } from "./match-parts.js";
import { countVerdict, sizeErrors, sureProbability } from "./wheel-outcome.js";
import type { CountVerdict, SizeError } from "./wheel-outcome.js";

export interface WheelOutcome {
  readonly wheel: KnownWheel;
  readonly verdict: CountVerdict;
  /** What was claimed, for the talk: absent for a wheel that was missed. */
  readonly countSaid?: number;
  /** That the count is right, as the program states it. */
  readonly probability?: number;
  readonly errors: readonly SizeError[];
}

export interface PhotoOutcome {
  readonly photo: KnownPhoto;
  readonly wheels: readonly WheelOutcome[];
  /** Parts where there is no wheel (nor a plate). */
  readonly falseParts: readonly Part[];
}

/** Less of a rim than this need not be found; if it is, what is said of it counts. */
const leastRimSeen = 0.5;

/** Calipers on the bench: face heights are given to 0.05 mm. */
const asMeasured = (mm: number): number => Math.round(mm * 20) / 20;

/** The face heights that a user would give: by label, and for all parts where they have one height. */
export function heightsGiven(wheels: readonly KnownWheel[]): FaceHeights {
  const labelled = wheels.filter(({ label }) => label !== "");
  const byLabelMm = Object.fromEntries(
    labelled.map(({ label, faceHeightMm }) => [label, asMeasured(faceHeightMm)]),
  );
  const all = new Set(wheels.map(({ faceHeightMm }) => asMeasured(faceHeightMm)));
  const [everyPartMm] = all;
  return { byLabelMm, ...(all.size === 1 && everyPartMm !== undefined ? { everyPartMm } : {}) };
}

/** @throws Error if the file cannot be read: the set is broken, not the program under test. */
export async function measureKnownPhoto(photo: KnownPhoto, withModel = true): Promise<PhotoOutcome> {
  const read = await readPhoto(photo.path);
  if (!read.ok) throw new Error(`${photo.path}: ${read.problem.text}`);
  const view = await solveView(read.value, photo.bars);
  const heights = heightsGiven(photo.wheels);
  const { parts } = await findAndMeasureParts(read.value, view, {
    heights,
    ...(withModel && networksForPhoto().ask),
  });
  return judgeParts(photo, parts, heights);
}

export function judgeParts(photo: KnownPhoto, found: readonly Part[], heights: FaceHeights): PhotoOutcome {
  // Pinions on the arbors of wheels have a table of their own (`run-arbors.ts`), but must not be false here.
  const parts = found.filter(({ onArborOf }) => onArborOf === undefined);
  const partOf = matchParts(
    photo.wheels.map(({ centrePx, pxPerMm, tipDiameterMm }) => ({
      centrePx,
      tipDiameterPx: pxPerMm * tipDiameterMm,
    })),
    parts,
  );
  const wheels = photo.wheels.flatMap((wheel, w): WheelOutcome[] => {
    const index = partOf[w];
    const part = index === undefined ? undefined : parts[index]!;
    if (!part) return wheel.rimSeen < leastRimSeen ? [] : [{ wheel, verdict: "missed", errors: [] }];
    const heightKnown =
      heights.everyPartMm !== undefined ||
      (part.label !== undefined && heights.byLabelMm?.[part.label] !== undefined);
    return [
      {
        wheel,
        verdict: countVerdict(wheel.toothCount, part.teeth),
        ...(part.teeth ? { countSaid: part.teeth.count, probability: part.teeth.probability } : {}),
        errors: sizeErrors(photo, wheel, part, heightKnown),
      },
    ];
  });
  const falseParts = parts.filter(
    (part, p) => !partOf.includes(p) && !(part.kind === "plate" && photo.plateCount > 0),
  );
  const isFalsePinion = ({ onArborOf, teeth }: Part): boolean => {
    const w = partOf.findIndex((p) => p !== undefined && parts[p]!.id === onArborOf);
    const leaves = photo.wheels[w]?.pinionLeaves;
    return leaves === undefined || (teeth!.count !== leaves && teeth!.probability >= sureProbability);
  };
  const onArbors = found.filter(({ onArborOf }) => onArborOf !== undefined);
  return { photo, wheels, falseParts: [...falseParts, ...onArbors.filter(isFalsePinion)] };
}

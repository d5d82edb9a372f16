import type { Photo } from "../photo/index.js";
import { failed, type Problem } from "../problem/index.js";
import type { View } from "../view/index.js";
import { countPartByNetwork, isDoubtedWrongly } from "./count-part-by-network.js";
import { heightOfFace, type FaceHeight, type FaceHeights } from "./face-height.js";
import { pixelFromFace, pxPerMmOnFace } from "./face-plane.js";
import { findDiscs } from "./find-discs.js";
import { ifPinion, leftoverProblems, sizeAndPlace } from "./leftover-problems.js";
import { findLeftover, type TouchingPart } from "./find-leftover.js";
import { findRoundParts, partByLight, type Classify, type RoundPart } from "./find/find-round-parts.js";
import type { Unknown } from "./find/seen-patch.js";
import { countLeaning } from "./leaning/count-leaning.js";
import { asSeenFromMat, wheelOnLean } from "./leaning/on-lean.js";
import { isOfPinion } from "./pinion/is-of-pinion.js";
import { labelParts } from "./label-parts.js";
import type { Part } from "./part.js";
import { pinionsOnArbors, type MeasuredWheel } from "./pinions-on-arbors.js";
import {
  contentProbability,
  isByColourAlone,
  isSettled,
  settle,
  soundProbability,
  type Candidate,
} from "./settle-wheels.js";
import { withFittings } from "./with-fittings.js";
import { wheelAtHeight } from "./wheel-at-height.js";
import type { ReadTeeth } from "./wheel/count-by-network.js";
import { countByFace, countWheel, type CountedWheel } from "./wheel/counted-wheel.js";
import { measureWheel } from "./wheel/measure-wheel.js";

export interface PartsOptions {
  readonly heights?: FaceHeights;
  /** The segmentation network, asked where the plainer ways leave a doubt. */
  readonly classify?: Classify;
  /** The network that tells teeth along a rim, asked where no contrast counts them surely. */
  readonly readTeeth?: ReadTeeth;
}

export interface FoundParts {
  readonly parts: readonly Part[];
  readonly problems: readonly Problem[];
}

/** Below this, what was found is not called a wheel at all. */
const leastProbability = 0.3;

/** Finds the wheels of a photograph and measures each on its own plane. */
export async function findAndMeasureParts(
  photo: Photo,
  view: View,
  options: PartsOptions = {},
): Promise<FoundParts> {
  const heights = options.heights ?? {};
  const usual = heightOfFace(heights, undefined);
  const places: Candidate[][] = [];
  let patches = 0;
  const round: RoundPart[] = [];
  const looks = findRoundParts(photo, view, usual.outlineMm, options.classify);
  const look = async (isEnough: (found: readonly RoundPart[]) => boolean): Promise<void> => {
    for (let next = await looks.next(); !next.done; next = await looks.next()) {
      const found = next.value;
      patches = Math.max(patches, found.length);
      round.push(...found);
      for (const part of found) {
        if (places.some((place) => isSettled(place) && place.some((c) => overlaps(c, part)))) continue;
        const wheel = countWheel(photo, part.contrast, part.face, part.radiusMm);
        if (wheel !== undefined) addToPlace(places, { part, wheel });
        if (wheel !== undefined && wheel.count.probability >= contentProbability) continue;
        const leaning = view.source === "mat" ? countLeaning(photo, view, part, usual) : undefined;
        if (leaning !== undefined) addToPlace(places, leaning);
        if (leaning !== undefined && leaning.wheel.count.probability >= contentProbability) continue;
        const [lying, seen] = leaning === undefined ? [part, wheel] : [leaning.part, leaning.wheel];
        const lean = seen?.lean && { lean: seen.lean };
        const read = await countPartByNetwork(photo, lying, seen, options.readTeeth);
        if (read !== undefined) addToPlace(places, { part: lying, wheel: { ...read, ...lean } });
        if ([wheel, seen, read].some((way) => way !== undefined && way.count.probability >= soundProbability))
          continue;
        const lit = partByLight(lying);
        const again = lit && countWheel(photo, lit.contrast, lit.face, lit.radiusMm);
        if (again !== undefined) addToPlace(places, { part: lit!, wheel: { ...again, ...lean } });
        if (wheel === undefined || !isByColourAlone(part)) continue;
        const byFace = countByFace(photo, seen ?? wheel);
        if (byFace !== undefined) addToPlace(places, { part: lying, wheel: { ...byFace, ...lean } });
      }
      if (isEnough(found)) return;
    }
  };
  await look((found) => found.length > 0 && places.length >= patches && places.every(isSettled));
  const isLikely = (c: Candidate): boolean =>
    c.wheel.count.probability >= leastProbability && !(isWeak(c) && isTooCoarse(c, view));
  const explain = async () => {
    const chosen = places.map((place) => settle(place)!);
    const isSure = (c: Candidate): boolean => isSettled(places[chosen.indexOf(c)]!);
    const discs = findDiscs(
      photo,
      view,
      round.filter((part) => !chosen.some((c) => isSure(c) && overlaps(c, part))),
      (part) => chosen.some((c) => isLikely(c) && overlaps(c, part)),
    );
    const counted = chosen.filter(
      (c) => !discs.some((o) => overlaps(c, { face: { ...o }, radiusMm: o.reachMm })),
    );
    const likely = counted.filter(isLikely);
    const firm = likely.filter((c) => !isWeak(c));
    const explained = [
      ...firm.map(({ wheel: { rim } }) => ({ xMm: rim.face.xMm, yMm: rim.face.yMm, radiusMm: rim.tipMm })),
      ...discs.map(({ xMm, yMm, reachMm }) => ({ xMm, yMm, radiusMm: reachMm })),
    ];
    const leftover = await findLeftover(photo, view, usual.outlineMm, explained, options.classify);
    return { counted, likely, firm, discs, leftover };
  };
  let explained = await explain();
  // A wheel as white as the sheet leaves but pieces where others of plain brass were enough to stop the search.
  if (explained.leftover.unknown.length > 0) {
    const known = places.map((place) => [...place]);
    const roundBefore = round.length;
    await look(() => false);
    const found = places.slice(known.length).filter((place) => isSound(settle(place)));
    // Nothing else changes: what was explained without the network stays explained.
    places.splice(0, places.length, ...known, ...found);
    round.length = roundBefore;
    if (found.length > 0) explained = await explain();
  }
  const { counted, likely, firm, discs, leftover } = explained;
  const others = [...discs, ...leftover.plates, ...leftover.pinions];
  const isPinion = (c: Candidate): boolean =>
    leftover.pinions.some((o) => overlaps(c, { face: { ...o }, radiusMm: o.reachMm })) ||
    (isWeak(c) && [...discs, ...leftover.pinions].some((o) => isOfPinion(c.wheel.rim.face, o)));
  // The holes of a plate, and corners of it, are round things too.
  const isOnPlate = ({ wheel: { rim } }: Candidate): boolean =>
    leftover.plates.some(
      (o) =>
        Math.hypot(o.xMm - rim.face.xMm, o.yMm - rim.face.yMm) < cornersBeyond * o.reachMm &&
        rim.tipMm < roundCorners * o.reachMm,
    );
  const wheels = likely
    .filter((c) => !isPinion(c) && !(isWeak(c) && isOnPlate(c)))
    .map((c) => (isWeak(c) ? notSure(c) : c));
  const doubtful = counted.filter(
    (c) =>
      !likely.includes(c) && !isPinion(c) && !isOnPlate(c) && !wheels.some((wheel) => isWithin(c, wheel)),
  );
  const unknown = leftover.unknown.filter(
    ({ centreMm: [xMm, yMm], lengthMm }) =>
      !wheels.some((c) => overlaps(c, { face: { xMm, yMm }, radiusMm: lengthMm / 2 })),
  );

  const labels = labelParts(
    [
      ...wheels.map(({ wheel: { rim } }) => ({
        centrePx: pixelFromFace(rim.face, 0, 0),
        radiusPx: rim.tipMm * pxPerMmOnFace(rim.face),
      })),
      ...others,
    ],
    view.tags,
  );
  const lying: MeasuredWheel[] = [];
  for (const [i, candidate] of wheels.entries()) {
    const label = labels.labels[i];
    const height = heightOfFace(heights, label);
    const id = `part-${i + 1}`;
    const lies =
      view.source === "mat"
        ? await wheelOnLean(photo, view, candidate, height, id, options.readTeeth)
        : undefined;
    const wheel =
      lies?.wheel ??
      (await wheelAtHeight(photo, view.geometry, candidate, height.outlineMm, options.readTeeth));
    const first = await measureCounted(
      photo,
      lies?.view ?? view,
      candidate,
      wheel,
      lies?.height ?? height,
      id,
      label,
      options.readTeeth,
    );
    const owner = `${photo.sha256.slice(0, 8)}-${id}`;
    const part = lies === undefined ? first : asSeenFromMat(first, lies, owner);
    lying.push({ part, wheel, lies });
  }
  const more = others.map((other, i) => {
    const label = labels.labels[wheels.length + i];
    return other.measure(heightOfFace(heights, label), `part-${wheels.length + i + 1}`, label);
  });
  const nextId = (n: number): string => `part-${wheels.length + others.length + n + 1}`;
  const onArbors =
    view.source === "mat" && options.classify !== undefined
      ? await pinionsOnArbors(photo, view, lying, options.classify, nextId)
      : { wheels: lying.map(({ part }) => part), pinions: [] };
  const measured = onArbors.wheels;
  const parts = [...measured, ...more.filter((part) => part !== undefined), ...onArbors.pinions];
  // Of what is explained to what is measured.
  const partOf = (i: number): Part | undefined =>
    i < firm.length ? measured[wheels.indexOf(firm[i]!)] : more[i - firm.length];
  const touchingPart = (part: TouchingPart): Part | Unknown | undefined => {
    if ("unknown" in part) return part.unknown;
    return "plate" in part ? more[discs.length + part.plate] : partOf(part.explained);
  };
  const touching = leftover.touching
    .filter((pair) => pair.every((part) => !("unknown" in part) || unknown.includes(part.unknown)))
    .map(([a, b]) => [touchingPart(a), touchingPart(b)] as const);
  return {
    parts,
    problems: [
      ...labels.problems,
      ...leftoverProblems(touching, unknown),
      ...problemsOf(view, parts.length, doubtful),
    ],
  };
}

async function measureCounted(
  photo: Photo,
  view: View,
  { part: found }: Candidate,
  wheel: CountedWheel,
  height: FaceHeight,
  id: string,
  label: string | undefined,
  readTeeth: ReadTeeth | undefined,
): Promise<Part> {
  const first = measureWheel(photo, view, wheel, height, id, label);
  const part = (await isDoubtedWrongly(photo, found, wheel, first, readTeeth))
    ? measureWheel(photo, view, { ...wheel, readSurely: true }, height, id, label)
    : first;
  return withFittings(photo, view, part, wheel, height);
}

/**
 * With so few teeth, not surely counted, it may be a pinion on its end, in its own shadow, or the corners of a plate.
 */
const fewTeeth = 20;
const isWeak = ({ wheel: { count, byNetwork } }: Candidate): boolean =>
  // The network for teeth has seen wheels: walls of pinions are teeth to it.
  count.count <= fewTeeth && (count.probability < sureCount || byNetwork === true);
/** No wheel or pinion of a clock for the house has teeth so large, mm (common practice, no source): steps of a snail. */
const mostModuleMm = 2.2;
const isTooCoarse = ({ wheel: { rim, count } }: Candidate, view: View): boolean =>
  view.source === "mat" && (2 * rim.tipMm) / (count.count + 2) > mostModuleMm;
const sureCount = 0.95;
const mostWeak = 0.9;
const notSure = ({ part, wheel }: Candidate): Candidate => ({
  part,
  wheel: { ...wheel, count: { ...wheel.count, probability: Math.min(mostWeak, wheel.count.probability) } },
});
/** The corners of a plate lie further out than half of its length. */
const cornersBeyond = 1.15;
/** A circle round all corners of a square plate reaches 1.41 times as far as half of its length. */
const roundCorners = 1.5;

const isSound = (c: Candidate | undefined): boolean =>
  c !== undefined && c.wheel.count.probability >= soundProbability;

interface Place {
  readonly face: { readonly xMm: number; readonly yMm: number };
  readonly radiusMm: number;
}

function overlaps(c: Candidate, part: Place): boolean {
  const d = Math.hypot(c.wheel.rim.face.xMm - part.face.xMm, c.wheel.rim.face.yMm - part.face.yMm);
  return d < 0.5 * Math.max(c.wheel.rim.tipMm, part.radiusMm);
}

/** Of its radius: what reaches no further out than this is its hub, an opening between its arms, a shadow on it. */
const withinBy = 1.1;

const isWithin = ({ wheel: { rim: inner } }: Candidate, { wheel: { rim: outer } }: Candidate): boolean =>
  Math.hypot(inner.face.xMm - outer.face.xMm, inner.face.yMm - outer.face.yMm) + inner.tipMm <
  withinBy * outer.tipMm;

/** One wheel a place, however it was found. */
function addToPlace(places: Candidate[][], next: Candidate): void {
  const place = places.find((rivals) => rivals.some((c) => overlaps(c, next.part) || overlaps(next, c.part)));
  if (place === undefined) places.push([next]);
  else place.push(next);
}

function problemsOf(view: View, found: number, doubtful: readonly Candidate[]): Problem[] {
  if (found > 0 && doubtful.length === 0) return [];
  const { problem } =
    doubtful.length > 0
      ? failed(
          "teeth-unclear",
          `${doubtful.length} round ${doubtful.length === 1 ? "thing has" : "things have"} no teeth that can be counted` +
            (view.source === "mat"
              ? `: ${doubtful.map(sizeAndPlaceOf).join("; ")} (from the middle of the mat)`
              : ""),
          "if it is a wheel: move closer, focus on the teeth, lay it on plain paper in even light" +
            (view.source === "mat" ? ifPinion(doubtful.map(sizeOf)) : ""),
        )
      : failed(
          "no-part",
          "no wheel was found in this photograph",
          "lay the wheel on the plain field of the mat, fill the picture with the mat, avoid deep shadows",
        );
  return [problem];
}

const sizeOf = ({ wheel: { rim } }: Candidate) => ({ lengthMm: 2 * rim.tipMm, widthMm: 2 * rim.tipMm });
const sizeAndPlaceOf = (c: Candidate): string =>
  sizeAndPlace({ centreMm: [c.wheel.rim.face.xMm, c.wheel.rim.face.yMm], ...sizeOf(c) });

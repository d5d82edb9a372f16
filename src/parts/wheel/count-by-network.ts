import type { Photo } from "../../photo/index.js";
import { pxPerMmOnFace } from "../face-plane.js";
import { countTeeth, type ToothCount } from "./count-teeth.js";
import { doubtShallow, type CountedWheel } from "./counted-wheel.js";
import type { Rim } from "./find-rim.js";
import type { RimSignal } from "./rim-signal.js";
import { readToothStrip, type ToothStrip } from "./tooth-strip.js";
import { placesOfPattern, windingNear } from "./winding.js";

/**
 * A strip to what the network tells of it: 3 rows of `columns`, cosine and sine of the place within a pitch, logit of
 * a tooth; undefined when there is no network to ask.
 */
export type ReadTeeth = (planes: Float32Array, columns: number) => Promise<Float32Array | undefined>;

/** So many columns a pitch the network knows best. */
const columnsPerPitch = 12;
const steps = [0.5, 1, 2, 4];
/** Mean length of the place, 0 to 1, from which on no other step is tried. */
const clearLength = 0.85;
/** Below this the network sees no teeth. */
const leastLength = 0.12;
/** The network was trained to shorten places where it cannot tell them: a count is no surer than they are long. */
const lengthForSure = 0.6;
const mostAtLength = (length: number): number =>
  length >= lengthForSure ? mostByNetwork : Math.max(0.2, (0.9 * length) / lengthForSure);
/** Teeth deeper than this many pixels are read in wider steps first. */
const deepPx = 12;
const teethSmoothed = [2, 4] as const;
/** In pitches: a centre that is off by less does not lead to a wrong count. */
const smallWander = 0.08;
const recentrings = 2;
/** In pitches, of second order: no wheel is so oval; part of its rim is a shadow's. */
const mostOval = 0.1;
/** What the count is worth where the teeth one by one and the places all round do not agree. */
const mostUnagreed = 0.6;
const mostByNetwork = 0.985;
/** A count that is right does not hang on where exactly the strip is cut: in px further out, and in wider steps. */
const otherCuts = [
  { outPx: 0.7, stepsWider: 1.25 },
  { outPx: -0.7, stepsWider: 1 },
];
/** Below so many pixels a tooth all cuts may go wrong together. */
const leastPxForSure = 4;
const mostOfFinest = 0.9;

interface Reading {
  readonly strip: ToothStrip;
  readonly stepPx: number;
  /** Cosine of the place, and probability of a tooth, against angle. */
  readonly place: RimSignal;
  readonly tooth: RimSignal;
  /** Mean length of the place. */
  readonly length: number;
}

/**
 * Counts a wheel by the network that was shown strips of rims (`models/README.md`): it tells fine, soft, dark and shaded
 * teeth that no contrast does. What it says is counted twice, tooth by tooth and by the places all round.
 *
 * @param rim as any contrast found it; it may be off by a tooth.
 */
export async function countByNetwork(
  photo: Photo,
  { rim, contrast }: Pick<CountedWheel, "rim" | "contrast">,
  readTeeth: ReadTeeth,
): Promise<CountedWheel | undefined> {
  let centre: Shift = { xMm: 0, yMm: 0 };
  let reading = await clearestReading(photo, rim, readTeeth);
  for (let round = 0; ; round++) {
    if (reading === undefined || reading.length < leastLength) return undefined;
    const count = countReading(reading);
    if (count === undefined) return undefined;
    const wander = placesOfPattern(reading.place.value, reading.place.seen, count.count, 4).wander;
    const isSmall = Math.hypot(wander[0], wander[1]) < smallWander;
    const pitchMm = (2 * Math.PI * rim.tipMm) / count.count;
    const wide = reading.stepPx < idealStep(reading, count) / 2;
    if (round === recentrings || (isSmall && !wide)) {
      const agreed = await cutAgain(photo, movedBy(rim, centre), reading.stepPx, count, readTeeth);
      return {
        rim,
        contrast,
        count: doubtShallow(rim, aboutRim(agreed, centre, rim.tipMm)),
        byNetwork: true,
      };
    }
    centre = { xMm: centre.xMm - wander[1] * pitchMm, yMm: centre.yMm + wander[0] * pitchMm };
    const step: number = wide ? idealStep(reading, count) : reading.stepPx;
    reading = await read(photo, movedBy(rim, centre), step, readTeeth);
  }
}

/** The count, doubted unless the other cuts give the same. */
async function cutAgain(
  photo: Photo,
  rim: Rim,
  stepPx: number,
  count: ToothCount,
  readTeeth: ReadTeeth,
): Promise<ToothCount> {
  if (count.probability <= mostUnagreed) return count;
  const fine = count.pxPerTooth < leastPxForSure ? mostOfFinest : 1;
  let probability = Math.min(count.probability, fine);
  for (const { outPx, stepsWider } of otherCuts) {
    const tipMm = rim.tipMm + outPx / pxPerMmOnFace(rim.face);
    const reading = await read(photo, { ...rim, tipMm }, stepPx * stepsWider, readTeeth);
    const other = reading && countReading(reading);
    if (other?.count !== count.count) return { ...count, probability: mostUnagreed };
    probability = Math.min(probability, Math.max(other.probability, mostUnagreed));
  }
  return { ...count, probability };
}

const idealStep = ({ place }: Reading, count: ToothCount): number =>
  place.pxPerTurn / count.count / columnsPerPitch;

async function clearestReading(photo: Photo, rim: Rim, readTeeth: ReadTeeth): Promise<Reading | undefined> {
  const depthPx = (rim.tipMm - rim.rootMm) * pxPerMmOnFace(rim.face);
  const order = depthPx > deepPx ? [...steps.slice(1), steps[0]!] : steps;
  let best: Reading | undefined;
  for (const step of order) {
    const reading = await read(photo, rim, step, readTeeth);
    if (reading !== undefined && (best === undefined || reading.length > best.length)) best = reading;
    if (best !== undefined && best.length >= clearLength) break;
  }
  return best;
}

async function read(
  photo: Photo,
  rim: Rim,
  stepPx: number,
  readTeeth: ReadTeeth,
): Promise<Reading | undefined> {
  const strip = readToothStrip(photo, rim, stepPx);
  const told = strip && (await readTeeth(strip.planes, strip.columns));
  if (told === undefined) return undefined;
  const { columns, turn, seam } = strip!;
  let length = 0;
  for (let i = seam; i < seam + turn; i++) length += Math.hypot(told[i]!, told[columns + i]!) / turn;
  const pxPerTurn = 2 * Math.PI * rim.tipMm * pxPerMmOnFace(rim.face);
  const row = (k: number): Float32Array => told.subarray(k * columns + seam, (k + 1) * columns - seam);
  const signal = (values: ArrayLike<number>): RimSignal => ({
    ...onAngles(values, strip!.seen, pxPerTurn),
    pxPerTurn,
    fromMm: rim.rootMm,
    toMm: rim.tipMm,
    coarse: false,
  });
  const tooth = Float32Array.from(row(2), (logit) => 1 / (1 + Math.exp(-logit)));
  return { strip: strip!, stepPx, place: signal(row(0)), tooth: signal(tooth), length };
}

/** From columns to as many samples of a turn as other signals have. */
function onAngles(
  row: ArrayLike<number>,
  seenColumns: Uint8Array,
  pxPerTurn: number,
): { readonly value: Float64Array; readonly seen: Uint8Array } {
  const angles = pxPerTurn > 2500 ? 6144 : 3072;
  const value = new Float64Array(angles);
  const seen = new Uint8Array(angles);
  for (let i = 0; i < angles; i++) {
    const x = (i / angles) * row.length;
    const k = Math.floor(x);
    const next = (k + 1) % row.length;
    value[i] = row[k]! * (k + 1 - x) + row[next]! * (x - k);
    seen[i] = seenColumns[k]! & seenColumns[next]!;
  }
  return { value, seen };
}

function countReading({ place, tooth, length }: Reading): ToothCount | undefined {
  const count = countTeeth(tooth);
  if (count === undefined) return undefined;
  const agrees = teethSmoothed.every(
    (teeth) => windingNear(place.value, place.seen, count.count, teeth).count === count.count,
  );
  const isOval = Math.hypot(count.wander[2], count.wander[3]) > mostOval;
  const most = agrees && !isOval ? mostByNetwork : mostUnagreed;
  const probability = Math.min(count.probability, most, mostAtLength(length));
  return { ...count, probability };
}

interface Shift {
  readonly xMm: number;
  readonly yMm: number;
}

function movedBy(rim: Rim, { xMm, yMm }: Shift): Rim {
  const { face } = rim;
  const [a, b, c, d] = face.affine;
  return {
    ...rim,
    face: { ...face, xMm: face.xMm + a * xMm + b * yMm, yMm: face.yMm + c * xMm + d * yMm },
  };
}

/** A count about a centre beside that of the rim, told as it is seen from there, to first order. */
function aboutRim(count: ToothCount, { xMm, yMm }: Shift, tipMm: number): ToothCount {
  const inPitches = count.count / (2 * Math.PI * tipMm);
  const [w0, w1, w2, w3] = count.wander;
  return {
    ...count,
    wander: [w0 + inPitches * yMm, w1 - inPitches * xMm, w2, w3],
    marks: count.marks.map((mark) => ({
      ...mark,
      centreRad: mark.centreRad + (yMm * Math.cos(mark.centreRad) - xMm * Math.sin(mark.centreRad)) / tipMm,
    })),
  };
}

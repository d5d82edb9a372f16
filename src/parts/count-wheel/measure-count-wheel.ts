import { medianOf } from "../../fit/index.js";
import { withinTurn } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { propagate } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";
import { measureDisc } from "../disc/measure-disc.js";
import type { FaceHeight } from "../face-height.js";
import { pixelFromFace, pxPerMmOnFace } from "../face-plane.js";
import type { Notch, Notches, Part, ToothPlace } from "../part.js";
import type { Rim } from "../wheel/find-rim.js";
import { checkCountWheel } from "./check-count-wheel.js";
import { asNotch, findNotches, millimetreOn, type NotchedRim } from "./find-notches.js";
import { depthOnDisc } from "./notch-depth.js";
import { readSequence, type Sequence } from "./read-sequence.js";

/** A count wheel shows most of its rim, and a few notches far apart. */
const leastMetal = 0.55;
const leastSeen = 0.7;
const fewestNotches = 5;
const mostNotches = 30;
/** Without a standard order, notches of one width at unlike distances are believed from so many on. */
const fewestWithoutOrder = 8;

/** How much more of a notch its wall may cover than is usual: a thicker sheet, brighter walls. */
const coveredBy = 1.7;
/** With less than that open a notch may pass unseen. */
const leastOpenToBeSeen = (mm: number, { face }: Rim): number =>
  Math.max(0.2 * mm, 1.5 / pxPerMmOnFace(face));
/** A count that supposes notches which were not seen, or leaves traces of some unexplained. */
const mostInDoubt = 0.9;
/** Of the notches, so many must show their floors before their depth is stated. */
const fewestFloors = 3;

export interface CountWheelRead {
  readonly rim: NotchedRim;
  readonly notches: Notches;
}

/** Notches of a disc and what they strike; undefined for anything that is not a count wheel. */
export function readCountWheel(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  edgesApartMm: number,
): CountWheelRead | undefined {
  const mm = millimetreOn(view, rim);
  const notched = findNotches(photo, contrast, rim, mm, edgesApartMm);
  const n = notched.notches.length;
  if (n < fewestNotches || n > mostNotches || notched.metal < leastMetal || notched.seen < leastSeen)
    return undefined;
  const radius = rim.tipMm - 0.7 * mm;
  const read = readSequence(
    notched.notches.map(({ angleRad, widthMm }) => ({ angleRad, widthRad: widthMm / radius })),
    {
      isHidden: (angleRad, widthRad) =>
        widthRad * radius - coveredBy * notched.coveredMm(angleRad) < leastOpenToBeSeen(mm, rim),
      faintRad: notched.faintRad,
    },
  );
  if (read === undefined && !(n >= fewestWithoutOrder && isUneven(notched))) return undefined;
  return { rim: notched, notches: notchesOf(notched, read) };
}

/** Teeth and pins divide a circle evenly; the notches of a count wheel do not. */
function isUneven({ notches }: NotchedRim): boolean {
  const gaps = notches.map((n, i) => {
    const next = notches[(i + 1) % notches.length]!;
    return withinTurn(next.angleRad - n.angleRad);
  });
  const widths = notches.map((n) => n.widthMm);
  const usual = medianOf(gaps);
  const alike = gaps.filter((g) => Math.abs(g - usual) < 0.15 * usual).length;
  return (
    Math.max(...gaps) > 3 * Math.min(...gaps) &&
    alike < 0.5 * gaps.length &&
    Math.max(...widths) < 3 * medianOf(widths)
  );
}

function notchesOf({ notches, seen, faintRad }: NotchedRim, read: Sequence | undefined): Notches {
  if (read === undefined)
    return {
      notches: notches.map(asNotch),
      blowsPerTurn: 0,
      blows: [],
      missing: [],
      extra: [],
      probability: 0.5,
    };
  const { holdsRad, scatterSteps, unseen, ...sequence } = read;
  // What stands between two notches a step apart may be too thin to be seen.
  const single = notches.flatMap((n, i) =>
    holdsRad[i]!.map((angleRad) => ({ ...asNotch(n), angleRad, widthMm: n.widthMm / holdsRad[i]!.length })),
  );
  const faults = read.missing.length + read.extra.length;
  // Each fault is another way to be wrong; so is a rim that was not wholly seen.
  const probability =
    0.999 * 0.97 ** faults * (1 - Math.max(0, 0.97 - seen)) * (scatterSteps < 0.1 ? 1 : 0.9);
  const covered = unseen.map(({ angleRad, isFaint }): Notch => ({
    angleRad,
    state: isFaint ? "whole" : "unseen",
  }));
  const doubt = unseen.some(({ isFaint }) => !isFaint) || faintRad.length > unseen.length;
  return {
    notches: [...single, ...covered].sort((a, b) => a.angleRad - b.angleRad),
    ...sequence,
    probability: doubt ? Math.min(mostInDoubt, probability) : probability,
  };
}

/** Everything that one photograph gives for a count wheel. The count is that of its open notches. */
export function measureCountWheel(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  height: FaceHeight,
  id: string,
  label: string | undefined,
): Part | undefined {
  const read = readCountWheel(photo, view, contrast, rim, height.edgesApartMm);
  const disc = read && measureDisc(photo, view, contrast, rim, height, id, label);
  if (read === undefined || disc === undefined) return undefined;
  const depths = read.rim.notches
    .filter((n) => n.isFloorSeen)
    .map((n) => depthOnDisc(n.angleRad, n.depthMm, rim, disc, height));
  const isDepthKnown = depths.length >= fewestFloors;
  const depthMm = isDepthKnown ? medianOf(depths.map((d) => d.depthMm)) : 0;
  const uDepthMm = isDepthKnown ? medianOf(depths.map((d) => d.uDepthMm)) : 0;
  const notches: Notches = {
    ...read.notches,
    notches: read.notches.notches.map((n) =>
      n.depthMm === undefined
        ? n
        : { ...n, depthMm: depthOnDisc(n.angleRad, n.depthMm, rim, disc, height).depthMm },
    ),
  };
  const tip = disc.base.tipDiameterMm;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const places = notches.notches.map(({ angleRad, state }, i): ToothPlace => ({
    number: i + 1,
    angleRad,
    state: state === "shallow" ? "short" : state,
    tipPx: pixelFromFace(disc.face, disc.radiusMm, angleRad),
  }));
  return {
    ...disc.base,
    kind: "count-wheel",
    teeth: {
      count: notches.notches.length,
      probability: notches.probability,
      alternatives: [],
      places,
      missing: [],
      bent: [],
    },
    ...(tip === undefined || !isDepthKnown
      ? {}
      : {
          rootDiameterMm: propagate(
            tip.value - 2 * depthMm,
            "mm",
            [[tip, 1]],
            [[`resolution:notch-${owner}`, 2 * uDepthMm]],
          ),
        }),
    notches,
    outlinePx: {
      ...disc.base.outlinePx,
      rootCircle: isDepthKnown
        ? Array.from({ length: 96 }, (_, i) =>
            pixelFromFace(disc.face, disc.radiusMm - depthMm, (2 * Math.PI * i) / 96),
          )
        : [],
    },
    findings: checkCountWheel(notches, view.source !== "none"),
    problems: [],
  };
}

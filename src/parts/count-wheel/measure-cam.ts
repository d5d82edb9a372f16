import { nearestTurn, withinTurn } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";
import { measureDisc } from "../disc/measure-disc.js";
import type { FaceHeight } from "../face-height.js";
import { pixelFromFace, pxPerMmOnFace } from "../face-plane.js";
import type { Notch, Part } from "../part.js";
import { ThickOutline } from "../thick-outline.js";
import type { Rim } from "../wheel/find-rim.js";
import { asNotch, findNotches, millimetreOn, type NotchedRim } from "./find-notches.js";
import { depthOnDisc } from "./notch-depth.js";

/** Locking cams of strike trains have one slot or two, seldom more (trade). */
const mostSlots = 4;
const leastMetal = 0.75;
const leastSeen = 0.85;
/** Smaller discs are washers and heads of screws, mm. */
const leastRadiusMm = 4.5;
/** Of the radius: the slot of a screw runs right across its head. */
const deepest = 0.42;
const widest = 0.9;
/** A gap no larger than this, px, may be one between teeth that run together elsewhere on the rim. */
const leastSlotPx = 5;
/** A locking piece is no thinner (common practice, no source): narrower gaps are nicks of a coin or a screw, mm. */
const leastSlotMm = 0.8;

/** Slots of a smooth disc with few of them; undefined for any other disc. */
export function readCam(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  edgesApartMm: number,
): NotchedRim | undefined {
  const mm = millimetreOn(view, rim);
  if (rim.tipMm < leastRadiusMm * mm) return undefined;
  const notched = findNotches(photo, contrast, rim, mm, edgesApartMm);
  const { notches, metal, seen } = notched;
  if (notches.length < 1 || notches.length > mostSlots || metal < leastMetal || seen < leastSeen)
    return undefined;
  const leastMm = Math.max(leastSlotMm * mm, leastSlotPx / pxPerMmOnFace(rim.face));
  const isSlot = (n: Required<Notch>): boolean =>
    Math.min(n.depthMm, n.widthMm) > leastMm &&
    n.depthMm < deepest * rim.tipMm &&
    n.widthMm < widest * rim.tipMm;
  return notches.every(isSlot) && isRoundBeside(rim, notches, edgesApartMm) ? notched : undefined;
}

/** Beside its slots a cam is turned: so much of the outline lies on its circle, to a share of the radius and a blur. */
const leastRound = 0.92;
const roundTo = { share: 0.015, px: 1 };
const wallShare = 0.5;

/** A finger, a rag and a pinion in its own shadow may have a gap too. Where its wall is seen, part of it is rim. */
function isRoundBeside(
  { outlineMm, tipMm, face }: Rim,
  notches: NotchedRim["notches"],
  edgesApartMm: number,
): boolean {
  const thick = new ThickOutline(face, edgesApartMm);
  const toMm = roundTo.share * tipMm + roundTo.px / pxPerMmOnFace(face);
  let [near, all] = [0, 0];
  outlineMm.forEach((r, i) => {
    const t = (2 * Math.PI * i) / outlineMm.length;
    const inSlot = notches.some((n) => {
      const off = Math.abs(nearestTurn(t - n.angleRad));
      return off * tipMm < 0.8 * n.widthMm;
    });
    if (inSlot || Number.isNaN(r)) return;
    all++;
    if (Math.abs(r - tipMm) < toMm + wallShare * thick.rimExcessMm(t, tipMm)) near++;
  });
  return near > leastRound * all;
}

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(1)}°`;

/** Everything that one photograph gives for a locking cam. The count is that of its slots. */
export function measureCam(
  photo: Photo,
  view: View,
  contrast: Contrast,
  rim: Rim,
  height: FaceHeight,
  id: string,
  label: string | undefined,
): Part | undefined {
  const read = readCam(photo, view, contrast, rim, height.edgesApartMm);
  const disc = read && measureDisc(photo, view, contrast, rim, height, id, label);
  if (read === undefined || disc === undefined) return undefined;
  const depths = read.notches.map((n) => depthOnDisc(n.angleRad, n.depthMm, rim, disc, height));
  const notches = read.notches.map((n, i) => asNotch({ ...n, depthMm: depths[i]!.depthMm }));
  const apart = notches.map((n, i) => {
    const next = notches[(i + 1) % notches.length]!;
    return withinTurn(next.angleRad - n.angleRad);
  });
  const sizes = read.notches.map(({ widthMm, isFloorSeen }, i) => {
    const { depthMm, uDepthMm } = depths[i]!;
    const deep = `, ${depthMm.toFixed(1)} mm (± ${(2 * uDepthMm).toFixed(1)} mm) deep`;
    return `${widthMm.toFixed(1)} mm wide${isFloorSeen ? deep : ""}`;
  });
  return {
    ...disc.base,
    kind: "locking-cam",
    teeth: {
      count: notches.length,
      probability: notches.some((n) => n.state === "shallow") ? 0.9 : 0.97,
      alternatives: [],
      places: notches.map(({ angleRad, state }, i) => ({
        number: i + 1,
        angleRad,
        state: state === "shallow" ? "short" : "whole",
        tipPx: pixelFromFace(disc.face, disc.radiusMm, angleRad),
      })),
      missing: [],
      bent: [],
    },
    notches: { notches, blowsPerTurn: 0, blows: [], missing: [], extra: [], probability: 0.97 },
    findings: [
      {
        code: "locking-cam",
        severity: "note",
        text:
          `a locking cam with ${notches.length === 1 ? "one slot" : `${notches.length} slots`}` +
          (view.source === "none" ? "" : ` (${sizes.join("; ")})`) +
          (notches.length > 1 ? `, ${apart.map(degrees).join(" and ")} from one to the next` : ""),
      },
    ],
    problems: [],
  };
}

import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { quantity, type InputId } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import type { Contrast } from "../contrast.js";
import { measureDisc } from "../disc/measure-disc.js";
import { upperRim } from "../disc/upper-rim.js";
import type { FaceHeight } from "../face-height.js";
import { pixelFromFace } from "../face-plane.js";
import { codeFromLinear } from "../linear-light.js";
import type { Finding, Part, ToothPlace } from "../part.js";
import { measurePins, type Pins } from "../pins/measure-pins.js";
import { checkPins } from "../pins/with-pins.js";
import type { Rim } from "../wheel/find-rim.js";

/** Lantern pinions have 5 to 16 trundles and are small; pin wheels of escapements have 20 pins and more (trade). */
const trundles = [5, 16] as const;
const largestLanternMm = 9;
const fewestEscapePins = 20;
/** Share of the outline that lies within a fiftieth of its radius, for a smooth rim. */
const smoothShare = 0.9;

/** @param leastSeen share of the turn in which the outline must be seen. */
function isSmooth(rim: Rim, leastSeen: number): boolean {
  const seen = [...rim.outlineMm].filter((r) => !Number.isNaN(r));
  const near = seen.filter((r) => Math.abs(r - rim.tipMm) < 0.02 * rim.tipMm + 0.08);
  return seen.length > leastSeen * rim.outlineMm.length && near.length > smoothShare * seen.length;
}

/** The rim to measure: of a small disc, which may stand high, its upper edge alone; undefined if it is not smooth. */
export function smoothRim(rim: Rim): Rim | undefined {
  if (rim.tipMm >= 1.15 * largestLanternMm) return isSmooth(rim, 0.7) ? rim : undefined;
  const upper = upperRim(rim);
  return upper !== undefined && isSmooth(upper, 0.35) ? upper : undefined;
}

/** A lantern pinion stands on its end: 5 to 12 mm high (common practice, no source), who was not told knows no more, mm. */
const [unknownEndMm, uUnknownEndMm] = [7, 2.5] as const;

/**
 * A smooth disc with evenly set round ends in its face: end-on view of a lantern pinion (few, on a small disc), or
 * the escape wheel of a pin-wheel escapement (many). Undefined for any other disc.
 */
export function measurePinnedDisc(
  photo: Photo,
  view: View,
  contrast: Contrast,
  outline: Rim,
  usual: FaceHeight,
  id: string,
  label: string | undefined,
): Part | undefined {
  const lying = view.source === "mat" ? smoothRim(outline) : undefined;
  if (lying === undefined) return undefined;
  const isLantern = lying.tipMm < largestLanternMm;
  const isStanding = isLantern && !usual.given;
  const rim = isStanding ? onPlane(lying, unknownEndMm) : lying;
  const height = isStanding ? unknownEnd(usual) : usual;
  const disc = measureDisc(photo, view, contrast, rim, height, id, label);
  if (disc === undefined) return undefined;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  const [red, green, blue] = contrast.around.map(codeFromLinear);
  const pins = measurePins(photo, view, {
    face: disc.face,
    rootMm: disc.radiusMm,
    neutral: { red: red!, green: green!, blue: blue! },
    axis: { xMm: 0, yMm: 0, uMm: 0.05 },
    areFlush: isLantern,
    owner,
    height: { id: `height:${label ?? owner}` as InputId, uMm: height.uOutlineMm },
  });
  if (pins === undefined || !isEven(pins)) return undefined;
  const { count, circleDiameterMm, pinDiameterMm, heightMm, places } = pins;
  if (isLantern ? count < trundles[0] || count > trundles[1] : count < fewestEscapePins) return undefined;
  return {
    ...disc.base,
    kind: isLantern ? "pinion" : "escape-wheel",
    teeth: {
      count,
      probability: places.every((p) => p.state === "whole") ? 0.99 : 0.9,
      alternatives: [],
      places: places.map(({ angleRad, state }, i): ToothPlace => ({
        number: i + 1,
        angleRad,
        state: state === "off" ? "bent" : state,
        tipPx: pixelFromFace(disc.face, circleDiameterMm.value / 2, angleRad),
      })),
      missing: places.filter((p) => p.state === "missing").map(({ angleRad }) => ({ angleRad })),
      bent: [],
    },
    pins: { count, circleDiameterMm, pinDiameterMm, ...(heightMm ? { heightMm } : {}), places },
    findings: [
      kindFinding(isLantern, count, pinDiameterMm.value),
      ...checkPins(pins).filter((f) => f.code !== "pins-not-sure"),
    ],
    problems: [],
  };
}

/** Planes are copies of each other about the camera: the same rim in the picture, on a higher plane. */
function onPlane(rim: Rim, zMm: number): Rim {
  const { face } = rim;
  const [footX, footY, eyeMm] = cameraCentreMm(face.geometry.cameraFromMat);
  const by = (eyeMm - zMm) / (eyeMm - face.zMm);
  return {
    ...rim,
    face: { ...face, zMm, xMm: footX + by * (face.xMm - footX), yMm: footY + by * (face.yMm - footY) },
    outlineMm: rim.outlineMm.map((r) => by * r),
    tipMm: by * rim.tipMm,
    rootMm: by * rim.rootMm,
  };
}

const unknownEnd = (usual: FaceHeight): FaceHeight => ({
  ...usual,
  outlineMm: unknownEndMm,
  uOutlineMm: uUnknownEndMm,
  faceMm: (owner) => quantity(unknownEndMm, "mm", [[`height:${owner}`, uUnknownEndMm]]),
});

const kindFinding = (isLantern: boolean, count: number, diameterMm: number): Finding =>
  isLantern
    ? {
        code: "lantern-pinion",
        severity: "note",
        text: `a lantern pinion seen from its end: ${count} trundles of ${diameterMm.toFixed(2)} mm; the diameter stated is that of its shroud`,
      }
    : {
        code: "pin-wheel",
        severity: "note",
        text: `the escape wheel of a pin-wheel escapement: ${count} pins; the diameter stated is that of its rim`,
      };

/** Set evenly to a twelfth of the pitch: drilled holes of a disc that is something else seldom are. */
function isEven({ places, circleDiameterMm }: Pins): boolean {
  const pitch = (Math.PI * circleDiameterMm.value) / places.length;
  return places.every((p) => Math.abs(p.spacingDeviationMm ?? 0) < pitch / 12 || p.state !== "whole");
}

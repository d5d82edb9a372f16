import { cameraCentreMm, matFromPixel } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import { codeFromLinear } from "../linear-light.js";
import type { FacePlane } from "../face-plane.js";
import type { Finding, Part } from "../part.js";
import { measurePins, type Pins, type WheelForPins } from "./measure-pins.js";

export interface WheelFace {
  readonly face: FacePlane;
  readonly rootMm: number;
  /** Linear light of the surroundings. */
  readonly around: readonly [number, number, number];
  readonly height: WheelForPins["height"];
  readonly owner: string;
}

/** Eccentricity of a sound wheel: its bore is taken to lie in the middle of its teeth where it is hidden. */
const uHiddenAxisMm = 0.05;
const uBoreMm = 0.03;
/** Walls of unknown height and brightness shift the middle of an outline seen from 45 degrees by this, mm (setting). */
const uByWallMm = 0.25;

/** Adds lifting pins to a measured wheel that carries some, and says what is wrong with them. */
export function withPins(photo: Photo, view: View, part: Part, wheel: WheelFace): Part {
  if (view.source === "none" || part.centreMm === undefined) return part;
  const [red, green, blue] = wheel.around.map(codeFromLinear);
  const pins = measurePins(photo, view, {
    face: wheel.face,
    rootMm: wheel.rootMm,
    neutral: { red: red!, green: green!, blue: blue! },
    axis: axisOf(part, view, wheel.face),
    owner: wheel.owner,
    height: wheel.height,
  });
  if (pins === undefined) return part;
  const { count, circleDiameterMm, pinDiameterMm, heightMm, places } = pins;
  return {
    ...part,
    pins: { count, circleDiameterMm, pinDiameterMm, ...(heightMm ? { heightMm } : {}), places },
    findings: [...part.findings, ...checkPins(pins)],
  };
}

function axisOf(part: Part, view: View, face: FacePlane): WheelForPins["axis"] {
  const eye = cameraCentreMm(face.geometry.cameraFromMat);
  const uWallMm = (uByWallMm * Math.hypot(face.xMm - eye[0], face.yMm - eye[1])) / (eye[2] - face.zMm);
  const local = ([x, y]: readonly [number, number]): [number, number] => [x - face.xMm, y - face.yMm];
  const [toothX, toothY] = local([part.centreMm![0], part.centreMm![1]]);
  const bore = part.outlinePx.bore;
  if (bore === undefined || bore.length < 3)
    return { xMm: toothX, yMm: toothY, uMm: Math.hypot(uHiddenAxisMm, uWallMm) };
  let x = 0;
  let y = 0;
  for (const [u, v] of bore) {
    const [px, py] = local(matFromPixel(view.geometry, u, v, face.zMm));
    x += px / bore.length;
    y += py / bore.length;
  }
  return { xMm: x, yMm: y, uMm: Math.hypot(uBoreMm, uWallMm) };
}

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(0)}°`;
/** A pin set further off its place than this is worth a word, mm: the blows come unevenly (setting, no source). */
const watchSpacingMm = 0.15;

export function checkPins(pins: Pins): Finding[] {
  const findings: Finding[] = [];
  const at = (list: Pins["places"]): string => list.map((p) => degrees(p.angleRad)).join(", ");
  const many = (n: number, one: string, more: string): string => (n === 1 ? `1 ${one}` : `${n} ${more}`);
  const off = pins.places.filter((p) => p.state === "off");
  if (off.length > 0)
    findings.push({
      code: "bent-pins",
      severity: "fault",
      text:
        `${many(off.length, "lifting pin stands", "lifting pins stand")} off its place, at ${at(off)} ` +
        `(${off.map((p) => `${p.offMm!.toFixed(2)} mm`).join(", ")}): bent, or set wrongly`,
    });
  const missing = pins.places.filter((p) => p.state === "missing");
  if (missing.length > 0)
    findings.push({
      code: "missing-pins",
      severity: "fault",
      text: `${many(missing.length, "lifting pin is", "lifting pins are")} missing, at ${at(missing)}; the count includes the empty places`,
    });
  const unseen = pins.places.filter((p) => p.state === "unseen");
  if (unseen.length > 0)
    findings.push({
      code: "pins-unseen",
      severity: "watch",
      text: `${many(unseen.length, "pin place is", "pin places are")} in glare or hidden, at ${at(unseen)}; the count supposes a pin there`,
    });
  // Seen on one side only, the middle of their circle is not known well enough to speak of spacing.
  const uneven =
    unseen.length > 0
      ? []
      : pins.places.filter(
          (p) => p.state === "whole" && Math.abs(p.spacingDeviationMm ?? 0) > watchSpacingMm,
        );
  if (uneven.length > 0)
    findings.push({
      code: "pins-uneven",
      severity: "watch",
      text: `pins stand unevenly, by up to ${Math.max(...uneven.map((p) => Math.abs(p.spacingDeviationMm!))).toFixed(2)} mm, at ${at(uneven)}`,
    });
  if (!pins.isSure)
    findings.push({
      code: "pins-not-sure",
      severity: "note",
      text: `${pins.count} small round marks stand on a circle: pins, or holes; the camera stood too nearly above them to tell`,
    });
  return findings;
}

import type { Photo } from "../photo/index.js";
import { quantity, type InputId } from "../quantity/index.js";
import type { View } from "../view/index.js";
import { heightOfFace } from "./face-height.js";
import type { Classify } from "./find/find-round-parts.js";
import { matFromLean } from "./leaning/lean.js";
import type { WheelOnLean } from "./leaning/on-lean.js";
import type { Finding, Part } from "./part.js";
import { findPinionOnArbor, type OnArbor } from "./pinion/find-pinion-on-arbor.js";
import { measurePinionEnd } from "./pinion/measure-pinion-end.js";
import { measureTrundleEnds } from "./pinion/measure-trundle-ends.js";
import type { CountedWheel } from "./wheel/counted-wheel.js";

/** A wheel as it was measured, and as it was seen. */
export interface MeasuredWheel {
  readonly part: Part;
  readonly wheel: CountedWheel;
  readonly lies: WheelOnLean | undefined;
}

/** A count that is worth less may be no wheel's. */
const leastWheel = 0.9;

/**
 * Pinions above the wheels on whose arbors they are: parts of their own, under the label of their wheel.
 *
 * @param nextId of the n-th part that is added, from 0.
 * @returns the wheels, with a finding where something as thick as a pinion was seen but not counted; and the pinions.
 */
export async function pinionsOnArbors(
  photo: Photo,
  view: View,
  wheels: readonly MeasuredWheel[],
  classify: Classify,
  nextId: (n: number) => string,
): Promise<{ readonly wheels: readonly Part[]; readonly pinions: readonly Part[] }> {
  const pinions: Part[] = [];
  const seen: Part[] = [];
  for (const measured of wheels) {
    const { part, wheel } = measured;
    const found = mayHavePinion(part)
      ? await findPinionOnArbor(photo, wheel.rim.face, wheel.contrast.byColour ?? wheel.contrast, classify)
      : undefined;
    const pinion = found && pinionOf(photo, view, measured, found, nextId(pinions.length));
    seen.push(found !== undefined && pinion === undefined ? withUnread(part) : part);
    if (pinion !== undefined) pinions.push(pinion);
  }
  return { wheels: seen, pinions };
}

/** Where the sheet is seen through the bore there is no arbor. */
const mayHavePinion = ({ kind, teeth, boreDiameterMm }: Part): boolean =>
  (kind === "wheel" || kind === "escape-wheel") &&
  boreDiameterMm === undefined &&
  (teeth?.probability ?? 0) >= leastWheel;

const withUnread = (part: Part): Part => ({
  ...part,
  findings: [
    ...part.findings,
    {
      code: "pinion-unread",
      severity: "note",
      text:
        "something as thick as a pinion stands on the arbor, but its leaves cannot be counted here: " +
        "set the wheel straight below the camera, closer, in light from several sides",
    },
  ],
});

function pinionOf(
  photo: Photo,
  view: View,
  { part: wheel, lies }: MeasuredWheel,
  { leaves, trundles }: OnArbor,
  id: string,
): Part | undefined {
  const own = lies?.view ?? view;
  const seen =
    leaves !== undefined
      ? measurePinionEnd(photo, own, leaves, heightOfFace({}, undefined), id, undefined)
      : trundles && measureTrundleEnds(photo, own, trundles, id);
  const end = leaves ?? trundles;
  if (seen === undefined || end === undefined) return undefined;
  const { label } = wheel;
  const pinion: Part = {
    ...seen,
    ...(label === undefined ? {} : { label }),
    onArborOf: wheel.id,
    findings: [
      relation(wheel, seen, trundles !== undefined),
      ...seen.findings.filter(({ code }) => code !== "pinion-end"),
    ],
  };
  if (lies === undefined || pinion.centreMm === undefined) return pinion;
  const [x, y, z] = matFromLean(lies.fit.lean, ...pinion.centreMm, end.heightMm);
  const owner: InputId = `height:${photo.sha256.slice(0, 8)}-${id}`;
  return { ...pinion, centreMm: [x, y], faceHeightMm: quantity(z, "mm", [[owner, end.uHeightMm]]) };
}

function relation(wheel: Part, { teeth, pitchDiameterMm }: Part, isLantern: boolean): Finding {
  const count = teeth!.count;
  const circle =
    pitchDiameterMm === undefined ? "" : `, on a circle of ${pitchDiameterMm.value.toFixed(2)} mm`;
  return {
    code: "pinion-on-arbor",
    severity: "note",
    text:
      `on the arbor of ${wheel.label ?? wheel.id}` +
      (wheel.teeth === undefined ? "" : `, whose wheel has ${wheel.teeth.count} teeth`) +
      (isLantern
        ? `; a lantern, the ends of ${count} trundles are seen in its upper cap${circle}`
        : `; seen from its upper end: ${count} leaves`),
  };
}

import { cameraCentreMm } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import { propagate, quantity, type Quantity } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import type { Part } from "../part.js";
import type { CountedWheel } from "../wheel/counted-wheel.js";
import { nearestPreferredModule } from "../wheel/module-from-diameters.js";
import { countBrassLeaves } from "./count-brass-leaves.js";
import { uHeightByCameraMm } from "./measure-pinion-end.js";

/** Pinions have 6 to 12 leaves as a rule and are small (trade); what has more or is larger may as well be a flat wheel. */
const [mostLeaves, largestMm] = [12, 10] as const;
/** Walls that are no longer than this may be those of a part that lies flat, mm. */
const leastStandingMm = 2.5;
/** Pinions are 3 to 12 mm long (common practice, no source); this one may be a flat wheel of few teeth too. */
const unknownEnd = { mm: 5, uMm: 2.5 };
/** Of what is seen of the wall: what it may add to a diameter; and of the diameter, what a shadow may that passes for metal. */
const [uWallShare, uShadowShare] = [0.3, 0.07] as const;
/** A count that the walls do not fit is not sure. */
const mostAgainstWalls = 0.9;
const soundWalls = 0.8;

/**
 * A pinion that was counted and measured as a wheel that lies on the mat, no height given: it stands, and its end face is
 * as high as its walls tell, or nobody knows how high.
 *
 * @param pinion as measured on the plane of a wheel that lies.
 */
export function pinionByContrast(photo: Photo, view: View, wheel: CountedWheel, pinion: Part): Part {
  const { teeth, tipDiameterMm } = pinion;
  if (view.source !== "mat" || teeth === undefined || tipDiameterMm === undefined) return pinion;
  if (teeth.count > mostLeaves || tipDiameterMm.value > largestMm) return pinion;
  const owner = `${photo.sha256.slice(0, 8)}-${pinion.id}`;
  const leaves = countBrassLeaves(photo, view, wheel);
  if (leaves === undefined) return raised(pinion, view, wheel, owner, unknownEnd);
  const { heightMm, uHeightMm } = leaves;
  if (leaves.count === teeth.count)
    return heightMm < leastStandingMm
      ? pinion
      : raised(pinion, view, wheel, owner, {
          mm: heightMm,
          uMm: Math.hypot(uHeightMm, uHeightByCameraMm(view, leaves)),
        });
  if (leaves.probability < soundWalls) return raised(pinion, view, wheel, owner, unknownEnd);
  const probability = Math.min(mostAgainstWalls, teeth.probability);
  return raised({ ...pinion, teeth: { ...teeth, probability } }, view, wheel, owner, unknownEnd);
}

/** Planes are copies of each other about the camera: the same picture on the plane of an end face. */
function raised(
  pinion: Part,
  view: View,
  { rim: { face }, contrast }: CountedWheel,
  owner: string,
  { mm: endMm, uMm }: { readonly mm: number; readonly uMm: number },
): Part {
  const [footX, footY, eyeMm] = cameraCentreMm(view.geometry.cameraFromMat);
  const by = (eyeMm - endMm) / (eyeMm - face.zMm);
  const wallMm = (endMm * Math.hypot(face.xMm - footX, face.yMm - footY)) / eyeMm;
  const end = quantity(endMm, "mm", [[`fit:end-height-${owner}`, uMm]]);
  const tipMm = pinion.tipDiameterMm!.value;
  const shadowMm = contrast.growth === 0 ? uShadowShare * tipMm : 0;
  const wall = quantity(0, "mm", [[`fit:end-wall-${owner}`, Math.hypot(uWallShare * wallMm, shadowMm)]]);
  const lengthOf = (was: Quantity<"mm">): Quantity<"mm"> =>
    propagate(by * was.value, "mm", [
      [was, by],
      [end, -was.value / (eyeMm - face.zMm)],
      [wall, was.value / tipMm],
    ]);
  const { tipDiameterMm, rootDiameterMm, pitchDiameterMm, moduleMm, centreMm } = pinion;
  const module = moduleMm && lengthOf(moduleMm);
  return {
    ...pinion,
    faceHeightMm: end,
    tipDiameterMm: lengthOf(tipDiameterMm!),
    ...(centreMm && { centreMm: [footX + by * (centreMm[0] - footX), footY + by * (centreMm[1] - footY)] }),
    ...(rootDiameterMm && { rootDiameterMm: lengthOf(rootDiameterMm) }),
    ...(pitchDiameterMm && { pitchDiameterMm: lengthOf(pitchDiameterMm) }),
    ...(module && {
      moduleMm: module,
      diametralPitch: propagate(25.4 / module.value, "1", [[module, -25.4 / module.value ** 2]]),
      nearestPreferredModuleMm: nearestPreferredModule(module.value),
    }),
  };
}

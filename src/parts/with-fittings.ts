import type { Photo } from "../photo/index.js";
import type { InputId } from "../quantity/index.js";
import type { View } from "../view/index.js";
import { readRake } from "./escape-wheel/read-rake.js";
import type { FaceHeight } from "./face-height.js";
import type { Part } from "./part.js";
import { asPinion } from "./pinion/as-pinion.js";
import { pinionByContrast } from "./pinion/pinion-by-contrast.js";
import { withPins } from "./pins/with-pins.js";
import type { CountedWheel } from "./wheel/counted-wheel.js";

/** What a wheel has besides a count and sizes: lifting pins, the way in which raked teeth point. */
export function withFittings(
  photo: Photo,
  view: View,
  part: Part,
  wheel: CountedWheel,
  height: FaceHeight,
): Part {
  if (part.kind === "escape-wheel" || part.kind === "ratchet") {
    const rake = readRake(photo, wheel);
    return rake === undefined ? part : { ...part, rake };
  }
  const owner = `${photo.sha256.slice(0, 8)}-${part.id}`;
  const pinion = asPinion(part, owner);
  if (pinion.kind === "pinion") return height.given ? pinion : pinionByContrast(photo, view, wheel, pinion);
  return withPins(photo, view, part, {
    face: wheel.rim.face,
    rootMm: part.rootDiameterMm === undefined ? wheel.rim.rootMm : part.rootDiameterMm.value / 2,
    around: wheel.contrast.around,
    owner,
    height:
      view.source === "mat"
        ? { id: `height:${part.label ?? owner}` as InputId, uMm: height.uOutlineMm }
        : undefined,
  });
}

import type { Photo } from "../photo/index.js";
import type { View } from "../view/index.js";
import { crispShare } from "./plate/crisp-outline.js";
import { isLikePlate } from "./plate/plate-from-patch.js";
import { areaOf } from "./plate/plate-outline.js";
import type { AgainstBackground } from "./find/background.js";
import type { Foreground } from "./find/foreground.js";
import type { Patch } from "./find/patches.js";
import { boxOf, toPlane } from "./find/seen-patch.js";
import type { SmallPicture } from "./find/small-picture.js";

/** Shadows are sharp on one side at the most; printed crosses are thin. */
const crispThing = 0.75;
/** What is as large and full as a plate may be one in its own soft shade. */
const crispPlate = 0.4;
const leastCompact = 0.6;

/** Ends sharply all round and is full: a thing, light as it may be, and no shadow. */
export function isSharp(photo: Photo, view: View, picture: SmallPicture, patch: Patch, zMm: number): boolean {
  const contour = toPlane(picture, view, patch.contour, zMm);
  const isCompact = areaOf(contour) > leastCompact * areaOf(toPlane(picture, view, patch.hull, zMm));
  return (
    isCompact &&
    crispShare(photo, view, contour, zMm) > (isLikePlate(picture, view, patch, zMm) ? crispPlate : crispThing)
  );
}

/** Natural logarithms against the paper: steel lies below -1 or mirrors a light, soft shadows lie above. */
const deepLightness = -0.75;
const brightLightness = 0.2;
const leastDeepShare = 0.1;

/** Darker than soft shadows, or brighter than paper, over a good part of it. */
export function isDeep(
  picture: SmallPicture,
  { lightness }: AgainstBackground,
  { mask }: Pick<Foreground, "mask">,
  patch: Patch,
): boolean {
  const { factor } = picture;
  const { left, top, width, height } = boxOf(picture, patch);
  let [deep, all] = [0, 0];
  for (let j = top / factor; j < (top + height) / factor; j++)
    for (let i = left / factor; i < (left + width) / factor; i++) {
      const p = j * picture.width + i;
      if (mask[p] === 0) continue;
      all++;
      if (lightness[p]! < deepLightness || lightness[p]! > brightLightness) deep++;
    }
  return deep > leastDeepShare * all;
}

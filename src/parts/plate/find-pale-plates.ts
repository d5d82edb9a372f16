import type { Photo } from "../../photo/index.js";
import type { View } from "../../view/index.js";
import type { AgainstBackground } from "../find/background.js";
import type { Classify } from "../find/find-round-parts.js";
import { foregroundByLightness } from "../find/foreground.js";
import { findPatches, type Patch } from "../find/patches.js";
import type { SmallPicture } from "../find/small-picture.js";
import { fillPolygon } from "../find/where-to-look.js";
import { paleForegrounds } from "./pale-foregrounds.js";
import { isLikePlate, plateFromPatch, type PlateFound } from "./plate-from-patch.js";

export interface PalePlate {
  readonly patch: Patch;
  readonly found: PlateFound;
}

/**
 * Least share of the outline that is sharp. What has colour, or is metal to the network, is no shadow, and may stand in soft
 * shade of its own; of what is only darker than paper, shadows of plates on pillars are sharp in up to eight tenths.
 */
const leastCrisp = { colour: 0.4, "colour-or-dark": 0.4, network: 0.4, lightness: 0.88 } as const;

/**
 * Plates that have hardly a colour, or none: nickel, steel, grey patina.
 *
 * @param where 1 for small pixels of the bare field, without what is explained otherwise.
 */
export async function findPalePlates(
  photo: Photo,
  view: View,
  picture: SmallPicture,
  against: AgainstBackground,
  where: Uint8Array,
  zMm: number,
  classify: Classify | undefined,
): Promise<PalePlate[]> {
  const plates: PalePlate[] = [];
  const free = where.slice();
  const isAnyLeft = (): boolean =>
    findPatches(picture, foregroundByLightness(against, free), leastRadiusPx).some((patch) =>
      isLikePlate(picture, view, patch, zMm),
    );
  if (!isAnyLeft()) return plates;
  for await (const foreground of paleForegrounds(picture, against, free, classify)) {
    for (const patch of findPatches(picture, foreground, leastRadiusPx)) {
      const found = plateFromPatch(
        photo,
        view,
        picture,
        patch,
        foreground,
        zMm,
        leastCrisp[foreground.reason],
      );
      if (found === undefined) continue;
      plates.push({ patch, found });
      const n = patch.hull.length / 2;
      const hull = Array.from({ length: n }, (_, i): [number, number] => [
        patch.hull[2 * i]!,
        patch.hull[2 * i + 1]!,
      ]);
      fillPolygon(free, picture, hull, 0);
    }
    if (plates.length > 0 && !isAnyLeft()) break;
  }
  return plates;
}

const leastRadiusPx = 12;

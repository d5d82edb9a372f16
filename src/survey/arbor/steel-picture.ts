import { medianOf } from "../../fit/index.js";
import type { FacePicture, HubPicture, WheelMarks } from "../../parts/index.js";

/** What has no colour, in code values, is taken for such from here on. */
const bareEnough = 0.7;
/** Paper must be so much lighter than the arbor, as a share, to be told from it. */
const lighter = 1.25;
/** The middle of the picture, as a share of half its side: arbor and pinion stand here. */
const middle = 0.2;
const fewest = 20;

/**
 * The middle of the wheel with what shows through its crossings taken out: 1 on steel, 0 on brass and on bright paper.
 * Paper has no colour either, but it belongs to the wheel's crossings, which do not go with the arbor.
 *
 * @returns the pictures of bareness as they are where paper is no lighter than the arbor in one of the photographs:
 *   with and without paper they would not compare.
 */
export function steelPictures(photos: readonly WheelMarks[]): HubPicture[] {
  const levels = photos.map(({ hub, face }) => ({ steel: levelOfArbor(hub), paper: levelOfPaper(face) }));
  return photos.map(({ hub }, k) => {
    const isLighter = levels.every(({ steel = Infinity, paper = 0 }) => paper > lighter * steel);
    return isLighter ? withoutPaper(hub, levels[k]!.steel!, levels[k]!.paper!) : hub;
  });
}

function withoutPaper(hub: HubPicture, steel: number, paper: number): HubPicture {
  const bare = hub.bare.map(
    (b, p) => b * Math.min(1, Math.max(0, (paper - hub.light[p]!) / (paper - steel))),
  );
  return { ...hub, bare };
}

function levelOfArbor({ size: n, bare, light }: HubPicture): number | undefined {
  const levels: number[] = [];
  const c = (n - 1) / 2;
  for (let j = 0; j < n; j++)
    for (let i = 0; i < n; i++)
      if (Math.hypot(i - c, j - c) < middle * c && bare[j * n + i]! > bareEnough)
        levels.push(light[j * n + i]!);
  return levels.length < fewest ? undefined : medianOf(levels);
}

/** Paper as it is seen through the crossings, where no shadow lies on it. */
function levelOfPaper({ bare, light, angles, radii }: FacePicture): number | undefined {
  const levels: number[] = [];
  for (let p = 0; p < angles * radii; p += 7) if (bare[p]! > 255 * bareEnough) levels.push(light[p]!);
  if (levels.length < fewest) return undefined;
  levels.sort((a, b) => a - b);
  return levels[Math.floor(0.7 * levels.length)];
}

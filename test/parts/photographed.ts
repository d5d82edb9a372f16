import { findAndMeasureParts, type FaceHeights, type FoundParts } from "../../src/parts/index.js";
import type { Photo } from "../../src/photo/index.js";
import { standardUncertainty, type Quantity, type Unit } from "../../src/quantity/index.js";
import { solveView, type View } from "../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind } from "../scenes/index.js";
import type { PictureSize, SceneKind, SceneTruth } from "../scenes/index.js";

/** A rendered photograph with its view and its truth. */
export interface Photographed {
  readonly photo: Photo;
  readonly view: View;
  readonly truth: SceneTruth;
}

export async function photographed(
  kind: SceneKind,
  seed: number,
  size: PictureSize = "2mp",
): Promise<Photographed> {
  const scene = sceneOfKind(kind, seed, size);
  const rendered = renderScene(scene, seed);
  const photo = await photoOfRendered(rendered, scene, `${kind}.jpg`);
  const { barAcrossMm: matAcrossMm, barAlongMm: matAlongMm } = scene.given;
  const view = await solveView(photo, {
    ...(matAcrossMm === undefined ? {} : { matAcrossMm }),
    ...(matAlongMm === undefined ? {} : { matAlongMm }),
  });
  return { photo, view, truth: rendered.truth };
}

export const measured = ({ photo, view }: Photographed, heights: FaceHeights): Promise<FoundParts> =>
  findAndMeasureParts(photo, view, { heights });

/** Error over standard uncertainty. Above 2.5 in one case of 80. */
export const inUncertainties = (q: Quantity<Unit>, truth: number): number =>
  Math.abs(q.value - truth) / standardUncertainty(q);

/** Smallest angle between two directions, degrees. */
export const apartDeg = (a: number, b: number): number =>
  (Math.abs(Math.atan2(Math.sin(a - b), Math.cos(a - b))) * 180) / Math.PI;

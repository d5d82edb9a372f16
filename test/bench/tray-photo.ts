import { join } from "node:path";
import { rendererKey, scenePhoto } from "../accuracy/scene-photos.js";
import { sceneOfKind, type PictureSize } from "../scenes/index.js";

export const wheelCount = 8;

/** Rendered photograph of the first tray on which all eight wheels found room; kept in `out/`. */
export async function trayPhoto(projectFolder: string, size: PictureSize): Promise<string> {
  let seed = 1;
  while (sceneOfKind("tray", seed, size).parts.length !== wheelCount) seed++;
  const folder = join(projectFolder, "out", "known-photos");
  const { path } = await scenePhoto(folder, "tray", seed, size, await rendererKey());
  return path;
}

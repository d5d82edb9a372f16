/** Room `segment`: networks that say where the metal is, class by class, and where along a rim teeth are. May know the floor and photo. */
export { cellFromPhoto, photoFromCell, pixelClass } from "./class-map.js";
export type { ClassMap } from "./class-map.js";
export { defaultLongSidePx, loadSegmenter } from "./load-segmenter.js";
export type { ClassifyOptions, LoadSegmenterOptions, Segmenter } from "./load-segmenter.js";
export { loadToothReader } from "./load-tooth-reader.js";
export type { ToothReader, ToothReaderOptions } from "./load-tooth-reader.js";
export { shrinkPhoto } from "./shrunk-photo.js";
export type { ShrunkPhoto } from "./shrunk-photo.js";

/** Room `photo`: files to upright pixels, camera data and hash. May know the floor (problem, quantity, geometry, fit). */
export type { CameraData, Photo } from "./photo.js";
export { readPhoto, readPhotoBytes } from "./read-photo.js";
export type { ReadPhotoOptions } from "./read-photo.js";

/** Room `photo`: files to upright pixels, camera data and hash. May know the floor (problem, quantity, geometry, fit). */
export type { CameraData, Photo } from "./photo.js";

/** Scenes with known truth, for tests. Shares no projection, measuring or drawing code with src. */
export { encodeJpeg, photoOfRendered } from "./encode-photo.js";
export { random } from "./random.js";
export type { Random } from "./random.js";
export { randomArbor, randomWheel } from "./random-parts.js";
export { renderScene } from "./render-scene.js";
export type { Rendered } from "./render-scene.js";
export { matGround, pictureSizes, plainOptics, plainSensor, sceneOver } from "./scene-base.js";
export type { PictureSize, SceneWishes } from "./scene-base.js";
export { poseLookingAt, project } from "./scene-camera.js";
export { sceneKinds, sceneOfKind } from "./scene-kinds.js";
export type { SceneKind } from "./scene-kinds.js";
export { onFace } from "./scene-truth.js";
export type { PlateTruth, SceneTruth, WheelTruth } from "./scene-truth.js";
export type * from "./scene.js";
export { addendumFactor } from "./tooth-profile.js";
export { wheelOutline } from "./wheel-outline.js";
export type { WheelOutline, WheelOutlineOptions } from "./wheel-outline.js";

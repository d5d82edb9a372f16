/** Room `report`: what people look at and keep. May know the floor, photo and record. */
export { drawAnnotatedPhoto } from "./overlay/annotated-photo.js";
export { drawOverlay, type OverlayOptions } from "./overlay/overlay.js";

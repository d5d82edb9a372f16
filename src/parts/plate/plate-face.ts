import type { View } from "../../view/index.js";
import type { FacePlane } from "../face-plane.js";
import type { FaceSampler } from "../face-sampler.js";
import type { EdgeSampler } from "./edge-sampler.js";
import type { Sharpness } from "./learn-sharpness.js";
import type { PlateSignal } from "./plate-signal.js";

/** The face of a plate, and the means to read it. */
export interface PlateFace {
  readonly view: View;
  readonly face: FacePlane;
  readonly sampler: FaceSampler;
  readonly edges: EdgeSampler;
  readonly sharpness: Sharpness;
  /** What storing colour adds to the blur of brightness, px. */
  readonly colourBlurPx: number;
  readonly signal: PlateSignal;
  /** Of how far its upper edges lie over its lower ones, where nobody said so, mm. */
  readonly uEdgesApartMm?: number;
  /** A pixel, mm. */
  readonly pxMm: number;
}

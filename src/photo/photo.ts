/** Camera data that a photograph carries. All optional: phones, apps and editors drop what they like. */
export interface CameraData {
  readonly make?: string;
  readonly model?: string;
  readonly lens?: string;
  readonly focalLengthMm?: number;
  /** Focal length scaled to a 36 mm x 24 mm frame; a start value for the camera, not a truth. */
  readonly focalLength35mm?: number;
  /** How the camera was held, 1 to 8; pixels are upright already. */
  readonly orientation?: number;
  /** Local time of capture, ISO 8601. */
  readonly capturedAt?: string;
}

/** One photograph, decoded and turned upright. */
export interface Photo {
  /** As the user named it. */
  readonly file: string;
  readonly byteCount: number;
  /** Of the untouched original file, lower-case hex. */
  readonly sha256: string;
  readonly format: "jpeg" | "png" | "webp" | "tiff" | "heic";
  readonly widthPx: number;
  readonly heightPx: number;
  /** sRGB, 8 bit, row-major, 3 bytes a pixel, upright (orientation applied). */
  readonly rgb: Uint8Array;
  /** The file stores colour at half resolution, as phones do: edges told by colour are softer. */
  readonly colourHalved: boolean;
  /** How coarsely the file stores the detail of colour (`read-colour-steps.ts`); absent where it does not say. */
  readonly colourSteps?: number;
  readonly cameraData: CameraData;
}

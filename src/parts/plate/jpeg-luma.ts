/** Brightness of three code values, as JPEG takes it: ITU-T T.871. Cameras sharpen this, and store it at every pixel. */
export const jpegLuma = (red: number, green: number, blue: number): number =>
  0.299 * red + 0.587 * green + 0.114 * blue;

/**
 * Packs a developed sample as JPEG with camera data, stored turned where the shot says so.
 *
 *   npx tsx samples/render/encode.ts WORK_DIR NAME OUT_DIR
 *
 * Reads WORK_DIR/NAME.rgb and WORK_DIR/NAME.shot.json.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";

interface Shot {
  readonly width_px: number;
  readonly height_px: number;
  readonly exif_orientation: number;
  readonly quality: number;
  readonly camera: string;
  readonly focal_length_mm: number;
  readonly focal_length_35mm: number;
  readonly taken: string;
}

/** Quarter turns clockwise of the stored picture that undo each EXIF orientation. */
const storedTurnDeg: Readonly<Record<number, number>> = { 1: 0, 3: 180, 6: 270, 8: 90 };

const [workDir, name, outDir] = process.argv.slice(2);
if (workDir === undefined || name === undefined || outDir === undefined) {
  throw new Error("expected: encode.ts WORK_DIR NAME OUT_DIR");
}
const shot = JSON.parse(readFileSync(join(workDir, `${name}.shot.json`), "utf8")) as Shot;
const raw = { width: shot.width_px, height: shot.height_px, channels: 3 } as const;
const turn = storedTurnDeg[shot.exif_orientation];
if (turn === undefined) throw new Error(`orientation ${shot.exif_orientation}: expected 1, 3, 6 or 8`);
await sharp(readFileSync(join(workDir, `${name}.rgb`)), { raw })
  .rotate(turn)
  .jpeg({ quality: shot.quality, chromaSubsampling: "4:2:0" })
  .withExif({
    IFD0: {
      ImageDescription: "rendered, not a photograph; invented movement",
      Make: "rendered",
      Model: shot.camera,
      Software: "samples/render",
      DateTime: shot.taken,
    },
    IFD2: {
      DateTimeOriginal: shot.taken,
      FocalLength: `${Math.round(shot.focal_length_mm * 100)}/100`,
      FocalLengthIn35mmFilm: String(shot.focal_length_35mm),
    },
  })
  // Sharp writes its own orientation over one given as an EXIF tag.
  .withMetadata({ orientation: shot.exif_orientation })
  .toFile(join(outDir, `${name}.jpg`));

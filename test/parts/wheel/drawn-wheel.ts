import type { Photo } from "../../../src/photo/index.js";
import type { FacePlane } from "../../../src/parts/face-plane.js";
import { seededRandom } from "../../../src/quantity/index.js";
import { faceAt, straightDown } from "../straight-down.js";
import { inventedPhoto } from "../invented-photo.js";

/** A drawn wheel, invented: metal to `rootMm`, half of the pitch up to `tipMm`, tooth 0 at angle 0. */
export interface DrawnWheel {
  readonly toothCount: number;
  readonly rootMm: number;
  readonly tipMm: number;
  /** Teeth that are gone. */
  readonly missing?: readonly number[];
}

export interface DrawnLook {
  readonly pxPerMm: number;
  /** Code values of red, green and blue. */
  readonly metal: readonly [number, number, number];
  readonly paper: readonly [number, number, number];
  /** Side of the square that a pixel averages over, px, and standard deviation of the noise, code values. */
  readonly blurPx: number;
  readonly noise: number;
}

const fine = 5;

/** The wheel from straight above, its middle in the middle of the picture, y up in the picture. */
export function drawnPhoto(wheel: DrawnWheel, look: DrawnLook): Photo {
  const size = 2 * Math.ceil(1.5 * wheel.tipMm * look.pxPerMm) + 1;
  const middle = (size - 1) / 2;
  const random = seededRandom(7);
  const rgb = new Uint8Array(3 * size * size);
  for (let y = 0; y < size; y++)
    for (let x = 0; x < size; x++) {
      let share = 0;
      for (let i = 0; i < fine * fine; i++) {
        const dx = (x - middle + look.blurPx * (((i % fine) + 0.5) / fine - 0.5)) / look.pxPerMm;
        const dy = (y - middle + look.blurPx * ((Math.floor(i / fine) + 0.5) / fine - 0.5)) / look.pxPerMm;
        share += isMetal(wheel, dx, dy) ? 1 / fine ** 2 : 0;
      }
      for (let k = 0; k < 3; k++)
        rgb[3 * (y * size + x) + k] = Math.round(
          look.paper[k]! + share * (look.metal[k]! - look.paper[k]!) + look.noise * random.normal(),
        );
    }
  return inventedPhoto(size, size, rgb);
}

function isMetal({ toothCount, rootMm, tipMm, missing = [] }: DrawnWheel, x: number, y: number): boolean {
  const r = Math.hypot(x, y);
  if (r < rootMm) return true;
  const turns = (Math.atan2(y, x) / (2 * Math.PI)) * toothCount;
  const k = Math.round(turns);
  return r < tipMm && Math.abs(turns - k) < 0.25 && !missing.includes((k + toothCount) % toothCount);
}

/** The face of the drawn wheel, its centre shifted by `offMm` against the picture's middle. */
export function drawnFace(
  photo: Photo,
  pxPerMm: number,
  offMm: readonly [number, number] = [0, 0],
): FacePlane {
  const geometry = straightDown(400, [0, 0], 400 * pxPerMm);
  const middle = (photo.widthPx - 1) / 2;
  return faceAt(
    { ...geometry, camera: { ...geometry.camera, cxPx: middle, cyPx: middle } },
    offMm[0],
    offMm[1],
    0,
  );
}

import { pixelFromMat, pxPerMmAt, type ViewGeometry } from "../../geometry/index.js";
import type { Photo } from "../../photo/index.js";
import type { ViewRecord } from "../../record/index.js";
import type { FacePlace } from "./extremes.js";

/** The face from straight above, about the arbor: brightness 0 to 255, x right, y up, arbor in the middle. */
export interface FaceRaster {
  readonly size: number;
  readonly mmPerPx: number;
  readonly light: Uint8Array;
  /** 1 where the photograph shows it. */
  readonly seen: Uint8Array;
}

const mostPx = 2000;

const geometryOf = ({ camera, mat_to_camera }: ViewRecord): ViewGeometry => ({
  camera: {
    fxPx: camera.fx_px,
    fyPx: camera.fy_px,
    cxPx: camera.cx_px,
    cyPx: camera.cy_px,
    k1: camera.k1,
    k2: camera.k2,
    ...(camera.p1 === undefined ? {} : { p1: camera.p1 }),
    ...(camera.p2 === undefined ? {} : { p2: camera.p2 }),
  },
  cameraFromMat: { rotation: mat_to_camera.rotation, translationMm: mat_to_camera.translation_mm },
});

/** Samples that a side needs to lose nothing that the photograph has. */
export function rasterSize(view: ViewRecord, { axisMm, faceMm }: FacePlace, halfMm: number): number {
  const perMm = pxPerMmAt(geometryOf(view), axisMm[0], axisMm[1], faceMm);
  return Math.min(mostPx, Math.max(320, Math.ceil(2 * halfMm * (perMm > 0 ? perMm : 0)))) | 1;
}

/** Looks at the photograph on the plane of the face, turned as the place says. */
export function rasterOf(
  photo: Photo,
  view: ViewRecord,
  place: FacePlace,
  halfMm: number,
  size: number,
): FaceRaster {
  const geometry = geometryOf(view);
  const mmPerPx = (2 * halfMm) / (size - 1);
  const light = new Uint8Array(size * size);
  const seen = new Uint8Array(size * size);
  const [cos, sin] = [Math.cos(place.turnRad), Math.sin(place.turnRad)];
  for (let j = 0; j < size; j++) {
    const y = halfMm - j * mmPerPx;
    for (let i = 0; i < size; i++) {
      const x = i * mmPerPx - halfMm;
      const [u, v] = pixelFromMat(
        geometry,
        place.axisMm[0] + cos * x - sin * y,
        place.axisMm[1] + sin * x + cos * y,
        place.faceMm,
      );
      const at = lightAt(photo, u, v);
      if (at === undefined) continue;
      light[j * size + i] = Math.round(at);
      seen[j * size + i] = 1;
    }
  }
  return { size, mmPerPx, light, seen };
}

/** Bilinear luma of ITU-R BT.709 from code values. */
function lightAt({ rgb, widthPx, heightPx }: Photo, u: number, v: number): number | undefined {
  const iu = Math.floor(u);
  const iv = Math.floor(v);
  if (!(iu >= 0 && iv >= 0 && iu < widthPx - 1 && iv < heightPx - 1)) return undefined;
  const luma = (p: number): number => 0.2126 * rgb[p]! + 0.7152 * rgb[p + 1]! + 0.0722 * rgb[p + 2]!;
  const p = 3 * (iv * widthPx + iu);
  const q = p + 3 * widthPx;
  const upper = luma(p) + (u - iu) * (luma(p + 3) - luma(p));
  const lower = luma(q) + (u - iu) * (luma(q + 3) - luma(q));
  return upper + (v - iv) * (lower - upper);
}

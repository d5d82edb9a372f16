import { z } from "zod";
import type { InputId } from "../quantity/index.js";
import type { SetPhoto } from "./set-photo.js";

const format = "wheelsurvey/set-photo/2";
/** Of a side of a kept picture, of teeth, of wheels in one photograph: more is no photograph's. */
const most = { samples: 1 << 20, teeth: 2000, wheels: 100, text: 300 };

const number = z.number();
const count = z.int().min(0).max(most.samples);
const text = z.string().max(most.text);
const point = z.tuple([number, number]).readonly();
const space = z.tuple([number, number, number]).readonly();
const inputId = z.custom<InputId>(
  (v) => typeof v === "string" && v.length < most.text && /^(scale|pose|height|edge|fit|resolution):/.test(v),
);

/** Numbers of a kept picture as base64, in the byte order of every machine this runs on (little endian). */
const packed = <A extends Uint8Array | Float32Array | Float64Array>(make: (bytes: ArrayBuffer) => A) =>
  z
    .string()
    .max(8 * most.samples * 2)
    .transform((encoded, context): A => {
      const bytes = Buffer.from(encoded, "base64");
      try {
        return make(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
      } catch {
        context.addIssue("not so many numbers");
        return z.NEVER;
      }
    });
const bytes = packed((b) => new Uint8Array(b));
const singles = packed((b) => new Float32Array(b));
const doubles = packed((b) => new Float64Array(b));

const face = z
  .object({ angles: count, radii: count, fromRadiusMm: number, stepMm: number, light: bytes, bare: bytes })
  .refine(
    ({ angles, radii, light, bare }) => light.length === angles * radii && bare.length === light.length,
  );
const hub = z
  .object({ size: count, stepMm: number, light: bytes, bare: singles })
  .refine(({ size, light, bare }) => light.length === size * size && bare.length === light.length);

const shared = ["lnF", "lnAspect", "cx", "cy", "k1", "k2", "p1", "p2", "sx", "sy"] as const;
const camera = z
  .object({
    widthPx: number,
    heightPx: number,
    orientation: number.exactOptional(),
    shared: z
      .array(z.object({ name: z.enum(shared), value: number, estimate: number, u: number }))
      .length(shared.length),
    covariance: doubles,
    widenedBy: number,
  })
  .refine(({ covariance }) => covariance.length === (shared.length + 5) ** 2);

const wheel = z.object({
  partId: text,
  label: text.exactOptional(),
  kind: text,
  toothCount: z.int().min(1).max(most.teeth),
  countProbability: number,
  crossings: number.exactOptional(),
  tipRadiusMm: number.positive(),
  rootRadiusMm: number.positive(),
  uTipRadiusMm: number,
  outlineMm: number,
  faceMm: number,
  uHeightMm: number,
  heightGiven: z.boolean(),
  cameraMm: space,
  camera,
  pxPerMm: number.positive(),
  centreMm: point,
  uCentreMm: number,
  uCentreScatterMm: number,
  tipsOffMm: point,
  uTipsOffMm: number,
  wallMm: point,
  centreWallMm: point,
  spacingWallMm: point,
  uWallShare: number,
  tipsWeight: number,
  uSpacingMm: number,
  uSpacingScatterMm: number,
  centreTerms: z.array(z.object({ id: inputId, dxMm: number, dyMm: number, cameraMm: space })).max(100),
  toothPhaseRad: number,
  uToothPhaseRad: number,
  teeth: z
    .array(
      z.object({
        angleRad: number,
        state: z.enum(["whole", "short", "missing", "bent", "unseen"]),
        tipDeviationMm: number,
        indexDeviationMm: number,
      }),
    )
    .max(most.teeth),
  shifts: z.array(z.object({ angleRad: number, outMm: number, alongMm: number })).max(most.teeth),
  edgesApartMm: number,
  coloured: z.boolean(),
  face,
  hub,
});

const setPhoto = z.object({
  format: z.literal(format),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  wheels: z.array(wheel).max(most.wheels),
  cards: z.array(text).max(most.wheels),
  onMat: z.boolean(),
  leaning: count.exactOptional(),
});

/** What a photograph gives for its set, to be kept in a file; without its name, which may change. */
export function setPhotoText(photo: SetPhoto): string {
  return JSON.stringify({ format, ...photo, file: undefined }, (_key, value: unknown) =>
    ArrayBuffer.isView(value)
      ? Buffer.from(value.buffer, value.byteOffset, value.byteLength).toString("base64")
      : value,
  );
}

/** @returns undefined for a text that is not such a one, or of another version: then the photograph is measured again. */
export function readSetPhoto(kept: string, file: string): SetPhoto | undefined {
  let value: unknown;
  try {
    value = JSON.parse(kept);
  } catch {
    return undefined;
  }
  const parsed = setPhoto.safeParse(value);
  if (!parsed.success) return undefined;
  const { sha256, wheels, cards, onMat, leaning } = parsed.data;
  return { file, sha256, wheels, cards, onMat, ...(leaning === undefined ? {} : { leaning }) };
}

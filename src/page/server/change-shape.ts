import { z } from "zod";
import { partKinds, toothStates } from "../../record/index.js";
import type { ChangeRequest } from "../wire.js";

const name = z.string().min(1).max(300);
const point = z.tuple([z.number(), z.number()]);
const path = z.array(z.string().min(1).max(80)).min(1).max(8);

const change = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("photo"),
    photo: name,
    leftOut: z.boolean(),
    reason: z.string().max(2000).exactOptional(),
  }),
  z.strictObject({
    kind: z.literal("part"),
    photo: name,
    part: name,
    set: z.strictObject({
      kind: z.enum(partKinds).nullable().exactOptional(),
      label: z.string().max(60).nullable().exactOptional(),
      toothCount: z.number().int().min(1).max(2000).nullable().exactOptional(),
      circle: z
        .strictObject({
          centre_px: point,
          tip_radius_px: z.number().positive(),
          within_px: z.number().positive(),
        })
        .nullable()
        .exactOptional(),
      leftOut: z.boolean().exactOptional(),
      remark: z.string().max(2000).nullable().exactOptional(),
    }),
  }),
  z.strictObject({
    kind: z.literal("tooth"),
    photo: name,
    part: name,
    angleDeg: z.number().min(-360).max(720),
    state: z.enum(toothStates).nullable(),
  }),
  z.strictObject({
    kind: z.literal("new part"),
    photo: name,
    centrePx: point,
    tipRadiusPx: z.number().positive(),
    withinPx: z.number().positive(),
  }),
  z.strictObject({ kind: z.literal("as measured"), photo: name, part: name }),
  z.strictObject({
    kind: z.literal("face height"),
    photo: name,
    label: z.string().max(60).exactOptional(),
    mm: z.number().min(0).max(300).nullable(),
  }),
  z.strictObject({ kind: z.literal("done"), key: z.string().min(1).max(300), done: z.boolean() }),
  z.strictObject({
    kind: z.literal("statement"),
    path,
    value: z.union([z.string().max(20_000), z.number(), z.array(z.unknown()).max(500), z.null()]),
  }),
  z.strictObject({ kind: z.literal("new movement") }),
  z.strictObject({ kind: z.literal("movement text"), text: z.string().max(256 * 1024) }),
  z.strictObject({
    kind: z.literal("movement"),
    set: z
      .array(
        z.strictObject({
          path,
          value: z.union([
            z.string().max(300),
            z.number(),
            z.boolean(),
            z.record(z.string(), z.unknown()),
            z.null(),
          ]),
        }),
      )
      .min(1)
      .max(20),
  }),
  z.strictObject({
    kind: z.literal("set"),
    photos: z.array(name).min(1).max(200),
    set: z
      .strictObject({
        kind: z.enum(["turn", "play", "height"]),
        // It becomes part of a folder's name.
        label: z
          .string()
          .regex(/^[A-Za-z]\d{1,2}$/)
          .exactOptional(),
      })
      .nullable(),
  }),
  z.strictObject({ kind: z.literal("stage"), photo: name, stage: z.enum(["before", "after"]).nullable() }),
]);

const request = z.strictObject({ change, revision: z.string().max(100) });

/** A change as a request brought it; the reason, where it is none. */
export function readChangeRequest(json: unknown): ChangeRequest | { readonly error: string } {
  const result = request.safeParse(json);
  if (result.success) return result.data;
  const issue = result.error.issues[0]!;
  return { error: `at ${issue.path.map(String).join(".") || "the top"}: ${issue.message}` };
}

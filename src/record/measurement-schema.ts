import { z } from "zod";
import { measurementSchemaName } from "./measurement-schema-name.js";
import { quantitySchema } from "./quantity-schema.js";

const point = z.tuple([z.number(), z.number()]);
const quantity = quantitySchema.exactOptional();
const angle = z.number().min(0).lt(360);
const wholeNumber = z.number().int().nonnegative();
const probability = z.number().min(0).max(1);
const text = z.string();

const problem = z
  .object({ code: text, text, advice: text })
  .meta({ description: "Something that could not be measured, and what to do about it" });

const finding = z.object({ code: text, severity: z.enum(["note", "watch", "fault"]), text });

const toothPlace = z.object({
  number: z.number().int().positive(),
  angle_deg: angle,
  state: z.enum(["whole", "short", "missing", "bent", "unseen"]),
  tip_px: point,
  index_deviation_mm: z.number().exactOptional(),
  tip_deviation_mm: z.number().exactOptional(),
});

const teeth = z.object({
  count: wholeNumber,
  probability,
  alternatives: z.array(z.object({ count: wholeNumber, probability })),
  missing: z.array(z.object({ angle_deg: angle })),
  bent: z.array(z.object({ angle_deg: angle, offset_mm: z.number().exactOptional() })),
  places: z
    .array(toothPlace)
    .exactOptional()
    .meta({ description: "Every tooth place, counter-clockwise from the one nearest to x" }),
});

const outline = z
  .object({
    tip_circle_px: z.array(point),
    root_circle_px: z.array(point),
    pitch_circle_px: z.array(point),
    bore_px: z.array(point).exactOptional(),
    edge_px: z.array(point).exactOptional(),
    scale_bar: z.object({ from_px: point, to_px: point, length_mm: z.number().positive() }).exactOptional(),
  })
  .meta({ description: "Where things are in the picture, for drawing only" });

const rim = z
  .object({
    start_deg: angle,
    step_deg: z.number().positive(),
    radius_mm: z.array(z.number()).exactOptional(),
    radius_px: z.array(z.number()).exactOptional(),
    unseen: z
      .array(z.tuple([wholeNumber, z.number().int().positive()]))
      .meta({ description: "Runs that were not seen: first sample, number of samples" }),
  })
  .meta({ description: "Outline unrolled: radius against angle about the tooth circle's centre" });

const hole = z.object({
  id: text.exactOptional(),
  kind: z.enum(["pivot", "pillar", "screw", "opening"]).exactOptional(),
  centre_px: point.exactOptional(),
  centre_mm: point,
  centre_u_mm: z
    .number()
    .nonnegative()
    .exactOptional()
    .meta({ description: "Standard uncertainty of one coordinate against the other holes of the plate" }),
  diameter_mm: quantity,
  ovality_mm: quantity,
  ovality_angle_deg: quantity,
  bushed: z.boolean().exactOptional(),
  bush_diameter_mm: quantity,
  edge_px: z.array(point).exactOptional(),
});

const pins = z.object({
  count: wholeNumber,
  circle_diameter_mm: quantity,
  pin_diameter_mm: quantity,
  height_mm: quantity,
  places: z
    .array(
      z.object({
        angle_deg: angle,
        state: z.enum(["whole", "off", "missing", "unseen"]),
        spacing_deviation_mm: z.number().exactOptional(),
        off_mm: z.number().exactOptional(),
        end_px: point.exactOptional(),
      }),
    )
    .exactOptional(),
});

const turnDirection = z.enum(["counter-clockwise", "clockwise"]);

const notches = z
  .object({
    notches: z.array(
      z.object({
        angle_deg: angle,
        width_mm: z.number().exactOptional(),
        depth_mm: z.number().exactOptional(),
        state: z.enum(["whole", "shallow", "unseen"]),
      }),
    ),
    blows_per_turn: wholeNumber,
    blows: z.array(wholeNumber),
    order: turnDirection.exactOptional(),
    sequence: z.enum(["hours", "hours and halves"]).exactOptional(),
    missing: z.array(z.object({ angle_deg: angle, after_blows: wholeNumber })),
    extra: z.array(z.object({ angle_deg: angle })),
    probability,
  })
  .meta({ description: "Notches of a count wheel: what it strikes from notch to notch" });

const plate = z
  .object({
    outline_mm: z.array(point),
    length_mm: quantity,
    width_mm: quantity,
    cut_off: z.boolean(),
    scale_u: z
      .number()
      .nonnegative()
      .exactOptional()
      .meta({ description: "Relative standard uncertainty of every distance on this plate" }),
  })
  .meta({ description: "A plate's outline in the mat frame" });

const part = z.object({
  id: text,
  kind: z.enum(["wheel", "escape-wheel", "ratchet", "count-wheel", "locking-cam", "pinion", "plate"]),
  label: text.exactOptional(),
  on_arbor_of: text
    .exactOptional()
    .meta({ description: "Of a pinion seen above its wheel, on the same arbor: that wheel's id" }),
  centre_px: point,
  centre_mm: point.exactOptional(),
  face_height_mm: quantity,
  teeth: teeth.exactOptional(),
  tip_diameter_mm: quantity,
  root_diameter_mm: quantity,
  tooth_depth_mm: quantity,
  pitch_diameter_mm: quantity,
  module_mm: quantity,
  diametral_pitch: quantity,
  addendum_assumption: text.exactOptional(),
  nearest_preferred_module_mm: z.number().positive().exactOptional(),
  crossings: z.object({ count: wholeNumber }).exactOptional(),
  pins: pins.exactOptional(),
  notches: notches.exactOptional(),
  plate: plate.exactOptional(),
  rake: turnDirection
    .exactOptional()
    .meta({ description: "Escape and ratchet wheels: the way in which the teeth point" }),
  bore_diameter_mm: quantity,
  eccentricity_mm: quantity,
  eccentricity_angle_deg: quantity,
  eccentricity_estimates: z
    .object({
      datum: z.enum(["bore", "collet", "tooth-circle"]),
      radial_mm: point,
      tangential_mm: point,
      u_mm: z.number().nonnegative(),
      agree: z.boolean(),
    })
    .exactOptional(),
  relative_eccentricity: quantity,
  radial_runout_mm: quantity,
  roundness_mm: quantity,
  roundness_minimum_zone_mm: quantity,
  ovality_mm: quantity,
  ovality_angle_deg: quantity,
  three_lobe_mm: quantity,
  tilt_deg: quantity,
  holes: z.array(hole).exactOptional(),
  findings: z.array(finding),
  problems: z.array(problem).exactOptional(),
  outline: outline.exactOptional(),
  rim: rim.exactOptional(),
});

const view = z.object({
  markers_found: wholeNumber,
  reprojection_rms_px: z.number().nonnegative(),
  camera: z.object({
    fx_px: z.number(),
    fy_px: z.number(),
    cx_px: z.number(),
    cy_px: z.number(),
    k1: z.number(),
    k2: z.number(),
    p1: z.number().exactOptional(),
    p2: z.number().exactOptional(),
  }),
  print_scale: point.meta({ description: "Printed over nominal length: across, along" }),
  print_scale_measured: z.boolean().exactOptional(),
  paper: z.enum(["a4", "letter", "a3"]).exactOptional(),
  mat_to_camera: z.object({
    rotation: z.array(z.number()).length(9),
    translation_mm: z.array(z.number()).length(3),
  }),
  blur_sigma_px: z.number().nonnegative().exactOptional(),
});

const settings = z
  .object({
    mat_across_mm: z.number().positive().exactOptional(),
    mat_along_mm: z.number().positive().exactOptional(),
    face_heights_mm: z
      .array(
        z.object({
          label: text.exactOptional(),
          height_mm: z.number(),
          u_mm: z
            .number()
            .nonnegative()
            .exactOptional()
            .meta({ description: "Standard uncertainty; absent: that of calipers on the bench" }),
          from: z
            .literal("height-set")
            .exactOptional()
            .meta({ description: "Found by a height set; absent: typed by a person" }),
        }),
      )
      .exactOptional()
      .meta({ description: "As given or as found; without a label it holds for every part" }),
    scale: z.object({ from_px: point, to_px: point, length_mm: z.number().positive() }).exactOptional(),
    px_per_mm: z.number().positive().exactOptional(),
    set: z.enum(["turn", "play", "height"]).exactOptional(),
    model: z.boolean().exactOptional(),
  })
  .meta({ description: "What the user told the program; enough to repeat the measurement" });

const cameraData = z.object({
  make: text.exactOptional(),
  model: text.exactOptional(),
  lens: text.exactOptional(),
  focal_length_mm: z.number().exactOptional(),
  focal_length_35mm: z.number().exactOptional(),
});

const photo = z.object({
  file: text,
  sha256: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .exactOptional()
    .meta({ description: "Of the untouched file; absent if it could not be read" }),
  byte_count: wholeNumber.exactOptional(),
  format: z.enum(["jpeg", "png", "webp", "tiff", "heic"]).exactOptional(),
  width_px: z.number().int().positive().exactOptional(),
  height_px: z.number().int().positive().exactOptional(),
  captured_at: text.exactOptional(),
  camera_data: cameraData.exactOptional(),
  scale: z.object({
    source: z.enum(["mat", "given", "none"]),
    px_per_mm: z.number().positive().exactOptional(),
  }),
  view: view.exactOptional(),
  tags: z.array(z.object({ label: text, centre_px: point })).exactOptional(),
  parts: z.array(part),
  problems: z.array(problem),
  settings: settings.exactOptional(),
});

const setPosition = z
  .object({
    file: text,
    part_id: text,
    turn_deg: angle.meta({ description: "Turn of the wheel against the first photograph" }),
    centre_mm: point.meta({ description: "Centre of the tooth circle, mat frame" }),
    arbor_mm: point
      .exactOptional()
      .meta({ description: "Arbor against wheel, from where it stands on the whole, in the wheel's frame" }),
    axis_mm: point.exactOptional().meta({
      description: "Where the arbor's axis meets the face, mat frame of this photograph's own view",
    }),
    twist_deg: z.number().exactOptional(),
    left_out: text.exactOptional(),
  })
  .meta({ description: "Where the wheel of a set stood in one photograph" });

const set = z.object({
  kind: z.enum(["turn", "play", "height"]),
  label: text.exactOptional(),
  photos: z.array(text),
  eccentricity_mm: quantity,
  eccentricity_angle_deg: quantity,
  radial_runout_mm: quantity,
  axial_runout_mm: quantity,
  axial_high_angle_deg: quantity,
  axis_mm: point.exactOptional(),
  radial_play_mm: quantity,
  twist_deg: quantity,
  rock_deg: quantity,
  detection_limits: z
    .object({
      radial_play_mm: z.number().nonnegative().exactOptional(),
      twist_deg: z.number().nonnegative().exactOptional(),
      rock_deg: z.number().nonnegative().exactOptional(),
    })
    .exactOptional()
    .meta({ description: "Movement that the photographs would have shown in 19 of 20 cases" }),
  greatest_movement: z
    .object({ kind: z.enum(["radial", "twist", "rock"]), photos: z.tuple([text, text]) })
    .exactOptional()
    .meta({
      description: "What stands out most from its noise, and the two photographs furthest apart in it",
    }),
  face_height_mm: quantity,
  tip_diameter_mm: quantity,
  positions: z.array(setPosition).exactOptional(),
  verdict: z.enum(["tight", "loose", "cannot tell"]).exactOptional(),
  findings: z.array(finding).exactOptional(),
  problems: z.array(problem).exactOptional(),
});

/** The result contract: lengths in mm, angles in degrees, unknown is absent. */
export const measurementSchema = z
  .object({
    schema: z.literal(measurementSchemaName),
    software: z.object({ name: text, version: text }).exactOptional(),
    photos: z.array(photo),
    sets: z.array(set),
  })
  .meta({
    title: "Measurements of clock parts from photographs",
    description:
      "Lengths in mm, angles in degrees counter-clockwise from x seen from the camera; unknown is absent. " +
      "Mat frame: origin at the centre of the working field, x right, y up the sheet, z towards the camera. " +
      "Pixel frame: origin at the centre of the top-left pixel of the upright photograph.",
  });

/** Results are never changed once made. */
type Frozen<T> = T extends object ? { readonly [K in keyof T]: Frozen<T[K]> } : T;

export type MeasurementDocument = Frozen<z.infer<typeof measurementSchema>>;
export type PhotoRecord = Frozen<z.infer<typeof photo>>;
export type PartRecord = Frozen<z.infer<typeof part>>;
export type TeethRecord = Frozen<z.infer<typeof teeth>>;
export type RimRecord = Frozen<z.infer<typeof rim>>;
export type OutlineRecord = Frozen<z.infer<typeof outline>>;
export type ViewRecord = Frozen<z.infer<typeof view>>;
export type SetRecord = Frozen<z.infer<typeof set>>;
export type FindingRecord = Frozen<z.infer<typeof finding>>;
export type ProblemRecord = Frozen<z.infer<typeof problem>>;
export type SettingsRecord = Frozen<z.infer<typeof settings>>;

/**
 * JSON Schema (draft 2020-12) of the result contract. Keys that it does not name are allowed: the contract may
 * grow.
 */
export const measurementJsonSchema = (): Record<string, unknown> => ({
  ...z.toJSONSchema(measurementSchema, { io: "input" }),
});

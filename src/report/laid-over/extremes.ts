import type { PartRecord, PhotoRecord, SetRecord } from "../../record/index.js";

/** How one photograph of a pair is brought to lie on the other. mm and rad, mat frame of its own view. */
export interface FacePlace {
  readonly photoIndex: number;
  readonly faceMm: number;
  /** Where the arbor's axis meets the face: this point stays. */
  readonly axisMm: readonly [number, number];
  /** How the arbor is turned against the first of the pair. */
  readonly turnRad: number;
}

/** The two photographs of a play set that are furthest apart. */
export interface Extremes {
  readonly kind: "radial" | "twist" | "rock";
  readonly files: readonly [string, string];
  readonly places: readonly [FacePlace, FacePlace];
  readonly tipRadiusMm: number;
  readonly rootRadiusMm: number;
  readonly teeth: number;
  /** How far the rim moves between them, mm; of a rock, how far it rises and falls. */
  readonly movedMm: number;
  /** A smaller movement could not have been told from none. */
  readonly limitMm: number;
  /** False where nothing on the arbor shows how it is turned: then the wheel's own turn is taken. */
  readonly turnByArbor: boolean;
}

const rad = Math.PI / 180;

/** What the report needs to lay them over each other; undefined where no movement was measured. */
export function extremesOf(set: SetRecord, photos: readonly PhotoRecord[]): Extremes | undefined {
  const { greatest_movement: greatest, detection_limits: limits } = set;
  if (set.kind !== "play" || greatest === undefined) return undefined;
  const turnByArbor = set.twist_deg !== undefined;
  const seen = greatest.photos.map((file) => {
    const position = set.positions?.find((p) => p.file === file);
    const photoIndex = photos.findIndex((p) => p.file === file);
    const part = photos[photoIndex]?.parts.find(({ id }) => id === position?.part_id);
    return position?.axis_mm && part && photos[photoIndex]?.view
      ? {
          photoIndex,
          part,
          axisMm: position.axis_mm,
          turn: position.turn_deg,
          twist: position.twist_deg ?? 0,
        }
      : undefined;
  });
  const [a, b] = seen;
  if (!a || !b || !isWhole(a.part) || !isWhole(b.part)) return undefined;
  const tipRadiusMm = a.part.tip_diameter_mm.value / 2;
  const turn = turnByArbor ? b.turn + b.twist - a.turn - a.twist : b.turn - a.turn;
  const onRim = (radialMm = 0, twistDeg = 0, rockDeg = 0): number =>
    ({ radial: radialMm, twist: twistDeg * rad * tipRadiusMm, rock: rockDeg * rad * tipRadiusMm })[
      greatest.kind
    ];
  return {
    kind: greatest.kind,
    files: greatest.photos,
    places: [
      {
        photoIndex: a.photoIndex,
        faceMm: a.part.face_height_mm.value,
        axisMm: a.axisMm,
        turnRad: 0,
      },
      {
        photoIndex: b.photoIndex,
        faceMm: b.part.face_height_mm.value,
        axisMm: b.axisMm,
        turnRad: turn * rad,
      },
    ],
    tipRadiusMm,
    rootRadiusMm: a.part.root_diameter_mm.value / 2,
    teeth: a.part.teeth.count,
    movedMm: onRim(set.radial_play_mm?.value, set.twist_deg?.value, set.rock_deg?.value),
    limitMm: onRim(limits?.radial_play_mm, limits?.twist_deg, limits?.rock_deg),
    turnByArbor,
  };
}

type WholePart = PartRecord &
  Required<Pick<PartRecord, "tip_diameter_mm" | "root_diameter_mm" | "face_height_mm" | "teeth">>;

const isWhole = (part: PartRecord): part is WholePart =>
  part.teeth !== undefined &&
  part.teeth.count > 0 &&
  part.tip_diameter_mm !== undefined &&
  part.tip_diameter_mm.value > 0 &&
  part.root_diameter_mm !== undefined &&
  part.face_height_mm !== undefined;

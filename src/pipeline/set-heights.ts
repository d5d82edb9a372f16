import type { Problem } from "../problem/index.js";
import type { MeasureSettings, PartRecord, PhotoRecord, SetRecord } from "../record/index.js";

type FaceHeights = NonNullable<MeasureSettings["faceHeights"]>;

/** What sets of photographs say about the heights in one photograph. */
export interface SetHeights {
  readonly faceHeights: FaceHeights;
  /** Heights that do not hold in this photograph. */
  readonly problems: readonly Problem[];
}

/** The assumed thickness of a wheel that lies on the mat: `parts/face-height.ts` uses the same. */
const assumedMm = 1.5;
const uAssumedMm = 0.35;
/** Chance of 1 in 370 that a wheel at the same height does worse. */
const surelyOther = 3;

/**
 * Heights that height sets found, for one photograph. A height typed by a person wins; one that the assumption knows as
 * well is not worth measuring again.
 *
 * In the photographs of the set the height is known for the very wheel. Elsewhere a wheel with its label may have been
 * laid down otherwise, so its tip diameter at that height has to be the one that the set found.
 */
export function setHeights(
  record: PhotoRecord,
  sets: readonly SetRecord[],
  settings: MeasureSettings,
): SetHeights {
  const typed = settings.faceHeights ?? [];
  const faceHeights: FaceHeights[number][] = [];
  const problems: Problem[] = [];
  const useful = sets.filter(isUseful).sort((a, b) => a.face_height_mm!.u - b.face_height_mm!.u);
  for (const part of record.parts) {
    const { label } = part;
    if (part.teeth === undefined || part.tip_diameter_mm === undefined || isOnArbor(part)) continue;
    if (typed.some((each) => each.label === undefined || each.label === label)) continue;
    // Without a label a height holds for everything in the picture.
    const lying = record.parts.filter((other) => !isOnArbor(other));
    if (label === undefined && lying.length > 1) continue;
    if (label !== undefined && lying.filter((other) => other.label === label).length > 1) continue;
    const own = useful.find(({ positions = [] }) =>
      positions.some(
        ({ file, part_id, left_out }) =>
          file === record.file && part_id === part.id && left_out === undefined,
      ),
    );
    const others = label === undefined ? [] : useful.filter((set) => set.label === label);
    const set = own ?? others.find((other) => fits(record, part, other));
    if (set !== undefined) {
      const { value, u } = set.face_height_mm!;
      faceHeights.push({
        ...(label === undefined ? {} : { label }),
        heightMm: value,
        uMm: u,
        fromSet: true,
      });
    } else if (others.length > 0) problems.push(otherHeight(label!));
  }
  return { faceHeights, problems };
}

/** How a photograph is measured again at them. */
export const settingsAtSetHeights = <S extends MeasureSettings>(
  settings: S,
  { faceHeights }: SetHeights,
): S => ({
  ...settings,
  faceHeights: [...(settings.faceHeights ?? []), ...faceHeights],
});

export const withHeightProblems = (record: PhotoRecord, { problems }: SetHeights): PhotoRecord =>
  problems.length === 0 ? record : { ...record, problems: [...record.problems, ...problems] };

/** A pinion that was seen above its wheel: heights are those of wheels. */
const isOnArbor = ({ on_arbor_of }: PartRecord): boolean => on_arbor_of !== undefined;

/** Better than the assumption, or at odds with it. */
function isUseful({ kind, face_height_mm: height }: SetRecord): boolean {
  if (kind !== "height" || height === undefined || height.value <= 0) return false;
  return height.u < uAssumedMm || Math.abs(height.value - assumedMm) > 2 * Math.hypot(height.u, uAssumedMm);
}

/**
 * Would the wheel, at the height of the set, have the tip diameter that the set found? Planes at two heights are copies of
 * each other about the camera.
 */
function fits(record: PhotoRecord, part: PartRecord, set: SetRecord): boolean {
  const { tip_diameter_mm: tip, face_height_mm: face } = part;
  const camera = cameraHeightMm(record);
  if (camera === undefined || face === undefined || tip === undefined || set.tip_diameter_mm === undefined)
    return false;
  const above = set.face_height_mm!.value - face.value;
  const there = tip.value * (1 - above / (camera - face.value));
  const apart = Math.abs(there - set.tip_diameter_mm.value);
  return (
    apart <= surelyOther * Math.hypot(tip.u, set.tip_diameter_mm.u) &&
    apart <= Math.abs(tip.value - set.tip_diameter_mm.value)
  );
}

function cameraHeightMm({ view }: PhotoRecord): number | undefined {
  if (view === undefined) return undefined;
  const { rotation: r, translation_mm: t } = view.mat_to_camera;
  return Math.abs(r[2]! * t[0]! + r[5]! * t[1]! + r[8]! * t[2]!);
}

const otherHeight = (label: string): Problem => ({
  code: "height-set-elsewhere",
  text: `a height set found the height of the face of ${label}, but here its diameter does not fit that height; it was not used`,
  advice: `if ${label} lies otherwise in this photograph, state the height of its face`,
});

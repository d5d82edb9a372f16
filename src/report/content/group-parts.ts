import { labelWords, type PartRecord, type PhotoRecord, type SurveyDocument } from "../../record/index.js";
import { countText, partKindWords, partName } from "../part-words.js";
import { shownText } from "../shown-text.js";

/** One sighting of a part: which photograph (from 0), which part in it. */
export interface Sighting {
  readonly photo: PhotoRecord;
  readonly photoIndex: number;
  readonly part: PartRecord;
}

/** All photographs of one part, the most telling first. */
export interface PartGroup {
  readonly id: string;
  readonly label?: string;
  readonly best: Sighting;
  readonly others: readonly Sighting[];
}

/** Key of the picture of a part, and of a whole photograph. Made of numbers only: ids come from outside. */
export const partPictureKey = ({ photo, photoIndex, part }: Sighting): string =>
  `photo-${photoIndex}-${photo.parts.indexOf(part)}`;
export const photoPictureKey = (photoIndex: number): string => `photo-${photoIndex}`;

/** Photographs say it by their names: "S3-before.jpg", "great wheel after.heic". */
const stage = /(?:^|[\s_-])(before|after)$/i;

/** Whether a photograph shows a part before or after work was done, if its name says so. */
export function stageOf({ photo }: Sighting): "before" | "after" | undefined {
  const name = photo.file.split(/[\\/]/).at(-1) ?? "";
  const word = stage.exec(name.replace(/\.[^.]*$/, ""))?.[1]?.toLowerCase();
  return word === "before" || word === "after" ? word : undefined;
}

/** The more a sighting tells, the higher: a sure count, a scale, small uncertainty. */
function merit({ part }: Sighting): number {
  const count = part.teeth?.probability ?? 0;
  const tip = part.tip_diameter_mm;
  const relative = tip && tip.value > 0 ? tip.u / tip.value : 1;
  return Math.round(count * 20) * 10 + (tip ? 5 : 0) - Math.min(4, relative * 100);
}

/** "T1" before "T2" before "T10" before "S1": time, strike, chime, motion work, plates, then the rest. */
function labelRank(label: string | undefined): string {
  const match = /^([TSCMP])(\d+)$/.exec(label ?? "");
  if (!match) return `z${label ?? ""}`;
  return `${"TSCMP".indexOf(match[1]!)}${match[2]!.padStart(4, "0")}`;
}

/** A wheel and its pinion share an arbor and its label. */
const keyOf = ({ kind, label }: PartRecord): string => `${kind === "pinion" ? "pinion" : "label"} ${label}`;

/** Parts with the same label are one part, pinions apart from wheels; a part without a label stands alone. In the order of their places. */
export function groupParts(survey: SurveyDocument): PartGroup[] {
  const groups = new Map<string, Sighting[]>();
  survey.measurement.photos.forEach((photo, photoIndex) => {
    for (const part of photo.parts) {
      const key = part.label === undefined ? `#${photoIndex} ${part.id}` : keyOf(part);
      const list = groups.get(key) ?? [];
      list.push({ photo, photoIndex, part });
      groups.set(key, list);
    }
  });
  const sorted = [...groups.values()].map((sightings) => {
    // Once work was done, what was before it no longer tells what the part is like.
    const worked = sightings.some((s) => stageOf(s) === "after");
    const past = (s: Sighting): number => (worked && stageOf(s) === "before" ? 1 : 0);
    return [...sightings].sort((a, b) => past(a) - past(b) || merit(b) - merit(a));
  });
  sorted.sort((a, b) => {
    const [ra, rb] = [labelRank(a[0]!.part.label), labelRank(b[0]!.part.label)];
    if (ra !== rb) return ra < rb ? -1 : 1;
    const pinions = Number(isLabelledPinion(a[0]!.part)) - Number(isLabelledPinion(b[0]!.part));
    return pinions !== 0 ? pinions : a[0]!.photoIndex - b[0]!.photoIndex;
  });
  return sorted.map(([best, ...others], i) => ({
    id: `part-${i + 1}`,
    ...(best!.part.label === undefined ? {} : { label: best!.part.label }),
    best: best!,
    others,
  }));
}

const isLabelledPinion = ({ kind, label }: PartRecord): boolean => kind === "pinion" && label !== undefined;

/** "T2": by its tag, or by photograph and number where it has none. */
export const groupName = ({ label, best }: PartGroup): string =>
  label === undefined
    ? `${partName(best.part)} (photograph ${best.photoIndex + 1})`
    : `${shownText(label, { max: 40 })}${best.part.on_arbor_of === undefined ? "" : " pinion"}`;

/** "Wheel, 64 teeth, time train, second arbor". */
export function groupWords(group: PartGroup): string {
  const { part } = group.best;
  const place = group.label === undefined ? undefined : labelWords(group.label);
  return [partKindWords(part), countText(part), place].filter((w) => w !== undefined && w !== "").join(", ");
}

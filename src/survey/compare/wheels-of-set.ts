import { basename } from "node:path";
import type { WheelMarks } from "../../parts/index.js";
import type { SetPhoto, WheelPhoto } from "../set-photo.js";
import type { SetProblem } from "../set-result.js";

/** Photographs of one wheel among those of a set. */
export interface WheelOfSet {
  readonly label?: string;
  readonly photos: readonly WheelPhoto[];
  /** What does not belong together, told by photograph. */
  readonly problems: readonly SetProblem[];
}

/** A count this sure may tell two wheels apart. */
const sureCount = 0.9;
/** Tip radii of one wheel agree to this share and three standard uncertainties; the height is not known yet. */
const likeSize = 0.006;

/**
 * Sorts the wheels of all photographs: which are pictures of the same one. The same file twice counts once.
 *
 * @returns one entry for each wheel that two or more photographs show; and what concerns the whole set.
 */
export function wheelsOfSet(photos: readonly SetPhoto[]): {
  readonly wheels: readonly WheelOfSet[];
  readonly problems: readonly SetProblem[];
} {
  const problems: SetProblem[] = [];
  const once = withoutRepeats(photos, problems);
  for (const { file, onMat } of once)
    if (!onMat)
      problems.push({
        code: "set-without-mat",
        text: `${basename(file)} has no mat in it, so it cannot be compared with the others`,
        advice: "keep the mat in every photograph of a set, with as many markers as you can",
      });
  const usable = once.filter(({ onMat }) => onMat);
  for (const { file, wheels, leaning = 0 } of usable)
    if (leaning > 0)
      problems.push({
        code: "set-wheel-leans",
        text: `a wheel leans on its arbor in ${basename(file)}, and is not compared with the others`,
        advice:
          "let the arbor through the sheet, so that the wheel lies flat, and take this photograph again",
      });
    else if (wheels.length === 0)
      problems.push({
        code: "set-wheel-not-found",
        text: `no wheel with countable teeth was found in ${basename(file)}`,
        advice: "move closer, focus on the teeth, avoid hard shadows, and take this photograph again",
      });
  const groups: { label: string | undefined; alone: boolean; photos: WheelPhoto[] }[] = [];
  for (const { file, sha256, wheels } of usable) {
    for (const marks of wheels) {
      const alone = wheels.length === 1;
      const group =
        groups.find(
          (g) => g.photos.every((p) => p.file !== file) && belongs(g.label, g.photos[0]!.marks, marks),
        ) ?? groups.find((g) => g.alone && alone && (g.label ?? marks.label) === (marks.label ?? g.label));
      const photo: WheelPhoto = { file, ...(sha256 === undefined ? {} : { sha256 }), marks };
      if (group) {
        group.photos.push(photo);
        group.label ??= marks.label;
        group.alone &&= alone;
      } else groups.push({ label: marks.label, alone, photos: [photo] });
    }
  }
  const wheels = groups
    .filter((g) => g.photos.length >= 2)
    .map(({ label, photos: all }): WheelOfSet => {
      const odd: SetProblem[] = [];
      const same = withoutOthers(all, odd);
      return { ...(label === undefined ? {} : { label }), photos: same, problems: odd };
    });
  if (wheels.length === 0 && groups.length > 1)
    problems.push(differentWheels(groups.map((g) => g.photos[0]!)));
  return { wheels, problems };
}

function withoutRepeats(photos: readonly SetPhoto[], problems: SetProblem[]): SetPhoto[] {
  const first = new Map<string, string>();
  return photos.filter(({ file, sha256 }) => {
    const before = sha256 === undefined ? undefined : first.get(sha256);
    if (sha256 !== undefined && before === undefined) first.set(sha256, file);
    if (before === undefined) return true;
    problems.push({
      code: "set-same-photo",
      text:
        before === file
          ? `${basename(file)} was given twice; it counts once`
          : `${basename(file)} is the same photograph as ${basename(before)}; it counts once`,
      advice: "take a photograph of its own for every position of the wheel",
    });
    return false;
  });
}

function belongs(label: string | undefined, a: WheelMarks, b: WheelMarks): boolean {
  if (label !== undefined && b.label !== undefined) return label === b.label;
  return isLike(a, b);
}

/** Could both be the same wheel? */
function isLike(a: WheelMarks, b: WheelMarks): boolean {
  const sure = a.countProbability >= sureCount && b.countProbability >= sureCount;
  if (sure && a.toothCount !== b.toothCount) return false;
  const size = Math.max(a.tipRadiusMm, b.tipRadiusMm);
  const u = Math.hypot(a.uTipRadiusMm, b.uTipRadiusMm);
  return Math.abs(a.tipRadiusMm - b.tipRadiusMm) < likeSize * size + 3 * u;
}

/** Leaves out what is another wheel than most of the others show. */
function withoutOthers(photos: readonly WheelPhoto[], problems: SetProblem[]): WheelPhoto[] {
  const friends = photos.map((p) => photos.filter((q) => isLike(p.marks, q.marks)));
  const most = friends.reduce((a, b) => (b.length > a.length ? b : a));
  if (most.length === photos.length) return [...photos];
  // As many against as for: nobody can say which is the wheel that was meant.
  if (most.length * 2 <= photos.length) {
    problems.push(differentWheels(photos));
    return [];
  }
  const others = photos.filter((p) => !most.includes(p));
  problems.push({
    code: "set-different-wheels",
    text: `${others.map(inWords).join("; ")}, but the other photographs show ${wheelWords(most[0]!)}; left out`,
    advice: "give photographs of one wheel as one set",
  });
  return [...most];
}

const differentWheels = (photos: readonly WheelPhoto[]): SetProblem => ({
  code: "set-different-wheels",
  text: `the photographs show different wheels: ${photos.map(inWords).join("; ")}`,
  advice: "give photographs of one wheel as one set",
});

const inWords = (p: WheelPhoto): string => `${basename(p.file)} shows ${wheelWords(p)}`;
const wheelWords = ({ marks }: WheelPhoto): string =>
  `a wheel of ${marks.toothCount} teeth and ${(2 * marks.tipRadiusMm).toFixed(1)} mm` +
  (marks.label === undefined ? "" : ` (${marks.label})`);

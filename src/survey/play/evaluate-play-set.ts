import { basename } from "node:path";
import { expandedUncertainty } from "../../quantity/index.js";
import { highestLyingMm } from "../lying-wheel.js";
import { asOneCamera } from "../compare/one-camera.js";
import type { WheelOfSet } from "../compare/wheels-of-set.js";
import { leanOf } from "../centre-seen.js";
import type { GreatestMovement, SetFinding, SetPosition, SetProblem, SetResult } from "../set-result.js";
import type { Movement } from "./measure-movement.js";
import { playMovements, type PlayMovements } from "./play-movements.js";
import { readPlay, type PlayReading } from "./read-play.js";

export const fewestPlayPhotos = 2;
/**
 * A wheel is called tight only if a movement of so much would have been seen: settings, as no standard gives limits.
 * Whether it is called loose goes by the detection limit of its own photographs alone.
 */
export interface PlayLimits {
  readonly radialMm: number;
  readonly twistRad: number;
  /** Asked for where the wheel stands free; one that lies on the sheet cannot rock. */
  readonly rockRad: number;
}
export const usualPlayLimits: PlayLimits = {
  radialMm: 0.12,
  twistRad: (1 * Math.PI) / 180,
  rockRad: (1 * Math.PI) / 180,
};

/** Whether a wheel is tight on its arbor, from photographs between which it was nudged, twisted and rocked. */
export function evaluatePlaySet(wheel: WheelOfSet, limits: PlayLimits = usualPlayLimits): SetResult {
  const photos = asOneCamera(wheel.photos);
  const base = {
    kind: "play" as const,
    ...(wheel.label === undefined ? {} : { label: wheel.label }),
    photos: photos.map(({ file }) => file),
    positions: [],
    findings: [],
    verdict: "cannot tell" as const,
  };
  const name = `play set${wheel.label === undefined ? "" : ` ${wheel.label}`}`;
  if (photos.length < fewestPlayPhotos)
    return {
      ...base,
      problems: [
        ...wheel.problems,
        {
          code: "set-too-few-photos",
          text: `${name}: expected ${fewestPlayPhotos} or more photographs, received ${photos.length}`,
          advice: "push the wheel to the other side of its arbor and take another",
        },
      ],
    };
  const read = readPlay(photos);
  if (!read.ok)
    return {
      ...base,
      problems: [
        ...wheel.problems,
        {
          code: "play-no-arbor",
          text:
            `${name}: no arbor or pinion is seen in ${read.files.map((f) => basename(f)).join(", ")}; ` +
            "it is told from the wheel by its colour alone",
          advice:
            read.files.length === photos.length
              ? "on an arbor of the wheel's own colour (brass, or steel in a steel wheel), or one that is hidden, stick a scrap of white paper with a straight edge, or whiten one side of its end with chalk, and leave it so for all photographs"
              : "the end of the arbor or its pinion must be in view in every photograph, and not in deep shadow; wipe oil and tarnish off it",
        },
      ],
    };
  const isRaised = photos[0]!.marks.faceMm > highestLyingMm;
  const movements = playMovements(read.readings, isRaised);
  if (movements === undefined) return { ...base, problems: wheel.problems };
  const { radial, rock, leanedTogether } = movements;
  const turnIsOpen = read.turnIsOpen || (movements.twist.seen !== "still" && read.mayBeTight);
  const twist = read.showsTurn && !turnIsOpen ? movements.twist : undefined;
  const problems = [...wheel.problems];
  const moved =
    radial.seen === "moved" || twist?.seen === "moved" || (rock.seen === "moved" && !leanedTogether);
  const blind = moved
    ? []
    : blindSpots(
        {
          radial,
          twist,
          rock: isRaised && !leanedTogether ? rock : undefined,
          turnIsOpen,
        },
        limits,
        name,
      );
  const verdict = moved ? "loose" : blind.length > 0 ? "cannot tell" : "tight";
  problems.push(...blind);
  if (leanedTogether && rock.seen === "moved")
    problems.push({
      code: "play-leaning",
      text: `${name}: the arbor leaned over together with the wheel, so rock cannot be told from that`,
      advice: "hold the arbor upright and rock the wheel alone",
    });
  return {
    ...base,
    positions: positionsOf(photos, wheel.photos, read.readings, movements),
    greatestMovement: greatestOf(base.photos, { radial, twist, rock: leanedTogether ? undefined : rock }),
    radialPlayMm: radial.greatest,
    ...(twist === undefined ? {} : { twistRad: twist.greatest }),
    ...(leanedTogether ? {} : { rockRad: rock.greatest }),
    limits: {
      radialMm: radial.limit,
      ...(twist === undefined ? {} : { twistRad: twist.limit }),
      ...(leanedTogether ? {} : { rockRad: rock.limit }),
    },
    verdict,
    findings: findingsOf(base.photos, { radial, twist, rock: leanedTogether ? undefined : rock }, verdict),
    problems,
  };
}

interface Seen {
  readonly radial: Movement<"mm">;
  readonly twist: Movement<"rad"> | undefined;
}

const fromAbove =
  "put the camera on a stand straight above the arbor, so near that the wheel fills half of the picture's width with a corner of the sheet and its markers in view, and take four or more photographs";
const fromAside =
  "a rock hardly shows from above: put the camera on a stand close by and to one side, some 20° off the vertical, with a corner of the sheet and its markers in view";

/** Why these photographs cannot say that the wheel is tight. */
function blindSpots(
  {
    radial,
    twist,
    rock,
    turnIsOpen,
  }: Seen & { readonly rock: Movement<"rad"> | undefined; readonly turnIsOpen: boolean },
  limits: PlayLimits,
  name: string,
): SetProblem[] {
  const problems: SetProblem[] = [];
  const say = (text: string, how = fromAbove): void => {
    problems.push({ code: "play-not-sharp-enough", text: `${name}: ${text}`, advice: how });
  };
  if (radial.seen === "unclear")
    say(
      `the wheel seems to have moved by ${radial.greatest.value.toFixed(2)} mm, but that may be the photographs' own scatter (${radial.limit.toFixed(2)} mm)`,
    );
  else if (radial.limit > limits.radialMm)
    say(
      `a radial play of less than ${radial.limit.toFixed(2)} mm would not be seen, which is too coarse to call the wheel tight`,
    );
  if (twist === undefined)
    problems.push({
      code: "play-no-reference",
      text: turnIsOpen
        ? `${name}: wheel and arbor look alike after some turns, so a twist cannot be told from turning both`
        : `${name}: nothing on the arbor shows how it is turned, so a twist on it cannot be seen`,
      advice: turnIsOpen
        ? "put a pencil dot on one crossing of the wheel, and take the photographs again"
        : "let a pinion, a square, a pin or a filed flat be in view; or stick a scrap of paper with a straight edge on the arbor, and leave it there",
    });
  else if (twist.seen === "unclear")
    say(
      `the wheel seems to have twisted by ${degrees(twist.greatest.value)}°, but that may be the photographs' own scatter (${degrees(twist.limit)}°)`,
    );
  else if (twist.limit > limits.twistRad)
    say(
      `a twist of less than ${degrees(twist.limit)}° would not be seen, which is too coarse to call the wheel tight`,
    );
  if (rock?.seen === "unclear")
    say(
      `the wheel seems to have rocked by ${degrees(rock.greatest.value)}°, but that may be the photographs' own scatter (${degrees(rock.limit)}°)`,
      fromAside,
    );
  else if (rock !== undefined && rock.limit > limits.rockRad)
    say(
      `a rock of less than ${degrees(rock.limit)}° would not be seen, which is too coarse to call the wheel tight`,
      fromAside,
    );
  return problems;
}

const degrees = (rad: number): string => ((rad * 180) / Math.PI).toFixed(2);

function findingsOf(
  files: readonly string[],
  { radial, twist, rock }: Seen & { readonly rock: Movement<"rad"> | undefined },
  verdict: SetResult["verdict"],
): SetFinding[] {
  const pair = ({ between: [a, b] }: Movement<"mm" | "rad">): string =>
    `between ${basename(files[a] ?? "")} and ${basename(files[b] ?? "")}`;
  const findings: SetFinding[] = [];
  if (radial.seen === "moved")
    findings.push({
      code: "loose-radial",
      severity: "fault",
      text: `the wheel moves sideways on its arbor by ${radial.greatest.value.toFixed(2)} mm (± ${expandedUncertainty(radial.greatest).toFixed(2)} mm), ${pair(radial)}`,
    });
  if (twist?.seen === "moved")
    findings.push({
      code: "loose-twist",
      severity: "fault",
      text: `the wheel twists on its arbor by ${degrees(twist.greatest.value)}° (± ${degrees(expandedUncertainty(twist.greatest))}°), ${pair(twist)}`,
    });
  if (rock?.seen === "moved")
    findings.push({
      code: "loose-rock",
      severity: "fault",
      text: `the wheel rocks on its arbor by ${degrees(rock.greatest.value)}° (± ${degrees(expandedUncertainty(rock.greatest))}°), ${pair(rock)}`,
    });
  if (verdict === "tight")
    findings.push({
      code: "tight",
      severity: "note",
      text:
        `no movement is seen; sideways play of ${radial.limit.toFixed(2)} mm or more` +
        (twist === undefined ? "" : `, a twist of ${degrees(twist.limit)}°`) +
        (rock === undefined ? "" : ` and a rock of ${degrees(rock.limit)}°`) +
        " would have been",
    });
  return findings;
}

/** By how far it stands above what would have been seen: mm and degrees do not compare. */
function greatestOf(
  files: readonly string[],
  { radial, twist, rock }: Seen & { readonly rock: Movement<"rad"> | undefined },
): GreatestMovement {
  const strength = ({ greatest, limit }: Movement<"mm" | "rad">): number => greatest.value / limit;
  let best: { kind: GreatestMovement["kind"]; movement: Movement<"mm" | "rad"> } = {
    kind: "radial",
    movement: radial,
  };
  if (twist && strength(twist) > strength(best.movement)) best = { kind: "twist", movement: twist };
  if (rock && strength(rock) > strength(best.movement)) best = { kind: "rock", movement: rock };
  const [a, b] = best.movement.between;
  return { kind: best.kind, files: [files[Math.min(a, b)]!, files[Math.max(a, b)]!] };
}

/** @param alone the photographs as each was seen alone: its record has the camera of that view. */
function positionsOf(
  photos: WheelOfSet["photos"],
  alone: WheelOfSet["photos"],
  readings: readonly PlayReading[],
  { radial }: PlayMovements,
): SetPosition[] {
  // The arbor is seen so far above the face.
  const seenAtMm = radial.unknowns[2] ?? 0;
  return photos.map(({ file, marks }, k) => {
    const { centreMm } = alone[k]!.marks;
    const { arborMm } = readings[k]!;
    const lean = leanOf(marks);
    return {
      file,
      partId: marks.partId,
      turnRad: readings[k]!.turnRad,
      centreMm: marks.centreMm,
      arborMm: [radial.residuals[2 * k]!, radial.residuals[2 * k + 1]!],
      axisOnFaceMm: [
        centreMm[0] + arborMm[0] - seenAtMm * lean[0],
        centreMm[1] + arborMm[1] - seenAtMm * lean[1],
      ],
      twistRad: readings[k]!.twistRad,
      tiltRad: readings[k]!.slope,
    };
  });
}

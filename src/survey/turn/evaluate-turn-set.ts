import { basename } from "node:path";
import { expandedUncertainty, propagate, standardUncertainty, type Quantity } from "../../quantity/index.js";
import { centreSeen } from "../centre-seen.js";
import { chiSquaredLimit } from "../fit-by-terms.js";
import { highestLyingMm } from "../lying-wheel.js";
import { asOneCamera } from "../compare/one-camera.js";
import type { WheelOfSet } from "../compare/wheels-of-set.js";
import type { WheelPhoto } from "../set-photo.js";
import type { SetFinding, SetPosition, SetProblem, SetResult } from "../set-result.js";
import { chooseTurns, type ChosenTurns } from "./choose-turns.js";
import { solveAskew, uprightCentre, type Askew } from "./solve-askew.js";
import { solveTurn, type CentreSeen, type TurnSolution } from "./solve-turn.js";
import { turnCandidates } from "./turn-candidates.js";

export const fewestTurnPhotos = 3;
/** Choices of turns nearly as likely as the best one (1 in 20) are open. */
const nearlyAsLikely = Math.log(20);
/** Chance of about 1 in 2000 and 1 in 40 that a good set does worse. */
const surelyMoved = 3.3;
const fits = 2;
/** An eccentricity known no better than this says nothing. */
const uselessMm = 0.04;
/** Standard uncertainty of an axial run-out, likewise. */
const uselessAxialMm = 0.5;

/** Whether a wheel runs true about its arbor, from photographs between which both were turned. */
export function evaluateTurnSet(wheel: WheelOfSet): SetResult {
  const { label } = wheel;
  const photos = asOneCamera(wheel.photos);
  const base = {
    kind: "turn" as const,
    ...(label === undefined ? {} : { label }),
    photos: photos.map(({ file }) => file),
    positions: [],
    findings: [],
  };
  if (photos.length < fewestTurnPhotos) {
    const problem: SetProblem = {
      code: "set-too-few-photos",
      text: `turn set${label === undefined ? "" : ` ${label}`}: expected ${fewestTurnPhotos} or more photographs, received ${photos.length}`,
      advice: "turn wheel and arbor together by about a third of a turn and take another",
    };
    return { ...base, problems: [...wheel.problems, problem] };
  }
  const whole = judge(photos);
  const isGood = (j: Judged): boolean => chi2Ok(j.solution, fits);
  let chosen = whole;
  let leftOut: WheelPhoto | undefined;
  if (whole !== undefined && !chi2Ok(whole.solution, surelyMoved)) {
    const without = photos.map((photo) => ({ photo, judged: judge(photos.filter((p) => p !== photo)) }));
    // Three centres lie on one circle under some turns or other, where nothing but the teeth tells the turns.
    const enough = (j: Judged): boolean =>
      photos.length > fewestTurnPhotos + 1 || (photos.length > fewestTurnPhotos && j.turnsTold);
    const good = without.filter(({ judged }) => judged !== undefined && enough(judged) && isGood(judged));
    if (good.length !== 1) return { ...base, problems: [...wheel.problems, movedSomewhere(whole, photos)] };
    leftOut = good[0]!.photo;
    chosen = good[0]!.judged;
  }
  if (chosen === undefined || standardUncertainty(chosen.solution.eccentricityMm) > uselessMm)
    return { ...base, problems: [...wheel.problems, turnedTooLittle] };
  const problems = [...wheel.problems];
  if (leftOut !== undefined)
    problems.push({
      code: "turn-arbor-moved",
      text: `in ${basename(leftOut.file)} the arbor does not stand where it stood in the others; left out`,
      advice: "let the arbor stand firmly in its hole, and touch only the wheel's rim",
    });
  const { solution, turns } = chosen;
  const others = chosen.alternatives.filter((a) => !agrees(a, solution));
  if (others.length > 0) return { ...base, problems: [...problems, ambiguous(turns, others)] };
  const e = amongAlternatives(chosen);
  const used = photos.filter((p) => p !== leftOut);
  const axial = axialOf(used, turns);
  return {
    ...base,
    positions: positionsOf(photos, used, turns, leftOut),
    eccentricityMm: e,
    ...(solution.eccentricityAngleRad === undefined
      ? {}
      : { eccentricityAngleRad: solution.eccentricityAngleRad }),
    radialRunoutMm: propagate(2 * e.value, "mm", [[e, 2]]),
    ...(axial === undefined
      ? {}
      : {
          axialRunoutMm: propagate(2 * axial.riseMm.value, "mm", [[axial.riseMm, 2]]),
          ...(axial.highAngleRad === undefined ? {} : { axialHighAngleRad: axial.highAngleRad }),
        }),
    axisMm: solution.axisMm,
    findings: [...findingsOf(used, e), ...coarseFinding(e), axialFinding(used, axial)],
    problems,
  };
}

interface Judged {
  readonly turns: ChosenTurns;
  readonly solution: TurnSolution;
  /** Nearly as likely. */
  readonly alternatives: readonly (TurnSolution & { readonly share: number })[];
  /** Crossings, arbor or single teeth tell how far the wheel was turned in each photograph, whatever the centres say. */
  readonly turnsTold: boolean;
}

function judge(photos: readonly WheelPhoto[]): Judged | undefined {
  const [first] = photos;
  const centres = photos.map(({ marks }, k) => centreSeen(marks, String(k)));
  const candidates = photos.map(({ marks }, k) =>
    k === 0 ? [{ turnRad: 0, logLikelihood: 0 }] : turnCandidates(first!.marks, marks),
  );
  const choices = chooseTurns(centres, candidates);
  const solve = ({ turnsRad }: ChosenTurns): TurnSolution | undefined => {
    const fit = solveTurn(uprightCentres(photos, centres, turnsRad), turnsRad);
    return fit.ok ? fit.value : undefined;
  };
  const solution = solve(choices[0]!);
  if (solution === undefined) return undefined;
  const alternatives = choices
    .slice(1)
    .filter((c) => c.logLikelihood > -nearlyAsLikely)
    .flatMap((c) => {
      const solved = solve(c);
      return solved === undefined ? [] : [{ ...solved, share: Math.exp(c.logLikelihood) }];
    });
  const turnsTold = candidates.every(
    ([best, next]) => next === undefined || next.logLikelihood < best!.logLikelihood - nearlyAsLikely,
  );
  return { turns: choices[0]!, solution, alternatives, turnsTold };
}

/** The eccentricity, less well known as far as other choices of turns give others. */
function amongAlternatives({ solution, alternatives }: Judged): Quantity<"mm"> {
  const [x, y] = solution.offsetMm;
  let squares = 0;
  let all = 1;
  for (const { offsetMm, share } of alternatives) {
    squares += share * ((offsetMm[0].value - x.value) ** 2 + (offsetMm[1].value - y.value) ** 2);
    all += share;
  }
  const e = solution.eccentricityMm;
  return propagate(e.value, "mm", [[e, 1]], [["fit:turns", Math.sqrt(squares / all / 2)]]);
}

/** A wheel that stands clear of the sheet may be askew on its arbor; one that lies on it is level. */
function uprightCentres(
  photos: readonly WheelPhoto[],
  centres: readonly CentreSeen[],
  turnsRad: readonly number[],
): readonly CentreSeen[] {
  if (photos[0]!.marks.faceMm <= highestLyingMm) return centres;
  const askew = solveAskew(photos, turnsRad, true);
  if (!askew.ok) return centres;
  return centres.map((centre, k) =>
    uprightCentre(centre, photos[k]!.marks, turnsRad[k]! - turnsRad[0]!, askew.value),
  );
}

const chi2Ok = ({ chiSquared, degreesOfFreedom }: TurnSolution, z: number): boolean =>
  chiSquared < chiSquaredLimit(degreesOfFreedom, z);

/** Does another choice of turns come to the same? */
function agrees(a: TurnSolution, b: TurnSolution): boolean {
  const apart = Math.hypot(
    a.offsetMm[0].value - b.offsetMm[0].value,
    a.offsetMm[1].value - b.offsetMm[1].value,
  );
  const u = (s: TurnSolution): number =>
    Math.hypot(standardUncertainty(s.offsetMm[0]), standardUncertainty(s.offsetMm[1]));
  return apart < Math.hypot(u(a), u(b));
}

function positionsOf(
  photos: readonly WheelPhoto[],
  used: readonly WheelPhoto[],
  turns: ChosenTurns,
  leftOut: WheelPhoto | undefined,
): SetPosition[] {
  return photos.map((photo) => ({
    file: photo.file,
    partId: photo.marks.partId,
    turnRad: turns.turnsRad[used.indexOf(photo)] ?? 0,
    centreMm: photo.marks.centreMm,
    ...(photo === leftOut ? { leftOut: "the arbor had moved" } : {}),
  }));
}

/** Shares of the module, as for a single photograph: a tenth is what a neighbouring trade allows for run-out. */
const watchShare = 0.05;
const faultShare = 0.1;

function findingsOf(photos: readonly WheelPhoto[], e: Quantity<"mm">): SetFinding[] {
  const { tipRadiusMm, toothCount } = photos[0]!.marks;
  // Tip over count plus twice the usual addendum: good enough to weigh an offset by.
  const moduleMm = (2 * tipRadiusMm) / (toothCount + 2.84);
  const sure = e.value - expandedUncertainty(e);
  const words =
    `the tooth circle is ${e.value.toFixed(3)} mm off the axis of the arbor (± ${expandedUncertainty(e).toFixed(3)} mm), ` +
    `${((100 * e.value) / moduleMm).toFixed(0)} % of the module; a dial gauge would show ${(2 * e.value).toFixed(2)} mm`;
  if (sure > faultShare * moduleMm) return [{ code: "set-eccentric", severity: "fault", text: words }];
  if (sure > watchShare * moduleMm) return [{ code: "set-eccentric", severity: "watch", text: words }];
  if (sure > 0) return [{ code: "set-eccentric", severity: "note", text: words }];
  return [
    {
      code: "set-concentric",
      severity: "note",
      text: `no eccentricity is seen; one of ${(e.value + expandedUncertainty(e)).toFixed(3)} mm or more would have been`,
    },
  ];
}

/** Expanded uncertainty from which on it is worth to take the set again, mm. */
const coarseMm = 0.02;

/** A camera that walks round as the wheel is turned makes of an error of height what looks like eccentricity. */
function coarseFinding(eccentricityMm: Quantity<"mm">): SetFinding[] {
  const u = expandedUncertainty(eccentricityMm);
  if (u <= coarseMm) return [];
  return [
    {
      code: "set-eccentricity-coarse",
      severity: "note",
      text: `the eccentricity is known to ± ${u.toFixed(3)} mm only: to know it better, leave the camera in one place straight above the arbor, come closer, and take four photographs or more`,
    },
  ];
}

/** The rise of the rim; undefined where it is not known well enough to be of use. */
function axialOf(photos: readonly WheelPhoto[], turns: ChosenTurns): Askew | undefined {
  if (photos[0]!.marks.faceMm <= highestLyingMm) return undefined;
  const fit = solveAskew(photos, turns.turnsRad);
  if (!fit.ok || 2 * standardUncertainty(fit.value.riseMm) > uselessAxialMm) return undefined;
  return fit.value;
}

function axialFinding(photos: readonly WheelPhoto[], axial: Askew | undefined): SetFinding {
  if (axial === undefined) {
    const why =
      photos[0]!.marks.faceMm <= highestLyingMm
        ? "the wheel lies on the sheet, which holds its face level whatever the arbor does: let the arbor stand in its hole with the wheel clear of the sheet"
        : "the photographs do not show it sharply enough: come closer";
    return {
      code: "axial-runout-not-told",
      severity: "note",
      text: `whether the rim rises and falls as the wheel turns is not told: ${why}`,
    };
  }
  const runout = 2 * axial.riseMm.value;
  const u = 2 * expandedUncertainty(axial.riseMm);
  if (runout > u)
    return {
      code: "axial-runout",
      severity: "watch",
      text: `the rim rises and falls by ${runout.toFixed(2)} mm (± ${u.toFixed(2)} mm) as the wheel turns about its arbor`,
    };
  return {
    code: "axial-runout-not-seen",
    severity: "note",
    text: `no rise and fall of the rim is seen; one of ${(runout + u).toFixed(2)} mm or more would have been`,
  };
}

function movedSomewhere({ solution }: Judged, photos: readonly WheelPhoto[]): SetProblem {
  const far = solution.residualsMm
    .map((r, k) => ({ mm: Math.hypot(...r), file: basename(photos[k]!.file) }))
    .sort((a, b) => b.mm - a.mm)[0]!;
  return {
    code: "turn-arbor-moved",
    text:
      `the centres of the tooth circle do not lie on one circle (${far.mm.toFixed(2)} mm beside it in ${far.file}): ` +
      "the arbor or the mat moved between the photographs",
    advice:
      "let the arbor stand firmly in its hole, touch only the wheel's rim, and take four photographs or more",
  };
}

const turnedTooLittle: SetProblem = {
  code: "turn-too-little",
  text: "the wheel was turned too little between the photographs to tell its axis",
  advice: "turn wheel and arbor together by about a third of a turn between photographs",
};

function ambiguous(turns: ChosenTurns, others: readonly TurnSolution[]): SetProblem {
  const degrees = turns.turnsRad.map((t) => `${Math.round((t * 180) / Math.PI)}°`).join(", ");
  const values = [...new Set(others.map((s) => s.eccentricityMm.value.toFixed(2)))].slice(0, 3).join(" or ");
  return {
    code: "turn-ambiguous",
    text:
      `how far the wheel was turned cannot be told, since it looks alike after each crossing or tooth: turns of ${degrees} ` +
      `fit, and others do too, with an eccentricity of ${values} mm`,
    advice: "make a pencil dot on one crossing, or turn by another angle than from crossing to crossing",
  };
}

import type { Photo } from "../../photo/index.js";
import { expandedUncertainty, quantity, type InputId, type Term } from "../../quantity/index.js";
import type { View } from "../../view/index.js";
import type { FaceHeight } from "../face-height.js";
import type { Part } from "../part.js";
import type { Candidate } from "../settle-wheels.js";
import type { ReadTeeth } from "../wheel/count-by-network.js";
import type { CountedWheel } from "../wheel/counted-wheel.js";
import { wheelOnFace } from "../wheel-at-height.js";
import { restingLean, uLeanAngleRad, type LeanFit, type LeaningCircle, type Support } from "./fit-lean.js";
import { leanAngleRad, matFromLean, viewOnLean, type Lean } from "./lean.js";
import { faceOnLean, leanOfTeeth, leansOfRim, supportOf } from "./lean-of-teeth.js";

/** A wheel on the plane that it lies in, seen and measured as one that lies flat. */
export interface WheelOnLean {
  readonly view: View;
  readonly wheel: CountedWheel;
  readonly height: FaceHeight;
  readonly fit: LeanFit;
  readonly support: Support;
}

/**
 * A wheel may rest on something else than its rim, or the rim on something; and who gives a height no greater than a
 * thickness may mean that of the middle all the same. Shares of how far the middle is raised.
 */
const uRaised = { unsaid: 0.1, given: 0.3 };

/**
 * A counted wheel on its own plane, if that leans.
 *
 * @param height of the part as it is known by now. @returns undefined where it lies flat, as far as can be seen.
 */
export async function wheelOnLean(
  photo: Photo,
  view: View,
  candidate: Candidate,
  height: FaceHeight,
  id: string,
  readTeeth: ReadTeeth | undefined,
): Promise<WheelOnLean | undefined> {
  const { wheel } = candidate;
  const support = supportOf(height);
  const edgesApartMm = height.edgesApartMm;
  const starts = wheel.lean === undefined ? leansOfRim(view, wheel.rim, support) : bothWays(wheel.lean);
  if (starts.length === 0) return undefined;
  const told = leanOfTeeth(photo, view, wheel, support, edgesApartMm, starts) ?? wheel.lean;
  if (told === undefined) return undefined;
  // Seen on that plane, teeth are read better, and so is the lean; if there was none it is found out.
  const there = await wheelOnFace(photo, candidate, faceOnLean(view, told, support.outlineMm), readTeeth);
  const again = leanOfTeeth(photo, view, there, support, edgesApartMm, bothWays(told));
  if (again === undefined) return undefined;
  const raisedMm = again.lean.raisedMm;
  const owner = `${photo.sha256.slice(0, 8)}-${id}`;
  return {
    view: viewOnLean(view, again.lean, movesOf(again, support, owner)),
    wheel: await wheelOnFace(
      photo,
      { ...candidate, wheel: there },
      faceOnLean(view, again, support.outlineMm),
      readTeeth,
    ),
    height: {
      ...height,
      mayLean: false,
      outlineMm: support.outlineMm,
      uOutlineMm: Math.hypot(
        height.uOutlineMm,
        support.middleMm === undefined ? uRaised[height.given ? "given" : "unsaid"] * raisedMm : 0,
      ),
    },
    fit: again,
    support,
  };
}

function bothWays(circle: LeaningCircle): LeaningCircle[] {
  const [x, y] = circle.lean.turnRad;
  return [circle, { ...circle, lean: { ...circle.lean, turnRad: [-x, -y] } }];
}

/** The lean moved by one standard uncertainty of two independent inputs. */
function movesOf(
  { lean, radiusMm, covariance: [xx, xy, yy] }: LeanFit,
  support: Support,
  owner: string,
): { readonly id: InputId; readonly lean: Lean }[] {
  const first = Math.sqrt(xx);
  const moved = (x: number, y: number): Lean =>
    restingLean([lean.turnRad[0] + x, lean.turnRad[1] + y], [lean.xMm, lean.yMm], radiusMm, support);
  return [
    { id: `pose:lean-1-${owner}`, lean: moved(first, xy / first) },
    { id: `pose:lean-2-${owner}`, lean: moved(0, Math.sqrt(Math.max(0, yy - xy ** 2 / xx))) },
  ];
}

/** What was measured in the frame of a leaning plane, said in that of the mat. */
export function asSeenFromMat(part: Part, { fit, height, support }: WheelOnLean, owner: string): Part {
  const { lean } = fit;
  const angle = leanAngleRad(lean);
  const tilt = quantity(angle, "rad", [[`fit:lean-${owner}`, uLeanAngleRad(fit)]]);
  const degrees = (rad: number): string => ((rad * 180) / Math.PI).toFixed(1);
  const middle = part.centreMm && matFromLean(lean, ...part.centreMm, support.outlineMm);
  const heightTerm: Term = [`height:${part.label ?? owner}`, height.uOutlineMm];
  return {
    ...part,
    ...(middle === undefined
      ? {}
      : { centreMm: [middle[0], middle[1]], faceHeightMm: quantity(middle[2], "mm", [heightTerm]) }),
    tiltRad: tilt,
    findings: [
      ...part.findings,
      {
        code: "leans",
        severity: "note",
        text:
          `the wheel lay leaning by ${degrees(angle)}° (± ${degrees(expandedUncertainty(tilt))}°), on its rim and the end of its ` +
          "arbor; it was measured on its own plane" +
          (support.middleMm === undefined ? ", the rim taken to rest on the mat" : ""),
      },
    ],
  };
}

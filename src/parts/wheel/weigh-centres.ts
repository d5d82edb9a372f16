import { solveLinearLeastSquares } from "../../fit/index.js";
import type { Point } from "../part.js";

/**
 * How much of a wall that looks out from under an upper edge passes for metal: it stands steep, mostly in its own
 * shade. Found on rendered photographs of three renderers, of rims and of bores.
 */
export const usualWall: WallShare = { share: 0.6, u: 0.25 };
/**
 * Walls under the flanks of teeth stand deep in the spaces between them, where less light comes: they pass for metal
 * by this much of the share of an open wall.
 */
export const flankOfWall = 0.6;
/** Light that changes round the rim looks like wall, too: the share is no better known than this from a fit of tips. */
const leastUShare = 0.15;

export interface WallShare {
  readonly share: number;
  readonly u: number;
}

/** A centre as one kind of edge gives it, if the wall had the share it is put at. */
export interface CentreByEdge {
  readonly mm: Point;
  /** How it moves with that share, mm for all of it. */
  readonly perShareMm: Point;
  /** Of a coordinate, the share being known. */
  readonly uMm: number;
}

export interface WeighedCentre {
  readonly mm: Point;
  /** Of a coordinate. */
  readonly uMm: number;
  readonly wall: WallShare;
  /** Covariance of either coordinate with the share, mm. */
  readonly withShareMm: Point;
  /** What tips and spacing say under that share. */
  readonly tipsMm: Point;
  readonly spacingMm: Point;
}

/**
 * One centre from tips and spacing. The wall that looks out on the side of the camera draws both towards it, by
 * different amounts: as far as they differ, they tell the share of the wall, and with it what it does to the centre.
 */
export function weighCentres(tips: CentreByEdge, spacing: CentreByEdge, believed: WallShare): WeighedCentre {
  const a = new Float64Array(15);
  const b = new Float64Array(5);
  const w = new Float64Array(5);
  const put = (row: number, values: readonly number[], right: number, u: number): void => {
    a.set(values, 3 * row);
    b[row] = right;
    w[row] = 1 / u ** 2;
  };
  for (const [i, edge] of [tips, spacing].entries()) {
    put(2 * i, [1, 0, -edge.perShareMm[0]], edge.mm[0], edge.uMm);
    put(2 * i + 1, [0, 1, -edge.perShareMm[1]], edge.mm[1], edge.uMm);
  }
  const uShare = Math.max(believed.u, leastUShare);
  put(4, [0, 0, 1], 0, uShare);
  const fit = solveLinearLeastSquares(a, b, 3, w);
  // Five observations of three unknowns, none of them without weight.
  if (!fit.ok) throw new Error(fit.problem.text);
  const { params: p, covariance: c } = fit.value;
  const more = p[2]!;
  const under = ({ mm, perShareMm }: CentreByEdge): Point => [
    mm[0] + more * perShareMm[0],
    mm[1] + more * perShareMm[1],
  ];
  return {
    mm: [p[0]!, p[1]!],
    uMm: Math.sqrt((c[0]! + c[4]!) / 2),
    wall: { share: believed.share + more, u: Math.sqrt(c[8]!) },
    withShareMm: [c[2]!, c[5]!],
    tipsMm: under(tips),
    spacingMm: under(spacing),
  };
}

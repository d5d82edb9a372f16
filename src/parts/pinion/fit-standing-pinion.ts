import type { Point } from "../part.js";
import { cellsOfPiece, type MetalCells } from "./metal-cells.js";
import {
  leastRoot,
  phases,
  SweptLeaves,
  type Eye,
  type SeenLeaf,
  type StandingPinion,
} from "./swept-leaves.js";

/** The pinion of so many leaves that explains a piece of metal best. */
export interface StandingFit {
  readonly leaves: number;
  readonly pinion: StandingPinion;
  /** Middle of one leaf. */
  readonly leafRad: number;
  /** Log-likelihood over that of plain paper, one for each mm² of the mat, the height's prior included. */
  readonly gainMm2: number;
  /** By how much that falls short of what the best of all figures would reach. */
  readonly shortMm2: number;
  /** From the leaf at `leafRad` on, counter-clockwise. */
  readonly seen: readonly SeenLeaf[];
}

type MetalAt = (xMm: number, yMm: number) => number;

/** Clock pinions have 6 to 16 leaves as a rule; what has more or fewer must be able to say so. */
const [fewest, most] = [4, 20] as const;
/** Cells to the radius: for the first look, for the last. */
const [coarse, fine] = [12, 18] as const;
const thinnestCellMm = 0.1;
/** Counts that are looked at further, and counts for which the last word is asked. */
const [mostTried, mostRefined] = [7, 3] as const;
/** Two starts for each of them. */
const startsEach = 2;
/** Common practice, no source: pinions are 3 to 12 mm long, and few stand on anything. */
const usualHeightMm = 6;
const uHeightMm = 5;
const highestMm = 30;

/**
 * Standing pinions of different counts laid over one piece of metal: where the end face lies, how large it is, how high
 * it stands and how its leaves are turned, all at once, for each count by itself. Best first; empty where there is no piece.
 *
 * @param metalAt 0 to 1 on the plane of the mat, NaN where not seen. @param middle of the piece; @param reachMm half of
 *   its greatest length.
 */
export function fitStandingPinions(
  metalAt: MetalAt,
  middle: Point,
  reachMm: number,
  eye: Eye,
): readonly StandingFit[] {
  const cells = cellsFor(metalAt, middle, reachMm, coarse);
  const box = cells && boxOf(cells, eye);
  if (cells === undefined || box === undefined) return [];
  const rough = new SweptLeaves(cells, eye);
  const tried = bestStarts(rough, cells, box, eye)
    .map(([leaves, starts]) => best(starts.map((start) => refine(rough, leaves, start, eye, 3))))
    .sort((a, b) => b.gainMm2 - a.gainMm2);
  return refineFits(metalAt, middle, reachMm, eye, tried.slice(0, mostRefined));
}

/** The same counts once more, each from where it was found, as another picture of the piece shows it. Best first. */
export function refineFits(
  metalAt: MetalAt,
  middle: Point,
  reachMm: number,
  eye: Eye,
  from: readonly StandingFit[],
): readonly StandingFit[] {
  const cells = cellsFor(metalAt, middle, reachMm, fine);
  if (cells === undefined) return [];
  const swept = new SweptLeaves(cells, eye);
  return from
    .map(({ leaves, pinion }) => refine(swept, leaves, pinion, eye, 5))
    .sort((a, b) => b.gainMm2 - a.gainMm2);
}

const cellsFor = (
  metalAt: MetalAt,
  middle: Point,
  reachMm: number,
  perRadius: number,
): MetalCells | undefined =>
  cellsOfPiece(metalAt, middle, reachMm + 1.5, Math.max(thinnestCellMm, (0.8 * reachMm) / perRadius));

/** A piece along the line away from the camera's foot point and across it, mm. */
interface Box {
  readonly away: Point;
  /** Nearest to the foot point, in the middle across. */
  readonly nearMm: Point;
  readonly longMm: number;
  readonly wideMm: number;
  readonly fromFootMm: number;
}

function boxOf({ xMm, yMm, logOdds, cellMm }: MetalCells, eye: Eye): Box | undefined {
  let [x, y, n] = [0, 0, 0];
  for (let i = 0; i < xMm.length; i++) {
    if (logOdds[i]! <= 0) continue;
    x += xMm[i]!;
    y += yMm[i]!;
    n++;
  }
  if (n === 0) return undefined;
  [x, y] = [x / n, y / n];
  const fromFootMm = Math.hypot(x - eye.xMm, y - eye.yMm);
  const [ax, ay] = fromFootMm < 1e-6 ? [1, 0] : [(x - eye.xMm) / fromFootMm, (y - eye.yMm) / fromFootMm];
  let [near, far, left, right] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < xMm.length; i++) {
    if (logOdds[i]! <= 0) continue;
    const [dx, dy] = [xMm[i]! - x, yMm[i]! - y];
    const [along, across] = [dx * ax + dy * ay, dy * ax - dx * ay];
    [near, far] = [Math.min(near, along), Math.max(far, along)];
    [left, right] = [Math.min(left, across), Math.max(right, across)];
  }
  near -= cellMm / 2;
  const across = (left + right) / 2;
  return {
    away: [ax, ay],
    nearMm: [x + near * ax - across * ay, y + near * ay + across * ax],
    longMm: far - near + cellMm / 2,
    wideMm: right - left + cellMm,
    fromFootMm,
  };
}

interface Start {
  readonly leaves: number;
  readonly pinion: StandingPinion;
  readonly gainMm2: number;
}

/** Leaves may all point beside the line across, so that the tip circle is larger than what is seen of it. */
const radiusShares = [0.98, 1.04, 1.1] as const;
const rootShares = [0.45, 0.6, 0.72] as const;
const halfWidths = [0.13, 0.2] as const;
/** Steps of the wall's length, of the radius. */
const wallStep = 0.12;
const mostWalls = 14;
/** Nearer to the foot point than this walls say little of the height, mm. */
const leastFromFootMm = 4;

/** The most likely counts, each with where it is most likely to stand. */
function bestStarts(
  swept: SweptLeaves,
  cells: MetalCells,
  box: Box,
  eye: Eye,
): readonly [number, readonly StandingPinion[]][] {
  const starts = new Map<number, Start[]>();
  const longest = Math.max(0.3, box.longMm - 0.8 * box.wideMm);
  const walls = Math.min(mostWalls, Math.max(2, Math.ceil(longest / (wallStep * box.wideMm)) + 1));
  const fromFoot = Math.max(leastFromFootMm, box.fromFootMm);
  for (const share of radiusShares)
    for (let k = 0; k < walls; k++) {
      const tipMm = (share * box.wideMm) / 2;
      const wallMm = (longest * k) / (walls - 1);
      const heightMm = Math.max(0.5, (eye.zMm * wallMm) / (fromFoot + wallMm));
      if (heightMm > highestMm) continue;
      const at: Omit<StandingPinion, "rootShare" | "halfWidth"> = {
        xMm: box.nearMm[0] + tipMm * box.away[0],
        yMm: box.nearMm[1] + tipMm * box.away[1],
        tipMm,
        heightMm,
        arborRadiusMm: 0,
        arborUpMm: 0,
      };
      const unweighed = behindArbor(cells, at, box.away, eye);
      for (let leaves = fewest; leaves <= most; leaves++)
        for (const rootShare of rootShares)
          for (const halfWidth of halfWidths) {
            const pinion = { ...at, rootShare, halfWidth };
            swept.weigh(leaves, pinion, unweighed);
            const own = starts.get(leaves) ?? [];
            own.push({ leaves, pinion, gainMm2: swept.bestGainMm2 });
            starts.set(leaves, own);
          }
    }
  return [...starts]
    .map(([leaves, own]) => [leaves, apart(own.sort((a, b) => b.gainMm2 - a.gainMm2))] as const)
    .sort((a, b) => b[1][0]!.gainMm2 - a[1][0]!.gainMm2)
    .slice(0, mostTried)
    .map(([leaves, own]) => [leaves, own.map(({ pinion }) => pinion)]);
}

/** The best, and the best that stands elsewhere. */
function apart(sorted: readonly Start[]): readonly Start[] {
  const kept: Start[] = [];
  for (const start of sorted) {
    const { tipMm, heightMm } = start.pinion;
    if (kept.some(({ pinion: p }) => p.tipMm === tipMm && Math.abs(p.heightMm - heightMm) < 1)) continue;
    if (kept.push(start) === startsEach) break;
  }
  return kept;
}

/** Where an arbor on top of the face would hide leaves: 1. */
function behindArbor(
  { xMm, yMm }: MetalCells,
  at: Pick<StandingPinion, "xMm" | "yMm" | "tipMm" | "heightMm">,
  [ax, ay]: Point,
  eye: Eye,
): Uint8Array {
  const larger = eye.zMm / (eye.zMm - at.heightMm);
  const [x, y] = [eye.xMm + larger * (at.xMm - eye.xMm), eye.yMm + larger * (at.yMm - eye.yMm)];
  return Uint8Array.from(xMm, (px, i) => {
    const [dx, dy] = [px - x, yMm[i]! - y];
    return dx * ax + dy * ay > 0 && Math.abs(dy * ax - dx * ay) < 0.3 * at.tipMm ? 1 : 0;
  });
}

const arborRadiiMm = [0.5, 0.8, 1.1, 1.5] as const;
const arborUpsMm = [3, 6, 10] as const;
/** An arbor that explains no more than this is none, mm². */
const leastArborMm2 = 0.1;
const smallestStep = 0.2;

const best = (fits: readonly StandingFit[]): StandingFit =>
  fits.reduce((a, b) => (b.gainMm2 > a.gainMm2 ? b : a));

/** Uphill, along one coordinate after the other, those that trade with each other together. */
function refine(
  swept: SweptLeaves,
  leaves: number,
  start: StandingPinion,
  eye: Eye,
  rounds: number,
): StandingFit {
  const away = Math.max(leastFromFootMm, Math.hypot(start.xMm - eye.xMm, start.yMm - eye.yMm));
  const [ax, ay] = [(start.xMm - eye.xMm) / away, (start.yMm - eye.yMm) / away];
  let at = start;
  let [gain, phase] = weighed(swept, leaves, at);
  const tryOut = (next: StandingPinion, more: number): boolean => {
    const [gained, turned] = weighed(swept, leaves, next);
    if (gained <= gain + more) return false;
    [at, gain, phase] = [next, gained, turned];
    return true;
  };
  if (start.arborRadiusMm === 0)
    for (const arborRadiusMm of arborRadiiMm)
      for (const arborUpMm of arborUpsMm) tryOut({ ...at, arborRadiusMm, arborUpMm }, leastArborMm2);
  const sideMm = 0.03 * start.tipMm;
  const upMm = (1.5 * sideMm * eye.zMm) / away;
  const moves: ((by: number) => StandingPinion)[] = [
    (by) => ({ ...at, xMm: at.xMm + by * sideMm * ax, yMm: at.yMm + by * sideMm * ay }),
    (by) => ({ ...at, xMm: at.xMm - by * sideMm * ay, yMm: at.yMm + by * sideMm * ax }),
    (by) => ({ ...at, tipMm: at.tipMm + by * sideMm }),
    (by) => ({ ...at, heightMm: at.heightMm + by * upMm }),
    // Its near edge, or its far one, stays where it is.
    (by) => ({
      ...at,
      tipMm: at.tipMm + by * sideMm,
      xMm: at.xMm + by * sideMm * ax,
      yMm: at.yMm + by * sideMm * ay,
    }),
    (by) => ({
      ...at,
      heightMm: at.heightMm + by * upMm,
      xMm: at.xMm - by * 0.75 * sideMm * ax,
      yMm: at.yMm - by * 0.75 * sideMm * ay,
    }),
    (by) => ({ ...at, rootShare: at.rootShare + 0.06 * by }),
    (by) => ({ ...at, halfWidth: at.halfWidth + 0.035 * by }),
  ];
  if (at.arborRadiusMm > 0)
    moves.push(
      (by) => ({ ...at, arborRadiusMm: at.arborRadiusMm + 0.15 * by }),
      (by) => ({ ...at, arborUpMm: at.arborUpMm + 1.5 * by }),
    );
  for (let round = 0, step = 1; round < rounds && step > smallestStep; round++) {
    let moved = false;
    for (const move of moves) for (const by of [step, -step]) while (tryOut(move(by), 1e-4)) moved = true;
    if (!moved) step /= 2;
  }
  return {
    leaves,
    pinion: at,
    shortMm2: swept.mostGainMm2 - gain,
    seen: swept.seenOf(leaves, at, phase),
    leafRad: (2 * Math.PI * (phase + 0.5 / phases)) / leaves,
    gainMm2: gain,
  };
}

function weighed(swept: SweptLeaves, leaves: number, at: StandingPinion): readonly [number, number] {
  const { rootShare, halfWidth, arborRadiusMm, arborUpMm, heightMm, tipMm } = at;
  const isPinion =
    heightMm > 0.2 &&
    heightMm < highestMm &&
    rootShare > leastRoot &&
    rootShare < 0.92 &&
    halfWidth > 0.06 &&
    halfWidth < 0.36 &&
    arborRadiusMm >= 0 &&
    // It was turned out of the same rod.
    arborRadiusMm < rootShare * tipMm &&
    arborUpMm >= 0 &&
    arborUpMm < highestMm;
  if (!isPinion) return [-Infinity, 0];
  const phase = swept.weigh(leaves, at);
  const unusual = (heightMm - usualHeightMm) / uHeightMm;
  return [swept.bestGainMm2 - 0.02 * unusual * unusual, phase];
}

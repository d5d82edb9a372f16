import { fitEllipse, robustScale, solveLeastSquares, type LeastSquaresProblem } from "../../fit/index.js";
import { matFromPixel, pixelFromMat, type ViewGeometry } from "../../geometry/index.js";
import type { Point } from "../part.js";
import { flankOfWall, usualWall } from "../wheel/weigh-centres.js";
import { geometryOnLean, leanAngleRad, type Lean } from "./lean.js";

/** What a leaning wheel rests on. */
export interface Support {
  /** Height of the full-size outline over the lower face, mm. */
  readonly outlineMm: number;
  /** Height of that outline's middle over the mat, where it was given; otherwise the rim rests on the mat. */
  readonly middleMm?: number;
}

/** A circle on a leaning face. */
export interface LeaningCircle {
  readonly lean: Lean;
  readonly radiusMm: number;
}

/** Steeper than this, few teeth are seen apart. */
const steepestRad = 0.7;
/** A circle that is squeezed by less (5 degrees), or by fewer pixels of its radius, does not show its lean. */
const leastSqueeze = 0.004;
const leastSqueezePx = 1;

/** The lean of a wheel that is turned so, and rests on what it rests on. */
export function restingLean(turnRad: Point, centre: Point, radiusMm: number, support: Support): Lean {
  const angle = Math.hypot(...turnRad);
  const raisedMm =
    support.middleMm === undefined
      ? radiusMm * Math.sin(angle)
      : support.middleMm - support.outlineMm * Math.cos(angle);
  return { turnRad, xMm: centre[0], yMm: centre[1], raisedMm };
}

/** Parameters: centre, mm; radius, mm; rotation vector, rad. Residuals: distances from the circle, px. */
class OutlineProblem implements LeastSquaresProblem {
  readonly residualCount: number;
  readonly scale = [1, 1, 1, 0.1, 0.1];
  readonly bounds = {
    lower: [-Infinity, -Infinity, 0, -steepestRad, -steepestRad],
    upper: [Infinity, Infinity, Infinity, steepestRad, steepestRad],
  };

  constructor(
    readonly start: readonly number[],
    private readonly geometry: ViewGeometry,
    private readonly pointsPx: readonly Point[],
    private readonly support: Support,
    private readonly pxPerMm: number,
  ) {
    this.residualCount = pointsPx.length;
  }

  residuals(p: Float64Array, out: Float64Array): void {
    const there = geometryOnLean(
      this.geometry,
      restingLean([p[3]!, p[4]!], [p[0]!, p[1]!], p[2]!, this.support),
    );
    this.pointsPx.forEach(([u, v], i) => {
      const [x, y] = matFromPixel(there, u, v, this.support.outlineMm);
      out[i] = (Math.hypot(x - p[0]!, y - p[1]!) - p[2]!) * this.pxPerMm;
    });
  }
}

/** Leans that differ by less are one. */
const sameRad = 0.03;
/** A circle squeezed by little may lean by more where it stands off to one side: starts no flatter than this. */
const flattestStartRad = 0.15;

/**
 * All ways in which a circle may lean that is seen as an ellipse: two as a rule, towards the one side or the other.
 *
 * @param pointsPx of its outline. @returns none where it is as good as round.
 */
export function leansOfOutline(
  geometry: ViewGeometry,
  pointsPx: readonly Point[],
  support: Support,
  pxPerMm: number,
): LeaningCircle[] {
  const onMat = Float64Array.from(
    pointsPx.flatMap(([u, v]) => matFromPixel(geometry, u, v, support.outlineMm)),
  );
  const ellipse = fitEllipse(onMat);
  if (!ellipse.ok) return [];
  const { x, y, semiMajor, semiMinor, angleRad } = ellipse.value;
  const squeeze = 1 - semiMinor / semiMajor;
  if (!(squeeze > Math.max(leastSqueeze, leastSqueezePx / (pxPerMm * semiMajor)))) return [];
  if (!(squeeze < 1 - Math.cos(steepestRad))) return [];
  const angle = Math.max(flattestStartRad, Math.acos(1 - squeeze));
  const found: (LeaningCircle & { readonly misfit: number })[] = [];
  for (let quarter = 0; quarter < 4; quarter++) {
    const axis = angleRad + (quarter * Math.PI) / 2;
    const turn = [angle * Math.cos(axis), angle * Math.sin(axis)];
    const fit = solveLeastSquares(
      new OutlineProblem([x, y, semiMajor, ...turn], geometry, pointsPx, support, pxPerMm),
    );
    if (!fit.ok) continue;
    const p = fit.value.params;
    const lean = restingLean([p[3]!, p[4]!], [p[0]!, p[1]!], p[2]!, support);
    if (found.some((other) => apartRad(other.lean, lean) < sameRad)) continue;
    found.push({ lean, radiusMm: p[2]!, misfit: fit.value.sumOfSquares });
  }
  const least = Math.min(...found.map(({ misfit }) => misfit));
  return found.filter(({ misfit }) => misfit < 2 * least);
}

const apartRad = ({ turnRad: a }: Lean, { turnRad: b }: Lean): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** One tooth as it is seen: its tip mark, and how that moves with the wall that passes for metal. */
export interface SeenTooth {
  /** Which of the even division. */
  readonly place: number;
  readonly px: Point;
  /** Of one mm outwards and of one mm counter-clockwise on the face. */
  readonly outwardPx: Point;
  readonly alongPx: Point;
  /** What all of the wall adds to the radius, and to the place along the arc, mm. */
  readonly wallOutMm: number;
  readonly wallAlongMm: number;
  /** 1 where that wall looks outwards, and flanks show it beyond the tips, too; -1 where it hides under the rim. */
  readonly wallFacing: number;
}

/**
 * Light that changes round the rim looks like form: amplitude of a harmonic of tips and of spacing, px; and no wheel
 * is quite round, mm.
 */
const floorsPx = { out: 0.2, along: 0.12 };
const unroundMm = 0.03;
/** What else a lean may be wrong by (walls, light, a wheel that is oval): a share of it and rad; of rendered wheels. */
const uLean = { share: 0.035, rad: 0.006 };
/**
 * Share of the wall that passes for metal, under tips and under flanks (`weigh-centres.ts`). Less well known than of a wheel that lies flat:
 * one side of it looks up, into the light, and how thick the wheel is counts for more.
 */
const usualWalls = {
  tips: { share: usualWall.share, u: 0.3 },
  flanks: { share: flankOfWall * usualWall.share, u: 0.2 },
  /** More of that where the wall looks outwards, less where it hides. */
  facing: { share: 0.35, u: 0.15 },
};

/** Parameters: centre, mm; radius, mm; rotation vector, rad; angle of place 0, rad; shares of the wall: tips, flanks, facing. */
class TeethProblem implements LeastSquaresProblem {
  readonly residualCount: number;
  readonly scale = [1, 1, 1, 0.1, 0.1, 0.01, 0.2, 0.2, 0.2];
  readonly bounds: { readonly lower: readonly number[]; readonly upper: readonly number[] };

  /** @param steepest lean that is tried, rad. */
  constructor(
    readonly start: readonly number[],
    steepest: number,
    private readonly geometry: ViewGeometry,
    private readonly teeth: readonly SeenTooth[],
    private readonly pitchRad: number,
    private readonly support: Support,
    private readonly uPx: { readonly out: number; readonly along: number },
  ) {
    this.residualCount = 2 * teeth.length + 3;
    this.bounds = {
      lower: [-Infinity, -Infinity, 0, -steepest, -steepest, -Infinity, -1, -1, -1],
      upper: [Infinity, Infinity, Infinity, steepest, steepest, Infinity, 2, 2, 2],
    };
  }

  residuals(p: Float64Array, out: Float64Array): void {
    const there = geometryOnLean(
      this.geometry,
      restingLean([p[3]!, p[4]!], [p[0]!, p[1]!], p[2]!, this.support),
    );
    const [tips, flanks, facing] = [p[6]!, p[7]!, p[8]!];
    this.teeth.forEach((tooth, i) => {
      const t = p[5]! + tooth.place * this.pitchRad;
      const [u, v] = pixelFromMat(
        there,
        p[0]! + p[2]! * Math.cos(t),
        p[1]! + p[2]! * Math.sin(t),
        this.support.outlineMm,
      );
      const [du, dv] = [tooth.px[0] - u, tooth.px[1] - v];
      const outwards = Math.hypot(...tooth.outwardPx);
      const along = Math.hypot(...tooth.alongPx);
      const radial = (du * tooth.outwardPx[0] + dv * tooth.outwardPx[1]) / outwards;
      const tangential = (du * tooth.alongPx[0] + dv * tooth.alongPx[1]) / along;
      out[2 * i] = (radial - tips * tooth.wallOutMm * outwards) / this.uPx.out;
      out[2 * i + 1] =
        (tangential - (flanks + facing * tooth.wallFacing) * tooth.wallAlongMm * along) / this.uPx.along;
    });
    out[2 * this.teeth.length] = (tips - usualWalls.tips.share) / usualWalls.tips.u;
    out[2 * this.teeth.length + 1] = (flanks - usualWalls.flanks.share) / usualWalls.flanks.u;
    out[2 * this.teeth.length + 2] = (facing - usualWalls.facing.share) / usualWalls.facing.u;
  }
}

export interface LeanFit extends LeaningCircle {
  /** Covariance of the rotation vector: xx, xy, yy, rad². */
  readonly covariance: readonly [number, number, number];
  /** Sums of squared residuals in standard uncertainties: all, those of the radii, those along the arc. */
  readonly misfit: number;
  readonly misfitOut: number;
  readonly misfitAlong: number;
  /** Of single teeth about their places, along the arc, px. */
  readonly scatterPx: number;
}

/** Of the angle of a lean, rad. */
export function uLeanAngleRad({ lean, covariance: [xx, xy, yy] }: LeanFit): number {
  const [x, y] = lean.turnRad;
  return Math.sqrt(x * x * xx + 2 * x * y * xy + y * y * yy) / leanAngleRad(lean);
}

/** Sum of squares that a few harmonics of light leave, each as large as its floor; more tells that the model is wrong. */
const usualMisfit = 6;
/** Residuals beyond so many robust standard deviations are left out. */
const mostDeviations = 4;

/** What the same teeth say to another lean: sums of squares over those of the best, in units of what that leaves. */
export interface Rivals {
  readonly opposite: number;
  readonly flatOut: number;
  readonly flatAlong: number;
}

/**
 * The lean under which evenly spaced tips on a circle are seen as they are: squeezed along one direction, and spread
 * where they stand nearer to the camera, which tells up from down.
 *
 * @param starts on either side.
 */
export function fitLeaningTeeth(
  geometry: ViewGeometry,
  teeth: readonly SeenTooth[],
  pitchRad: number,
  support: Support,
  pxPerMm: number,
  starts: readonly { readonly circle: LeaningCircle; readonly phaseRad: number }[],
): { readonly best: LeanFit; readonly worseBy: Rivals } | undefined {
  const seen = { geometry, teeth, pitchRad, support, pxPerMm };
  const fits = starts.flatMap(({ circle, phaseRad }) => {
    const fit = fitFrom(circle, phaseRad, steepestRad, seen);
    return fit === undefined ? [] : [fit];
  });
  const [best, ...others] = fits.sort((a, b) => a.misfit - b.misfit);
  if (best === undefined) return undefined;
  // The same end reached from both sides leaves no other.
  const other = others.find(({ lean }) => apartRad(lean, best.lean) > sameRad);
  const start = { ...best, lean: { ...best.lean, turnRad: [0, 0] as const } };
  const flat = fitFrom(start, starts[0]!.phaseRad, flatRad, seen);
  if (flat === undefined) return undefined;
  const unit = Math.max(1, best.misfit / usualMisfit);
  return {
    best,
    worseBy: {
      opposite: other === undefined ? Infinity : (other.misfit - best.misfit) / unit,
      flatOut: (flat.misfitOut - best.misfitOut) / unit,
      flatAlong: (flat.misfitAlong - best.misfitAlong) / unit,
    },
  };
}

const flatRad = 1e-6;

interface SeenTeeth {
  readonly geometry: ViewGeometry;
  readonly teeth: readonly SeenTooth[];
  readonly pitchRad: number;
  readonly support: Support;
  readonly pxPerMm: number;
}

function fitFrom(
  { lean, radiusMm }: LeaningCircle,
  phaseRad: number,
  steepest: number,
  { geometry, teeth, pitchRad, support, pxPerMm }: SeenTeeth,
): LeanFit | undefined {
  let start: readonly number[] = [
    lean.xMm,
    lean.yMm,
    radiusMm,
    ...lean.turnRad,
    phaseRad,
    usualWalls.tips.share,
    usualWalls.flanks.share,
    usualWalls.facing.share,
  ];
  let used = teeth;
  for (let round = 0; ; round++) {
    // Each tooth so uncertain that a harmonic of all of them is as uncertain as light makes it.
    const spread = Math.sqrt(used.length / 2);
    const uPx = {
      out: Math.hypot(floorsPx.out, unroundMm * pxPerMm) * spread,
      along: floorsPx.along * spread,
    };
    const problem = new TeethProblem(start, steepest, geometry, used, pitchRad, support, uPx);
    const fit = solveLeastSquares(problem);
    if (!fit.ok) return undefined;
    const { params: p, covariance: c, residuals: r, sumOfSquares } = fit.value;
    const along = Float64Array.from(used, (_, i) => r[2 * i + 1]! * uPx.along);
    const outwards = Float64Array.from(used, (_, i) => r[2 * i]! * uPx.out);
    const [sAlong, sOut] = [robustScale(along), robustScale(outwards)];
    const good = used.filter(
      (_, i) =>
        Math.abs(along[i]!) < mostDeviations * sAlong + 0.1 &&
        Math.abs(outwards[i]!) < mostDeviations * sOut + 0.1,
    );
    if (round === 2 || good.length === used.length || good.length < 0.6 * teeth.length) {
      const n = p.length;
      // Single teeth scatter by more than light where there are few of them.
      const k = Math.max(1, (sAlong / uPx.along) ** 2, (sOut / uPx.out) ** 2, sumOfSquares / usualMisfit);
      const more = (uLean.share * Math.hypot(p[3]!, p[4]!)) ** 2 + uLean.rad ** 2;
      return {
        lean: restingLean([p[3]!, p[4]!], [p[0]!, p[1]!], p[2]!, support),
        radiusMm: p[2]!,
        covariance: [k * c[3 * n + 3]! + more, k * c[3 * n + 4]!, k * c[4 * n + 4]! + more],
        misfit: sumOfSquares,
        misfitOut: outwards.reduce((sum, e) => sum + (e / uPx.out) ** 2, 0),
        misfitAlong: along.reduce((sum, e) => sum + (e / uPx.along) ** 2, 0),
        scatterPx: sAlong,
      };
    }
    used = good;
    start = [...p];
  }
}

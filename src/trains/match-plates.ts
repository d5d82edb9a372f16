/** A hole of a plate, on the plate's own face, as one photograph gave it. */
export interface PlateHole {
  readonly id: string;
  readonly xMm: number;
  readonly yMm: number;
  /** Standard uncertainty of one coordinate against the other holes. */
  readonly uMm: number;
  readonly diameterMm: number;
  readonly kind?: string;
  /** Greatest minus smallest diameter, and the direction of the greatest. */
  readonly ovalityMm?: number;
  readonly ovalityAngleRad?: number;
}

export interface MatchedHole {
  readonly first: PlateHole;
  readonly second: PlateHole;
  /** Second minus first once both plates lie over each other, in the frame of the first, mm. */
  readonly offMm: readonly [number, number];
  /** Standard uncertainty of either coordinate of it. */
  readonly uOffMm: number;
}

export type PlateMatch =
  | {
      readonly matched: true;
      readonly holes: readonly MatchedHole[];
      readonly onlyFirst: readonly PlateHole[];
      readonly onlySecond: readonly PlateHole[];
      /** Root mean square of the distances left between holes that belong together. */
      readonly rmsMm: number;
      /** Brings a point of the second plate over the first. */
      readonly overFirst: (xMm: number, yMm: number) => readonly [number, number];
    }
  | { readonly matched: false; readonly reason: string };

export interface MatchOptions {
  /** True for the two plates of a movement, each photographed from outside; false for two views of one plate. */
  readonly mirrored: boolean;
  /** Holes that belong together lie this near, mm; default 0.4: arbors of old clocks do not stand upright to less. */
  readonly withinMm?: number;
}

const fewestShared = 4;
/** A pair of holes nearer than this says little about how the plate is turned, mm. */
const shortestBaseMm = 15;
/** As far as two photographs agree about a length: scale of either. */
const scaleShare = 0.004;

/**
 * Lays one plate over the other: rotation and shift (after turning it over, if mirrored) under which most holes fall
 * on each other. Every pair of holes of one is tried on every pair of like distance of the other; the best is
 * refined by least squares. Four pillars at the corners of a rectangle fit two ways round: a second way that is
 * nearly as good makes the match doubtful, and it is refused.
 */
export function matchPlates(
  first: readonly PlateHole[],
  second: readonly PlateHole[],
  { mirrored, withinMm = 0.4 }: MatchOptions,
): PlateMatch {
  const flipped = second.map((h) => ({ hole: h, x: mirrored ? -h.xMm : h.xMm, y: h.yMm }));
  interface Way {
    readonly map: Rigid;
    readonly shared: readonly (readonly [number, number])[];
  }
  let best: Way | undefined;
  let rival = 0;
  for (let i = 0; i < first.length; i++)
    for (let j = i + 1; j < first.length; j++) {
      const [a, b] = [first[i]!, first[j]!];
      const base = Math.hypot(b.xMm - a.xMm, b.yMm - a.yMm);
      if (base < shortestBaseMm) continue;
      for (let k = 0; k < flipped.length; k++)
        for (let l = 0; l < flipped.length; l++) {
          if (k === l) continue;
          const [c, d] = [flipped[k]!, flipped[l]!];
          if (Math.abs(Math.hypot(d.x - c.x, d.y - c.y) - base) > withinMm + scaleShare * base) continue;
          const rough = rigidFromPair([c.x, c.y, d.x, d.y], [a.xMm, a.yMm, b.xMm, b.yMm]);
          const shared = sharedUnder(rough, first, flipped, withinMm + scaleShare * base);
          if (shared.length < fewestShared || shared.length + 1 < (best?.shared.length ?? 0)) continue;
          const map = fitRigid(shared, first, flipped);
          const way: Way = { map, shared: sharedUnder(map, first, flipped, withinMm) };
          const isSame = best !== undefined && turnedApart(best.map, map) < 0.05;
          if (best === undefined || way.shared.length > best.shared.length) {
            if (!isSame) rival = best?.shared.length ?? 0;
            best = way;
          } else if (!isSame) rival = Math.max(rival, way.shared.length);
        }
    }
  if (best === undefined || best.shared.length < fewestShared)
    return { matched: false, reason: `fewer than ${fewestShared} holes of the plates fall on each other` };
  if (rival >= best.shared.length - 1)
    return { matched: false, reason: "the holes fall on each other in more than one way" };
  const map = fitRigid(best.shared, first, flipped);
  const holes = best.shared.map(([i, k]): MatchedHole => {
    const [x, y] = apply(map, flipped[k]!.x, flipped[k]!.y);
    const [a, b] = [first[i]!, flipped[k]!.hole];
    return { first: a, second: b, offMm: [x - a.xMm, y - a.yMm], uOffMm: Math.hypot(a.uMm, b.uMm) };
  });
  return {
    matched: true,
    holes,
    onlyFirst: first.filter((_, i) => best.shared.every(([f]) => f !== i)),
    onlySecond: second.filter((_, k) => best.shared.every(([, s]) => s !== k)),
    rmsMm: Math.sqrt(holes.reduce((s, h) => s + h.offMm[0] ** 2 + h.offMm[1] ** 2, 0) / holes.length),
    overFirst: (x, y) => apply(map, mirrored ? -x : x, y),
  };
}

/** x' = c x - s y + tx, y' = s x + c y + ty. */
interface Rigid {
  readonly c: number;
  readonly s: number;
  readonly tx: number;
  readonly ty: number;
}

interface Flipped {
  readonly x: number;
  readonly y: number;
}

const apply = (m: Rigid, x: number, y: number): [number, number] => [
  m.c * x - m.s * y + m.tx,
  m.s * x + m.c * y + m.ty,
];

const turnedApart = (a: Rigid, b: Rigid): number =>
  Math.abs(Math.atan2(a.s * b.c - a.c * b.s, a.c * b.c + a.s * b.s));

function rigidFromPair(
  from: readonly [number, number, number, number],
  to: readonly [number, number, number, number],
): Rigid {
  const angle = Math.atan2(to[3] - to[1], to[2] - to[0]) - Math.atan2(from[3] - from[1], from[2] - from[0]);
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [mx, my] = [(from[0] + from[2]) / 2, (from[1] + from[3]) / 2];
  const [nx, ny] = [(to[0] + to[2]) / 2, (to[1] + to[3]) / 2];
  return { c, s, tx: nx - c * mx + s * my, ty: ny - s * mx - c * my };
}

/** Nearest holes, each used once. */
function sharedUnder(
  map: Rigid,
  first: readonly PlateHole[],
  second: readonly Flipped[],
  withinMm: number,
): [number, number][] {
  const pairs: [number, number, number][] = [];
  second.forEach(({ x, y }, k) => {
    const [u, v] = apply(map, x, y);
    first.forEach((h, i) => {
      const d = Math.hypot(u - h.xMm, v - h.yMm);
      if (d < withinMm) pairs.push([d, i, k]);
    });
  });
  const used = new Set<string>();
  return pairs
    .sort((a, b) => a[0] - b[0])
    .flatMap(([, i, k]): [number, number][] => {
      if (used.has(`a${i}`) || used.has(`b${k}`)) return [];
      used.add(`a${i}`).add(`b${k}`);
      return [[i, k]];
    });
}

/** Least squares over pairs: rotation from the cross products, no change of scale. */
function fitRigid(
  shared: readonly (readonly [number, number])[],
  first: readonly PlateHole[],
  second: readonly Flipped[],
): Rigid {
  const n = shared.length;
  let [ax, ay, bx, by] = [0, 0, 0, 0];
  for (const [i, k] of shared) {
    ax += first[i]!.xMm / n;
    ay += first[i]!.yMm / n;
    bx += second[k]!.x / n;
    by += second[k]!.y / n;
  }
  let [dot, cross] = [0, 0];
  for (const [i, k] of shared) {
    const [x, y] = [second[k]!.x - bx, second[k]!.y - by];
    const [u, v] = [first[i]!.xMm - ax, first[i]!.yMm - ay];
    dot += x * u + y * v;
    cross += x * v - y * u;
  }
  const angle = Math.atan2(cross, dot);
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return { c, s, tx: ax - c * bx + s * by, ty: ay - s * bx - c * by };
}

/**
 * One plate from two photographs that each show a part of it: holes of the second that the first has not, brought
 * into the frame of the first; holes seen in both are averaged. Three photographs: join the third to the result.
 */
export function joinPlateViews(
  first: readonly PlateHole[],
  second: readonly PlateHole[],
): { readonly holes: readonly PlateHole[]; readonly rmsMm: number } | { readonly problem: string } {
  const match = matchPlates(first, second, { mirrored: false, withinMm: 0.25 });
  if (!match.matched)
    return { problem: `${match.reason}; at least ${fewestShared} holes must be in both pictures` };
  const both = match.holes.map(({ first: a, offMm, second: b }): PlateHole => {
    const [wa, wb] = [1 / a.uMm ** 2, 1 / b.uMm ** 2];
    const share = wb / (wa + wb);
    return {
      ...a,
      xMm: a.xMm + share * offMm[0],
      yMm: a.yMm + share * offMm[1],
      uMm: 1 / Math.sqrt(wa + wb),
      diameterMm: a.diameterMm + share * (b.diameterMm - a.diameterMm),
    };
  });
  const origin = match.overFirst(0, 0);
  const along = match.overFirst(1, 0);
  const turn = Math.atan2(along[1] - origin[1], along[0] - origin[0]);
  const more = match.onlySecond.map((h): PlateHole => {
    const [xMm, yMm] = match.overFirst(h.xMm, h.yMm);
    return {
      ...h,
      id: `${h.id}'`,
      xMm,
      yMm,
      // What is left between the pictures is left open of holes that only one shows.
      uMm: Math.hypot(h.uMm, match.rmsMm / Math.sqrt(match.holes.length)),
      ...(h.ovalityAngleRad === undefined ? {} : { ovalityAngleRad: h.ovalityAngleRad + turn }),
    };
  });
  return { holes: [...both, ...match.onlyFirst, ...more], rmsMm: match.rmsMm };
}

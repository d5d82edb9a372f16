import type { Notches } from "../part.js";

/** A notch as the sequence needs it. */
export interface NotchPlace {
  readonly angleRad: number;
  /** Width as an angle. */
  readonly widthRad: number;
}

export type Sequence = Pick<
  Notches,
  "blowsPerTurn" | "blows" | "order" | "sequence" | "missing" | "extra"
> & {
  /** What each opening holds: its notches' middles, in the order of the openings given. */
  readonly holdsRad: readonly (readonly number[])[];
  /** Where the order wants a notch that could not be seen if it were there; such a one counts as open in `blows`. */
  readonly unseen: readonly { readonly angleRad: number; readonly isFaint: boolean }[];
  /** Root mean square of how far openings stand off their places, in turns of one blow. */
  readonly scatterSteps: number;
};

export interface Covered {
  readonly isHidden: (angleRad: number, widthRad: number) => boolean;
  readonly faintRad: readonly number[];
}

interface Standard {
  readonly name: NonNullable<Notches["sequence"]>;
  /** Steps from notch to notch. */
  readonly runs: readonly number[];
  /** Blows struck in each of them, one after the other. */
  readonly blows: readonly (readonly number[])[];
}

const hours = Array.from({ length: 12 }, (_, i) => i + 1);
/** 78 and 90 blows in twelve hours: Encyclopaedia Britannica, 11th ed., Clock. */
const standards: readonly Standard[] = [
  { name: "hours", runs: hours, blows: hours.map((h) => [h]) },
  {
    name: "hours and halves",
    runs: hours.flatMap((hour) => [hour, 1]),
    blows: hours.flatMap((hour) => [[hour], [1]]),
  },
  // One slot holds both places, so that the detent drops in again after the single blow.
  { name: "hours and halves", runs: hours.map((hour) => hour + 1), blows: hours.map((hour) => [hour, 1]) },
];

/** More faults than this, and the wheel does not strike that order. */
const mostFaults = 3;
/** What it costs where a notch is wanted and may be covered by its wall, and where a trace of it is seen. */
const unseenFault = 0.4;
const faintFault = 0.1;
/** How far from its place a trace may stand, in steps. */
const faintWithin = 0.3;
/** Cut by hand on a dividing plate, notches stand within a few hundredths of a step; worn ones within a tenth. */
const mostScatter = 0.16;

/**
 * The order in which a count wheel strikes, from where its notches stand.
 *
 * Each blow turns the wheel by the same step, 1/78 or 1/90 of a turn; a notch stands where a run of blows ends. Every
 * order, direction and start is tried: notches on their places count for it, empty places and notches between count
 * against it. A slot wider than the others by a step holds two places: the hour's and that of the single blow after it.
 *
 * @param covered where a notch may pass unseen: `isHidden`, whether one of this width would, closed by its own wall;
 * `faintRad`, dips of which such a notch may be the rest.
 * @returns undefined where no standard order comes near.
 */
export function readSequence(
  notches: readonly NotchPlace[],
  covered: Covered = { isHidden: () => false, faintRad: [] },
): Sequence | undefined {
  let best: { readonly sequence: Sequence; readonly cost: number } | undefined;
  for (const standard of standards)
    for (const order of ["counter-clockwise", "clockwise"] as const) {
      const tried = tryStandard(standard, order, notches, covered);
      if (tried !== undefined && (best === undefined || tried.cost < best.cost)) best = tried;
    }
  return best?.sequence;
}

function tryStandard(
  standard: Standard,
  order: "counter-clockwise" | "clockwise",
  notches: readonly NotchPlace[],
  { isHidden, faintRad }: Covered,
): { readonly sequence: Sequence; readonly cost: number } | undefined {
  const total = standard.runs.reduce((s, n) => s + n, 0);
  const step = (2 * Math.PI) / total;
  const sign = order === "counter-clockwise" ? 1 : -1;
  const widths = notches.map((n) => n.widthRad).sort((a, b) => a - b);
  const usualRad = widths[Math.floor(0.2 * widths.length)] ?? 0;
  const singles = notches.flatMap((n, i) => placesOf(n, i, step, sign, usualRad));
  const phase = commonPhase(singles.map((s) => s.along / step));
  const at = singles.map((s) => ({ ...s, position: s.along / step - phase }));
  const wanted = ends(standard.runs);
  const angleOf = (position: number): number => mod(sign * (position + phase) * step, 2 * Math.PI);
  const faint = new Set(
    faintRad
      .map((t) => (sign * t) / step - phase)
      .filter((position) => Math.abs(position - Math.round(position)) < faintWithin)
      .map((position) => mod(Math.round(position), total)),
  );
  const unseenCost = Array.from({ length: total }, (_, place) => {
    if (!isHidden(angleOf(place), usualRad)) return 1;
    return faint.has(place) ? faintFault : unseenFault;
  });
  let best: { readonly start: number; readonly cost: number } | undefined;
  for (let start = 0; start < total; start++) {
    const want = new Set(wanted.map((e) => (e + start) % total));
    const have = new Set(at.map((s) => mod(Math.round(s.position), total)));
    let cost = 0;
    for (const w of want) if (!have.has(w)) cost += unseenCost[w]!;
    for (const h of have) if (!want.has(h)) cost++;
    if (best === undefined || cost < best.cost) best = { start, cost };
  }
  if (best === undefined || best.cost > mostFaults) return undefined;
  const { start } = best;
  const off = notches.map((_, i) => {
    const own = at.filter((s) => s.notch === i);
    return own.reduce((s, p) => s + (p.position - Math.round(p.position)) / own.length, 0);
  });
  const scatter = Math.sqrt(off.reduce((s, o) => s + o * o, 0) / Math.max(1, off.length));
  if (scatter > mostScatter) return undefined;
  const have = new Set(at.map((s) => mod(Math.round(s.position), total)));
  const gone = wanted
    .map((end, i) => ({ place: (end + start) % total, afterBlows: standard.blows[i]![0]! }))
    .filter(({ place }) => !have.has(place));
  const unseen = gone.filter(({ place }) => unseenCost[place]! < 1).map(({ place }) => place);
  const missing = gone
    .filter(({ place }) => unseenCost[place] === 1)
    .map(({ place, afterBlows }) => ({ angleRad: angleOf(place), afterBlows }));
  const want = new Set(wanted.map((e) => (e + start) % total));
  const extra = at
    .filter((s) => !want.has(mod(Math.round(s.position), total)))
    .map((s) => ({ angleRad: mod(sign * s.along, 2 * Math.PI) }));
  return {
    // A doubtful fit costs as well, so that 78 and 90 are told apart by how well their steps fall on the notches.
    cost: best.cost + 4 * scatter,
    sequence: {
      blowsPerTurn: total,
      blows:
        missing.length + extra.length === 0
          ? standard.blows.flat()
          : blowsBetween([...have, ...unseen], start, total),
      order,
      sequence: standard.name,
      missing,
      extra,
      unseen: unseen.map((place) => ({ angleRad: angleOf(place), isFaint: faint.has(place) })),
      holdsRad: notches.map((_, i) =>
        at.filter((s) => s.notch === i).map((s) => mod(sign * s.along, 2 * Math.PI)),
      ),
      scatterSteps: scatter,
    },
  };
}

interface Place {
  readonly notch: number;
  /** Along the striking order, rad. */
  readonly along: number;
}

function placesOf(n: NotchPlace, notch: number, step: number, sign: 1 | -1, usualRad: number): Place[] {
  const along = sign * n.angleRad;
  const places = Math.max(1, 1 + Math.round((n.widthRad - usualRad) / step));
  return Array.from({ length: places }, (_, k) => ({ notch, along: along + (k - (places - 1) / 2) * step }));
}

/** The fraction of a step that most positions share: their mean on a circle of one step. */
function commonPhase(positions: readonly number[]): number {
  let re = 0;
  let im = 0;
  for (const p of positions) {
    re += Math.cos(2 * Math.PI * p);
    im += Math.sin(2 * Math.PI * p);
  }
  return Math.atan2(im, re) / (2 * Math.PI);
}

/** Where each run ends, in blows from the start of the first. */
function ends(blows: readonly number[]): number[] {
  let sum = 0;
  return blows.map((n) => (sum += n));
}

/** What is struck from notch to notch, from the run that begins at `start`. */
function blowsBetween(have: readonly number[], start: number, total: number): number[] {
  const list = have.map((p) => mod(p - start, total)).sort((a, b) => a - b);
  // The run that ends in the first notch began at the last one.
  return list.map((p, i) => p - (i === 0 ? list.at(-1)! - total : list[i - 1]!));
}

const mod = (value: number, by: number): number => ((value % by) + by) % by;

import { placeInTurn, withinTurn } from "../../geometry/index.js";
import type { FacePicture, ToothMarkMm, WheelMarks } from "../../parts/index.js";
import { arborLikeness } from "../arbor/match-arbor.js";
import { findArbor } from "../arbor/find-arbor.js";

/** A turn of the wheel between two photographs that brings teeth upon teeth, and how well all else agrees with it. */
export interface TurnCandidate {
  readonly turnRad: number;
  readonly logLikelihood: number;
}

/** Independent looks at the face round the turn, and at the arbor: neighbouring samples say the same. */
const looksAtFace = 60;
const looksAtArbor = 40;
/** Beyond this, more likeness is a matter of light and blur, not of the right turn. */
const mostLikeFace = 0.88;
const mostLikeArbor = 0.85;
/** Worse by so much is out of the question. */
const hopeless = 25;

/**
 * Turns of `other` against `reference`. Teeth give the turn up to whole pitches; crossings, the arbor's pinion and
 * what sets single teeth apart choose among them. A wheel that looks alike after a crossing keeps several.
 *
 * @returns most likely first; never none.
 */
export function turnCandidates(reference: WheelMarks, other: WheelMarks, withArbor = true): TurnCandidate[] {
  const n = reference.toothCount;
  const pitch = (2 * Math.PI) / n;
  const base = other.toothPhaseRad - reference.toothPhaseRad;
  const coloured = reference.coloured && other.coloured;
  const facePattern = (m: WheelMarks): Float64Array => varying(m.face, coloured ? m.face.bare : m.face.light);
  const faces = [facePattern(reference), facePattern(other)] as const;
  const teeth = [fingerprint(reference), fingerprint(other)] as const;
  const arbors = withArbor ? ([findArbor(reference.hub), findArbor(other.hub)] as const) : [];
  const candidates = Array.from({ length: n }, (_, k): TurnCandidate => {
    const turnRad = withinTurn(base + k * pitch);
    const face = faceLikeness(faces[0], faces[1], reference.face, turnRad);
    const tooth = toothLikeness(teeth[0], teeth[1], turnRad);
    const [a, b] = arbors;
    const arbor = a && b ? arborLikeness(reference.hub, a, other.hub, b, turnRad) : 0;
    return {
      turnRad,
      logLikelihood:
        worth(face, looksAtFace, mostLikeFace) +
        worth(tooth.likeness, tooth.teeth, 0.99) +
        worth(arbor, looksAtArbor, mostLikeArbor),
    };
  }).sort((p, q) => q.logLikelihood - p.logLikelihood);
  const best = candidates[0]!.logLikelihood;
  return candidates.filter((c) => c.logLikelihood > best - hopeless);
}

/** Log-likelihood of a correlation between `n` pairs, against none. */
const worth = (likeness: number, n: number, most: number): number => {
  const r = Math.min(most, Math.max(0, likeness));
  return -0.5 * n * Math.log(1 - r * r);
};

/** What changes along the turn: the mean of every radius is taken off. */
function varying({ angles, radii }: FacePicture, data: Uint8Array): Float64Array {
  const out = Float64Array.from(data);
  for (let j = 0; j < radii; j++) {
    let mean = 0;
    for (let i = 0; i < angles; i++) mean += out[i * radii + j]! / angles;
    for (let i = 0; i < angles; i++) out[i * radii + j]! -= mean;
  }
  return out;
}

function faceLikeness(
  a: Float64Array,
  b: Float64Array,
  { angles, radii }: FacePicture,
  turnRad: number,
): number {
  const shift = (turnRad / (2 * Math.PI)) * angles;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < angles; i++) {
    const x = (i + shift) % angles;
    const i0 = Math.floor(x);
    const w = x - i0;
    const p = i0 * radii;
    const q = ((i0 + 1) % angles) * radii;
    for (let j = 0; j < radii; j++) {
      const u = a[i * radii + j]!;
      const v = (1 - w) * b[p + j]! + w * b[q + j]!;
      ab += u * v;
      aa += u * u;
      bb += v * v;
    }
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
}

/** Deviations of single teeth by place; NaN where there is none. */
interface Fingerprint {
  readonly phaseRad: number;
  readonly tip: Float64Array;
  readonly index: Float64Array;
}

/** What sets single teeth apart; slow changes round the turn are left out, for light makes those too. */
function fingerprint(wheel: WheelMarks): Fingerprint {
  const n = wheel.toothCount;
  const tip = new Float64Array(n).fill(NaN);
  const index = new Float64Array(n).fill(NaN);
  const place = (t: ToothMarkMm): number =>
    placeInTurn(Math.round(((t.angleRad - wheel.toothPhaseRad) * n) / (2 * Math.PI)), n);
  for (const t of wheel.teeth) {
    tip[place(t)] = t.tipDeviationMm;
    index[place(t)] = t.indexDeviationMm;
  }
  return { phaseRad: wheel.toothPhaseRad, tip: withoutSlow(tip), index: withoutSlow(index) };
}

const neighbours = 4;

function withoutSlow(v: Float64Array): Float64Array {
  const n = v.length;
  return v.map((x, k) => {
    const around: number[] = [];
    for (let d = -neighbours; d <= neighbours; d++) {
      const y = v[placeInTurn(k + d, n)]!;
      if (d !== 0 && !Number.isNaN(y)) around.push(y);
    }
    if (around.length < neighbours) return NaN;
    around.sort((p, q) => p - q);
    return x - around[around.length >> 1]!;
  });
}

function toothLikeness(a: Fingerprint, b: Fingerprint, turnRad: number): { likeness: number; teeth: number } {
  const n = a.tip.length;
  const step = Math.round(((turnRad - (b.phaseRad - a.phaseRad)) * n) / (2 * Math.PI));
  let teeth = 0;
  let best = 0;
  for (const key of ["tip", "index"] as const) {
    let [ab, aa, bb] = [0, 0, 0];
    for (let k = 0; k < n; k++) {
      const x = a[key][k]!;
      const y = b[key][placeInTurn(k + step, n)]!;
      if (Number.isNaN(x + y)) continue;
      if (key === "tip") teeth++;
      ab += x * y;
      aa += x * x;
      bb += y * y;
    }
    if (aa > 0 && bb > 0) best += ab / Math.sqrt(aa * bb) / 2;
  }
  // Two values a tooth, and their mean correlation.
  return { likeness: best, teeth: 2 * teeth };
}

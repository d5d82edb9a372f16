/** What is seen of a pinion from the side, tip radius 1, at even steps across from -1 to 1. */
export interface SideOfPinion {
  /** Steps that metal is seen at; the others show what lies beside it. */
  readonly from: number;
  readonly to: number;
  /** Of the surface that is seen, from the direction of the eye, positive to the right. */
  readonly normalRad: Float64Array;
  /** How much of what that surface mirrors is no other leaf, 0 to 1. */
  readonly open: Float64Array;
  /** Steps between from and to that show the paper below, in the shade of what lies over it. */
  readonly through: Uint8Array;
}

/** Form of the leaves; lengths in modules. */
export interface LeafForm {
  readonly addendum: number;
  /** Of the pitch, on the pitch circle. */
  readonly thickShare: number;
}

/** Steps across. */
export const sideSteps = 160;
const headPoints = 12;
/** In modules, as usual for cut pinions (common practice, no source). */
const dedendum = 1.25;
/** What brushed steel mirrors is spread by about so much to each side. */
const lobeRad = 0.45;

/**
 * A cut pinion of `leaves` seen square to its axis from far away: the nearest surface at each step across.
 *
 * @param turnRad of one leaf from the direction of the eye, positive to the right.
 */
export function leavesFromSide(leaves: number, turnRad: number, form: LeafForm): SideOfPinion {
  return sideOf(pinionOutline(leaves, turnRad, form));
}

/** x to the right, y towards the eye, clockwise as seen along the axis: the metal lies on the right of its outline. */
function pinionOutline(leaves: number, turnRad: number, { addendum, thickShare }: LeafForm): Float64Array {
  const pitchRadius = leaves / (leaves + 2 * addendum);
  const module = (2 * pitchRadius) / leaves;
  const root = Math.max(0.2, pitchRadius - dedendum * module);
  const half = (thickShare * Math.PI) / leaves;
  const out: number[] = [];
  const push = (r: number, a: number): void => void out.push(r * Math.sin(a), r * Math.cos(a));
  for (let k = 0; k < leaves; k++) {
    const a = turnRad + (2 * Math.PI * k) / leaves;
    push(root, a - half);
    for (let i = 0; i <= headPoints; i++) {
      const t = Math.PI * (i / headPoints - 0.5);
      push(pitchRadius + addendum * module * Math.cos(t), a + half * Math.sin(t));
    }
    push(root, a + half);
  }
  return Float64Array.from(out);
}

/** A plain cylinder: a collet, a pulley, a thick place of the arbor. */
export function cylinderFromSide(): SideOfPinion {
  const normalRad = Float64Array.from({ length: sideSteps }, (_, s) =>
    Math.asin((2 * s + 1) / sideSteps - 1),
  );
  const open = new Float64Array(sideSteps).fill(1);
  return { from: 0, to: sideSteps - 1, normalRad, open, through: new Uint8Array(sideSteps) };
}

/** Form of a lantern. */
export interface TrundleForm {
  /** Thickness of a trundle over the distance from one to the next, along the circle of their middles. */
  readonly thickShare: number;
  /** Radius of the arbor that runs through it, of the radius over the trundles; 0: none. */
  readonly arborShare: number;
}

/** Radius of a trundle, of the radius over the trundles. */
export const trundleRadius = (trundles: number, { thickShare }: Pick<TrundleForm, "thickShare">): number => {
  const k = (Math.PI * thickShare) / trundles;
  return k / (1 + k);
};

/**
 * The trundles of a lantern, round rods on a circle, seen square to its axis from far away: near ones, between them the
 * arbor and far ones, else the paper below.
 *
 * @param turnRad of one trundle from the direction of the eye, positive to the right.
 */
export function trundlesFromSide(trundles: number, turnRad: number, form: TrundleForm): SideOfPinion {
  const r = trundleRadius(trundles, form);
  const height = new Float64Array(sideSteps).fill(-Infinity);
  const normalRad = new Float64Array(sideSteps);
  const addRod = (x0: number, y0: number, radius: number): void => {
    for (let s = 0; s < sideSteps; s++) {
      const dx = ((2 * s + 1) / sideSteps - 1 - x0) / radius;
      if (Math.abs(dx) >= 1) continue;
      const y = y0 + radius * Math.sqrt(1 - dx * dx);
      if (y <= height[s]!) continue;
      height[s] = y;
      normalRad[s] = Math.asin(dx);
    }
  };
  for (let k = 0; k < trundles; k++) {
    const a = turnRad + (2 * Math.PI * k) / trundles;
    addRod((1 - r) * Math.sin(a), (1 - r) * Math.cos(a), r);
  }
  if (form.arborShare > 0) addRod(0, 0, Math.min(form.arborShare, 1 - 2 * r));
  return withOpenness(height, normalRad);
}

function sideOf(outline: Float64Array): SideOfPinion {
  const height = new Float64Array(sideSteps).fill(-Infinity);
  const normalRad = new Float64Array(sideSteps);
  const stepOf = (x: number): number => ((x + 1) / 2) * sideSteps - 0.5;
  const n = outline.length / 2;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    const [x0, y0, x1, y1] = [outline[2 * i]!, outline[2 * i + 1]!, outline[2 * j]!, outline[2 * j + 1]!];
    if (x1 <= x0) continue;
    const normal = Math.atan2(-(y1 - y0), x1 - x0);
    const [first, last] = [stepOf(x0), stepOf(x1)];
    for (let s = Math.max(0, Math.ceil(first)); s <= Math.min(sideSteps - 1, Math.floor(last)); s++) {
      const y = y0 + ((y1 - y0) * (s - first)) / (last - first);
      if (y <= height[s]!) continue;
      height[s] = y;
      normalRad[s] = normal;
    }
  }
  return withOpenness(height, normalRad);
}

function withOpenness(height: Float64Array, normalRad: Float64Array): SideOfPinion {
  let from = 0;
  while (from < sideSteps && height[from] === -Infinity) from++;
  let to = sideSteps - 1;
  while (to > from && height[to] === -Infinity) to--;
  const through = Uint8Array.from(height, (y, s) => (y === -Infinity && s > from && s < to ? 1 : 0));
  return { from, to, normalRad, open: opennessOf(height, normalRad), through };
}

function opennessOf(height: Float64Array, normalRad: Float64Array): Float64Array {
  const open = new Float64Array(sideSteps);
  const dx = 2 / sideSteps;
  for (let i = 0; i < sideSteps; i++) {
    if (height[i] === -Infinity) continue;
    const toEdge = (step: number): number => {
      let least = Math.PI;
      for (let j = i + step; j >= 0 && j < sideSteps; j += step) {
        if (height[j] === -Infinity) continue;
        least = Math.min(least, Math.atan2(Math.abs(j - i) * dx, height[j]! - height[i]!));
      }
      return least;
    };
    const [left, right] = [-toEdge(-1), toEdge(1)];
    const mirrored = 2 * normalRad[i]!;
    const seen = Math.min(right, mirrored + lobeRad) - Math.max(left, mirrored - lobeRad);
    open[i] = Math.max(0, seen) / (2 * lobeRad);
  }
  return open;
}

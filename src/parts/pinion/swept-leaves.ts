import type { MetalCells } from "./metal-cells.js";

/**
 * A pinion on its end, standing on the mat, and an arbor on top of it; millimetres, lengths as they are (not as seen).
 *
 *                 camera     What is seen of it against the mat is its end face moved along by the camera: seen on the
 *       ____        *        plane of the mat, the face at height h is the figure drawn larger about the foot point F
 *      |    |       |        by H / (H - h), and the wall is everything between that and the figure itself.
 *   ___|____|_______F___
 */
export interface StandingPinion {
  readonly xMm: number;
  readonly yMm: number;
  readonly tipMm: number;
  readonly heightMm: number;
  /** Of the tip radius. */
  readonly rootShare: number;
  /** Half of a leaf's width, of the pitch. */
  readonly halfWidth: number;
  readonly arborRadiusMm: number;
  /** Above the face. */
  readonly arborUpMm: number;
}

/** A leaf and the space after it, counter-clockwise: what of them is seen by itself, and how much of that is as it should be. */
export interface SeenLeaf {
  readonly leafMm2: number;
  readonly metalShare: number;
  readonly spaceMm2: number;
  readonly paperShare: number;
}

/** Where the camera stands over the mat, mm. */
export interface Eye {
  readonly xMm: number;
  readonly yMm: number;
  readonly zMm: number;
}

/** Turns of the leaves within one pitch that are tried at once: bits of one word. */
export const phases = 32;
const turn = 2 * Math.PI;
/** Steps of the sweep from foot to face, mm. */
const stepMm = 0.25;
const mostSteps = 24;
const widths = 16;
/** No pinion is cut deeper, of the tip radius. */
export const leastRoot = 0.25;

/** For a place in the pitch and half a width of a leaf: the phases at which a leaf covers that place. */
const coveredAt = Uint32Array.from({ length: phases * (widths + 1) }, (_, k) => {
  const [at, half] = [Math.floor(k / (widths + 1)), k % (widths + 1)];
  let bits = 0;
  for (let phase = 0; phase < phases; phase++) {
    const apart = Math.abs(at - phase);
    if (Math.min(apart, phases - apart) < half) bits |= 1 << phase;
  }
  return bits;
});

/** Says how well a standing pinion explains which cells are metal. Keeps its buffers: one for each piece of metal. */
export class SweptLeaves {
  readonly #cells: MetalCells;
  readonly #eye: Eye;
  readonly #radius: Float32Array;
  /** Of a turn, from 0.5 to 1.5; read where `#isAimed`. */
  readonly #angle: Float32Array;
  readonly #isAimed: Uint8Array;
  /** Least of a cell's radii. */
  readonly #nearest: Float32Array;
  readonly #reach = new Uint8Array(129);
  #steps = 0;
  #placed: Pick<StandingPinion, "xMm" | "yMm" | "tipMm" | "heightMm"> | undefined;
  /** Log-likelihood over that of nothing but paper, in mm², for each phase. */
  readonly gain = new Float64Array(phases);
  /** What a figure would gain that covers all metal and nothing else. */
  readonly mostGainMm2: number;

  constructor(cells: MetalCells, eye: Eye) {
    this.#cells = cells;
    this.#eye = eye;
    this.mostGainMm2 = cells.logOdds.reduce((sum, odds) => sum + Math.max(0, odds), 0) * cells.cellMm ** 2;
    this.#radius = new Float32Array(cells.xMm.length * mostSteps);
    this.#angle = new Float32Array(cells.xMm.length * mostSteps);
    this.#isAimed = new Uint8Array(cells.xMm.length);
    this.#nearest = new Float32Array(cells.xMm.length);
  }

  /**
   * Fills `gain`. @param unweighed 1 for cells that have no say. @returns the phase of the largest gain, as a share of the
   * pitch.
   */
  weigh(leaves: number, pinion: StandingPinion, unweighed?: Uint8Array): number {
    this.#place(pinion);
    const { rootShare, halfWidth } = pinion;
    this.#shapeLeaves(leaves, rootShare, halfWidth);
    const { xMm, yMm, logOdds, cellMm } = this.#cells;
    const gain = this.gain.fill(0);
    const steps = this.#steps;
    const hasArbor = pinion.arborRadiusMm > 0;
    const onArbor = hasArbor ? this.#arbor(pinion) : undefined;
    let always = 0;
    for (let i = 0; i < logOdds.length; i++) {
      if (unweighed !== undefined && unweighed[i] === 1) continue;
      const odds = logOdds[i]!;
      const nearest = this.#nearest[i]!;
      if (nearest <= rootShare || onArbor?.(xMm[i]!, yMm[i]!)) {
        always += odds;
        continue;
      }
      if (nearest >= 1) continue;
      if (this.#isAimed[i] === 0) this.#aim(i);
      let bits = 0;
      for (let k = i * mostSteps; k < i * mostSteps + steps; k++) {
        const r = this.#radius[k]!;
        if (r >= 1) continue;
        const place = this.#angle[k]! * leaves;
        const at = ((place - Math.floor(place)) * phases) & (phases - 1);
        bits |= coveredAt[at * (widths + 1) + this.#reach[(r * 128) | 0]!]!;
      }
      for (let phase = 0; bits !== 0; phase++, bits >>>= 1) if ((bits & 1) === 1) gain[phase]! += odds;
    }
    let best = 0;
    for (let phase = 0; phase < phases; phase++) {
      gain[phase] = (gain[phase]! + always) * cellMm * cellMm;
      if (gain[phase]! > gain[best]!) best = phase;
    }
    return best / phases;
  }

  /**
   * What is seen of each leaf and of the space that follows it, where neither the body, nor the arbor, nor another leaf lies
   * in the line of sight.
   *
   * @param phase as `weigh` gave it.
   */
  seenOf(leaves: number, pinion: StandingPinion, phase: number): readonly SeenLeaf[] {
    this.#place(pinion);
    this.#shapeLeaves(leaves, pinion.rootShare, pinion.halfWidth);
    const { xMm, yMm, logOdds, cellMm } = this.#cells;
    const onArbor = pinion.arborRadiusMm > 0 ? this.#arbor(pinion) : undefined;
    const seen = Array.from({ length: leaves }, () => ({ leaf: 0, metal: 0, space: 0, paper: 0 }));
    const middle = phase + 0.5 / phases;
    for (let i = 0; i < logOdds.length; i++) {
      const nearest = this.#nearest[i]!;
      if (nearest <= pinion.rootShare || nearest >= 1 || onArbor?.(xMm[i]!, yMm[i]!)) continue;
      if (this.#isAimed[i] === 0) this.#aim(i);
      // Bits of the leaves, and of the spaces, that the line of sight goes through.
      let [crossed, between] = [0, 0];
      for (let k = i * mostSteps; k < i * mostSteps + this.#steps; k++) {
        const r = this.#radius[k]!;
        if (r >= 1) continue;
        const place = this.#angle[k]! * leaves - middle;
        const near = Math.round(place);
        if (Math.abs(place - near) * phases < this.#reach[(r * 128) | 0]!) crossed |= 1 << (near % leaves);
        else between |= 1 << (Math.floor(place) % leaves);
      }
      const isMetal = logOdds[i]! > 0;
      const one = crossed === 0 ? between : crossed;
      // More than one bit: nobody's own.
      if ((one & (one - 1)) !== 0) continue;
      const own = seen[31 - Math.clz32(one)]!;
      if (crossed !== 0) {
        own.leaf += cellMm * cellMm;
        if (isMetal) own.metal += cellMm * cellMm;
      } else {
        own.space += cellMm * cellMm;
        if (!isMetal) own.paper += cellMm * cellMm;
      }
    }
    return seen.map(({ leaf, metal, space, paper }) => ({
      leafMm2: leaf,
      metalShare: metal / leaf,
      spaceMm2: space,
      paperShare: paper / space,
    }));
  }

  /** Every cell in the polar coordinates of the figure, for each step of the sweep. */
  #place({ xMm, yMm, tipMm, heightMm }: StandingPinion): void {
    const before = this.#placed;
    if (before?.xMm === xMm && before.yMm === yMm && before.tipMm === tipMm && before.heightMm === heightMm)
      return;
    this.#placed = { xMm, yMm, tipMm, heightMm };
    const { xMm: xs, yMm: ys } = this.#cells;
    const eye = this.#eye;
    const larger = eye.zMm / (eye.zMm - heightMm);
    const movedMm = (larger - 1) * Math.hypot(xMm - eye.xMm, yMm - eye.yMm);
    const steps = (this.#steps = Math.min(mostSteps, Math.max(2, Math.ceil(movedMm / stepMm) + 1)));
    this.#isAimed.fill(0);
    const nearest = this.#nearest.fill(Infinity);
    for (let j = 0; j < steps; j++) {
      const by = this.#smaller(j);
      const [dx, dy] = [eye.xMm - by * eye.xMm - xMm, eye.yMm - by * eye.yMm - yMm];
      for (let i = 0, k = j; i < xs.length; i++, k += mostSteps) {
        const x = by * xs[i]! + dx;
        const y = by * ys[i]! + dy;
        const r = Math.sqrt(x * x + y * y) / tipMm;
        this.#radius[k] = r;
        if (r < nearest[i]!) nearest[i] = r;
      }
    }
  }

  /** How much smaller the figure is than what is seen of it, at one step of the sweep. */
  #smaller(step: number): number {
    const { zMm } = this.#eye;
    const larger = zMm / (zMm - this.#placed!.heightMm);
    return 1 / (1 + ((larger - 1) * step) / (this.#steps - 1));
  }

  /** The angles of one cell: most lie on the body or beside the figure, and need none. */
  #aim(i: number): void {
    this.#isAimed[i] = 1;
    const { xMm, yMm } = this.#placed!;
    const eye = this.#eye;
    for (let j = 0; j < this.#steps; j++) {
      if (this.#radius[i * mostSteps + j]! >= 1) continue;
      const by = this.#smaller(j);
      const x = eye.xMm + by * (this.#cells.xMm[i]! - eye.xMm) - xMm;
      const y = eye.yMm + by * (this.#cells.yMm[i]! - eye.yMm) - yMm;
      this.#angle[i * mostSteps + j] = Math.atan2(y, x) / turn + 1;
    }
  }

  /** Straight flanks towards the middle, then a round top. */
  #shapeLeaves(leaves: number, rootShare: number, halfWidth: number): void {
    const top = Math.min(0.6 * (1 - rootShare), (halfWidth * turn) / leaves);
    for (let k = 0; k < 128; k++) {
      const beyond = Math.max(0, (k / 128 - (1 - top)) / top);
      this.#reach[k] = Math.round(halfWidth * phases * Math.sqrt(Math.max(0, 1 - beyond * beyond)));
    }
  }

  #arbor({
    xMm,
    yMm,
    heightMm,
    arborRadiusMm,
    arborUpMm,
  }: StandingPinion): (x: number, y: number) => boolean {
    const eye = this.#eye;
    const [from, to] = [heightMm, heightMm + arborUpMm].map((z) => eye.zMm / (eye.zMm - z)) as [
      number,
      number,
    ];
    const [ax, ay] = [eye.xMm + from * (xMm - eye.xMm), eye.yMm + from * (yMm - eye.yMm)];
    const [dx, dy] = [(to - from) * (xMm - eye.xMm), (to - from) * (yMm - eye.yMm)];
    const long = dx * dx + dy * dy || 1e-9;
    const square = arborRadiusMm ** 2;
    return (x, y) => {
      const t = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / long));
      return (x - ax - t * dx) ** 2 + (y - ay - t * dy) ** 2 < square;
    };
  }
}

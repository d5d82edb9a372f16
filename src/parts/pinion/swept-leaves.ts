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

/** Not aimed at yet, in place of how often a line of sight passes the figure. */
const notAimed = 255;

/** Says how well a standing pinion explains which cells are metal. Keeps its buffers: one for each piece of metal. */
export class SweptLeaves {
  readonly #cells: MetalCells;
  readonly #eye: Eye;
  /** How often a cell's line of sight passes the figure, over all steps of the sweep; or `notAimed`. */
  readonly #passes: Uint8Array;
  /** Where: 128ths of the tip radius, and turns from 0.5 to 1.5. `mostSteps` places a cell. */
  readonly #radius: Uint8Array;
  readonly #angle: Float32Array;
  /** Least of a cell's radii; Infinity where it lies clearly beside the figure. */
  readonly #nearest: Float32Array;
  readonly #reach = new Uint8Array(129);
  /** Of each step of the sweep: how much smaller the figure is than what is seen of it, and where the eye then is. */
  readonly #by = new Float64Array(mostSteps);
  readonly #dx = new Float64Array(mostSteps);
  readonly #dy = new Float64Array(mostSteps);
  /** Sums by four phases at a time: 16 sets of phases that are covered. */
  readonly #byFour = new Float64Array((phases / 4) * 16);
  #steps = 0;
  #placed: Pick<StandingPinion, "xMm" | "yMm" | "tipMm" | "heightMm"> | undefined;
  /** Log-likelihood over that of nothing but paper, in mm², for each phase. */
  readonly gain = new Float64Array(phases);
  /** Largest of them. */
  bestGainMm2 = 0;
  /** What a figure would gain that covers all metal and nothing else. */
  readonly mostGainMm2: number;

  constructor(cells: MetalCells, eye: Eye) {
    this.#cells = cells;
    this.#eye = eye;
    this.mostGainMm2 = cells.logOdds.reduce((sum, odds) => sum + Math.max(0, odds), 0) * cells.cellMm ** 2;
    this.#passes = new Uint8Array(cells.xMm.length);
    this.#radius = new Uint8Array(cells.xMm.length * mostSteps);
    this.#angle = new Float32Array(cells.xMm.length * mostSteps);
    this.#nearest = new Float32Array(cells.xMm.length);
  }

  /**
   * Fills `gain` and `bestGainMm2`. @param unweighed 1 for cells that have no say. @returns the phase of the largest gain,
   * as a share of the pitch.
   */
  weigh(leaves: number, pinion: StandingPinion, unweighed?: Uint8Array): number {
    this.#place(pinion);
    const { rootShare, halfWidth } = pinion;
    this.#shapeLeaves(leaves, rootShare, halfWidth);
    const always = this.#sumByFour(
      leaves,
      rootShare,
      pinion.arborRadiusMm > 0 ? new SeenArbor(pinion, this.#eye) : undefined,
      unweighed,
    );
    const { cellMm } = this.#cells;
    const gain = this.gain;
    let best = 0;
    for (let phase = 0; phase < phases; phase++) {
      const four = (phase >> 2) * 16;
      const bit = 1 << (phase & 3);
      let sum = always;
      for (let set = 0; set < 16; set++) if ((set & bit) !== 0) sum += this.#byFour[four + set]!;
      gain[phase] = sum * cellMm * cellMm;
      if (gain[phase]! > gain[best]!) best = phase;
    }
    this.bestGainMm2 = gain[best]!;
    return best / phases;
  }

  /** @returns the log-odds of the cells that are covered whatever the phase. */
  #sumByFour(
    leaves: number,
    rootShare: number,
    arbor: SeenArbor | undefined,
    unweighed: Uint8Array | undefined,
  ): number {
    const { xMm, yMm, logOdds } = this.#cells;
    const sums = this.#byFour.fill(0);
    let always = 0;
    for (let i = 0; i < logOdds.length; i++) {
      if (unweighed !== undefined && unweighed[i] === 1) continue;
      const nearest = this.#nearest[i]!;
      if (nearest <= rootShare || arbor?.hides(xMm[i]!, yMm[i]!)) {
        always += logOdds[i]!;
        continue;
      }
      if (nearest >= 1) continue;
      const bits = this.#phasesCovering(i, leaves);
      if (bits === everyPhase) always += logOdds[i]!;
      else if (bits !== 0) addByFour(sums, bits, logOdds[i]!);
    }
    return always;
  }

  /** Phases, as bits, at which a leaf stands somewhere in a cell's line of sight. */
  #phasesCovering(i: number, leaves: number): number {
    if (this.#passes[i] === notAimed) this.#aim(i);
    let bits = 0;
    for (let k = i * mostSteps, end = k + this.#passes[i]!; k < end && bits !== everyPhase; k++) {
      const place = this.#angle[k]! * leaves;
      const at = ((place - Math.floor(place)) * phases) & (phases - 1);
      bits |= coveredAt[at * (widths + 1) + this.#reach[this.#radius[k]!]!]!;
    }
    return bits;
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
    const arbor = pinion.arborRadiusMm > 0 ? new SeenArbor(pinion, this.#eye) : undefined;
    const seen = Array.from({ length: leaves }, () => ({ leaf: 0, metal: 0, space: 0, paper: 0 }));
    const middle = phase + 0.5 / phases;
    for (let i = 0; i < logOdds.length; i++) {
      const nearest = this.#nearest[i]!;
      if (nearest <= pinion.rootShare || nearest >= 1 || arbor?.hides(xMm[i]!, yMm[i]!)) continue;
      if (this.#passes[i] === notAimed) this.#aim(i);
      // Bits of the leaves, and of the spaces, that the line of sight goes through.
      let [crossed, between] = [0, 0];
      for (let k = i * mostSteps; k < i * mostSteps + this.#passes[i]!; k++) {
        const place = this.#angle[k]! * leaves - middle;
        const near = Math.round(place);
        if (Math.abs(place - near) * phases < this.#reach[this.#radius[k]!]!) crossed |= 1 << (near % leaves);
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

  /** How near each cell comes to the middle of the figure, over all steps of the sweep. */
  #place({ xMm, yMm, tipMm, heightMm }: StandingPinion): void {
    const before = this.#placed;
    if (before?.xMm === xMm && before.yMm === yMm && before.tipMm === tipMm && before.heightMm === heightMm)
      return;
    this.#placed = { xMm, yMm, tipMm, heightMm };
    const eye = this.#eye;
    const larger = eye.zMm / (eye.zMm - heightMm);
    const movedMm = (larger - 1) * Math.hypot(xMm - eye.xMm, yMm - eye.yMm);
    const steps = (this.#steps = Math.min(mostSteps, Math.max(2, Math.ceil(movedMm / stepMm) + 1)));
    for (let j = 0; j < steps; j++) {
      const by = 1 / (1 + ((larger - 1) * j) / (steps - 1));
      this.#by[j] = by;
      this.#dx[j] = eye.xMm - by * eye.xMm - xMm;
      this.#dy[j] = eye.yMm - by * eye.yMm - yMm;
    }
    this.#passes.fill(notAimed);
    // From foot to face the figure moves along a line and grows: what is seen of it lies in the square round both ends.
    const [farX, farY] = [eye.xMm + larger * (xMm - eye.xMm), eye.yMm + larger * (yMm - eye.yMm)];
    const reachMm = larger * tipMm + 1e-6;
    const [left, right] = [Math.min(xMm, farX) - reachMm, Math.max(xMm, farX) + reachMm];
    const [top, bottom] = [Math.min(yMm, farY) - reachMm, Math.max(yMm, farY) + reachMm];
    const { xMm: xs, yMm: ys } = this.#cells;
    const nearest = this.#nearest;
    for (let i = 0; i < xs.length; i++) {
      const [x, y] = [xs[i]!, ys[i]!];
      nearest[i] =
        x < left || x > right || y < top || y > bottom
          ? Infinity
          : Math.sqrt(this.#leastSquare(x, y)) / tipMm;
    }
  }

  #leastSquare(cellX: number, cellY: number): number {
    let least = Infinity;
    for (let j = 0; j < this.#steps; j++) {
      const x = this.#by[j]! * cellX + this.#dx[j]!;
      const y = this.#by[j]! * cellY + this.#dy[j]!;
      const square = x * x + y * y;
      if (square < least) least = square;
    }
    return least;
  }

  /** Where one cell's line of sight passes the figure: most lie on the body or beside the figure, and need no angles. */
  #aim(i: number): void {
    const { tipMm } = this.#placed!;
    const [cellX, cellY] = [this.#cells.xMm[i]!, this.#cells.yMm[i]!];
    let passes = 0;
    for (let j = 0; j < this.#steps; j++) {
      const x = this.#by[j]! * cellX + this.#dx[j]!;
      const y = this.#by[j]! * cellY + this.#dy[j]!;
      const r = Math.sqrt(x * x + y * y) / tipMm;
      if (r >= 1) continue;
      this.#radius[i * mostSteps + passes] = r * 128;
      this.#angle[i * mostSteps + passes] = Math.atan2(y, x) / turn + 1;
      passes++;
    }
    this.#passes[i] = passes;
  }

  /** Straight flanks towards the middle, then a round top. */
  #shapeLeaves(leaves: number, rootShare: number, halfWidth: number): void {
    const top = Math.min(0.6 * (1 - rootShare), (halfWidth * turn) / leaves);
    for (let k = 0; k < 128; k++) {
      const beyond = Math.max(0, (k / 128 - (1 - top)) / top);
      this.#reach[k] = Math.round(halfWidth * phases * Math.sqrt(Math.max(0, 1 - beyond * beyond)));
    }
  }
}

const everyPhase = -1;

function addByFour(sums: Float64Array, bits: number, odds: number): void {
  for (let four = 0; four < phases / 4; four++) sums[four * 16 + ((bits >>> (4 * four)) & 15)]! += odds;
}

/** What the arbor on top of the face hides, on the plane of the mat. */
class SeenArbor {
  readonly #xMm: number;
  readonly #yMm: number;
  readonly #dx: number;
  readonly #dy: number;
  readonly #square: number;
  readonly #radiusSquare: number;

  constructor({ xMm, yMm, heightMm, arborRadiusMm, arborUpMm }: StandingPinion, eye: Eye) {
    const from = eye.zMm / (eye.zMm - heightMm);
    const to = eye.zMm / (eye.zMm - heightMm - arborUpMm);
    this.#xMm = eye.xMm + from * (xMm - eye.xMm);
    this.#yMm = eye.yMm + from * (yMm - eye.yMm);
    this.#dx = (to - from) * (xMm - eye.xMm);
    this.#dy = (to - from) * (yMm - eye.yMm);
    this.#square = this.#dx * this.#dx + this.#dy * this.#dy || 1e-9;
    this.#radiusSquare = arborRadiusMm ** 2;
  }

  hides(xMm: number, yMm: number): boolean {
    const x = xMm - this.#xMm;
    const y = yMm - this.#yMm;
    const t = Math.min(1, Math.max(0, (x * this.#dx + y * this.#dy) / this.#square));
    const [acrossX, acrossY] = [x - t * this.#dx, y - t * this.#dy];
    return acrossX * acrossX + acrossY * acrossY < this.#radiusSquare;
  }
}

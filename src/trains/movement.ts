/**
 * A movement as its maker built it: trains of arbors from the great wheel up, and the motion work. Plain data,
 * so that it can be sent, stored and shown; lines are those of the file it came from, counted from 1.
 */
export interface Movement {
  readonly title?: string;
  readonly place?: Place;
  /** What keeps the time. Absent when the file says nothing: a pendulum is then assumed and said so. */
  readonly regulator?: Regulator;
  /** Beats in an hour that the clock is known to make, from its dial, a timer or its papers. */
  readonly statedBeatsPerHour?: { readonly value: number; readonly line: number };
  readonly trains: readonly Train[];
  readonly motionWork?: MotionWork;
}

export interface Place {
  /** South negative. */
  readonly latitudeRad?: number;
  readonly heightM?: number;
  /** Measured; wins over latitude and height. */
  readonly gravityMps2?: Measured;
  readonly line: number;
}

/** A figure someone measured: `u` is its standard uncertainty (k = 1), in the unit of the field's name. */
export interface Measured {
  readonly value: number;
  readonly u?: number;
}

export type Regulator =
  | { readonly kind: "balance"; readonly line: number }
  | {
      readonly kind: "pendulum";
      /** Suspension to centre of oscillation. */
      readonly lengthMm?: Measured;
      /** How far it swings to one side of the middle. */
      readonly semiArcRad?: Measured;
      readonly line: number;
    };

export type TrainDuty = "time" | "strike" | "chime";

export interface Train {
  readonly name: string;
  readonly duty: TrainDuty;
  readonly line: number;
  /** In the order of the file; each one's driver stands in `drivenBy`. */
  readonly arbors: readonly Arbor[];
  readonly power?: Power;
  readonly strikes?: Strikes;
  readonly rack?: Rack;
  /** How long the clock is said to run on one winding, by its papers or its maker. */
  readonly saidToRunH?: { readonly valueH: number; readonly line: number };
  /** From one blow to the next, s. */
  readonly blowIntervalS?: Measured;
}

/** One wheel or pinion. */
export interface Gear {
  /** Where it stands: train, arbor, part: "time.third.wheel". */
  readonly position: string;
  /** Words for a message: "the wheel of the third arbor (time train)". */
  readonly words: string;
  readonly kind: "wheel" | "pinion";
  readonly teeth: number | "missing";
  /** Nobody wrote `teeth` down: it is the most probable count of the photographs. */
  readonly teethFromPhotographs?: true;
  readonly line: number;
  readonly moduleMm?: Measured;
  /** The count that `moduleMm` was found with, where it is not `teeth`. */
  readonly moduleCount?: number;
  readonly tipDiameterMm?: Measured;
  /** Counts that photographs allow, with their probabilities. */
  readonly seen?: readonly SeenCount[];
}

export interface SeenCount {
  readonly count: number;
  readonly probability: number;
}

export interface Arbor {
  readonly name: string;
  /** Part tag of the photographs: T3 is the time train's third arbor. */
  readonly tag?: string;
  readonly line: number;
  /** Name of the arbor that drives this one; absent on the first. */
  readonly drivenBy?: string;
  /** The gear on the driving arbor that does it: that arbor's wheel, or a gear given on this arbor's line. */
  readonly driver?: Gear;
  /** The gear of this arbor that is driven: its pinion, or its wheel when it has none. */
  readonly driven?: Gear;
  readonly centreDistanceMm?: Measured;
  readonly wheel?: Gear;
  readonly pinion?: Gear;
  /** The escape wheel, and how many beats each tooth gives (2 by the usual escapements). */
  readonly escape?: { readonly gear: Gear; readonly beatsPerTooth: number };
  readonly hand?: "hour" | "minute" | "seconds";
  /** Lifting pins that raise the hammer; `seen`: what a photograph shows, where a person wrote another number. */
  readonly pins?: { readonly count: number; readonly line: number; readonly seen?: number };
  /** Places in a turn at which the train can be locked: slots of a hoop, notches of a cam, locking pins. */
  readonly locks?: { readonly count: number; readonly line: number };
  /** Warning pins. */
  readonly warning?: { readonly count: number; readonly line: number };
  /** Rack teeth gathered in a turn. */
  readonly gathers?: { readonly count: number; readonly line: number };
  readonly countWheel?: CountWheel;
  readonly chimeBarrel?: { readonly phrases: number; readonly phrasesPerHour: number; readonly line: number };
  readonly fly?: boolean;
}

export interface CountWheel {
  readonly line: number;
  /** One turn takes this long, h. */
  readonly hoursPerTurn: number;
  /** Blows from notch to notch, if they were written down or read from a photograph. */
  readonly blows?: readonly number[];
}

/** What is struck in 12 hours. */
export interface Strikes {
  readonly words: string;
  readonly blowsPer12h: number;
  readonly line: number;
}

export interface Rack {
  readonly line: number;
  readonly snailSteps: number;
  readonly teeth?: number;
  /** Pivot to rack teeth. */
  readonly radiusMm?: Measured;
  /** From one rack tooth to the next, along their arc. */
  readonly toothPitchMm?: Measured;
  /** Pivot to the tail's pin. */
  readonly tailMm?: Measured;
  readonly snailHighMm?: Measured;
  readonly snailLowMm?: Measured;
}

export type Power =
  | { readonly kind: "turns"; readonly turns: number; readonly line: number }
  | {
      readonly kind: "weight";
      readonly dropMm: Measured;
      readonly drumMm: Measured;
      readonly lineMm: Measured;
      readonly pulley: boolean;
      readonly line: number;
    }
  | {
      readonly kind: "barrel";
      readonly insideMm: Measured;
      readonly arborMm: Measured;
      readonly spring: Spring;
      readonly stopWorkTurns?: number;
      readonly line: number;
    }
  | {
      readonly kind: "open spring";
      readonly letDownMm: Measured;
      readonly arborMm: Measured;
      readonly spring: Spring;
      readonly stopWorkTurns?: number;
      readonly line: number;
    };

export interface Spring {
  readonly lengthMm: Measured;
  readonly thicknessMm: Measured;
}

export interface MotionWork {
  readonly line: number;
  /** Train and arbor that carry the first gear; absent: the arbor of the minute hand. */
  readonly on?: { readonly train: string; readonly arbor: string };
  /** Hours on the dial. */
  readonly dialHours: 12 | 24;
  readonly cannonPinion: Gear;
  /** Both or neither: without them the first gear drives the hour wheel itself. */
  readonly minuteWheel?: Gear;
  readonly minutePinion?: Gear;
  readonly hourWheel: Gear;
}

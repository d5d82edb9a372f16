import type { GravityUsed } from "./gravity.js";
import type { RateReference } from "./gearing.js";
import type { Measured, Power, TrainDuty } from "./movement.js";
import type { RatioJson } from "./ratio.js";

/** What the counts say about the clock: plain data, fit for JSON. Unknown is absent. */
export interface MovementResult {
  readonly title?: string;
  readonly gravity: GravityUsed;
  readonly trains: readonly TrainResult[];
  readonly motionWork?: MotionWorkResult;
  readonly meshes: readonly MeshResult[];
  /** Faults first. */
  readonly findings: readonly TrainFinding[];
  /** Gears whose count is not known. */
  readonly missing: readonly { readonly position: string; readonly words: string; readonly line: number }[];
}

export interface TrainFinding {
  readonly code: string;
  readonly severity: "note" | "watch" | "fault";
  readonly text: string;
  readonly advice?: string;
  /** Line of the movement file that it is about. */
  readonly line?: number;
  /** Gear or arbor that it is about: "time.third.wheel", "strike.warning". */
  readonly position?: string;
}

export interface TrainResult {
  readonly name: string;
  readonly duty: TrainDuty;
  readonly arbors: readonly ArborResult[];
  readonly winding?: WindingResult;
  readonly time?: TimeResult;
  /** For a striking or chiming train. */
  readonly strike?: StrikeResult;
}

export interface ArborResult {
  readonly name: string;
  readonly tag?: string;
  readonly drivenBy?: string;
  readonly hand?: "hour" | "minute" | "seconds";
  readonly parts: readonly ArborPart[];
  readonly turnsPerFirstTurn?: RatioJson;
  readonly turnsPerHour?: RatioJson;
  readonly secondsPerTurn?: number;
  /** Striking and chiming: turns from one blow (phrase) to the next. */
  readonly turnsPerBlow?: RatioJson;
}

export interface ArborPart {
  readonly part:
    | "wheel"
    | "pinion"
    | "driver"
    | "escape wheel"
    | "pins"
    | "locks"
    | "warning"
    | "gathers"
    | "count wheel"
    | "chime barrel"
    | "fly";
  /** Teeth, leaves, pins, places; absent where a count has no sense or is missing. */
  readonly count?: number;
  readonly missing?: true;
  /** Of a driver: the arbor that carries it. */
  readonly on?: string;
}

export interface TimeResult {
  /** What the rate hangs on; absent when nothing says it. */
  readonly reference?: RateReference;
  readonly hoursPerFirstTurn?: RatioJson;
  readonly beatsPerHour?: RatioJson;
  readonly beatsPerMinute?: RatioJson;
  readonly secondsPerBeat?: number;
  readonly escapeTurnS?: number;
  /** Arbor that turns once an hour. */
  readonly hourlyArbor?: string;
  /** Arbor that turns once a minute: a seconds hand can sit on it. */
  readonly minutelyArbor?: string;
  readonly pendulum?: PendulumResult;
  readonly balance?: { readonly vibrationsPerSecond: number; readonly hertz: number };
}

export interface PendulumResult {
  /** Suspension to centre of oscillation, for hardly any swing. The doubt is that of gravity. */
  readonly lengthMm: Measured;
  readonly semiArcDeg?: Measured;
  /** With the semi-arc allowed for. */
  readonly lengthAtArcMm?: Measured;
  readonly circularErrorSecondsPerDay?: Measured;
  /** The pendulum that the file gives, and what the clock would do with it. */
  readonly given?: {
    /** As given; without a stated uncertainty, with that of a length taken with a rule. */
    readonly lengthMm: Measured;
    readonly uncertaintyAssumed?: true;
    readonly beatsPerHour: Measured;
    /** Positive: the clock would gain with it. */
    readonly gainsSecondsPerDay: Measured;
  };
}

export interface WindingResult {
  /** What drives the train; "turns" where only those are given. */
  readonly by: Power["kind"];
  /** Turns of the first arbor from wound to run down. */
  readonly turns: Measured;
  /** How they were found, and what that leaves out. */
  readonly model: string;
  /** Of the first arbor, where the counts say it. */
  readonly turnsPerDay?: RatioJson;
  readonly hours?: Measured;
  readonly days?: Measured;
  readonly spring?: {
    /** Coils when wound tight on the arbor, and when let down. */
    readonly coilsWound: Measured;
    readonly coilsLetDown: Measured;
    /** Share of the room between arbor and barrel that the spring fills; half gives most turns. */
    readonly filledShare?: Measured;
    readonly lengthForMostTurnsMm?: Measured;
  };
}

export interface StrikeResult {
  /** A chiming train counts phrases instead of blows. */
  readonly unit: "blow" | "phrase";
  /** The arbor whose pins, gathering pallet or barrel makes the blows. */
  readonly onArbor?: string;
  readonly blowsPerTurnOfThatArbor?: number;
  readonly blowsPerFirstTurn?: RatioJson;
  readonly blowsPerHalfDay?: number;
  readonly blowsPerDay?: number;
  readonly blowsPerWinding?: Measured;
  readonly countWheel?: {
    readonly arbor: string;
    readonly blowsPerTurn?: RatioJson;
    readonly blowsWanted: RatioJson;
    /** End of each run of blows from the start, degrees, where the order of blows is known. */
    readonly notchAnglesDeg?: readonly number[];
  };
  readonly chimeBarrel?: { readonly arbor: string; readonly turnsPerHour: RatioJson };
  readonly rack?: { readonly snailStepMm?: Measured; readonly snailStepWantedMm?: Measured };
  readonly fly?: {
    readonly arbor: string;
    readonly turnsPerBlow?: RatioJson;
    readonly turnsPerMinute?: Measured;
  };
  /** The longest run of blows (12 at noon), s, if the time from blow to blow is known. */
  readonly longestRunS?: Measured;
}

export interface MotionWorkResult {
  /** Turns of the first gear for one of the hour wheel. */
  readonly ratio?: RatioJson;
  readonly dialHours: 12 | 24;
  /** Hours in which the hour hand goes round. */
  readonly hourHandHours?: RatioJson;
  /** Modules of the second pair over the first, since both pairs share their two arbors. */
  readonly moduleRatio?: RatioJson;
}

export interface MeshResult {
  readonly driver: string;
  readonly driven: string;
  readonly train: string;
  readonly arbor: string;
  /** Turns of the driven arbor for one of the driver. */
  readonly gearRatio?: RatioJson;
  readonly driverModuleMm?: Measured;
  readonly drivenModuleMm?: Measured;
  readonly centreDistanceMm?: Measured;
  /** What the modules and counts ask for. */
  readonly centreDistanceWantedMm?: Measured;
}

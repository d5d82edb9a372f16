/**
 * What the train calculator has to say beyond its result: pictures, counts weighed, counts that are lost, sheets for
 * cutting. Plain words and figures, so that this room need not know the calculator.
 */
export interface TrainPapers {
  readonly pictures: readonly TrainPicture[];
  readonly weighed?: WeighedCounts;
  readonly lost: readonly LostCounts[];
  readonly sheets: readonly PartSheet[];
}

/** SVG documents of this program's own making: g, path, rect, circle, text, black on white. */
export interface TrainPicture {
  /** Name of the train; absent: the motion work. */
  readonly train?: string;
  readonly elevation: string;
  readonly plan: string;
}

export interface Figure {
  readonly value: number;
  /** Standard uncertainty (k = 1), in the unit of the value. */
  readonly u?: number;
}

/** Counts of photographs and the conditions of the train, weighed together. */
export interface WeighedCounts {
  readonly rows: readonly {
    readonly words: string;
    readonly count: number;
    readonly probability: number;
    readonly photographsSay: readonly { readonly count: number; readonly probability: number }[];
    /** What the movement file says, where it is something else. */
    readonly written?: number;
    readonly decidedBy: readonly string[];
  }[];
  readonly unplaced: readonly string[];
}

export interface LostCounts {
  readonly words: readonly string[];
  /** What narrowed them down. */
  readonly from: readonly string[];
  readonly answers: readonly {
    readonly counts: readonly number[];
    readonly exact: boolean;
    /** 0 to 1, among all answers found. */
    readonly weight: number;
    readonly beatsPerHour?: number;
    readonly pendulumChangeMm?: Figure;
    readonly gainsSecondsPerDay?: Figure;
    readonly blankDiametersMm: readonly Figure[];
    readonly remarks: readonly string[];
  }[];
  readonly found: number;
  readonly problem?: { readonly text: string; readonly advice: string };
}

/** What it takes to cut a part anew. */
export interface PartSheet {
  readonly words: string;
  /** Outline at true size, an SVG document in mm; absent where no tooth form is known. */
  readonly outline?: {
    readonly svg: string;
    readonly widthMm: number;
    readonly heightMm: number;
    /** From the upper left corner, right and down. */
    readonly centreMm: readonly [x: number, y: number];
    readonly tipDiameterMm: number;
  };
  readonly rows: readonly { readonly label: string; readonly value: string }[];
  /** What to look at before any metal is cut. */
  readonly warnings: readonly string[];
  readonly checkFirst: string;
}

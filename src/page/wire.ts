import type {
  MovementResult,
  PartCorrection,
  PartRecord,
  PhotoCorrection,
  PhotoRecord,
  SetRecord,
  StatementRecord,
  ToothStateByHand,
} from "../record/index.js";

/** What server and client of the page say to each other, as JSON. Lengths in mm, angles in degrees, px upright. */

export interface SurveyEntry {
  readonly name: string;
  readonly title?: string;
  readonly photoCount: number;
}

export interface Shelf {
  /** Folder that the surveys lie in, as it is shown. */
  readonly folder: string;
  readonly surveys: readonly SurveyEntry[];
  /** False when the page was opened for one survey only. */
  readonly canMake: boolean;
}

/** Files that a person's changes go to. */
export type ChangedFile = "corrections" | "survey" | "movement";

/** State of what is changed: a change is made to the revision that its author saw, or not at all. */
export type Revisions = Readonly<Record<ChangedFile | "sets", string>>;

export type PhotoState = "waiting" | "measuring" | "done" | "cancelled" | "left out";

export interface PartSummary {
  readonly id: string;
  readonly kind: PartRecord["kind"];
  readonly label?: string;
  readonly count?: number;
  readonly probability?: number;
  readonly alternatives: readonly number[];
  readonly tipDiameterMm?: { readonly value: number; readonly u: number };
  readonly moduleMm?: { readonly value: number; readonly u: number };
  readonly worst?: "note" | "watch" | "fault";
  readonly byHand: boolean;
  /** Region of the upright photograph that shows it, px: x, y, side. */
  readonly box?: readonly [number, number, number];
}

export interface PhotoSummary {
  readonly name: string;
  readonly sha256?: string;
  readonly state: PhotoState;
  readonly widthPx?: number;
  readonly heightPx?: number;
  readonly scale?: PhotoRecord["scale"]["source"];
  /** Face heights that height sets found, at which it was measured again. */
  readonly heightsFromSetsMm?: readonly number[];
  readonly parts: readonly PartSummary[];
  /** First problem, in words. */
  readonly problem?: string;
  readonly advice?: string;
}

export interface Progress {
  readonly total: number;
  readonly done: number;
  readonly running: number;
}

export interface CaptureState {
  readonly on: boolean;
  /** Address for the phone; only while nobody has used it. */
  readonly url?: string;
  /** Rows of the QR code, "1" is dark. */
  readonly qr?: readonly string[];
  readonly phoneJoined: boolean;
  readonly received: number;
  /** Why it was switched off, or cannot be switched on. */
  readonly words?: string;
}

export interface SurveyState {
  readonly name: string;
  readonly folder: string;
  readonly revisions: Revisions;
  readonly photos: readonly PhotoSummary[];
  readonly progress: Progress;
  readonly statement: StatementRecord;
  readonly settings: SettingsState;
  readonly undo?: string;
  readonly redo?: string;
  /** What is wrong with a file that a person edited elsewhere. */
  readonly faults: readonly { readonly file: ChangedFile; readonly text: string }[];
  readonly report: ReportState;
  readonly capture: CaptureState;
}

export interface SettingsState {
  readonly matAcrossMm?: number;
  readonly matAlongMm?: number;
  readonly mat?: string;
  readonly faceHeights: readonly { readonly label?: string; readonly heightMm: number }[];
  readonly paper?: "a4" | "letter";
  readonly inches: boolean;
}

export interface ReportState {
  readonly making: boolean;
  readonly madeAt?: string;
  readonly files: readonly string[];
  readonly words?: string;
  /** Something was changed since it was made. */
  readonly stale: boolean;
}

export interface PhotoDetail {
  readonly summary: PhotoSummary;
  /** As measured; absent while it is being measured. */
  readonly measured?: PhotoRecord;
  /** With the changes by hand; absent where there are none. */
  readonly shown?: PhotoRecord;
  readonly correction?: PhotoCorrection;
  /** Changes that fit no part of this measurement. */
  readonly stray: readonly PartCorrection[];
}

export interface GearState {
  /** "time.third.wheel" */
  readonly position: string;
  readonly part: "wheel" | "pinion" | "escape wheel" | "driver";
  readonly words: string;
  /** As the file says; absent: lost ("?"). */
  readonly written?: number;
  /** The file says "?", the photographs say this. */
  readonly fromPhotographs?: number;
  readonly seen: readonly { readonly count: number; readonly probability: number }[];
  /** Photographs and train weighed together, where they disagree. */
  readonly weighed?: { readonly count: number; readonly probability: number };
  readonly conflict: boolean;
  readonly missing: boolean;
}

export interface ArborState {
  readonly name: string;
  readonly tag?: string;
  readonly drivenBy?: string;
  readonly hand?: "hour" | "minute" | "seconds";
  readonly turns?: string;
  readonly gears: readonly GearState[];
  /** "2 lifting pins", "fly" ... */
  readonly also: readonly string[];
}

export interface TrainState {
  readonly name: string;
  readonly duty: "time" | "strike" | "chime";
  readonly arbors: readonly ArborState[];
  /** What drives it: "turns", "weight" ... */
  readonly power?: string;
  readonly powerTurns?: number;
  readonly figures: readonly { readonly name: string; readonly value: string }[];
}

export interface MovementState {
  readonly revision: string;
  readonly exists: boolean;
  readonly text: string;
  readonly mistakes: readonly { readonly line?: number; readonly text: string }[];
  readonly trains: readonly TrainState[];
  readonly result?: MovementResult;
  /** What photographs and train say together, when they disagree. */
  readonly verdict?: string;
  /** What lost counts may have been; those that hang together in one. */
  readonly missing: readonly MissingCounts[];
}

export interface MissingCounts {
  readonly gears: readonly { readonly position: string; readonly words: string }[];
  readonly used: readonly string[];
  readonly found: number;
  readonly problem?: { readonly text: string; readonly advice: string };
  readonly answers: readonly MissingAnswer[];
}

export interface MissingAnswer {
  readonly counts: readonly { readonly position: string; readonly count: number }[];
  readonly exact: boolean;
  readonly weight: number;
  readonly beatsPerHour?: number;
  readonly gainsSecondsPerDay?: number;
  readonly remarks: readonly string[];
}

/** What a set is called: its photographs lie in a folder of this name. */
export interface SetName {
  readonly kind: SetRecord["kind"];
  readonly label?: string;
}

/** A plot of a set, as the report shows it. */
export interface SetFigure {
  readonly alt: string;
  readonly caption: string;
  /** Address, relative to that of the sets. */
  readonly path: string;
}

export interface SetState extends SetName {
  /** Changes with what the set is made of. */
  readonly key: string;
  readonly photos: readonly string[];
  /** Those of them that a card in the picture puts there, whatever their folder. */
  readonly byCard: readonly string[];
  readonly state: "looking" | "done" | "stopped";
  /** One for each wheel that moved. */
  readonly results: readonly {
    readonly record: SetRecord;
    readonly figures: readonly SetFigure[];
    /** Of a height set: photographs that are measured at its height. */
    readonly usedIn?: readonly string[];
  }[];
}

export interface TodoItem {
  readonly key: string;
  readonly severity: "note" | "watch" | "fault";
  readonly text: string;
  readonly advice?: string;
  /** Where to look: a photograph (and part), the movement, or a set. */
  readonly photo?: string;
  readonly part?: string;
  readonly about: "photograph" | "part" | "movement" | "set" | "correction";
  readonly done: boolean;
}

export interface TodoState {
  readonly items: readonly TodoItem[];
}

/** A change by a person. Each is one step of undo. */
export type Change =
  | { readonly kind: "photo"; readonly photo: string; readonly leftOut: boolean; readonly reason?: string }
  | {
      readonly kind: "part";
      readonly photo: string;
      readonly part: string;
      /** What is to hold from now on; null takes a change back. */
      readonly set: {
        readonly kind?: PartRecord["kind"] | null;
        readonly label?: string | null;
        readonly toothCount?: number | null;
        readonly circle?: NonNullable<PartCorrection["circle"]> | null;
        readonly leftOut?: boolean;
        readonly remark?: string | null;
      };
    }
  | {
      readonly kind: "tooth";
      readonly photo: string;
      readonly part: string;
      readonly angleDeg: number;
      /** null takes the change back. */
      readonly state: ToothStateByHand | null;
    }
  | {
      readonly kind: "new part";
      readonly photo: string;
      readonly centrePx: readonly [number, number];
      readonly tipRadiusPx: number;
      readonly withinPx: number;
    }
  | { readonly kind: "as measured"; readonly photo: string; readonly part: string }
  | {
      readonly kind: "face height";
      readonly photo: string;
      readonly label?: string;
      readonly mm: number | null;
    }
  | { readonly kind: "done"; readonly key: string; readonly done: boolean }
  | {
      readonly kind: "statement";
      /** Keys of survey.yaml: ["identification", "maker"]. */
      readonly path: readonly string[];
      readonly value: string | number | readonly unknown[] | null;
    }
  | { readonly kind: "new movement" }
  | { readonly kind: "movement text"; readonly text: string }
  | {
      readonly kind: "movement";
      /** Keys of the movement file, from its top; all in one step. */
      readonly set: readonly {
        readonly path: readonly string[];
        readonly value: string | number | boolean | Readonly<Record<string, unknown>> | null;
      }[];
    }
  /** Photographs go into a set, or out of theirs (null). */
  | { readonly kind: "set"; readonly photos: readonly string[]; readonly set: SetName | null }
  /** A photograph shows its part before or after the work. */
  | { readonly kind: "stage"; readonly photo: string; readonly stage: "before" | "after" | null };

/** Which revision a change is made to. */
export function changedBy({ kind }: Change): keyof Revisions {
  if (kind === "statement") return "survey";
  if (kind === "movement" || kind === "movement text" || kind === "new movement") return "movement";
  return kind === "set" || kind === "stage" ? "sets" : "corrections";
}

export interface ChangeRequest {
  readonly change: Change;
  /** Revision of what the change goes to, as its author saw it. */
  readonly revision: string;
}

export interface Refusal {
  readonly error: string;
  readonly code: "conflict" | "invalid" | "not-found" | "forbidden" | "too-large" | "unexpected";
}

/** Pushed to every open window. */
export type PageEvent =
  | {
      readonly type: "photo";
      readonly photo: PhotoSummary;
      readonly progress: Progress;
      /** Where a window waits for the result: all of it, so that it need not ask. */
      readonly detail?: PhotoDetail;
    }
  /** Files, photographs or the report changed: ask again. */
  | { readonly type: "changed"; readonly what: "files" | "photos" | "sets" | "report" | "capture" }
  | { readonly type: "closing" };

export interface CaptureHint {
  readonly ok: boolean;
  readonly code: "no-mat" | "blurred" | "too-far" | "oblique" | "too-dark" | "good" | "busy";
  readonly text: string;
  readonly advice?: string;
}

import type { SetRecord } from "../../src/record/index.js";
import { markdownTable } from "./markdown-table.js";
import type { KnownSet } from "./set-photos.js";

export interface SetOutcome {
  readonly known: KnownSet;
  readonly record: SetRecord;
}

const degrees = (rad: number): number => (rad * 180) / Math.PI;
const bars = { eccentricityMm: 0.015, angleDeg: 15, fromMm: 0.03 };

/** Errors and verdicts by kind of set, and how often the stated intervals hold the truth. */
export function setTables(outcomes: readonly SetOutcome[]): string {
  const kinds = [...new Set(outcomes.map(({ known }) => known.kind))];
  const of = (kind: string): SetOutcome[] => outcomes.filter(({ known }) => known.kind === kind);
  const turn = kinds.filter((k) => k.startsWith("turn"));
  const play = kinds.filter((k) => k.startsWith("play"));
  const height = kinds.filter((k) => k === "height");
  return [
    ...(turn.length > 0
      ? [
          markdownTable(
            turnHead,
            turn.map((k) => turnRow(k, of(k))),
          ),
        ]
      : []),
    ...(play.length > 0
      ? [
          markdownTable(
            playHead,
            play.map((k) => playRow(k, of(k))),
          ),
        ]
      : []),
    ...(height.length > 0
      ? [
          markdownTable(
            heightHead,
            height.map((k) => heightRow(k, of(k))),
          ),
        ]
      : []),
  ].join("\n\n");
}

const turnHead = [
  "turn sets",
  "sets",
  "told",
  "largest error, mm",
  "largest angle error, deg",
  "interval holds",
  "bar",
  "axial run-out told",
  "largest error, mm",
  "interval holds",
];

function turnRow(kind: string, all: readonly SetOutcome[]): string[] {
  const told = all.filter(({ record }) => record.eccentricity_mm !== undefined);
  const errors = told.map(({ known, record }) => record.eccentricity_mm!.value - known.truth.eccentricityMm);
  const angles = told.flatMap((o) => angleError(o) ?? []);
  const held = told.filter(({ record }, i) => Math.abs(errors[i]!) <= 2 * record.eccentricity_mm!.u).length;
  const met =
    told.length === all.length &&
    errors.every((e) => Math.abs(e) <= bars.eccentricityMm) &&
    angles.every((a) => Math.abs(a) <= bars.angleDeg);
  return [
    kind,
    String(all.length),
    String(told.length),
    most(errors, 3),
    most(angles, 1),
    `${held} of ${told.length}`,
    met ? "met" : "not met",
    ...axialCells(all),
  ];
}

/** How far the rim rises and falls: asked for where the wheel stands clear of the sheet. */
function axialCells(all: readonly SetOutcome[]): [string, string, string] {
  const told = all.filter(({ record }) => record.axial_runout_mm !== undefined);
  const errors = told.map(({ known, record }) => record.axial_runout_mm!.value - known.truth.axialRunoutMm);
  const held = told.filter(({ record }, i) => Math.abs(errors[i]!) <= 2 * record.axial_runout_mm!.u).length;
  if (told.length === 0) return ["–", "–", "–"];
  return [`${told.length} of ${all.length}`, most(errors, 2), `${held} of ${told.length}`];
}

function angleError({ known, record }: SetOutcome): number | undefined {
  const { truth, firstCentreMm } = known;
  if (!(truth.eccentricityMm > bars.fromMm)) return undefined;
  const angle = record.eccentricity_angle_deg;
  if (angle === undefined) return 180;
  const true_ = degrees(Math.atan2(firstCentreMm[1] - truth.axisMm[1], firstCentreMm[0] - truth.axisMm[0]));
  return ((((angle.value - true_ + 180) % 360) + 360) % 360) - 180;
}

const playHead = [
  "play sets",
  "sets",
  "tight",
  "loose",
  "cannot tell",
  "radial error, mm",
  "twist error, deg",
  "rock error, deg",
  "limits (median)",
  "interval holds",
];

function playRow(kind: string, all: readonly SetOutcome[]): string[] {
  const count = (verdict: string): string =>
    String(all.filter(({ record }) => record.verdict === verdict).length);
  const error = (
    key: "radial_play_mm" | "twist_deg" | "rock_deg",
    truth: (o: SetOutcome) => number,
  ): { errors: number[]; held: number } => {
    const told = all.filter(({ record }) => record[key] !== undefined);
    const errors = told.map((o) => o.record[key]!.value - truth(o));
    return {
      errors,
      held: told.filter(({ record }, i) => Math.abs(errors[i]!) <= 2 * record[key]!.u).length,
    };
  };
  const radial = error("radial_play_mm", ({ known }) => known.truth.greatestPlayMm);
  const twist = error("twist_deg", ({ known }) => degrees(known.truth.greatestTwistRad));
  const rock = error("rock_deg", ({ known }) => degrees(known.truth.greatestRockRad));
  const limit = (key: "radial_play_mm" | "twist_deg" | "rock_deg", digits: number): string => {
    const values = all.flatMap(({ record }) => record.detection_limits?.[key] ?? []).sort((a, b) => a - b);
    return values[values.length >> 1]?.toFixed(digits) ?? "–";
  };
  return [
    kind,
    String(all.length),
    count("tight"),
    count("loose"),
    count("cannot tell"),
    most(radial.errors, 3),
    most(twist.errors, 2),
    most(rock.errors, 2),
    `${limit("radial_play_mm", 2)} mm, ${limit("twist_deg", 2)}°, ${limit("rock_deg", 1)}°`,
    `${radial.held + twist.held + rock.held} of ${radial.errors.length + twist.errors.length + rock.errors.length}`,
  ];
}

const heightHead = ["height sets", "sets", "told", "largest error, mm", "interval holds"];

function heightRow(kind: string, all: readonly SetOutcome[]): string[] {
  const told = all.filter(({ record }) => record.face_height_mm !== undefined);
  const errors = told.map(({ known, record }) => record.face_height_mm!.value - known.truth.faceHeightMm);
  const held = told.filter(({ record }, i) => Math.abs(errors[i]!) <= 2 * record.face_height_mm!.u).length;
  return [kind, String(all.length), String(told.length), most(errors, 3), `${held} of ${told.length}`];
}

const most = (errors: readonly number[], digits: number): string =>
  errors.length === 0 ? "–" : Math.max(...errors.map(Math.abs)).toFixed(digits);

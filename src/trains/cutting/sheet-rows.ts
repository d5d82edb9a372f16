import { roundToUncertainty } from "../../quantity/index.js";
import { scaled } from "../measured.js";
import type { Measured } from "../movement.js";
import { filletModules } from "./gear-outline.js";
import type { Indexing } from "./indexing.js";
import type { CuttingSheet } from "./sheet.js";

/** One line of the sheet for a reader. */
export interface SheetRow {
  readonly label: string;
  readonly value: string;
}

export interface LengthOptions {
  /** Inches beside millimetres; default false. */
  readonly inches?: boolean;
}

/** Coverage factor of every ± on the sheet. */
export const sheetCoverage = 2;

/** The sheet in words, part by part; not escaped. */
export function sheetRows(sheet: CuttingSheet, options: LengthOptions = {}): readonly SheetRow[] {
  const lengthText = (length: Measured, decimals?: number) => lengthWords(length, options, decimals);
  const { tooth, mate, kind, moduleMm } = sheet;
  const teeth = kind === "pinion" ? "leaves" : "teeth";
  const inModules = (factor: number) => `${factor.toFixed(3)} m`;
  return [
    { label: kind === "pinion" ? "Leaves" : "Teeth", value: String(sheet.count) },
    { label: "Works with", value: `${mate.words}, ${mate.count}` },
    { label: "Module m", value: `${lengthText(moduleMm, 4)}, from ${sheet.moduleFrom}` },
    ...sheet.otherModules.map(({ from, moduleMm: other }) => ({
      label: "Module, by another way",
      value: `${lengthText(other, 4)}, from ${from}`,
    })),
    ...(tooth
      ? [
          { label: "Blank diameter", value: lengthText(tooth.blankDiameterMm) },
          ...(sheet.tipDiameterGivenMm
            ? [{ label: "Old part, over its teeth", value: lengthText(sheet.tipDiameterGivenMm) }]
            : []),
          { label: "Depth of cut", value: lengthText(tooth.depthMm) },
          { label: "Root diameter", value: lengthText(tooth.rootDiameterMm) },
        ]
      : []),
    { label: "Pitch diameter", value: lengthText(sheet.pitchDiameterMm) },
    { label: "Circular pitch", value: lengthText(sheet.circularPitchMm) },
    ...(tooth
      ? [
          {
            label: "Thickness at the pitch circle",
            value: `${lengthText(tooth.thicknessMm)} (${inModules(tooth.form.thickness)})`,
          },
          {
            label: "Tooth form",
            value: `addendum ${inModules(tooth.form.addendum)}, dedendum ${inModules(tooth.form.dedendum)}, ${flankText(sheet)}, straight flanks to the centre below the pitch circle, corners at the root ${filletModules} m where there is room (own choice)`,
          },
          { label: "Source", value: tooth.form.source },
        ]
      : []),
    { label: "Centre distance by these", value: lengthText(sheet.centreDistanceMm) },
    ...(sheet.centreDistanceGivenMm
      ? [{ label: "Centre distance measured", value: lengthText(sheet.centreDistanceGivenMm) }]
      : []),
    {
      label: "Index angle",
      value: `${sheet.pitchAngleDeg.toFixed(6)}° (${degreesMinutes(sheet.count)}), 360° : ${sheet.count} ${teeth}`,
    },
  ];
}

const flankText = ({ tooth, moduleMm }: CuttingSheet): string => {
  const { flank, profile } = tooth!.form;
  const arc = `${flank.arcRadius.toFixed(3)} m = ${(flank.arcRadius * moduleMm.value).toFixed(3)} mm`;
  return flank.kind === "epicycloid"
    ? `flank an epicycloid, rolling circle ${(2 * flank.rollingRadius).toFixed(2)} m across, tip rounded to the addendum (cutters may have an arc of radius ${arc} instead)`
    : `${profile === undefined ? "" : `profile ${profile}, `}flanks two arcs of radius ${arc}`;
};

/** With the expanded uncertainty, or without one where none is known. */
export function lengthWords(length: Measured, { inches = false }: LengthOptions, decimals = 3): string {
  const inUnit = ({ value, u }: Measured, places: number): string => {
    if (u === undefined || u === 0) return value.toFixed(places);
    const rounded = roundToUncertainty(value, sheetCoverage * u);
    return `${rounded.value} ± ${rounded.u}`;
  };
  const mm = `${inUnit(length, decimals)} mm`;
  // An inch is 25.4 times as coarse: one place more says as much.
  return inches ? `${mm} (${inUnit(scaled(length, 1 / 25.4), decimals + 1)} in)` : mm;
}

/** 360 degrees over a count, as dividing heads are read: 5° 37' 30". */
export function degreesMinutes(count: number): string {
  const tenths = Math.round((360 * 36_000) / count);
  const [degrees, rest] = [Math.floor(tenths / 36_000), tenths % 36_000];
  return `${degrees}° ${Math.floor(rest / 600)}' ${((rest % 600) / 10).toFixed(1)}"`;
}

/** How to index with the rows that were named: exactly, or the plain word that none will do. */
export function indexingLines({ count, handleTurns, exact, inexact }: Indexing): readonly string[] {
  const handle = handleTurns === 1 ? "" : ` (${handleTurns} turns of the handle to one of the work)`;
  if (exact.length > 0)
    return exact.map(({ holes, turns, holesOn }) => {
      const steps = [
        ...(turns === 0 ? [] : [`${turns} ${turns === 1 ? "turn" : "turns"}`]),
        ...(holesOn === 0 ? [] : [`${holesOn} ${holesOn === 1 ? "hole" : "holes"}`]),
      ];
      return `row of ${holes}: advance ${steps.join(" and ")} for each tooth${handle}`;
    });
  const [nearest] = inexact;
  return [
    `none of the rows named divides ${count}${handle}: a row is needed whose holes${handleTurns === 1 ? "" : `, times ${handleTurns},`} are a multiple of ${count}`,
    ...(nearest
      ? [
          `the nearest is the row of ${nearest.holes}: it divides ${nearest.nearestCounts.join(" and ")}, not ${count}; the nearest holes would put teeth out of place by up to ${((nearest.largestErrorRad * 180) / Math.PI).toFixed(4)}°, so no holes are given`,
        ]
      : []),
  ];
}

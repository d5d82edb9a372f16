import type { CuttingSheet } from "./sheet.js";
import { checkFirst, sheetOutlineMm } from "./sheet.js";

/**
 * The outline as a drawing file for CAD and laser cutting: ASCII DXF of release 12 (AC1009), one unit = 1 mm. Layers:
 * OUTLINE (one closed POLYLINE), PITCH (circle), CENTRE (cross). Plain ASCII only.
 *
 * @returns undefined if the sheet has no tooth form.
 */
export function drawOutlineDxf(sheet: CuttingSheet): string | undefined {
  const outline = sheetOutlineMm(sheet);
  if (outline === undefined || sheet.tooth === undefined) return undefined;
  const tip = sheet.tooth.blankDiameterMm.value / 2;
  const pairs: (readonly [number, string | number])[] = [
    [999, `wheelsurvey cutting sheet. Units: mm. ${checkFirst}`],
    [999, ascii(`${sheet.words}: ${sheet.count} teeth, module ${sheet.moduleMm.value.toFixed(4)} mm`)],
    ...section("HEADER", [
      [9, "$ACADVER"],
      [1, "AC1009"],
      [9, "$EXTMIN"],
      ...point(-tip, -tip),
      [9, "$EXTMAX"],
      ...point(tip, tip),
    ]),
    ...section("TABLES", [...lineTypes, ...layers(["OUTLINE", "PITCH", "CENTRE"])]),
    ...section("ENTITIES", [
      ...polyline("OUTLINE", outline),
      [0, "CIRCLE"],
      [8, "PITCH"],
      ...point(0, 0),
      [40, mm(sheet.pitchDiameterMm.value / 2)],
      ...cross("CENTRE", sheet.moduleMm.value),
    ]),
    [0, "EOF"],
  ];
  return pairs.map(([code, value]) => `${String(code).padStart(3)}\r\n${value}\r\n`).join("");
}

type Pair = readonly [code: number, value: string | number];

const section = (name: string, content: readonly Pair[]): readonly Pair[] => [
  [0, "SECTION"],
  [2, name],
  ...content,
  [0, "ENDSEC"],
];

const lineTypes: readonly Pair[] = [
  [0, "TABLE"],
  [2, "LTYPE"],
  [70, 1],
  [0, "LTYPE"],
  [2, "CONTINUOUS"],
  [70, 0],
  [3, "Solid line"],
  [72, 65],
  [73, 0],
  [40, "0.0"],
  [0, "ENDTAB"],
];

const layers = (names: readonly string[]): readonly Pair[] => [
  [0, "TABLE"],
  [2, "LAYER"],
  [70, names.length],
  ...names.flatMap((name): Pair[] => [
    [0, "LAYER"],
    [2, name],
    [70, 0],
    [62, 7],
    [6, "CONTINUOUS"],
  ]),
  [0, "ENDTAB"],
];

function polyline(layer: string, xyMm: Float64Array): readonly Pair[] {
  const pairs: Pair[] = [[0, "POLYLINE"], [8, layer], [66, 1], [70, 1], ...point(0, 0)];
  for (let i = 0; i < xyMm.length; i += 2)
    pairs.push([0, "VERTEX"], [8, layer], ...point(xyMm[i]!, xyMm[i + 1]!));
  pairs.push([0, "SEQEND"], [8, layer]);
  return pairs;
}

const cross = (layer: string, arm: number): readonly Pair[] =>
  (
    [
      [arm, 0],
      [0, arm],
    ] as const
  ).flatMap(([x, y]): Pair[] => [
    [0, "LINE"],
    [8, layer],
    ...point(-x, -y),
    [11, mm(x)],
    [21, mm(y)],
    [31, mm(0)],
  ]);

const point = (x: number, y: number): readonly Pair[] => [
  [10, mm(x)],
  [20, mm(y)],
  [30, mm(0)],
];

/** A nanometre is enough, and no exponent or "-0" may stand in the file. */
const mm = (value: number): string => value.toFixed(6).replace(/^-(?=[0.]+$)/, "");

const ascii = (text: string): string => text.replace(/[^\x20-\x7e]/g, "?");

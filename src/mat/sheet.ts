/**
 * The scale mat, described once: everything that is printed, read or rendered comes from here.
 * Millimetres on perfect paper; origin at the centre of the working field, which is the centre of the sheet;
 * x right, y up the sheet.
 *
 *     +-----------------------------+
 *     | [#] [#] [#] [#] [#] [#] [#] |   ring of coded markers
 *     | [#]  title      grey patch [#]
 *     | [#] |.....................[#]
 *     | [#] |                     [#]   | check bar along
 *     | [#] |   working field     [#]
 *     | [#] |.....................[#]
 *     | [#]  --- check bar across [#]
 *     | [#] [#] [#] [#] [#] [#] [#] |
 *     +-----------------------------+
 */
export type Paper = "a4" | "letter" | "a3";

export const papers: readonly Paper[] = ["a4", "letter", "a3"];

export type PointOnSheetMm = readonly [number, number];

export interface Marker {
  /** Index in the dictionary AprilTag 36h11: 6 x 6 code cells inside a black border one cell wide. */
  readonly id: number;
  readonly centreMm: PointOnSheetMm;
}

export interface CheckBar {
  readonly direction: "across" | "along";
  readonly fromMm: PointOnSheetMm;
  readonly toMm: PointOnSheetMm;
  readonly lengthMm: number;
}

export interface Sheet {
  readonly paper: Paper;
  readonly revision: number;
  readonly widthMm: number;
  readonly heightMm: number;
  /** Outer edge of the black border. */
  readonly markerSizeMm: number;
  readonly markers: readonly Marker[];
  readonly bars: readonly CheckBar[];
  /** Half width and half height of the plain working field. */
  readonly fieldHalfMm: PointOnSheetMm;
  /** Neutral grey (sRGB 128): centre, width and height. */
  readonly greyPatch: {
    readonly centreMm: PointOnSheetMm;
    readonly widthMm: number;
    readonly heightMm: number;
  };
  readonly pierceCrosses: readonly { readonly label: string; readonly atMm: PointOnSheetMm }[];
}

export const sheetRevision = 1;
export const markerCells = 8;

const markerSizeMm = 16;
/** White paper between the marker ring and the edge; printers need about 5 mm. */
const edgeMarginMm = 9;
/** Room inside the ring for bars and words. */
const stripMm = 10;

const paperMm: Record<Paper, PointOnSheetMm> = { a4: [210, 297], letter: [215.9, 279.4], a3: [297, 420] };
/** First marker id of each paper in revision 1; a later revision takes a later block. */
const firstId: Record<Paper, number> = { a4: 0, letter: 60, a3: 120 };
const markerPitchMm: Record<Paper, number> = { a4: 22, letter: 22, a3: 30 };
const barLengthMm: Record<Paper, number> = { a4: 150, letter: 150, a3: 250 };

export function describeSheet(paper: Paper): Sheet {
  const [widthMm, heightMm] = paperMm[paper];
  const halfX = widthMm / 2 - edgeMarginMm - markerSizeMm / 2;
  const halfY = heightMm / 2 - edgeMarginMm - markerSizeMm / 2;
  const innerX = halfX - markerSizeMm / 2;
  const innerY = halfY - markerSizeMm / 2;
  const half = barLengthMm[paper] / 2;
  const barX = -innerX + stripMm / 2;
  const barY = -innerY + stripMm / 2;
  const fieldX = innerX - stripMm;
  const fieldY = innerY - stripMm;
  return {
    paper,
    revision: sheetRevision,
    widthMm,
    heightMm,
    markerSizeMm,
    markers: ringOfMarkers(firstId[paper], halfX, halfY, markerPitchMm[paper]),
    bars: [
      { direction: "across", fromMm: [-half, barY], toMm: [half, barY], lengthMm: 2 * half },
      { direction: "along", fromMm: [barX, -half], toMm: [barX, half], lengthMm: 2 * half },
    ],
    fieldHalfMm: [fieldX, fieldY],
    greyPatch: { centreMm: [fieldX - 12, innerY - stripMm / 2], widthMm: 22, heightMm: 6 },
    pierceCrosses: [
      { label: "A", atMm: [0, 0] },
      { label: "B", atMm: [-fieldX / 2, fieldY / 2] },
      { label: "C", atMm: [fieldX / 2, fieldY / 2] },
      { label: "D", atMm: [-fieldX / 2, -fieldY / 2] },
      { label: "E", atMm: [fieldX / 2, -fieldY / 2] },
    ],
  };
}

/** Corners of a marker as printed: top left, top right, bottom right, bottom left. */
export function markerCornersMm(marker: Marker, sizeMm = markerSizeMm): readonly PointOnSheetMm[] {
  const [x, y] = marker.centreMm;
  const h = sizeMm / 2;
  return [
    [x - h, y + h],
    [x + h, y + h],
    [x + h, y - h],
    [x - h, y - h],
  ];
}

/** Clockwise from the top left corner; ids count up from `first`. */
function ringOfMarkers(first: number, halfX: number, halfY: number, pitchMm: number): Marker[] {
  const columns = Math.round((2 * halfX) / pitchMm);
  const rows = Math.round((2 * halfY) / pitchMm);
  const at: PointOnSheetMm[] = [];
  for (let i = 0; i < columns; i++) at.push([-halfX + (2 * halfX * i) / columns, halfY]);
  for (let i = 0; i < rows; i++) at.push([halfX, halfY - (2 * halfY * i) / rows]);
  for (let i = 0; i < columns; i++) at.push([halfX - (2 * halfX * i) / columns, -halfY]);
  for (let i = 0; i < rows; i++) at.push([-halfX, -halfY + (2 * halfY * i) / rows]);
  return at.map((centreMm, i) => ({ id: first + i, centreMm }));
}

/** Which sheet a marker id belongs to; undefined for ids that are no mat marker. */
export function paperOfMarker(id: number): Paper | undefined {
  return papers.find(
    (paper) => id >= firstId[paper] && id < firstId[paper] + describeSheet(paper).markers.length,
  );
}

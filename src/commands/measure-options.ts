import { InvalidArgumentError } from "commander";

/** What commander hands over; values are parsed and within bounds, combinations are not yet checked. */
export interface MeasureOptions {
  readonly json?: boolean;
  readonly out?: string;
  /** False for --no-annotate. */
  readonly annotate: boolean;
  readonly matAcross?: number;
  readonly matAlong?: number;
  readonly mat?: string;
  readonly faceHeight?: readonly FaceHeight[];
  readonly scale?: TwoPointScale;
  readonly pxPerMm?: number;
  readonly set?: "turn" | "play" | "height";
  /** False for --no-model. */
  readonly model: boolean;
  readonly workers?: number;
}

export interface FaceHeight {
  readonly label?: string;
  readonly heightMm: number;
}

export interface TwoPointScale {
  readonly fromPx: readonly [number, number];
  readonly toPx: readonly [number, number];
  readonly lengthMm: number;
}

const decimal = /^[+-]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})$/;

/** A plain decimal number; undefined for anything else ("12mm", "1e3", "0x10", ""). */
const readDecimal = (text: string): number | undefined => (decimal.test(text) ? Number(text) : undefined);

/** Reader of an option that is a number within bounds. */
const numberReader =
  (what: string, min: number, max: number, example: string) =>
  (text: string): number => {
    const value = readDecimal(text.trim());
    if (value === undefined && /^\d+,\d+$/.test(text.trim()))
      throw new InvalidArgumentError(`Expected ${what} with a decimal point, such as ${example}.`);
    if (value === undefined) throw new InvalidArgumentError(`Expected ${what}, such as ${example}.`);
    if (value < min || value > max)
      throw new InvalidArgumentError(`Expected ${what} from ${min} to ${max}, such as ${example}.`);
    return value;
  };

/** The check bars are 150 mm (A4, US Letter) or 250 mm (A3); no printer errs by more than a tenth. */
export function readBarMm(text: string): number {
  const value = numberReader("the length of the check bar in mm", 0.001, 100_000, "149.6")(text);
  const near = (nominalMm: number): boolean => Math.abs(value / nominalMm - 1) <= 0.1;
  if (near(150) || near(250)) return value;
  const hint =
    near(15) || near(25)
      ? " Is that in centimetres?"
      : near(150 / 25.4) || near(250 / 25.4)
        ? " Is that in inches?"
        : "";
  throw new InvalidArgumentError(
    `Expected what the check bar measures in mm, about 150 (A4, US Letter) or 250 (A3).${hint}`,
  );
}

export const readPxPerMm = numberReader("pixels per millimetre", 0.01, 10_000, "12.4");

export function readWorkers(text: string): number {
  if (!/^\d{1,2}$/.test(text) || Number(text) < 1 || Number(text) > 64)
    throw new InvalidArgumentError("Expected a whole number from 1 to 64.");
  return Number(text);
}

const readHeightMm = numberReader("a height above the mat in mm", 0, 300, "1.6");
const longestLabel = 60;

/** MM or LABEL=MM; may be given again for other labels. */
export function readFaceHeight(text: string, before: readonly FaceHeight[] = []): readonly FaceHeight[] {
  const at = text.lastIndexOf("=");
  const label = at < 0 ? undefined : text.slice(0, at).trim();
  if (label !== undefined && (label === "" || [...label].length > longestLabel))
    throw new InvalidArgumentError(
      `Expected a label of 1 to ${longestLabel} characters before "=", as in T2=1.6.`,
    );
  const heightMm = readHeightMm(text.slice(at + 1));
  if (before.some((each) => each.label === label))
    throw new InvalidArgumentError(
      label === undefined
        ? "Expected one height without a label; give the others as LABEL=MM."
        : "Expected one height for each label.",
    );
  return [...before, { ...(label === undefined ? {} : { label }), heightMm }];
}

/** x1,y1,x2,y2=MM: two points in pixels of the upright photograph and how far they are apart. */
export function readScale(text: string): TwoPointScale {
  const expected = "Expected x1,y1,x2,y2=MM, such as 210,1480,3310,1492=250 (pixels, and a length in mm).";
  const [points = "", length = "", ...rest] = text.split("=");
  const px = points.split(",").map((part) => readDecimal(part.trim()));
  const lengthMm = readDecimal(length.trim());
  const [x1, y1, x2, y2] = px;
  if (rest.length > 0 || px.length !== 4 || lengthMm === undefined) throw new InvalidArgumentError(expected);
  if (x1 === undefined || y1 === undefined || x2 === undefined || y2 === undefined)
    throw new InvalidArgumentError(expected);
  if (lengthMm <= 0 || lengthMm > 10_000)
    throw new InvalidArgumentError('Expected a length above 0 and up to 10000 mm after "=".');
  if (Math.hypot(x2 - x1, y2 - y1) < 10)
    throw new InvalidArgumentError("Expected two points at least 10 pixels apart.");
  return { fromPx: [x1, y1], toPx: [x2, y2], lengthMm };
}

import type { JSX } from "preact";
import type { PartRecord } from "../../record/index.js";
import { runsOf, teethIn } from "../part-words.js";
import { numberText } from "../rounded.js";
import { pathData } from "../path-data.js";
import type { PartFrame, XyPx } from "./frame.js";
import type { Disc } from "./place-boxes.js";
import { colours, HaloPath, haloText, HaloText, Mark, type MarkShape } from "./strokes.js";

interface MarksProps {
  readonly part: PartRecord;
  readonly frame: PartFrame;
  /** A thousandth of the picture's longer side, px: all sizes follow it. */
  readonly unit: number;
}

/** Large pictures are drawn to the pixel, small ones finer: it halves the size of the drawing. */
const gridOf = (unit: number): 0.1 | 1 => (unit >= 1.5 ? 1 : 0.1);

/** Fitted circles: tip in full line, root in thin full line, pitch in chain line (as on gear drawings). */
export function Circles({ part, unit }: MarksProps): JSX.Element {
  const { outline } = part;
  if (!outline) return <g />;
  const closed = (points: readonly XyPx[]): string => pathData(points, { closed: true, grid: gridOf(unit) });
  const chain = [14, 3, 3, 3].map((v) => Math.round(v * unit * 0.5 * 10) / 10).join(" ");
  return (
    <g>
      <HaloPath d={closed(outline.tip_circle_px)} width={1.3 * unit} halo={unit * 0.7} colour={colours.tip} />
      <HaloPath
        d={closed(outline.root_circle_px)}
        width={unit * 0.8}
        halo={unit * 0.6}
        colour={colours.root}
      />
      <HaloPath
        d={closed(outline.pitch_circle_px)}
        width={unit * 0.8}
        halo={unit * 0.5}
        colour={colours.pitch}
        dash={chain}
      />
      {outline.bore_px && (
        <HaloPath d={closed(outline.bore_px)} width={unit * 0.8} halo={unit * 0.6} colour={colours.tip} />
      )}
    </g>
  );
}

/** Where the numbers stand: this far outside the tip circle, in units. */
const tickFrom = 3;
const tickTo = 9;
const markAt = 12;
const numberAt = 20;

/** Room that the marks need outside the tip circle, in units. */
export const marksReach = 28;

const isInside = ([x, y]: XyPx, { centre, radius }: Disc): boolean =>
  Math.hypot(x - centre[0], y - centre[1]) < radius;

/** Ticks at every tooth, numbers at every fifth, signs at teeth that are not whole. */
export function Teeth(props: MarksProps & { readonly others?: readonly Disc[] }): JSX.Element {
  const { part, frame, unit, others = [] } = props;
  const places = part.teeth?.places ?? [];
  const pitch = frame.pitchPx;
  if (places.length === 0 || pitch === undefined) return <g />;
  const byNumber = new Map(places.map((place) => [place.number, place]));
  const outwardsOf = (tip: XyPx): XyPx => {
    const [dx, dy] = [tip[0] - frame.centre[0], tip[1] - frame.centre[1]];
    const r = Math.hypot(dx, dy) || 1;
    return [dx / r, dy / r];
  };
  const outside = (number: number, distance: number): XyPx => {
    const tip = byNumber.get(number)!.tip_px;
    const [ox, oy] = outwardsOf(tip);
    return [tip[0] + ox * distance * unit, tip[1] + oy * distance * unit];
  };
  const size = 10.5 * unit;
  // Numbers at every fifth tooth, or rarer where they would touch.
  const every =
    [5, 10, 20, 50].find((n) => n * pitch * (1 + (numberAt * unit) / frame.radiusPx) > 2.4 * size) ?? 100;
  const odd = (["missing", "bent", "short"] as const).flatMap((state) =>
    runsOf(teethIn(part, state)).map(([from, to]) => ({ state, from, to })),
  );
  const gap = Math.ceil((2.2 * size) / pitch);
  const near = (a: number, b: number): boolean => {
    const d = Math.abs(a - b);
    return Math.min(d, places.length - d) < gap;
  };
  const numbered = places
    .map((place) => place.number)
    .filter((n) => (n === 1 || n % every === 0) && !odd.some(({ from, to }) => near(n, from) || near(n, to)))
    .filter((n) => n === 1 || !near(n, 1))
    // Where two wheels lie close together, numbers between them would read as the neighbour's.
    .filter((n) => !others.some((disc) => isInside(outside(n, numberAt), disc)));
  const tickWidth = Math.min(1.3 * unit, pitch * 0.22);
  const ticks = places
    .filter(({ state }) => state !== "missing")
    .map(({ number }) =>
      pathData([outside(number, tickFrom), outside(number, number % 5 === 0 ? tickTo + 3 : tickTo)], {
        grid: gridOf(unit),
      }),
    )
    .join("");
  const marks = places.flatMap((place) =>
    place.state === "whole" ? [] : [{ number: place.number, shape: place.state satisfies MarkShape }],
  );
  const markSize = Math.max(3.2 * unit, Math.min(6 * unit, pitch * 0.42));
  return (
    <g>
      <HaloPath
        d={ticks}
        width={tickWidth}
        halo={Math.min(unit * 0.9, pitch * 0.15)}
        colour={colours.ink}
        haloColour={colours.paper}
      />
      {byNumber.has(1) && byNumber.get(1)!.state === "whole" && (
        <Mark
          shape="first"
          at={outside(1, 1)}
          size={3.6 * unit}
          outwards={outwardsOf(byNumber.get(1)!.tip_px)}
        />
      )}
      {marks.map(({ number, shape }) => (
        <Mark
          key={number}
          shape={shape}
          // A missing tooth is marked where it ought to be, the others beside the tooth.
          at={shape === "missing" ? byNumber.get(number)!.tip_px : outside(number, markAt)}
          size={markSize}
        />
      ))}
      <g {...haloText(size)}>
        {numbered.map((n) => (
          <HaloText key={n} at={outside(n, numberAt)} size={size} text={`${n}`} bold={n === 1} />
        ))}
        {odd.map(({ state, from, to }) => (
          <HaloText
            key={`${state}${from}`}
            at={outside(Math.floor((from + to) / 2), numberAt + (state === "missing" ? 2 : 5))}
            size={size}
            bold
            text={from === to ? `${from}` : `${from}–${to}`}
          />
        ))}
      </g>
    </g>
  );
}

/** Factors that people can divide by in their head. */
const factors = [1000, 500, 200, 100, 50, 20, 10, 5, 2, 1];

/**
 * The offset of the tooth circle from the bore, magnified, with its factor written beside it. Nothing is drawn
 * where the offset is not above its own expanded uncertainty: an arrow would claim a direction.
 */
export function EccentricityArrow({ part, frame, unit }: MarksProps): JSX.Element {
  const e = part.eccentricity_mm;
  const direction = part.eccentricity_angle_deg;
  const tipMm = part.tip_diameter_mm?.value;
  if (!e || !direction || tipMm === undefined || e.value <= 2 * e.u) return <g />;
  const longest = 0.42;
  const factor = factors.find((f) => (e.value * f) / (tipMm / 2) <= longest) ?? 1;
  const share = (e.value * factor) / (tipMm / 2);
  const [dx, dy] = frame.at(direction.value);
  const [x, y] = frame.centre;
  const tip: XyPx = [x + dx * share, y + dy * share];
  const r = Math.hypot(dx, dy) || 1;
  const [ux, uy] = [dx / r, dy / r];
  const head = 7 * unit;
  const barb = (side: 1 | -1): XyPx => [
    tip[0] - ux * head - side * uy * head * 0.45,
    tip[1] - uy * head + side * ux * head * 0.45,
  ];
  const shaft = pathData([[x, y], tip]) + pathData([barb(1), tip, barb(-1)]);
  const beyond = Math.max(14 * unit, 0);
  const at: XyPx = [tip[0] + ux * beyond, tip[1] + uy * beyond + (Math.abs(uy) < 0.5 ? 0 : uy * unit * 2)];
  return (
    <g>
      <HaloPath d={shaft} width={2 * unit} halo={unit} colour={colours.ink} haloColour={colours.paper} />
      <g {...haloText(9.5 * unit)}>
        <HaloText at={at} size={9.5 * unit} text={`${numberText(e.value, 2)} mm ×${factor}`} />
      </g>
    </g>
  );
}

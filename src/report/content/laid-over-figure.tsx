import type { JSX } from "preact";
import type { Extremes } from "../laid-over/extremes.js";
import { layout, type LaidOver, type Region } from "../laid-over/lay-over.js";
import { ScaleBarMarks } from "../overlay/scale-bar.js";
import { colours, haloText } from "../overlay/strokes.js";
import { sans } from "../plots/plot-style.js";
import { numberText } from "../rounded.js";
import type { FigureBlock, Words } from "./content.js";
import { fileName } from "./photographs.js";

const fontSize = 18;
/** The tints, as the key shows them. */
const orange = "#f08a24";
const blue = "#248af0";
const keyHeight = 40;
const rounds = [50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05];

/** The two photographs of a play set that are furthest apart, one over the other. */
export function laidOverFigure(laid: LaidOver, name: string, picture: string): FigureBlock {
  const [first, second] = laid.extremes.files.map(fileName) as [string, string];
  const { width, height } = layout;
  return {
    kind: "figure",
    ...laidOverWords(laid.extremes, name),
    box: { x: 0, y: 0, width, height: height + keyHeight },
    picture,
    drawing: (
      <g font-family={sans}>
        <Frame square={layout.rim} />
        <Frame square={layout.arbor} />
        <Window region={laid.rim} whole={laid.whole} letter="a" />
        <Window region={laid.arbor} whole={laid.whole} letter="b" />
        <Scale square={layout.whole} region={laid.whole} title="" />
        <Scale square={layout.rim} region={laid.rim} title={`a  rim × ${times(laid, laid.rim)}`} />
        <Scale square={layout.arbor} region={laid.arbor} title={`b  arbor × ${times(laid, laid.arbor)}`} />
        <rect x={12} y={height + 12} width={22} height={18} fill={orange} />
        <text x={42} y={height + 27} font-size={fontSize} fill={colours.ink}>
          {`lighter in ${short(first)}`}
        </text>
        <rect x={width / 2} y={height + 12} width={22} height={18} fill={blue} />
        <text x={width / 2 + 30} y={height + 27} font-size={fontSize} fill={colours.ink}>
          {`lighter in ${short(second)}`}
        </text>
      </g>
    ),
  };
}

/** What the figure shows, for those who see it and for those who do not. */
export function laidOverWords(extremes: Extremes, name: string): { alt: string; caption: Words } {
  const [first, second] = extremes.files.map(fileName) as [string, string];
  return {
    alt: `${name}: ${first} and ${second} laid over each other on the arbor, in orange and blue: the whole wheel, its rim and its arbor.`,
    caption: captionOf(extremes, first, second),
  };
}

const short = (file: string): string => (file.length > 34 ? `${file.slice(0, 33)}…` : file);

/** How much larger than in the picture of the whole wheel. */
const times = ({ whole }: LaidOver, region: Region): string => {
  const larger = (layout.rim.side / region.halfMm) * (whole.halfMm / layout.whole.side);
  return numberText(larger, larger < 10 ? 1 : 0);
};

const kinds = { radial: "sideways play", twist: "twist", rock: "rock" } as const;

function captionOf(extremes: Extremes, first: string, second: string): Words {
  const { kind, turnByArbor } = extremes;
  return [
    { bold: "Laid over each other. " },
    { said: first },
    " and ",
    { said: second },
    `, the two that are furthest apart (${kinds[kind]}), from straight above on the plane of the face. The arbor's axis stays where it is`,
    turnByArbor ? " and the arbor is turned alike; " : ", and the wheel's own turn is taken off; ",
    movedWords(extremes),
    ". Grey: alike in both. Orange or blue edges on the wheel, with the arbor grey, are play; shadows and reflections may colour too.",
  ];
}

function movedWords({ kind, movedMm, limitMm }: Extremes): string {
  const mm = numberText(movedMm, 2);
  if (movedMm <= limitMm)
    return `the wheel was not seen to move; ${numberText(limitMm, 2)} mm${kind === "radial" ? "" : " at the rim"} would have been seen`;
  if (kind === "radial") return `what moved is the wheel, ${mm} mm sideways`;
  if (kind === "twist") return `what moved is the wheel, ${mm} mm at the rim`;
  return `what moved is the wheel, up and down by ${mm} mm at the rim, which shows as far as the camera looked from one side`;
}

interface Square {
  readonly x: number;
  readonly y: number;
  readonly side: number;
}

const Frame = ({ square: { x, y, side } }: { readonly square: Square }): JSX.Element => (
  <rect x={x} y={y} width={side} height={side} fill="none" stroke={colours.ink} stroke-width={1.5} />
);

/** Where in the whole wheel the larger picture lies. */
function Window(props: {
  readonly region: Region;
  readonly whole: Region;
  readonly letter: string;
}): JSX.Element {
  const { region, whole, letter } = props;
  const perMm = layout.whole.side / (2 * whole.halfMm);
  const side = 2 * region.halfMm * perMm;
  const x = layout.whole.side / 2 + region.xMm * perMm - side / 2;
  const y = layout.whole.side / 2 - region.yMm * perMm - side / 2;
  const [left, top] = [Math.round(x), Math.round(y)];
  const box = { x: left, y: top, width: Math.round(side), height: Math.round(side), fill: "none" } as const;
  return (
    <g>
      <rect {...box} stroke={colours.paper} stroke-width={4} />
      <rect {...box} stroke={colours.ink} stroke-width={1.8} />
      <g {...haloText(fontSize)} font-weight="bold">
        <text x={left + 11} y={top > 24 ? top - 6 : top + side + 18}>
          {letter}
        </text>
      </g>
    </g>
  );
}

/** A bar of a round length in the lower left corner, and what the square shows in the upper. */
function Scale(props: {
  readonly square: Square;
  readonly region: Region;
  readonly title: string;
}): JSX.Element {
  const { square, region, title } = props;
  const perMm = square.side / (2 * region.halfMm);
  const lengthMm = rounds.find((mm) => mm * perMm <= 0.34 * square.side) ?? 0.05;
  const bar = { lengthMm, lengthPx: lengthMm * perMm, words: "" };
  const at = [square.x + 14, square.y + square.side - 22] as const;
  return (
    <g>
      <ScaleBarMarks bar={bar} at={at} fontSize={fontSize} />
      <g {...haloText(fontSize)} text-anchor="start">
        <text x={at[0]} y={at[1] - 8}>{`${lengthMm} mm`}</text>
        {title === "" ? undefined : (
          <text x={square.x + 12} y={square.y + 26} font-weight="bold">
            {title}
          </text>
        )}
      </g>
    </g>
  );
}
